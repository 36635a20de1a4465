"""Other chains under an end: held against every subset of constraints and every day."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, combinations, product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ledger.basis.spans import iso_date
from ledger.exchange.alternatives import network_of, other_chains
from ledger.exchange.support import decisive, minimal_supports
from ledger.findings import Account, End, EventDating, Finding, Order
from ledger.reason.derive import derive
from ledger.reason.tighten import Tightener

FIRST_DAY, DAYS = 700_000, 4
BEYOND = 5  # as far beyond the days of the bounds as two relations of a day each cannot reach
MOMENTS = ("completed:body", "made:a", "made:b")
ALL_DAYS = tuple(product(range(-BEYOND, DAYS + BEYOND), repeat=len(MOMENTS)))


def subsets(count):
    return chain.from_iterable(combinations(range(count), size) for size in range(count + 1))


def day(number):
    return iso_date(FIRST_DAY + number)


@st.composite
def bounds(draw, number):
    """A bound as a finding, with the test of whether days for the moments keep to it."""
    at = draw(st.integers(0, len(MOMENTS) - 1))
    allowed = draw(st.sets(st.integers(0, DAYS - 1), min_size=1, max_size=DAYS))
    days = tuple((day(one), day(one)) for one in sorted(allowed))
    name, premise = f"bound.{number}", f"line:l{number}"
    told = Finding(name, "bound", "B.", "r", (premise,), (), MOMENTS[at], days)
    return told, lambda given: given[at] in allowed


@st.composite
def relations(draw, number):
    """A relation as a finding, with the test of whether days for the moments keep to it."""
    earlier, later = draw(st.permutations(range(len(MOMENTS))))[:2]
    gap = draw(st.integers(-1, 1))
    order = Order(MOMENTS[earlier], MOMENTS[later], gap)
    told = Finding(
        f"relation.{number}", "relation", "R.", "r", (f"line:r{number}",), orders=(order,)
    )
    return told, lambda given: given[earlier] + gap <= given[later]


CONSTRAINTS = st.tuples(*(bounds(n) for n in range(4)), *(relations(n) for n in range(2)))


def kept_by(test):
    """Which of all days keep to a constraint, as a mask."""
    return sum(1 << i for i, days in enumerate(ALL_DAYS) if test(days))


def end_by_trying(masks, side):
    """The first or last day of completion; None where nothing holds it or no day is left."""
    left = (1 << len(ALL_DAYS)) - 1
    for mask in masks:
        left &= mask
    found = {days[0] for i, days in enumerate(ALL_DAYS) if left >> i & 1}
    if not found:
        return None
    end = min(found) if side == "not before" else max(found)
    return end if -3 < end < DAYS + 2 else None


def reported(base, findings, side, date, steps):
    """A report with nothing in it but those constraints and one end."""
    name = "completed.end"
    told = Finding(name, "date", "E.", "earliest and latest", steps)
    end = End(side, date, name, "E.")
    none = End("not after" if side == "not before" else "not before", None, None, "none known.")
    ends = (end, none) if side == "not before" else (none, end)
    dating = EventDating("completed", "account.1", *ends, possible=())
    account = Account("account.1", "Nothing.", (), is_leading=True, odds_note="")
    return replace(
        base,
        findings=(*findings, told),
        datings=(dating,),
        accounts=(account,),
        suppositions=(),
        conflicts=(),
    )


@settings(max_examples=60)
@given(constraints=CONSTRAINTS, side=st.sampled_from(["not before", "not after"]))
def test_the_chains_are_the_minimal_sets_that_hold_the_end(samples, constraints, side):
    findings = [finding for finding, _ in constraints]
    masks = [kept_by(test) for _, test in constraints]
    date = end_by_trying(masks, side)
    assume(date is not None)
    holding = []
    for subset in subsets(len(masks)):
        is_wider = any(set(each) <= set(subset) for each in holding)
        if not is_wider and end_by_trying([masks[i] for i in subset], side) == date:
            holding.append(subset)
    minimal = {frozenset(findings[i].id for i in subset) for subset in holding}
    base = samples["dunnock-lap-steel"].report
    ready = Tightener(network_of(reported(base, findings, side, day(date), ())))
    passed = (ready.lows if side == "not before" else ready.highs)(ready.everything)
    names = [c.id for c in (*ready.network.bounds, *ready.network.relations)]
    steps = tuple(names[i] for i in ready.steps_to(passed, "completed:body"))
    report = reported(base, findings, side, day(date), steps)
    found = {frozenset(each) for each in other_chains(report).get("completed.end", ())}
    assert found == minimal - {frozenset(steps)}


def test_the_network_told_by_the_findings_is_that_of_the_reasoner(sample):
    told = network_of(sample.report)
    drafted = derive(sample.case, sample.packs).draft.network
    assert told.bounds == drafted.bounds
    assert told.relations == drafted.relations


CODES = [
    {"id": "one", "position": "pot.1", "text": "912-5614"},
    {"id": "two", "position": "pot.2", "text": "912-5614"},
]


def test_an_end_that_two_marks_give_alike_falls_with_neither(weigh_lines):
    found = weigh_lines(marks=CODES)
    end = next(d.not_before for d in found.report.datings if d.event == "completed")
    assert end.date is not None
    supports = minimal_supports(found.graph, end.finding)
    lines = [{n for n in support if n.startswith("line:")} for support in supports.found]
    assert sorted(lines, key=sorted) == [{"line:one"}, {"line:two"}]
    told = {name for name in decisive(found.graph, end.finding) if not name.startswith("supp")}
    assert told == {shift.without for shift in end.shifts}
    assert "line:one" not in told
    assert "line:two" not in told


def test_an_end_that_one_mark_alone_gives_has_no_other_chain(weigh_lines):
    found = weigh_lines(marks=CODES[:1])
    assert other_chains(found.report) == {}


def test_where_the_network_does_not_give_back_the_end_nothing_is_claimed(weigh_lines):
    report = weigh_lines(marks=CODES).report
    moved = tuple(
        replace(d, not_before=replace(d.not_before, date="1900-01-01")) for d in report.datings
    )
    found = other_chains(replace(report, datings=moved))
    assert not any("not-before" in name for name in found)
    assert any("not-before" in name for name in other_chains(report))


@pytest.mark.parametrize("gone", ["premises", "finding"])
def test_an_end_without_a_chain_of_its_own_is_passed_over(weigh_lines, gone):
    report = weigh_lines(marks=CODES).report
    ends = {d.not_before.finding for d in report.datings} | {
        d.not_after.finding for d in report.datings
    }
    findings = [f for f in report.findings if gone == "premises" or f.id not in ends]
    bare = tuple(replace(f, premises=("nowhere",)) if f.id in ends else f for f in findings)
    assert other_chains(replace(report, findings=bare)) == {}
