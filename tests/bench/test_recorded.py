from __future__ import annotations

from ledger.bench.recorded import erased_fields, recorded_sheet
from ledger.record.case import Case, case_at
from ledger.record.store import Ledger
from ledger.workflow import record_files

AT = "2026-03-02T10:00:00Z"


def recorded(examples, tmp_path):
    path = tmp_path / "ledger.db"
    record_files(path, [examples["folder"] / "example-sheet.yaml"], "examiner A", AT)
    with Ledger.open(path, read_only=True) as ledger:
        entries, opened = ledger.entries(), ledger.opened()
    return entries, opened


def test_what_was_recorded_is_the_sheet_again(examples, tmp_path):
    entries, opened = recorded(examples, tmp_path)
    case = case_at(entries, "example-lap-steel", None, opened)
    assert recorded_sheet(case) == examples["example-sheet"]
    assert erased_fields(case) == ()


def test_what_was_erased_reads_as_withheld_and_is_named(examples, tmp_path):
    entries, _ = recorded(examples, tmp_path)
    case = case_at(entries, "example-lap-steel", None, {})
    assert "first-holder.holder" in erased_fields(case)
    assert recorded_sheet(case).custody[0].holder == "withheld"


def test_a_case_without_lines_is_a_sheet_with_none(examples):
    case = Case(examples["example-sheet"].instrument, 1)
    assert recorded_sheet(case) == without_lines(examples["example-sheet"])


def without_lines(sheet):
    """The sheet without its lines."""
    return type(sheet)(bench_sheet="1", instrument=sheet.instrument)
