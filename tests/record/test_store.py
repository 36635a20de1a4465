# ruff: noqa: S608 - the statements are the test's own
from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import threading
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from ledger.errors import BrokenChain, LedgerError, LedgerFormat, LedgerMissing, UnknownName
from ledger.record import connections, store
from ledger.record.changes import Book, Change
from ledger.record.entries import FIRST_PREVIOUS, entry_hash
from ledger.record.exhibits import ExhibitFile, read_exhibit
from ledger.record.store import Head, Ledger

TIME = "2026-03-02T10:00:00Z"


def _line(name, book="a", body=None, **settings):
    return Change(
        "record", Book("instrument", book), "marks", name, body or {"id": name}, **settings
    )


def _append(ledger, *changes, **settings):
    return ledger.append(changes, recorder="me", recorded_at=TIME, **settings)


def test_entries_come_back_as_they_were_appended(ledger):
    first = _append(ledger, _line("x", body={"id": "x", "text": "é\u2003"}), _line("y"))
    second = _append(ledger, _line("z", book="b"))
    assert ledger.entries() == (*first, *second)
    assert ledger.entries(Book("instrument", "b")) == second
    assert ledger.entries(Book("pack", "b")) == ()
    assert ledger.entries(since=2) == second
    assert ledger.head() == Head(3, second[0].hash) == ledger.verify_chain()
    assert [entry.previous for entry in ledger.entries()] == [
        FIRST_PREVIOUS,
        first[0].hash,
        first[1].hash,
    ]
    assert all(entry.hash == entry_hash(entry) for entry in ledger.entries())


def test_an_empty_ledger_has_the_head_of_zeros(ledger):
    assert ledger.head() == Head(0, FIRST_PREVIOUS) == ledger.verify_chain()


def test_the_settings_of_the_file_and_the_connection(ledger):
    def _asked(name):
        return ledger._connection.execute(f"PRAGMA {name}").fetchone()[0]

    assert _asked("journal_mode") == "wal"
    assert _asked("synchronous") == 2  # FULL
    assert (_asked("foreign_keys"), _asked("secure_delete")) == (1, 1)
    assert (_asked("application_id"), _asked("user_version")) == (0x574D4B31, 2)
    strict = "SELECT name FROM pragma_table_list WHERE strict = 1 ORDER BY name"
    assert [name for (name,) in ledger._connection.execute(strict)] == [
        "checkpoint",
        "entry",
        "exhibit",
        "residue",
        "withheld",
    ]
    assert ledger.path.stat().st_mode & 0o077 == 0


OTHER = "recorded_at, recorder, act, book_kind, book, section, line, body"
FRESH = "replace(hash, substr(hash, 1, 1), 'x')"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET recorder = 'x' WHERE sequence = 1",
        "UPDATE OR REPLACE entry SET sequence = 2 WHERE sequence = 1",
        "DELETE FROM entry WHERE sequence = 2",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE sequence = 1",
        "REPLACE INTO entry SELECT * FROM entry WHERE sequence = 2",
        f"REPLACE INTO entry (rowid, {OTHER}, previous, hash) SELECT 1, {OTHER}, previous, {FRESH} FROM entry WHERE sequence = 1",
        f"REPLACE INTO entry ({OTHER}, previous, hash) SELECT {OTHER}, hash, {FRESH} FROM entry WHERE sequence = 2",
        "INSERT INTO entry SELECT * FROM entry WHERE sequence = 1 ON CONFLICT DO UPDATE SET recorder = 'x'",
        f"INSERT INTO entry SELECT 5, {OTHER}, hash, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT OR IGNORE INTO entry SELECT 5, {OTHER}, hash, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT INTO entry SELECT -1, {OTHER}, hash, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT OR IGNORE INTO entry SELECT 3, {OTHER}, previous, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT INTO entry SELECT 3, 'yesterday', recorder, act, book_kind, book, section, line, body, hash, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT INTO entry SELECT 3, recorded_at, recorder, 'retract', book_kind, book, section, line, body, hash, {FRESH} FROM entry WHERE sequence = 2",
        f"INSERT INTO entry SELECT 3, recorded_at, recorder, act, book_kind, book, section, line, 'text', hash, {FRESH} FROM entry WHERE sequence = 2",
        "UPDATE withheld SET value = '1'",
        "DELETE FROM withheld",
        "REPLACE INTO withheld SELECT * FROM withheld",
        "REPLACE INTO withheld (rowid, commitment, salt, value, book, line, field) SELECT rowid, replace(commitment, 'c', 'd'), salt, value, book, line, field FROM withheld",
        "UPDATE exhibit SET content = x'00'",
        "DELETE FROM exhibit",
        "REPLACE INTO exhibit SELECT * FROM exhibit",
        "REPLACE INTO exhibit (rowid, sha256, media_type, size_bytes, content) SELECT rowid, replace(sha256, 'e', 'f'), media_type, size_bytes, content FROM exhibit",
    ],
    ids=lambda statement: statement[:60],
)
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
def test_the_database_itself_refuses_what_is_not_appending(ledger, statement, recursive):
    _append(ledger, _line("x"), _line("y"), exhibits=[_file(b"x")])
    ledger._connection.execute(
        "INSERT INTO withheld VALUES (?, ?, '1', 'a', 'x', 'f')", ["c" * 64, "5" * 32]
    )
    before = [list(ledger._connection.execute(f"SELECT * FROM {name}")) for name in _TABLES]
    plain = sqlite3.connect(ledger.path)
    plain.execute(f"PRAGMA recursive_triggers = {recursive}")
    with pytest.raises(sqlite3.IntegrityError):
        plain.execute(statement)
    plain.commit()
    plain.close()
    after = [list(ledger._connection.execute(f"SELECT * FROM {name}")) for name in _TABLES]
    assert before == after


