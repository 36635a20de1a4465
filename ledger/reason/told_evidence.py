"""What do labels, features, comparisons, papers and people say of the weeks of completion?

Question answered: for each of them, its chance for each week and each state of what it supposes.

Method: a label dates completion within an allowance, if it left the works with the instrument; a
feature does so within its timeline, fading over the overlap, if the row holds and nothing was
changed; where the row is wrong it says nothing, and rows of one source are wrong together; a
measure or feature that disagrees with how the works made it, or with another observation, is rare if
everything holds. What papers and people tell is :mod:`ledger.reason.tellings`.

Cost: a running sum along the axis for each.

What it does not do: count what agrees and would have agreed anyway; a passed comparison is nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import prod

import numpy as np

from ledger.basis.spans import EVER, Spans
from ledger.knowledge.marks import MarkReading
from ledger.knowledge.packs import Row
from ledger.models import Mark
from ledger.reason.dating import alternatives, place_of, timeline_days
from ledger.reason.evidence import Evidence, Terms, Value
from ledger.reason.factors import Table
from ledger.reason.likelihoods import DAYS_A_WEEK, FIRST, near, within_softly
from ledger.reason.network import Bound
from ledger.reason.tellings import LATER_EVENTS, Chain, Told, tellings, variable_of
from ledger.reason.work_evidence import gather_works
from ledger.references import SerialTable, Timeline

# The rules by which two observations, or one and a row, cannot both be right.
COMPARED = ("specification", "matching numbers", "observations differ")


def gather_told(evidence: Evidence, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    """Take every piece that speaks of completion, dispatch or sale but for the parts' own."""
    _gather_labels(evidence, readings)
    _gather_features(evidence)
    _gather_comparisons(evidence)
    _gather_tellers(evidence)
    gather_works(evidence)


@dataclass(frozen=True, slots=True)
class Chances:
    """What an observation is worth in three cases.

    Where all that it supposes holds, by weeks; where the row does not, so that it says nothing, neither
    of the date nor of the part nor of the row itself: as often as it is found where the row holds; where
    the row holds and the part or root was changed, or the observation is wrong.
    """

    all_hold: Callable[[Terms], Table]
    row_wrong: Callable[[Terms], float]
    otherwise: Callable[[Terms], float]


