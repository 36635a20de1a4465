"""What do papers, people, custody and sightings say of completion, dispatch and first sale?

Question answered: for what each of them tells of each event the chance of its words by the week of
that event, and what it supposes; for all that is told of dispatch and sale together, the chance by the
week of completion, and the weeks of both events.

Method: a paper or an account names its event's date with a drift, or, if its teller is wrong or the
mark by which a paper names the object did not come with it, any date at all; copies and several
tellings of one source are one doubt, and of those that speak of one moment only the closest counts.
Completion, dispatch and first sale follow one another by exponential waits.

Cost: a running sum along the axis for each, times the states of what dispatch and sale suppose.

What it does not do: take what is told of the object for what is told of its parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import prod

import numpy as np

from ledger.basis.spans import Spans
from ledger.models import Custody, Paper, Sighting, Testimony
from ledger.reason.evidence import Evidence, Terms, Value
from ledger.reason.factors import Table, TooTangled
from ledger.reason.likelihoods import DAYS_A_WEEK, FIRST, WEEKS_A_YEAR, near, waited
from ledger.reason.recorded_dates import recorded_days

LATER_EVENTS = ("dispatched", "first sold")
LEAST_CHANCE = 1e-12
MOST_STATES = 256


def variable_of(evidence: Evidence, supposition: str) -> str:
    """The variable of a supposition: that of a part's way, of a line's teller, or its own."""
    kind, _, subject = supposition.partition(":")
    if kind == "first-fitted":
        return evidence.way(subject)
    if kind == "sound":
        recorded = evidence.draft.case.lines[subject]
        return evidence.holds(evidence.teller(recorded), evidence.soundness(recorded))
    return evidence.holds(supposition)


@dataclass(frozen=True, slots=True)
class Told:
    """What one source says of one moment: the chance of its words, by the week of that moment.

    ``drift`` is how far its date may lie off, so many weeks to one; None where it is a limit. It is
    told of this object if every variable of ``needs`` has its value there: the teller is right, and
    the mark by which a paper names the object came with it.
    """

    lines: tuple[str, ...]
    needs: tuple[tuple[str, int], ...]
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
        needs = [(teller, 1)]
        if isinstance(told, Paper):
            others = (name for name in bound.suppositions if name != f"sound:{line}")
            variables = [variable_of(evidence, name) for name in others]
            needs += [(name, FIRST if name.startswith("way:") else 1) for name in variables]
        new = Told((line,), tuple(dict.fromkeys(needs)), bound.moment, days, drift)
        known = found.get((teller, bound.moment))
        if known is not None:
            closest = min((known, new), key=_length)
            new = replace(closest, lines=(*known.lines, line))
        found[teller, bound.moment] = new
    return tuple(found.values())


def _length(told: Told) -> float:
    first, last = told.days.earliest, told.days.latest
    return float("inf") if first is None or last is None else last - first


@dataclass(frozen=True, slots=True)
class Chain:
    """Completion, dispatch and first sale, and what is told of the latter two."""

    evidence: Evidence
    told: tuple[Told, ...]
    variables: tuple[str, ...]
    waits: tuple[Value, Value]

    @classmethod
    def of(cls, evidence: Evidence, told: tuple[Told, ...]) -> Chain:
        """The chain of a case.

        Raises:
            TooTangled: they suppose more than can be gone through in all its states.
        """
        variables = tuple(sorted({name for each in told for name, _ in each.needs}))
        states = prod(evidence.sizes[name] for name in variables)
        if states > MOST_STATES:
            raise TooTangled(variables, evidence.axis.weeks * states)
        waits = (
            evidence.practice("lag-completed-to-dispatched-weeks"),
            evidence.practice("lag-dispatched-to-sold-weeks"),
        )
        return cls(evidence, told, variables, waits)

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many values each of the variables has."""
        return tuple(self.evidence.sizes[name] for name in self.variables)

    def _states(self) -> Iterator[tuple[tuple[int, ...], tuple[bool, ...]]]:
        """Each state of the variables, and what is then told of this object."""
        for states in product(*map(range, self.sizes)):
            now = dict(zip(self.variables, states, strict=True))
            yield (
                states,
                tuple(all(now[name] == value for name, value in each.needs) for each in self.told),
            )

    def by_completion(self, terms: Terms) -> Table:
        """The chance of all that is told, by the states of the variables and the completion."""
        weeks = self.evidence.axis.weeks
        found = np.empty((*self.sizes, weeks))
        known: dict[tuple[bool, ...], Table] = {}
        for states, so in self._states():
            if so not in known:
                sold = waited(self.chances(terms, so, "first sold"), self._wait(terms, 1))
                dispatched = self.chances(terms, so, "dispatched") * sold
                known[so] = waited(dispatched, self._wait(terms, 0))
            found[states] = known[so]
        return found

    def later(self, terms: Terms, weights: Table) -> dict[str, Table]:
        """The weights of the weeks of dispatch and of first sale.

        Args:
            terms: as the pieces were built on.
            weights: of each state of the variables and week of completion, with everything but
                this chain's own evidence.
        """
        weeks = self.evidence.axis.weeks
        found = {event: np.zeros(weeks) for event in LATER_EVENTS}
        for states, so in self._states():
            seen = {event: self.chances(terms, so, event) for event in LATER_EVENTS}
            sold_after = waited(seen["first sold"], self._wait(terms, 1))
            dispatched = _follows(weights[states], self._wait(terms, 0)) * seen["dispatched"]
            found["dispatched"] += dispatched * sold_after
            found["first sold"] += _follows(dispatched, self._wait(terms, 1)) * seen["first sold"]
        return found

    def _wait(self, terms: Terms, which: int) -> float:
        return max(terms.of(self.waits[which]), 0.5)

    def chances(self, terms: Terms, so: tuple[bool, ...], event: str) -> Table:
        """The chance of what is told of the event, by its week, where so much of it is of this object."""
        weeks = self.evidence.axis.weeks
        found = np.ones(weeks)
        for each, is_so in zip(self.told, so, strict=True):
            if each.moment != event or set(each.lines) <= terms.without:
                continue
            if is_so:
                found = found * each.by_week(self.evidence, terms)
            else:
                found = found * (0.5 if each.is_limit else 1 / weeks)
        return found


def _follows(weights: Table, mean_weeks: float) -> Table:
    """The weights of the weeks of an event that follows with an exponential wait."""
    return waited(weights[::-1], mean_weeks)[::-1]