_TABLES = ("entry", "withheld", "exhibit")


def _file(content):
    return ExhibitFile("e" * 64, "text/plain", len(content), content)


def test_a_withheld_value_can_be_erased_and_the_chain_still_holds(ledger, record, mandolin, erase):
    record(ledger, mandolin)
    assert sorted(ledger.opened().values()) == ["A town", "Somebody in particular"]
    erase(ledger)
    assert ledger.opened() == {}
    ledger.verify_chain()


def test_nothing_withheld_stands_in_an_entry(ledger, record, mandolin):
    entries = record(ledger, mandolin)
    assert "Somebody" not in json.dumps([entry.body for entry in entries])


def test_a_batch_is_recorded_whole_or_not_at_all(ledger):
    bad = replace(_line("y"), section="")
    with pytest.raises(LedgerError, match="Nothing was recorded"):
        _append(ledger, _line("x"), bad, exhibits=[_file(b"x")])
    assert ledger.entries() == ()
    with pytest.raises(UnknownName, match="no exhibit"):
        ledger.exhibit("e" * 64)
    assert _append(ledger, _line("x"))


@pytest.mark.parametrize(
    "settings",
    [
        {"recorder": " ", "recorded_at": TIME},
        {"recorder": "me", "recorded_at": "yesterday"},
        {"recorder": "me", "recorded_at": TIME + "\n"},
    ],
    ids=["nobody", "no time", "time and more"],
)
def test_who_and_when_have_to_be_told(ledger, settings):
    with pytest.raises(LedgerError, match="Nothing was recorded"):
        ledger.append([_line("x")], **settings)
    assert ledger.entries() == ()


def test_a_change_worked_out_before_another_was_recorded_is_refused(ledger):
    (entry,) = _append(ledger, _line("x"))
    edit = replace(_line("x"), act="supersede", replaces=entry.sequence)
    for stale in (_line("x"), replace(edit, replaces=7)):
        with pytest.raises(LedgerError, match="somebody else"):
            _append(ledger, stale)
    _append(ledger, edit)
    with pytest.raises(LedgerError, match="somebody else"):
        _append(ledger, edit)
    _append(ledger, replace(edit, act="retract", body=None, replaces=2))
    _append(ledger, _line("x"))
    assert [entry.act for entry in ledger.entries()] == ["record", "supersede", "retract", "record"]


def test_an_exhibit_is_kept_once_under_its_hash(ledger, tmp_path, picture):
    (tmp_path / "a.png").write_bytes(picture())
    file = read_exhibit(tmp_path / "a.png")
    _append(ledger, exhibits=[file])
    _append(ledger, exhibits=[file, file])
    assert ledger.exhibit(file.sha256) == file
    ledger.verify_chain()


def test_a_reader_cannot_write(ledger):
    _append(ledger, _line("x"))
    with Ledger.open(ledger.path, read_only=True) as reader:
        assert reader.entries() == ledger.entries()
        with pytest.raises(LedgerError, match="readonly"):
            _append(reader, _line("y"))


def test_a_reader_reads_where_nothing_can_be_written(ledger, monkeypatch):
    _append(ledger, _line("x"))
    ledger.close()
    monkeypatch.setattr(os, "access", lambda *_: False)
    with Ledger.open(ledger.path, read_only=True) as reader:
        assert len(reader.entries()) == 1
        assert not ledger.path.with_name("ledger.db-shm").exists()


def test_a_ledger_is_not_made_over_something_else(ledger, tmp_path):
    with pytest.raises(LedgerError, match="is there already"):
        Ledger.create(ledger.path)
    with pytest.raises(LedgerError, match="No ledger can be made"):
        Ledger.create(tmp_path / "no folder" / "ledger.db")


