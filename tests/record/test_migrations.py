"""Ledgers of every format there ever was, kept as they were written.

``golden/format-1.db`` was written by the last version that knew format 1 only: a pack, an invented
instrument with an exhibit and withheld values, edited twice, twelve entries.
"""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from ledger.errors import LedgerFormat
from ledger.record import migrations
from ledger.record.case import case_at
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Head, Ledger

GOLDEN = Path(__file__).parent / "golden"
HEADS = {
    1: Head(12, "0c525be44bff4c828be502488828b5d0f3d67dd730a7f3bcb7586080ca1e98da"),
    2: Head(12, "0c525be44bff4c828be502488828b5d0f3d67dd730a7f3bcb7586080ca1e98da"),
}


@pytest.fixture(params=sorted(HEADS), ids=lambda version: f"format-{version}")
def golden(request, tmp_path):
    """A copy of a ledger of that format, and the format."""
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / f"format-{request.param}.db", path)
    path.chmod(0o600)
    return path, request.param


def _version(path):
    connection = sqlite3.connect(path)
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    connection.close()
    return version


def test_a_ledger_is_kept_of_every_format():
    assert sorted(HEADS) == list(range(1, migrations.FORMAT_VERSION + 1))


def test_a_ledger_of_any_format_is_read_without_being_changed(golden):
    path, version = golden
    before = path.read_bytes()
    with Ledger.open(path, read_only=True) as ledger:
        assert ledger.verify_chain() == HEADS[version]
        assert ledger.checkpoints() == ()
        assert not ledger.has_residue()
        line = case_at(ledger.entries(), "alder-mandolin", opened=ledger.opened()).lines
        assert line["first-holder"].line.place == "A town"
    found = audit_ledger(path)
    assert found.faults == ()
    assert path.read_bytes() == before
    assert _version(path) == version


def test_opened_for_writing_it_becomes_the_present_format_and_says_the_same(golden, erase):
    path, version = golden
    with Ledger.open(path, read_only=True) as ledger:
        before = (ledger.entries(), ledger.opened(), ledger.withheld())
    with Ledger.open(path) as ledger:
        assert (ledger.entries(), ledger.opened(), ledger.withheld()) == before
        assert ledger.verify_chain() == HEADS[version]
        assert _version(path) == migrations.FORMAT_VERSION
        assert audit_ledger(path).faults == ()
        erase(ledger)
        assert ledger.opened() == {}
    assert audit_ledger(path).faults == ()


def test_one_that_is_not_what_was_recorded_is_left_as_it_is(tmp_path):
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / "format-1.db", path)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("DROP TRIGGER entry_is_never_changed")
    connection.execute("UPDATE entry SET recorder = 'x' WHERE sequence = 5")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(LedgerFormat, match="entry 5"):
        Ledger.open(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("statement", range(0, 40, 3), ids=str)
def test_a_migration_that_is_broken_off_leaves_the_old_ledger(tmp_path, monkeypatch, statement):
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / "format-1.db", path)
    left = [statement]

    def _step(connection):
        def _count(_sql):
            left[0] -= 1
            if left[0] < 0:
                connection.interrupt()

        connection.set_trace_callback(_count)
        migrations._second_format(connection)

    monkeypatch.setattr(migrations, "_STEPS", {1: _step})
    with pytest.raises(migrations.LedgerError):
        Ledger.open(path)
    assert _version(path) == 1
    with Ledger.open(path, read_only=True) as ledger:
        assert ledger.verify_chain() == HEADS[1]


def test_a_migration_that_loses_a_row_is_not_taken(tmp_path, monkeypatch):
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / "format-1.db", path)

    def _step(connection):
        migrations._second_format(connection)
        connection.execute("DROP TRIGGER entry_is_never_deleted")
        connection.execute("DELETE FROM entry WHERE sequence = 12")

    monkeypatch.setattr(migrations, "_STEPS", {1: _step})
    with pytest.raises(LedgerFormat, match="would not be the same"):
        Ledger.open(path)
    assert _version(path) == 1
    with Ledger.open(path, read_only=True) as ledger:
        assert ledger.verify_chain() == HEADS[1]


def test_two_that_migrate_at_once_do_it_once(tmp_path):
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / "format-1.db", path)
    with Ledger.open(path) as ledger:
        assert migrations.migrate(ledger._connection, path) == migrations.FORMAT_VERSION


@pytest.mark.parametrize("version", [0, 3, 99], ids=str)
def test_a_format_that_is_not_known_is_refused_with_a_sentence(tmp_path, version):
    path = tmp_path / "ledger.db"
    shutil.copy(GOLDEN / "format-1.db", path)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(f"PRAGMA user_version = {version}")
    connection.close()
    with pytest.raises(LedgerFormat, match="newer version" if version else "not a ledger"):
        Ledger.open(path)
