"""What is given is read no further than it may be long; what was recorded can be mended."""

from __future__ import annotations

import os
import tracemalloc

import pytest

from ledger import rows
from ledger.errors import FaultsFound, LedgerError
from ledger.holdings import schema_file
from ledger.record.case import packs_at
from ledger.record.store import Ledger
from ledger.workflow import check_files, record_files

WHEN = "2026-03-02T10:00:00Z"


def test_a_file_that_is_far_too_large_is_refused_without_being_read_whole(tmp_path):
    path = tmp_path / "sheet.yaml"
    with path.open("wb") as file:
        file.truncate(200_000_000)  # takes no room on the disk
    tracemalloc.start()
    with pytest.raises(FaultsFound, match="a larger file; expected at most 5,000,000 bytes"):
        check_files([path], ())
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 20_000_000


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "sheet.yaml")
    with pytest.raises(FaultsFound, match="A pipe or a device"):
        check_files([tmp_path / "sheet.yaml"], ())


def test_a_recorded_pack_that_is_refused_by_now_is_told_and_can_be_recorded_anew(
    tmp_path, monkeypatch
):
    path, ledger_path = tmp_path / "pack.yaml", tmp_path / "ledger.db"
    whole = schema_file("example-pack.yaml").read_text(encoding="utf-8")
    endless = whole.replace('pattern: "([0-9]{4})"', "pattern: '([0-9]+(?#x))+b'", 1)
    path.write_text(endless, encoding="utf-8")
    with pytest.raises(FaultsFound, match="busy for ever"):
        record_files(ledger_path, [path], "examiner A", WHEN)
    with monkeypatch.context() as patched:
        patched.setattr(rows, "ways_to_match", lambda _: 1)
        record_files(ledger_path, [path], "examiner A", WHEN)
    with Ledger.open(ledger_path, read_only=True) as ledger:
        entries = ledger.entries()
    with pytest.raises(LedgerError, match=r"holds what is refused by now: .*busy for ever"):
        packs_at(entries)
    path.write_text(whole, encoding="utf-8")
    (done,) = record_files(ledger_path, [path], "examiner A", WHEN)
    assert done.superseded == 1
    with Ledger.open(ledger_path, read_only=True) as ledger:
        assert packs_at(ledger.entries())