def test_what_is_no_ledger_is_not_opened(tmp_path):
    path = tmp_path / "x.db"
    with pytest.raises(LedgerMissing):
        Ledger.open(path)
    path.write_bytes(b"not a database, but long enough to be taken for one" * 40)
    with pytest.raises(LedgerFormat):
        Ledger.open(path)
    path.unlink()
    sqlite3.connect(path).execute("CREATE TABLE t (x)").connection.close()
    with pytest.raises(LedgerFormat, match="not a ledger"):
        Ledger.open(path)


def test_a_ledger_of_a_newer_format_is_left_alone(ledger):
    ledger._connection.execute("PRAGMA user_version = 3")
    with pytest.raises(LedgerFormat, match="newer version"):
        Ledger.open(ledger.path)


@pytest.mark.parametrize(
    ("statement", "sequence"),
    [
        ('UPDATE entry SET body = \'{"id":"z"}\' WHERE sequence = 2', 2),
        ("UPDATE entry SET recorder = 'x' WHERE sequence = 1", 1),
        ("UPDATE entry SET hash = replace(hash, 'a', 'b') WHERE sequence = 3", 3),
        ("UPDATE entry SET previous = replace(previous, 'a', 'b') WHERE sequence = 3", 3),
        ("DELETE FROM entry WHERE sequence = 2", 3),
        ("DELETE FROM entry WHERE sequence = 1", 2),
        ("UPDATE entry SET body = 'not json' WHERE sequence = 2", 2),
    ],
    ids=lambda value: str(value)[:50],
)
def test_a_change_behind_the_triggers_breaks_the_chain(ledger, statement, sequence):
    _append(ledger, _line("x"), _line("y"), _line("z"))
    for name in ("entry_is_never_changed", "entry_is_never_deleted"):
        ledger._connection.execute(f"DROP TRIGGER {name}")
    ledger._connection.execute("PRAGMA ignore_check_constraints = ON")
    changed = ledger._connection.execute(statement).rowcount
    assert changed == 1
    with pytest.raises(BrokenChain) as caught:
        ledger.verify_chain()
    assert caught.value.sequence == sequence


def test_an_exhibit_or_withheld_value_changed_behind_the_triggers_is_found(
    ledger, record, mandolin
):
    record(ledger, mandolin)
    ledger._connection.execute("DROP TRIGGER withheld_is_never_changed")
    ledger._connection.execute("UPDATE withheld SET value = '\"x\"' WHERE field = 'holder'")
    with pytest.raises(LedgerError, match="my-mandolin/first-holder, holder"):
        ledger.verify_chain()
    _append(ledger, exhibits=[_file(b"x")])
    with pytest.raises(LedgerError, match="not the file that was recorded"):
        ledger.verify_chain()


def test_a_writer_that_waits_too_long_is_told(ledger, monkeypatch):
    monkeypatch.setattr(store, "connected", partial(connections.connected, busy_seconds=0))
    other = sqlite3.connect(ledger.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with Ledger.open(ledger.path) as second, pytest.raises(LedgerError, match="Another program"):
        _append(second, _line("x"))
    other.close()


def test_a_ledger_that_is_closed_says_so(ledger):
    ledger.close()
    with pytest.raises(LedgerError, match="cannot be used"):
        ledger.head()


def test_two_threads_that_write_wait_for_each_other(ledger):
    start = threading.Barrier(2)
    failures = []

    def _write(book):
        try:
            with Ledger.open(ledger.path) as own:
                start.wait()
                for at in range(25):
                    _append(own, _line(f"x-{at}", book), _line(f"y-{at}", book))
        except LedgerError as error:  # pragma: no cover - what the test is there to rule out
            failures.append(error)

    writers = [threading.Thread(target=_write, args=[book]) for book in ("a", "b")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert failures == []
    assert ledger.verify_chain().sequence == 100
    for book in ("a", "b"):
        assert len(ledger.entries(Book("instrument", book))) == 50


WRITER = """
import sys
from pathlib import Path
from ledger.record.changes import Book, Change
from ledger.record.store import Ledger
with Ledger.open(Path(sys.argv[1])) as ledger:
    sys.stdin.readline()
    for at in range(25):
        change = Change("record", Book("instrument", sys.argv[2]), "marks", f"x-{at}", {"id": "x"})
        ledger.append([change], recorder="me", recorded_at="2026-03-02T10:00:00Z")
"""


def test_two_processes_that_write_wait_for_each_other(ledger):
    root = Path(store.__file__).parents[2]
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(ledger.path), book],
            stdin=subprocess.PIPE,
            cwd=root,
            text=True,
        )
        for book in ("a", "b")
    ]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate()
    assert [writer.returncode for writer in writers] == [0, 0]
    assert ledger.verify_chain().sequence == 50