def _gather_labels(evidence: Evidence, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    draft, axis = evidence.draft, evidence.axis
    for recorded in draft.case.of(Mark):
        place = place_of(recorded.line)
        for group in alternatives(recorded.id, readings.get(recorded.id, ())):
            days = Spans.of(span for _, reading in group for span in reading.spans)
            if group[0][1].bears_on != "completed" or not days or days == EVER:
                continue
            reading = group[0][1]
            row = draft.packs.row(reading.reference)
            supposed = [f"sound:{recorded.id}"]
            if row is not None and isinstance(row.row, SerialTable):
                supposed.append(f"holds:{row.id}")
            if not draft.anatomy.is_root(place):
                supposed.append(f"first-fitted:{draft.anatomy.event_of(place)}")
            is_written = reading.kind == "written"
            allowance = evidence.practice("label-allowance" if is_written else "number-allowance")

            def told(terms: Terms, days: Spans = days, allowance: Value = allowance) -> Table:
                return near(axis, days, terms.of(allowance) / DAYS_A_WEEK)

            any_week = Chances(told, lambda _: 1 / axis.weeks, lambda _: 1 / axis.weeks)
            _add_if_all_hold(evidence, place, supposed, any_week, (recorded.id,))


def _add_if_all_hold(
    evidence: Evidence,
    place: str,
    supposed: Iterable[str],
    chances: Chances,
    lines: tuple[str, ...],
) -> None:
    """A piece with one table where all that is supposed holds, and one chance where it does not.

    Without the lines every chance is one.
    """
    variables = tuple(dict.fromkeys(variable_of(evidence, name) for name in supposed))
    holding = tuple(FIRST if name.startswith("way:") else 1 for name in variables)
    rows = [i for i, name in enumerate(variables) if name in evidence.rows]
    shape = tuple(evidence.sizes[name] for name in variables)

    def build(terms: Terms) -> Table:
        if not terms.without.isdisjoint(lines):
            return np.ones((*shape, 1))
        table = chances.all_hold(terms)
        found = np.full((*shape, len(table)), chances.otherwise(terms))
        for i in rows:
            found.swapaxes(0, i)[0] = chances.row_wrong(terms)
        found[holding] = table
        return found

    root = evidence.draft.anatomy.root_of(place)
    name = f"line {' '.join(lines)} {len(evidence.pieces)}"
    evidence.add(name, root, variables, build, lines)


def _gather_features(evidence: Evidence) -> None:
    """Timelines, with soft edges, for features that left the works with the instrument."""
    draft, axis = evidence.draft, evidence.axis
    by_chance, error = evidence.practice("agrees-by-chance"), evidence.practice("comparison-error")
    for bound in draft.network.bounds:
        if bound.rule != "feature timeline":
            continue
        line, row = _feature_of(evidence, bound)
        days = bound.spans
        plain = timeline_days(draft, row) if not _is_recomputed(bound) else None
        overlap = row.row.overlap_days / DAYS_A_WEEK if plain is not None else 0.0
        inside = within_softly(axis, plain or days, overlap)

        def told(terms: Terms, inside: Table = inside) -> Table:
            wrong = terms.of(error)
            return (1 - wrong) * inside + wrong * terms.of(by_chance)

        holding = _priors_of(evidence, bound.suppositions)

        def found_so(terms: Terms, holding: tuple[Value, ...] = holding) -> float:
            chance = prod(terms.of(each) for each in holding)
            return chance + (1 - chance) * terms.of(by_chance)

        place = place_of(draft.case.lines[line].line)
        chances = Chances(told, found_so, lambda terms: terms.of(by_chance))
        _add_if_all_hold(evidence, place, bound.suppositions, chances, (line,))


def _is_recomputed(bound: Bound) -> bool:
    """Whether its timeline was recomputed without this instrument."""
    return any(premise.startswith("dependency.") for premise in bound.premises)


def _priors_of(evidence: Evidence, supposed: Iterable[str]) -> tuple[Value, ...]:
    """The priors, at the age that the report tells, of all that is supposed but for rows."""
    found: list[Value] = []
    for name in supposed:
        kind, _, subject = name.partition(":")
        if kind == "sound":
            found.append(evidence.soundness(evidence.draft.case.lines[subject]))
        elif kind != "holds":
            found.append(evidence.part_prior(evidence.draft.doubts[name]))
    return tuple(found)


def _feature_of(evidence: Evidence, bound: Bound) -> tuple[str, Row[Timeline]]:
    line = bound.premises[0].partition(":")[2]
    row = evidence.draft.packs.row(bound.premises[1].partition(":")[2])
    if row is None or not isinstance(row.row, Timeline):
        raise KeyError(bound.id)
    return line, row


def _gather_comparisons(evidence: Evidence) -> None:
    """Measures, features and numbers that do not agree with how the works made it."""
    by_chance, error = evidence.practice("agrees-by-chance"), evidence.practice("comparison-error")
    for clash in evidence.draft.network.clashes:
        if clash.rule not in COMPARED:
            continue
        lines = (name.partition(":")[2] for name in clash.suppositions if name[:6] == "sound:")
        roots = (name.partition(":")[2] for name in clash.suppositions if name[:8] == "as-made:")

        def told(terms: Terms) -> Table:
            return np.array([terms.of(error)])

        place = next(roots, evidence.draft.anatomy.view.anchor)
        chances = Chances(
            told, lambda terms: 1 - terms.of(by_chance), lambda terms: 1 - terms.of(by_chance)
        )
        _add_if_all_hold(evidence, place, clash.suppositions, chances, tuple(lines))


def _gather_tellers(evidence: Evidence) -> None:
    told = tellings(evidence)
    for each in told:
        if each.moment in LATER_EVENTS:
            continue
        kind, _, place = each.moment.partition(":")
        root = place if kind == "completed" else evidence.draft.anatomy.view.anchor
        _add_telling(evidence, each, root)
    later = tuple(each for each in told if each.moment in LATER_EVENTS)
    if later:
        chain = Chain.of(evidence, later)
        lines = tuple(dict.fromkeys(line for each in later for line in each.lines))
        anchor = evidence.draft.anatomy.view.anchor
        evidence.add("dispatch and sale", anchor, chain.variables, chain.by_completion, lines)


def _add_telling(evidence: Evidence, told: Told, root: str) -> None:
    weeks = evidence.axis.weeks
    otherwise = 0.5 if told.is_limit else 1 / weeks
    variables = tuple(name for name, _ in told.needs)
    shape = tuple(evidence.sizes[name] for name in variables)

    def build(terms: Terms) -> Table:
        if set(told.lines) <= terms.without:
            return np.ones((*shape, 1))
        found = np.full((*shape, weeks), otherwise)
        found[tuple(value for _, value in told.needs)] = told.by_week(evidence, terms)
        return found

    evidence.add(f"told {told.lines[0]} {told.moment}", root, variables, build, told.lines)
