"""What do labels, features, comparisons, papers and people say of the weeks of completion?

Question answered: for each of them, its chance for each week and each state of what it supposes.

Method: a label dates completion within an allowance, if it left the works with the instrument; a
feature does so within its timeline, fading over the overlap, if the row holds and nothing was
changed; where the row is wrong it says nothing, and rows of one source are wrong together; a
measure or feature that disagrees with how the works made it is rare if everything holds. A paper or an account names its event's date with a drift, or, if its
teller is wrong, any date at all; copies and several tellings of one source are one doubt, and of
those that speak of one moment only the closest counts. Completion, dispatch and first sale follow
one another by exponential waits.

Cost: a running sum along the axis for each, times the states of the tellers of dispatch and sale.

What it does not do: count what agrees and would have agreed anyway; a passed comparison is nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import product
from math import prod

import numpy as np

from ledger.basis.spans import EVER, Spans
from ledger.knowledge.marks import MarkReading
from ledger.knowledge.packs import Row
from ledger.models import Custody, Mark, Paper, Sighting, Testimony
from ledger.reason.dating import alternatives, place_of, timeline_days
from ledger.reason.evidence import Evidence, Terms, Value
from ledger.reason.factors import Table, TooTangled
from ledger.reason.likelihoods import (
    DAYS_A_WEEK,
    FIRST,
    WEEKS_A_YEAR,
    near,
    waited,
    within_softly,
)
from ledger.reason.network import Bound
from ledger.reason.recorded_dates import recorded_days
from ledger.reason.work_evidence import gather_works
from ledger.references import SerialTable, Timeline

LATER_EVENTS = ("dispatched", "first sold")
LEAST_CHANCE = 1e-12
MOST_TELLERS = 8
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
    variables = tuple(dict.fromkeys(_variable(evidence, name) for name in supposed))
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


def _variable(evidence: Evidence, supposition: str) -> str:
    kind, _, subject = supposition.partition(":")
    if kind == "first-fitted":
        return evidence.way(subject)
    if kind == "sound":
        recorded = evidence.draft.case.lines[subject]
        return evidence.holds(evidence.teller(recorded), evidence.soundness(recorded))
    return evidence.holds(supposition)


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


# -- papers and people --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Told:
    """What one source says of one moment: the chance of its words, by the week of that moment.

    ``drift`` is how far its date may lie off, so many weeks to one; None where it is a limit.
    """

    lines: tuple[str, ...]
    teller: str
    moment: str
    days: Spans
    drift: tuple[Value, float] | None

    def by_week(self, evidence: Evidence, terms: Terms) -> Table:
        """For each week of the moment the chance of what is told, if the teller is right."""
        if self.drift is None:
            return evidence.axis.not_after(self.days) + LEAST_CHANCE
        value, in_weeks = self.drift
        return near(evidence.axis, self.days, terms.of(value) * in_weeks) + LEAST_CHANCE

    @property
    def is_limit(self) -> bool:
        """Whether it says only that the moment was not later."""
        return self.drift is None


def tellings(evidence: Evidence) -> tuple[Told, ...]:
    """Everything that papers, people, custody and sightings say of the three events.

    Of what one source says of one moment the closest stands for all.
    """
    draft = evidence.draft
    found: dict[tuple[str, str], Told] = {}
    for bound in draft.network.bounds:
        line = bound.premises[0].partition(":")[2] if bound.premises else ""
        recorded = draft.case.lines.get(line)
        if recorded is None or not isinstance(
            recorded.line, Paper | Testimony | Custody | Sighting
        ):
            continue
        told = recorded.line
        days, drift = bound.spans, None
        if isinstance(told, Testimony) and told.date is not None:
            days = recorded_days(draft.packs, told.date).spans
            source = draft.source_of(recorded)
            relayed = source is not None and source.hand == "relayed"
            row = "testimony-drift-relayed-years" if relayed else "testimony-drift-years"
            drift = evidence.practice(row), WEEKS_A_YEAR
        elif not isinstance(told, Custody | Sighting):
            drift = evidence.practice("paper-allowance"), 1 / DAYS_A_WEEK
        teller = evidence.teller(recorded)
        evidence.holds(teller, evidence.soundness(recorded))
        new = Told((line,), teller, bound.moment, days, drift)
        known = found.get((teller, bound.moment))
        if known is not None:
            closest = min((known, new), key=_length)
            new = replace(closest, lines=(*known.lines, line))
        found[teller, bound.moment] = new
    return tuple(found.values())


def _length(told: Told) -> float:
    first, last = told.days.earliest, told.days.latest
    return float("inf") if first is None or last is None else last - first


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
        evidence.add("dispatch and sale", anchor, chain.tellers, chain.by_completion, lines)


def _add_telling(evidence: Evidence, told: Told, root: str) -> None:
    weeks = evidence.axis.weeks
    otherwise = 0.5 if told.is_limit else 1 / weeks

    def build(terms: Terms) -> Table:
        if set(told.lines) <= terms.without:
            return np.ones((2, 1))
        return np.stack([np.full(weeks, otherwise), told.by_week(evidence, terms)])

    evidence.add(f"told {told.lines[0]} {told.moment}", root, (told.teller,), build, told.lines)


@dataclass(frozen=True, slots=True)
class Chain:
    """Completion, dispatch and first sale, and what is told of the latter two."""

    evidence: Evidence
    told: tuple[Told, ...]
    tellers: tuple[str, ...]
    waits: tuple[Value, Value]

    @classmethod
    def of(cls, evidence: Evidence, told: tuple[Told, ...]) -> Chain:
        """The chain of a case.

        Raises:
            TooTangled: more tellers than can be gone through in all their states.
        """
        tellers = tuple(sorted({each.teller for each in told}))
        if len(tellers) > MOST_TELLERS:
            raise TooTangled(tellers, evidence.axis.weeks << len(tellers))
        waits = (
            evidence.practice("lag-completed-to-dispatched-weeks"),
            evidence.practice("lag-dispatched-to-sold-weeks"),
        )
        return cls(evidence, told, tellers, waits)

    def by_completion(self, terms: Terms) -> Table:
        """The chance of all that is told, by the states of the tellers and the completion."""
        weeks = self.evidence.axis.weeks
        found = np.empty((*(2 for _ in self.tellers), weeks))
        for states in product((0, 1), repeat=len(self.tellers)):
            sold = waited(self.chances(terms, states, "first sold"), self._wait(terms, 1))
            dispatched = self.chances(terms, states, "dispatched") * sold
            found[states] = waited(dispatched, self._wait(terms, 0))
        return found

    def later(self, terms: Terms, weights: Table) -> dict[str, Table]:
        """The weights of the weeks of dispatch and of first sale.

        Args:
            terms: as the pieces were built on.
            weights: of each state of the tellers and week of completion, with everything but
                this chain's own evidence.
        """
        weeks = self.evidence.axis.weeks
        found = {event: np.zeros(weeks) for event in LATER_EVENTS}
        for states in product((0, 1), repeat=len(self.tellers)):
            seen = {event: self.chances(terms, states, event) for event in LATER_EVENTS}
            sold_after = waited(seen["first sold"], self._wait(terms, 1))
            dispatched = _follows(weights[states], self._wait(terms, 0)) * seen["dispatched"]
            found["dispatched"] += dispatched * sold_after
            found["first sold"] += _follows(dispatched, self._wait(terms, 1)) * seen["first sold"]
        return found

    def _wait(self, terms: Terms, which: int) -> float:
        return max(terms.of(self.waits[which]), 0.5)

    def chances(self, terms: Terms, states: tuple[int, ...], event: str) -> Table:
        """The chance of what is told of the event, by its week, in these states of the tellers."""
        weeks = self.evidence.axis.weeks
        found = np.ones(weeks)
        for each in self.told:
            if each.moment != event or set(each.lines) <= terms.without:
                continue
            if states[self.tellers.index(each.teller)]:
                found = found * each.by_week(self.evidence, terms)
            else:
                found = found * (0.5 if each.is_limit else 1 / weeks)
        return found


def _follows(weights: Table, mean_weeks: float) -> Table:
    """The weights of the weeks of an event that follows with an exponential wait."""
    return waited(weights[::-1], mean_weeks)[::-1]
