from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest

from ledger.errors import LedgerError
from ledger.record.changes import Book, Change
from ledger.record.copying import copy_ledger
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

TIME = "2026-03-02T10:00:00Z"


def test_a_copy_is_the_ledger_for_its_owner_alone(ledger, record, mandolin, tmp_path):
    record(ledger, mandolin)
    path = tmp_path / "copy.db"
    assert copy_ledger(ledger, path) == ledger.head()
    assert path.stat().st_mode & 0o077 == 0
    assert audit_ledger(path).is_whole
    with Ledger.open(path, read_only=True) as copy:
        assert copy.entries() == ledger.entries()
        assert copy.opened() == ledger.opened()
    assert sorted(each.name for each in tmp_path.glob("*copy*")) == ["copy.db"]
    with pytest.raises(LedgerError, match="there already"):
        copy_ledger(ledger, path)


def test_a_copy_is_consistent_while_somebody_writes(ledger, tmp_path):
    stop = threading.Event()

    def _write():
        with Ledger.open(ledger.path) as own:
            at = 0
            while not stop.is_set():
                at += 1
                changes = [
                    Change("record", Book("instrument", f"b-{at}"), "marks", name, {"id": name})
                    for name in ("x", "y", "z")
                ]
                own.append(changes, recorder="me", recorded_at=TIME)

    writer = threading.Thread(target=_write)
    writer.start()
    try:
        with Ledger.open(ledger.path, read_only=True) as reader:
            heads = [copy_ledger(reader, tmp_path / f"copy-{at}.db") for at in range(5)]
    finally:
        stop.set()
        writer.join()
    for at, head in enumerate(heads):
        assert head.sequence % 3 == 0
        assert audit_ledger(tmp_path / f"copy-{at}.db").is_whole


def test_what_still_has_to_leave_the_file_is_not_copied(ledger, tmp_path):
    ledger._connection.execute("INSERT INTO residue VALUES (1)")
    with pytest.raises(LedgerError, match="bytes of something erased"):
        copy_ledger(ledger, tmp_path / "copy.db")


def test_a_copy_that_cannot_be_written_leaves_nothing(ledger, tmp_path, monkeypatch):
    with pytest.raises(LedgerError, match="No copy can be made"):
        copy_ledger(ledger, tmp_path / "no folder" / "copy.db")

    def _full(_ledger, path):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Ledger, "write_copy", _full)
    with pytest.raises(LedgerError, match="No space left"):
        copy_ledger(ledger, tmp_path / "copy.db")
    assert list(tmp_path.glob("*copy*")) == []


def test_a_ledger_that_is_not_what_was_recorded_gives_no_copy(ledger, record, mandolin, tmp_path):
    record(ledger, mandolin)
    ledger._connection.execute("DROP TRIGGER entry_is_never_changed")
    ledger._connection.execute("UPDATE entry SET recorder = 'x' WHERE sequence = 2")
    with pytest.raises(LedgerError, match="Entry 2"):
        copy_ledger(ledger, tmp_path / "copy.db")
    assert list(tmp_path.glob("*copy*")) == []


def test_a_disk_without_links_gets_its_copy_too(ledger, tmp_path, monkeypatch):
    def _refuse(self, target):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", _refuse)
    copy_ledger(ledger, tmp_path / "copy.db")
    with sqlite3.connect(tmp_path / "copy.db") as copy:
        assert copy.execute("SELECT count(*) FROM entry").fetchone() == (0,)
    copy.close()
