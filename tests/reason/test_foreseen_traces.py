"""What a look for traces of fitting is foreseen to show, and where such a look can be made.

Every case is invented; strengths of traces and what parts look like are common practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.foreseen_traces import chances_of_traces
from ledger.reason.likelihoods import FIRST, SERVICE
from ledger.reason.next_steps import next_steps
from ledger.record.case import Case, Recorded, withheld_fields

PACKS = Packs.of(built_in_packs())
FOR = st.floats(1.5, 40)
AGAINST = st.floats(0.02, 0.7)
LABEL = {"id": "dated", "position": "label", "text": "1931", "reads": "1931"}


@pytest.fixture
def advise_on():
    """The advice by its id on a small case of the kind given."""

    def advised(kind, **sections):
        head = {"id": "tiny", "kind": kind, "name": "Tiny", "maker": "M", "invented": "yes"}
        bench = {"id": "b", "kind": "examination", "title": "T", "by": "A", "date": "2020"}
        lines = {
            name: [{"source": "b", **line} for line in given] for name, given in sections.items()
        }
        sheet = BenchSheet.model_validate(
            {"bench_sheet": "1", "instrument": head, "sources": [bench], **lines}
        )
        found = {
            line.id: Recorded(line, section, n, "0" * 64, withheld_fields(section, line), "")
            for section in SECTIONS
            for n, line in enumerate(getattr(sheet, section), 2)
        }
        advice = next_steps(Case(sheet.instrument, len(found) + 1, found), PACKS).advice
        return {each.id: each for each in advice}

    return advised


@given(FOR, FOR, AGAINST, AGAINST, st.floats(0.1, 0.9))
def test_to_find_nothing_that_tells_says_nothing_for_a_first_part(a, b, c, d, seen):
    table = chances_of_traces([(a, b), (c, d)], seen)
    assert table.sum(axis=0) == pytest.approx(1)
    assert table.min() >= 0
    assert table[-1, FIRST] <= table[-1, SERVICE] + 1e-9


@pytest.mark.parametrize("seen", ["filled-holes", "second-footprint"])
def test_holes_that_were_found_filled_are_not_advised_to_be_looked_at_again(advise_on, seen):
    plain = advise_on("mandolin", marks=[LABEL])
    assert "holes.tailpiece" in plain
    looked = {"id": "holes", "trace": seen, "positions": ["tailpiece"]}
    assert "holes.tailpiece" not in advise_on("mandolin", marks=[LABEL], traces=[looked])


def test_the_mandolin_whose_holes_were_plugged_gets_no_second_look_at_them(sample_case):
    advice = next_steps(*sample_case("whinchat-mandolin")).advice
    assert "holes.tailpiece" not in {each.id for each in advice}


def test_no_outcome_that_tells_nothing_raises_a_chance_above_the_good_trace(sample_case):
    for name in ("whinchat-mandolin", "dunnock-lap-steel", "garganey-amplifier"):
        for each in next_steps(*sample_case(name)).advice:
            chances = {o.outcome: _chance_after(o.sentence) for o in each.outcomes}
            nothing = chances.get("it shows nothing that tells")
            good = max((c for c in chances.values() if c is not None), default=None)
            assert nothing is None or good is None or nothing <= good


def _chance_after(sentence):
    """The chance that an outcome leaves; None where little changes."""
    _, found, told = sentence.partition("with a chance of ")
    figure = told.partition(" %")[0].removeprefix("over ").removeprefix("under ")
    return float(figure) if found else None


def test_a_tension_hoop_has_no_solder_and_a_potentiometer_has(advise_on):
    banjo = advise_on("banjo", marks=[LABEL])
    assert not [name for name in banjo if name.startswith("joints.")]
    steel = advise_on("lap-steel", marks=[LABEL])
    assert any(name.startswith("joints.") for name in steel)


def test_a_footswitch_is_not_asked_for_a_date_and_a_transformer_is(sample_case):
    from_amplifier = {each.id for each in next_steps(*sample_case("garganey-amplifier")).advice}
    assert "mark.footswitch" not in from_amplifier
    assert any(name.startswith("mark.") for name in from_amplifier)
