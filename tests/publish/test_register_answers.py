"""What a site tells of searches of registers of stolen property."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.findings import LineText
from ledger.publish.register_answers import ASKED, NOT_TOLD, without_answers

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
