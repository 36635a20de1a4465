"""How far what is published narrows down a number that is withheld; makers are invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, Instrument
from ledger.narrowing import narrowed_down, numbers_alike
from ledger.reason.reasoner import reason
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.references import PackFile

PACK = PackFile.model_validate(
    {
        "pack": "corbel",
        "title": "The invented maker Corbel",
        "version": "1",
        "serial_tables": [
            {
                "id": "numbers",
                "source": "invented",
                "confidence": "medium",
                "pattern": r"(\d{3,4})",
                "positions": ["chassis"],
                "bears_on": "completed",
                "ranges": [
                    {"first": "1", "last": "900", "date": "1946"},
                    {"first": "880", "last": "1700", "date": "1947"},
                ],
            }
        ],
    }
)
BENCH = {"id": "bench", "kind": "examination", "title": "On the bench", "date": "2026-01-05"}
MARK = {"id": "no", "source": "bench", "position": "chassis", "text": "890"}


def _said(**mark):
    about = Instrument(id="amp", kind="valve-amplifier", name="An amplifier", maker="Corbel")
    lines = {}
    for number, (section, given_) in enumerate(
        (("sources", BENCH), ("marks", {**MARK, **mark})), start=1
    ):
        line = SECTIONS[section].model_validate(given_)
        hidden = withheld_fields(section, line)
        lines[line.id] = Recorded(line, section, number, f"{number:064x}", hidden)
    case = Case(about, 2, lines)
    packs = Packs.of((*built_in_packs(), PACK))
    return list(narrowed_down(reason(case, packs), case, packs))


def test_a_withheld_number_that_a_published_table_reads_is_told_with_how_far_it_is_narrowed():
    (sentence,) = _said(withhold=["text"])
    assert "the mark amp/no is withheld, and the table corbel/numbers" in sentence
    assert "fit 21 of its 1,700 numbers" in sentence
    assert "890" not in sentence


@pytest.mark.parametrize(
    "mark",
    [
        pytest.param({}, id="told"),
        pytest.param({"withhold": ["text"], "position": "cabinet"}, id="read-by-no-table"),
        pytest.param({"withhold": ["text"], "text": "no number"}, id="no-number"),
    ],
)
def test_nothing_is_said_of_a_number_that_is_told_or_that_no_table_reads(mark):
    assert _said(**mark) == []


RANGES = st.lists(
    st.tuples(st.integers(1, 30), st.integers(0, 12)).map(lambda r: (r[0], r[0] + r[1])),
    max_size=4,
)


@given(number=st.integers(1, 45), ranges=RANGES)
def test_as_many_numbers_are_alike_as_counting_each_of_them_finds(number, ranges):
    def within(asked):
        return {span for span in ranges if span[0] <= asked <= span[1]}

    mine = within(number)
    counted = sum(within(other) == mine for other in range(1, 60)) if mine else 0
    assert numbers_alike(number, ranges) == counted
