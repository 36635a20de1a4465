"""Examinations foreseen, against the whole joint table gone through state by state."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.advising import survey
from ledger.reason.derive import derive
from ledger.reason.information import expected_bits
from ledger.reason.priors import fitments, suppositions
from ledger.reason.weighing import scales_of
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.references import PackFile

PACKS = Packs.of(built_in_packs())
BENCH = {"id": "bench", "kind": "examination", "title": "Sitting", "by": "A", "date": "1958-01-06"}
FEATURE = {
    "id": "long-bracket",
    "source": "common practice, no source (invented case)",
    "confidence": "medium",
    "position": "bridge",
    "feature": "bracket",
    "value": "long",
    "begins": "1954-06",
    "ends": "1955-12",
    "overlap_days": "60",
}


def _case(kind, **sections):
    head = {"id": "tiny", "kind": kind, "name": "A tiny case", "invented": "yes"}
    lines = {
        name: [{"source": "bench", **line} for line in given] for name, given in sections.items()
    }
    sheet = BenchSheet.model_validate(
        {"bench_sheet": "1", "instrument": head, "sources": [BENCH], **lines}
    )
    found = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            hidden = withheld_fields(section, line)
            number = len(found) + 2
            found[line.id] = Recorded(line, section, number, f"{number:064x}", hidden, "")
    return Case(sheet.instrument, len(found) + 1, found)


def _weighed(case, pack=None):
    packs = PACKS
    if pack is not None:
        row = {"pack": "tiny", "title": "Tiny", "version": "1", "invented": "yes", **pack}
        packs = Packs.of((*built_in_packs(), PackFile.model_validate(row)))
    derivation = derive(case, packs)
    draft = derivation.draft
    fitment = fitments(draft)
    return scales_of(draft, derivation.readings, suppositions(draft, fitment), fitment).on()


def _is_prior(factor, name):
    """Whether the factor says no more than how likely each value of the choice is."""
    sums = np.exp(factor.table).sum(axis=factor.variables.index(name))
    return bool(np.allclose(sums, 1))


def _joint(prospects, examination, names):
    """Outcome by state of ``names`` by week, from every state of everything, one after another.

    Choices that have a prior and nothing else, and that are not asked for, are left out.
    """
    evidence = prospects.scales.evidence
    anatomy = evidence.draft.anatomy
    anchor, weeks = anatomy.view.anchor, evidence.axis.weeks
    roots = {piece.name: piece.root for piece in evidence.pieces}
    asked = {*examination.variables, *names}
    asked |= {each for each in prospects.states if each.startswith("joined:")}
    factors = dict(prospects.factors)
    is_done = False
    while not is_done:
        is_done = True
        for name in {v for f in factors.values() for v in f.variables} - asked:
            held = [n for n, f in factors.items() if name in f.variables]
            if len(held) == 1 and _is_prior(factors[held[0]], name):
                del factors[held[0]]
                is_done = False
    tied = asked | {v for f in factors.values() for v in f.variables}
    variables = tuple(sorted(tied))
    sizes = [evidence.sizes[v] for v in variables]
    assert np.prod(sizes) < 5_000, "small enough to go through"
    found = np.zeros((len(examination.table), *(evidence.sizes[n] for n in names), weeks))
    for state in product(*map(range, sizes)):
        at = dict(zip(variables, state, strict=True))
        mine = np.ones((1, weeks))
        others = {}
        for name, factor in factors.items():
            row = np.exp(factor.table[tuple(at[v] for v in factor.variables)])
            root = roots.get(name, "") if factor.table.shape[-1] > 1 else ""
            if root in ("", anchor):
                mine = mine * row
            else:
                others[root] = others.get(root, 1.0) * row
        told = examination.table[(slice(None), *(at[v] for v in examination.variables))]
        told = np.broadcast_to(told, (len(told), weeks))
        if examination.root in ("", anchor):
            mine = mine * told
        else:
            others.setdefault(examination.root, 1.0)
            others[examination.root] = others[examination.root] * told
        for root, row in others.items():
            path = anatomy.view.union_path(anchor, root) or ()
            is_joined = path and all(at[anatomy.union_id(u)] == 1 for u in path)
            full = np.broadcast_to(row, np.broadcast_shapes(np.shape(row), (weeks,)))
            mine = mine * (full if is_joined else full.mean(axis=-1, keepdims=True))
        found[(slice(None), *(at[n] for n in names))] += np.broadcast_to(
            mine, (len(examination.table), weeks)
        )
    return found / found.sum()


def _agree(outcome, ids=None):
    made = survey(outcome)
    checked = 0
    for examination, prospect in made.found:
        if ids is not None and examination.id not in ids:
            continue
        assert examination.table.min() >= 0
        assert examination.table.sum(axis=0) == pytest.approx(1, abs=1e-9)
        joint = _joint(made.prospects, examination, ())
        assert prospect.date_bits == pytest.approx(expected_bits(joint), abs=1e-5), examination.id
        assert prospect.chances == pytest.approx(joint.sum(axis=1), abs=1e-6)
        for name, table in prospect.states.items():
            whole = _joint(made.prospects, examination, (name,)).sum(axis=-1)
            assert table == pytest.approx(whole, abs=1e-6), (examination.id, name)
        checked += 1
    return made, checked


pots = st.sampled_from(["912 541", "912 549", "912 608", "912 5?1", "912 550"])
legible = st.sampled_from(["clear", "worn", "partial"])
traces = st.sampled_from(
    ["undisturbed-joints", "reworked-joint", "single-footprint", "extra-holes"]
)


@settings(max_examples=6)
@given(text=pots, legibility=legible, trace=st.none() | traces, feature=st.booleans())
def test_bits_and_states_are_those_of_the_whole_joint_table(text, legibility, trace, feature):
    marks = [{"id": "pot", "position": "pot.volume", "text": text, "legibility": legibility}]
    sections = {"marks": marks}
    if trace is not None:
        sections["traces"] = [{"id": "seen", "trace": trace, "positions": ["pot.volume"]}]
    outcome = _weighed(
        _case("lap-steel", **sections), {"timelines": [FEATURE]} if feature else None
    )
    wanted = {
        "again pot",
        "mark capacitor",
        "joints pot.volume",
        "feature bridge bracket",
        "mark body",
        "paper first sold",
    }
    made, checked = _agree(outcome, wanted)
    assert checked >= 3
    found = {examination.id for examination, _ in made.found}
    assert ("feature bridge bracket" in found) is feature


def test_another_root_moves_the_date_only_as_far_as_the_two_belong_together():
    marks = [
        {"id": "body", "position": "body", "text": "3-55", "reads": "1955-03"},
        {"id": "pot", "position": "pot.volume", "text": "912 541"},
    ]
    outcome = _weighed(_case("solid-body-electric", marks=marks))
    made, checked = _agree(outcome, {"mark neck", "label serial", "mark body"})
    assert checked >= 1
    neck = next(p for e, p in made.found if e.id == "mark neck")
    assert neck.date_bits > 0
    assert "joined:body+neck" in neck.states


@pytest.mark.parametrize("at", range(3), ids=["one flow", "melted again", "fresh"])
def test_what_is_foreseen_of_a_trace_is_what_the_weighing_says_once_it_is_recorded(at):
    marks = [{"id": "pot", "position": "pot.volume", "text": "912 541"}]
    made = survey(_weighed(_case("lap-steel", marks=marks)))
    look = next(e for e, _ in made.found if e.id == "joints pot.volume")
    prospect = made.prospects.prospect(look)
    foreseen = prospect.states["way:pot.volume"][at]
    kind = ("undisturbed-joints", "reworked-joint", "uniform-later-joints")[at]
    trace = {"id": "seen", "trace": kind, "positions": ["pot.volume"]}
    then = _weighed(_case("lap-steel", marks=marks, traces=[trace]))
    assert foreseen / foreseen.sum() == pytest.approx(then.chances("way:pot.volume"), abs=1e-6)


def test_codes_in_the_likely_years_speak_for_a_part_and_later_ones_against_it_as_foreseen():
    marks = [{"id": "pot", "position": "pot.volume", "text": "912 541"}]
    made = survey(_weighed(_case("lap-steel", marks=marks)))
    read = next(e for e, _ in made.found if e.id == "mark capacitor")
    prospect = made.prospects.prospect(read)
    table = prospect.states["way:capacitor"]
    first = table[:, 0] / table.sum(axis=1)
    for text, year in (("912 540", 1955), ("912 710", 1957)):
        more = [*marks, {"id": "cap", "position": "capacitor", "text": text}]
        then = _weighed(_case("lap-steel", marks=more)).chances("way:capacitor")[0]
        word = next(i for i, (_, last) in enumerate(read.years) if last is None or year <= last)
        at = [i for i, told in enumerate(read.told) if told == word]
        foreseen = float(table[at, 0].sum() / table[at].sum())
        now = float(table[:, 0].sum())
        assert (then > now) == (foreseen > now), (text, now, foreseen, then, first)


def test_nothing_is_left_out_of_the_weeks_but_a_hundred_millionth():
    marks = [{"id": "pot", "position": "pot.volume", "text": "912 541"}]
    made = survey(_weighed(_case("lap-steel", marks=marks)))
    kept = made.prospects.weeks[made.prospects.kept].sum()
    assert kept == pytest.approx(1, abs=1.1e-8)
