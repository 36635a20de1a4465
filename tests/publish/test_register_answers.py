"""What a site tells of searches of registers of stolen property."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.findings import LineText
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.publish.register_answers import ASKED, NOT_TOLD, without_answers
from ledger.reason.in_full import reason_in_full
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.reporting import report_json

RESULTS = ("no match found", "possible match", "match found", "no answer")


def with_a_search(report, said):
    line = LineText("asked", "register_searches", "Search", said, None, 90, "0" * 64)
    return replace(report, lines=(*report.lines, line))


@pytest.mark.parametrize("result", RESULTS)
def test_no_answer_of_a_register_is_told_whatever_it_was(report, result):
    said = f"The register of the trade was asked on 2 March 2026: {result}. Told so."
    told = without_answers(with_a_search(report, said)).lines[-1].sentence
    assert told == f"The register of the trade was asked on 2 March 2026. {NOT_TOLD}"
    assert result not in told


def test_a_sentence_of_another_form_is_replaced_as_a_whole(report):
    told = without_answers(with_a_search(report, "match found in the register")).lines[-1]
    assert told.sentence == f"{ASKED} {NOT_TOLD}"


def test_a_report_without_a_search_is_left_as_it_is(report):
    assert without_answers(report) is report


def reasoned(result):
    """The full report on an instrument of which a register was asked, and somebody doubts it."""
    sheet = BenchSheet.model_validate(
        {
            "bench_sheet": "1",
            "instrument": {"id": "x", "kind": "mandolin", "name": "X", "invented": "yes"},
            "sources": [
                {"id": "sitting", "kind": "examination", "title": "Sitting", "date": "2026-01-05"},
                {"id": "talk", "kind": "testimony", "title": "A talk"},
            ],
            "custody": [{"id": "held", "source": "talk", "holder": "A. N. Owner"}],
            "register_searches": [
                {
                    "id": "asked",
                    "register_name": "An invented register",
                    "date": "2026-01-02",
                    "asked": "maker and model",
                    "result": result,
                }
            ],
            "challenges": [{"id": "doubt", "says": "It was stolen.", "lines": ["held"]}],
        }
    )
    recorded = {
        line.id: Recorded(line, section, at, f"{at:064x}", withheld_fields(section, line))
        for at, (section, line) in enumerate(
            ((name, line) for name in SECTIONS for line in getattr(sheet, name)), 2
        )
    }
    case = Case(sheet.instrument, len(recorded) + 1, recorded)
    return reason_in_full(case, Packs.of(built_in_packs()))


def test_a_site_tells_the_same_whatever_a_register_answered():
    """In the words of the reasoner: should they change, what is left out has to follow."""
    reports = [reasoned(result) for result in RESULTS]
    assert len({report_json(report) for report in reports}) == len(RESULTS)
    assert len({report_json(without_answers(report)) for report in reports}) == 1
