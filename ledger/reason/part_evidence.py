"""What do marks, traces, works and sightings say of a part, week by week and way by way?

Question answered: for each fitting event, the chance of everything on its parts for each way in
which it may have come there and each week of completion.

Method: parts fitted as one share the week in which they were fitted, so that four controls of one
harness are one piece of evidence and not four; each keeps its own lag. An integral part that came as
its parent did shares the parent's week. A mark may have been misread
by one glyph, by the rows of practice for its legibility and the pairs of glyphs taken for one
another, or be wrong altogether. Of several traces on one event only the strongest for and the
strongest against count, since one sitting saw them. A record of a work speaks against the first
fitting as far as the record is right, and says when a service part was put in.

Cost: a running sum along the axis for each mark and each way.

What it does not do: take a code for the object's date; that a part is the first is a choice of
its own in every table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ledger.knowledge.marks import MarkReading
from ledger.models import Sighting, Work
from ledger.reason.date_marks import DateMark, MarksTogether, date_marks
from ledger.reason.evidence import AgedShare, Evidence, Terms, Value
from ledger.reason.factors import Table
from ledger.reason.likelihoods import (
    FIRST,
    PERIOD,
    SERVICE,
    WAYS,
    by_ways,
    fitted_in,
)
from ledger.reason.plans import ANYWHERE
from ledger.reason.priors import Fitment
from ledger.reason.recorded_dates import recorded_days
from ledger.record.case import Recorded


def gather_parts(evidence: Evidence, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    """Take every piece that speaks of a part, event by event."""
    anatomy = evidence.draft.anatomy
    all_marks = {
        event: list(date_marks(evidence, members, readings))
        for event, members in evidence.events.items()
    }
    for event, members in evidence.events.items():
        marks = all_marks[event]
        if anatomy.is_root(members[0]):
            for mark in marks:
                evidence.add(f"mark {mark.line}", members[0], (), mark.of_root, (mark.line,))
            continue
        works = _works_on(evidence, members)
        sightings = _sightings_of(evidence, members)
        traces = evidence.fitments.get(event)
        if traces is not None:
            _add_traces(evidence, event, traces)
        if marks or works or sightings:
            _add_event(evidence, event, marks, works, sightings)
        parent = evidence.parent_event(members[0])
        others = all_marks.get(parent, []) if parent is not None else []
        if parent is not None and marks and others:
            _add_fitted_with(evidence, (event, marks), (parent, others))


def _works_on(evidence: Evidence, members: tuple[str, ...]) -> list[Recorded[Work]]:
    return [
        work
        for work in evidence.draft.case.of(Work)
        if work.line.action in ("replaced", "added") and set(work.line.positions) & set(members)
    ]


def _sightings_of(
    evidence: Evidence, members: tuple[str, ...]
) -> list[tuple[Recorded[Sighting], bool]]:
    """The dated sightings of this very instrument that say whether the part of now was there."""
    return [
        (sighting, shown.same_as_now == "yes")
        for sighting in evidence.draft.case.of(Sighting)
        for shown in sighting.line.shows
        if shown.position in members
        and sighting.line.same_instrument == "yes"
        and shown.same_as_now != "cannot be told"
    ]


def _add_traces(evidence: Evidence, event: str, traces: Fitment) -> None:
    def build(terms: Terms) -> Table:
        found = [each for each in traces.found if each.line not in terms.without]
        best = max((t for t in found if t.ratio > 1), key=lambda t: t.ratio, default=None)
        worst = min((t for t in found if t.ratio < 1), key=lambda t: t.ratio, default=None)
        service = matching = 1.0
        for trace in (best, worst):
            if trace is not None:
                service *= trace.against_service
                matching *= trace.against_matching
        return np.array([[1.0], [1 / service], [1 / matching], [1 / matching]])

    lines = tuple(dict.fromkeys(each.line for each in traces.found))
    evidence.add(f"traces {event}", ANYWHERE, (evidence.way(event),), build, lines)


def _add_event(
    evidence: Evidence,
    event: str,
    marks: list[DateMark],
    works: list[Recorded[Work]],
    sightings: list[tuple[Recorded[Sighting], bool]],
) -> None:
    weeks = evidence.axis.weeks
    spreads = tuple(
        evidence.practice(name) for name in ("spread-matching-years", "spread-transplant-years")
    )
    way = evidence.way(event)
    on_record = [_WorkRecord.of(evidence, work, event) for work in works]
    seen = [_Seen.of(evidence, sighting, same=same) for sighting, same in sightings]

    together = MarksTogether(tuple(marks), weeks)

    def build(terms: Terms) -> Table:
        years = (terms.of(spreads[0]), terms.of(spreads[1]))
        table = together.by_ways(terms, years)
        by_week = together.by_week(terms) if on_record else table[FIRST]
        found = table
        for work in on_record:
            if work.line not in terms.without:
                found = found * work.ratios(terms, by_week, table[SERVICE])
        for sighting in seen:
            if sighting.line not in terms.without:
                found = found * sighting.ratios(terms)
        return found

    lines = (
        *(mark.line for mark in marks),
        *(work.line for work in on_record),
        *(sighting.line for sighting in seen),
    )
    root = evidence.draft.anatomy.root_of(evidence.events[event][0])
    evidence.add(f"event {event}", root, (way,), build, tuple(dict.fromkeys(lines)))


def _add_fitted_with(
    evidence: Evidence, own: tuple[str, list[DateMark]], its: tuple[str, list[DateMark]]
) -> None:
    """An integral part that came as its parent did was fitted with it: one week and not two.

    The piece is what that adds to the two events' own pieces, each of which has its own weeks.
    """
    (event, marks), (parent, others) = own, its
    fitted, fitted_with = (
        MarksTogether(tuple(each), evidence.axis.weeks) for each in (marks, others)
    )
    weeks, first = evidence.axis.weeks, evidence.first_share(event)
    mix = evidence.mix()
    spreads = tuple(
        evidence.practice(name) for name in ("spread-matching-years", "spread-transplant-years")
    )

    def build(terms: Terms) -> Table:
        years = (terms.of(spreads[0]), terms.of(spreads[1]))
        both = by_ways(fitted.by_week(terms) * fitted_with.by_week(terms), years)
        together = both / (fitted.by_ways(terms, years) * fitted_with.by_ways(terms, years))
        shares = np.array([terms.of(each) for each in mix])
        came = first.of(terms)
        found = np.ones((len(WAYS), len(WAYS), weeks))
        for way, share in zip(range(FIRST + 1, len(WAYS)), shares / shares.sum(), strict=True):
            with_it = came / (came + (1 - came) * share)
            found[way, way] = 1 - with_it + with_it * together[way]
        return found

    lines = tuple(dict.fromkeys(mark.line for mark in (*marks, *others)))
    root = evidence.draft.anatomy.root_of(evidence.events[event][0])
    variables = (evidence.way(parent), evidence.way(event))
    evidence.add(f"fitted with {parent}: {event}", root, variables, build, lines)


@dataclass(frozen=True, slots=True)
class _WorkRecord:
    """A record that something was replaced: when, with what kind of part, how far it is right."""

    line: str
    sound: Value
    stated: int | None
    before: Table
    then: Table
    first: AgedShare
    mix: tuple[Value, ...]

    @classmethod
    def of(cls, evidence: Evidence, work: Recorded[Work], event: str) -> _WorkRecord:
        kinds = {"service": SERVICE, "modern": SERVICE, "works": SERVICE, "period": PERIOD}
        date = work.line.date
        days = None if date is None else recorded_days(evidence.draft.packs, date).spans
        axis = evidence.axis
        then = np.zeros(axis.weeks) if days is None else axis.share(days)
        return cls(
            work.id,
            evidence.soundness(work),
            kinds.get(work.line.replacement or ""),
            np.ones(axis.weeks) if days is None else axis.not_after(days),
            then / max(float(then.sum()), 1e-12),
            evidence.first_share(event),
            evidence.mix(),
        )

    def ratios(self, terms: Terms, by_week: Table, service: Table) -> Table:
        """For each way and week the weight of the record.

        How often such records are right is known of the records there are: one that is right
        settles the way, whatever the prior, and one that is wrong leaves the prior as it was.
        """
        right, wrong = terms.soundness(self.line, self.sound)
        shares = np.array([terms.of(each) for each in self.mix])
        priors = shares[:, None] / shares.sum() * (1 - self.first.of(terms))
        meant = range(FIRST + 1, len(WAYS)) if self.stated is None else (self.stated,)
        settled = right / priors[[way - 1 for way in meant]].sum(axis=0)
        found = np.full((len(WAYS), len(by_week)), wrong)
        for way in meant:
            found[way] = wrong + settled * self.before
        if self.then.any() and SERVICE in meant:
            # A service part put in then has the marks of parts of then.
            with np.errstate(divide="ignore", invalid="ignore"):
                placed = np.where(service > 0, fitted_in(by_week, self.then) / service, 0.0)
            found[SERVICE] = wrong + settled * placed
        return found


@dataclass(frozen=True, slots=True)
class _Seen:
    """A dated sighting that shows whether the part of now was there."""

    line: str
    sound: Value
    is_same: bool
    since: Table

    @classmethod
    def of(cls, evidence: Evidence, sighting: Recorded[Sighting], *, same: bool) -> _Seen:
        axis = evidence.axis
        seen = recorded_days(evidence.draft.packs, sighting.line.date)
        until = axis.not_after(seen.spans).sum()
        places = np.arange(axis.weeks)
        since = np.clip((until - places) / np.arange(axis.weeks, 0, -1), 0.0, 1.0)
        return cls(sighting.id, evidence.soundness(sighting), same, since)

    def ratios(self, terms: Terms) -> Table:
        """For each way and week the chance that the part was, or was not, there."""
        right, wrong = terms.soundness(self.line, self.sound)
        found = np.empty((len(WAYS), len(self.since)))
        found[FIRST] = right * self.is_same + wrong * 0.5
        found[FIRST + 1 :] = right * (self.since if self.is_same else 1 - self.since) + wrong * 0.5
        return found
