"""The least that would settle a question, against every set weighed state by state."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.advising import Survey, survey
from ledger.reason.derive import derive
from ledger.reason.information import expected_bits
from ledger.reason.priors import fitments, suppositions
from ledger.reason.settling import (
    COSTS,
    DATE,
    SETTLED,
    put_together,
    settle,
    settled_share,
)
from ledger.reason.weighing import scales_of
from ledger.record.case import Case, Recorded, withheld_fields

PACKS = Packs.of(built_in_packs())
BENCH = {"id": "bench", "kind": "examination", "title": "Sitting", "by": "A", "date": "1958-01-06"}
POT = {"id": "pot", "source": "bench", "position": "pot.volume", "text": "912 541"}
WANTED = (0.2, 0.35, 0.5, 0.9)


def _surveyed(kinds, marks):
    head = {"id": "tiny", "kind": "lap-steel", "name": "A tiny case", "invented": "yes"}
    sheet = BenchSheet.model_validate(
        {"bench_sheet": "1", "instrument": head, "sources": [BENCH], "marks": marks}
    )
    lines = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            hidden = withheld_fields(section, line)
            lines[line.id] = Recorded(line, section, len(lines) + 2, "0" * 64, hidden, "")
    derivation = derive(Case(sheet.instrument, len(lines) + 1, lines), PACKS)
    fitment = fitments(derivation.draft)
    supposed = suppositions(derivation.draft, fitment)
    outcome = scales_of(derivation.draft, derivation.readings, supposed, fitment).on()
    made = survey(outcome)
    kept = tuple(each for each in made.found if each[0].id in kinds)
    assert len(kept) == len(kinds), [each.id for each, _ in made.found]
    return Survey(made.ready, made.prospects, kept)


@pytest.fixture(scope="module")
def surveyed():
    """A lap steel with one control read, and four things that could be examined."""
    kinds = ("mark capacitor", "joints capacitor", "mark back-plate", "joints pot.volume")
    return _surveyed(kinds, [POT])


def _few(made, asked):
    """Each examination that tells of what is asked, with its outcomes put together."""
    found = {}
    for examination, prospect in made.found:
        joint = prospect.dates if asked == DATE else made.prospects.state_after(prospect, asked)
        if expected_bits(joint) >= 0.005:
            found[examination.id] = (
                examination,
                [examination.table[list(at)].sum(axis=0) for at in put_together(joint)],
            )
    return found


def _chance(made, few, chosen, asked):
    """How often the chosen settle it, from every state of every choice that matters."""
    prospects = made.prospects
    weeks = prospects.scales.evidence.axis.weeks
    names = {v for name in chosen for v in few[name][0].variables} | {"way:pot.volume"}
    names |= set() if asked == DATE else {asked}
    order = sorted(names)
    factors = [f for f in prospects.factors.values() if set(f.variables) & names]
    assert all(set(f.variables) <= names for f in factors)
    factors += [f for f in prospects.factors.values() if not f.variables]
    sizes = [prospects.scales.evidence.sizes[name] for name in order]
    combos = list(product(*(range(len(few[name][1])) for name in chosen)))
    last = weeks if asked == DATE else prospects.scales.evidence.sizes[asked]
    joint = np.zeros((len(combos), last))
    for state in product(*map(range, sizes)):
        at = dict(zip(order, state, strict=True))
        weight = np.ones(weeks)
        for factor in factors:
            weight = weight * np.exp(factor.table[tuple(at[v] for v in factor.variables)])
        for row, combo in enumerate(combos):
            told = weight
            for name, outcome in zip(chosen, combo, strict=True):
                examination, tables = few[name]
                told = told * tables[outcome][tuple(at[v] for v in examination.variables)]
            if asked == DATE:
                joint[row] += told
            else:
                joint[row, at[asked]] += told.sum()
    joint /= joint.sum()
    settled = 0.0
    for row in joint:
        if asked == DATE:
            best = np.convolve(row, np.ones(52), mode="valid").max()
        else:
            best = max(row[0], row[1:].sum())
        settled += row.sum() if best >= SETTLED * row.sum() else 0.0
    return settled


@pytest.mark.parametrize("asked", ["way:capacitor", "way:pot.volume"])
def test_the_proposal_is_the_cheapest_of_all_sets_of_examinations(surveyed, asked):
    few = _few(surveyed, asked)
    chances = {
        chosen: _chance(surveyed, few, chosen, asked)
        for size in range(4)
        for chosen in combinations(sorted(few), size)
    }
    cost = {chosen: sum(COSTS[few[n][0].reach] for n in chosen) for chosen in chances}
    for wanted in WANTED:
        proposal = settle(surveyed, asked, wanted)
        chosen = tuple(sorted(name.replace(".", " ", 1) for name in proposal.examinations))
        assert proposal.chance == pytest.approx(chances[chosen], abs=1e-4), (wanted, chosen)
        enough = [each for each, chance in chances.items() if chance >= wanted]
        assert proposal.would_settle is bool(enough)
        if enough:
            assert cost[chosen] == min(cost[each] for each in enough)
            assert proposal.is_cheapest
        else:
            assert proposal.chance == pytest.approx(max(chances.values()), abs=1e-4)


def test_for_the_date_too_nothing_that_is_as_cheap_settles_it_more_often(surveyed):
    few = _few(surveyed, DATE)
    chances = {
        chosen: _chance(surveyed, few, chosen, DATE)
        for size in range(4)
        for chosen in combinations(sorted(few), size)
    }
    proposal = settle(surveyed, DATE, 0.95)
    assert proposal.chance == pytest.approx(max(chances.values()), abs=1e-4)
    assert not proposal.would_settle
    least = 0.5 * max(chances.values())
    proposal = settle(surveyed, DATE, least)
    cost = {chosen: sum(COSTS[few[n][0].reach] for n in chosen) for chosen in chances}
    chosen = tuple(sorted(name.replace(".", " ", 1) for name in proposal.examinations))
    assert cost[chosen] == min(cost[each] for each in chances if chances[each] >= least)
    assert proposal.is_cheapest


def test_two_looks_for_traces_on_one_part_are_never_taken_for_two_pieces_of_evidence():
    made = _surveyed(("joints capacitor", "joints pot.volume", "holes pot.volume"), [POT])
    proposal = settle(made, "way:pot.volume", 0.999)
    assert len({name.partition(".")[2] for name in proposal.examinations}) == len(
        proposal.examinations
    )


def test_what_is_settled_already_asks_for_nothing(surveyed):
    proposal = settle(surveyed, "way:capacitor", 0.0)
    assert proposal.examinations == ()
    assert proposal.would_settle


def test_what_would_alter_the_instrument_is_never_proposed():
    made = _surveyed(("mark capacitor",), [POT])
    (examination, prospect) = made.found[0]

    altering = Survey(
        made.ready, made.prospects, ((replace(examination, reach="alter"), prospect),)
    )
    proposal = settle(altering, "way:capacitor", 0.5)
    assert proposal.examinations == ()
    assert not proposal.would_settle


@given(st.lists(st.lists(st.floats(0, 1), min_size=3, max_size=3), min_size=2, max_size=6))
def test_outcomes_put_together_are_all_there_once_and_in_their_order(rows):
    joint = np.array(rows) + 1e-6
    groups = put_together(joint, 3)
    assert len(groups) == min(len(rows), 3)
    assert [i for group in groups for i in group] == list(range(len(rows)))


def test_a_date_is_settled_where_one_year_holds_nearly_all_of_the_chance():
    narrow, wide = np.zeros(200), np.zeros(200)
    narrow[10:60] = 0.5 / 50
    wide[10:110] = 0.5 / 100
    assert settled_share(np.stack([narrow, wide]), DATE) == pytest.approx(0.5)
