"""Killed at any moment, on a full disk, on a medium that takes no writing: what is left is whole."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from ledger.errors import LedgerError
from ledger.record.changes import Book, Change
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

ROOT = Path(__file__).resolve().parents[2]
CRASHING = Path(__file__).with_name("crashing.py")
TIME = "2026-03-02T10:00:00Z"
KILLS = int(os.environ.get("WITNESSMARK_KILLS", "24"))


def _line(name, text=""):
    return Change("record", Book("instrument", "a"), "marks", name, {"id": name, "text": text})


def _append(ledger, *changes):
    return ledger.append(changes, recorder="me", recorded_at=TIME)


def test_a_writer_killed_at_any_moment_leaves_everything_whole():
    done = subprocess.run(
        [sys.executable, str(CRASHING), str(KILLS)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    found = json.loads(done.stdout or "{}")
    assert found.get("faults") == [], done.stderr
    assert found["record"] + found["erase"] + found["publish"] == KILLS
    assert found["told"] > KILLS / 2


def test_a_full_disk_is_told_and_leaves_the_ledger_as_it_was(ledger):
    before = _append(ledger, _line("x"))
    (pages,) = ledger._connection.execute("PRAGMA page_count").fetchone()
    ledger._connection.execute(f"PRAGMA max_page_count = {pages + 3}")
    with pytest.raises(LedgerError, match=r"no room left on the disk.*Nothing was recorded"):
        _append(ledger, *(_line(f"y-{at}", "long " * 1000) for at in range(10)))
    assert ledger.entries() == before
    ledger._connection.execute("PRAGMA max_page_count = 1000000")
    _append(ledger, _line("y"))
    assert audit_ledger(ledger.path).is_whole


FILLING = """
import resource, signal, sys
from pathlib import Path
from ledger.errors import LedgerError, PublicationError
from ledger.publishing import publish
from ledger.record.changes import Book, Change
from ledger.record.store import Ledger
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # then a write fails, as on a disk that is full
path, site = Path(sys.argv[1]), Path(sys.argv[2])
with Ledger.open(path) as ledger:
    before = ledger.entries()
    resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, resource.RLIM_INFINITY))
    for act in (
        lambda: ledger.append(
            [Change("record", Book("instrument", "a"), "marks", f"m-{at}", {"text": "long " * 1000})
             for at in range(30)],
            recorder="me", recorded_at="2026-03-02T10:00:00Z"),
        lambda: publish(ledger, site),
        lambda: Ledger.create(path.with_name("second.db")).append(
            [Change("record", Book("instrument", "a"), "marks", f"m-{at}", {"text": "long " * 1000})
             for at in range(30)],
            recorder="me", recorded_at="2026-03-02T10:00:00Z"),
    ):
        try:
            act()
        except (LedgerError, PublicationError) as error:
            sys.stdout.write(f"{error}\\n")
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    ledger.append([Change("record", Book("instrument", "a"), "marks", "last", {"text": "x"})],
                  recorder="me", recorded_at="2026-03-02T10:00:00Z")
    sys.stdout.write(f"{len(ledger.entries()) - len(before)} more\\n")
"""


def test_a_write_that_the_disk_refuses_is_told_and_leaves_nothing_behind(
    ledger, record, mandolin, tmp_path
):
    record(ledger, mandolin)
    ledger.close()
    done = subprocess.run(
        [sys.executable, "-c", FILLING, str(ledger.path), str(tmp_path / "site")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    lines = done.stdout.splitlines()
    assert len(lines) == 4, done.stderr
    assert "Nothing was recorded" in lines[0]
    assert "site was not written" in lines[1]
    assert "Nothing was recorded" in lines[2]
    assert lines[3] == "1 more"
    assert not (tmp_path / "site").exists()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
    assert audit_ledger(ledger.path).is_whole


READING = """
import os, sys
from pathlib import Path
from ledger.errors import LedgerError
from ledger.record.changes import Book, Change
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger
path = Path(sys.argv[1])
path.chmod(0o444); path.parent.chmod(0o555)
if os.geteuid() == 0:
    os.setuid(65534)
with Ledger.open(path, read_only=True) as ledger:
    sys.stdout.write(f"{len(ledger.entries())} {audit_ledger(path).is_whole}\\n")
try:
    with Ledger.open(path) as ledger:
        ledger.append([Change("record", Book("instrument", "a"), "marks", "m", {"id": "m"})],
                      recorder="me", recorded_at="2026-03-02T10:00:00Z")
except LedgerError as error:
    sys.stdout.write(f"{error}\\n")
try:
    Ledger.create(path.with_name("new.db"))
except LedgerError as error:
    sys.stdout.write(f"{error}\\n")
"""


def test_a_medium_that_takes_no_writing_is_read_and_told(ledger):
    # Not in the test's own folder: whoever the child becomes may not look into that.
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        inner = folder / "medium"
        inner.mkdir()
        path = inner / "ledger.db"
        with Ledger.create(path) as made:
            _append(made, _line("x"))
        done = subprocess.run(
            [sys.executable, "-c", READING, str(path)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        inner.chmod(0o755)
    lines = done.stdout.splitlines()
    assert len(lines) == 3, done.stderr
    assert lines[0] == "1 True"
    assert "lies where nothing can be written" in lines[1]
    assert "No ledger can be made" in lines[2]


def test_what_a_killed_writer_left_half_done_is_not_there(ledger):
    _append(ledger, _line("x"))
    other = sqlite3.connect(ledger.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    other.execute(
        "INSERT INTO entry SELECT 2, recorded_at, recorder, act, book_kind, book, section, 'y', "
        "body, hash, hash FROM entry"
    )
    other.close()  # without a commit, as the end of its process would
    assert len(ledger.entries()) == 1
    _append(ledger, _line("y"))
    assert ledger.verify_chain().sequence == 2
