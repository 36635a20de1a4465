"""How likely is each supposition before the evidence is set against one another?

Question answered: the prior chance of every supposition, and from where it is known.

Method: for parts, the catalogue's share at the instrument's age (straight in log-odds between
the ages given), times the strength of the traces of fitting. Where a work is recorded that put the very part in,
it is no better than even, so that the record stands or falls by its own soundness. A trace's ratio against a
replacement is taken against the mix of its kinds, 1 / (service/a + matching/b), so that a trace
which a transplant shows as well counts for little. Of several traces on one fitting event only
the strongest for and the strongest against count, since one sitting saw them all. For lines and
rows, the practice pack's share for that kind of observation or that confidence.

Age is counted from the earliest day that any mark or label allows (marks with several decades
aside, where there are others) to the latest examination: the oldest it may be, so that the shares
are the most doubtful ones.

Parts of one assembly are mostly changed together and are one doubt.

Cost: linear in suppositions and traces.

What it does not do: weigh evidence; these are starting values, common practice without a source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, sqrt

from ledger.basis.edtf import read_date
from ledger.knowledge.catalogues import PriorShare, prior_at
from ledger.models import Source, Trace, Work
from ledger.reason.dating import DAYS_A_YEAR
from ledger.reason.draft import Doubt, Draft
from ledger.reason.network import Supposition
from ledger.record.case import Recorded
from ledger.references import CataloguePosition, Prior, TraceKind

USUAL_AGE_YEARS = 50.0
OLDEST_YEARS = 400
LEAST, GREATEST = 0.01, 0.99
EVEN = 0.5
# A trace that is less than twice as likely one way as the other is not named as telling.
TELLING = 2.0


@dataclass(frozen=True, slots=True)
class TraceWeight:
    """A trace: its line, its ratio against the mix, and against service and matching parts."""

    line: str
    ratio: float
    against_service: float
    against_matching: float


@dataclass(frozen=True, slots=True)
class Fitment:
    """What the traces say of one fitting event or part."""

    strongest_for: float
    strongest_against: float
    lines_for: tuple[str, ...]
    lines_against: tuple[str, ...]
    is_tested: bool
    found: tuple[TraceWeight, ...] = ()


def latest_look(draft: Draft) -> int | None:
    """The last day of the latest examination; None where none has a date."""
    days = (
        read_date(source.line.date).spans.latest
        for source in draft.case.of(Source)
        if source.line.date is not None and source.line.kind == "examination"
    )
    return max((day for day in days if day is not None), default=None)


def first_days(draft: Draft) -> list[int]:
    """The first day of each span of days on record, or its last where it has no first.

    Of marks, features, papers, accounts, holders and sightings alike; what is bounded from below
    alone, as by a patent, says nothing of how old a thing is. A mark with several decades says little
    where others say one thing only.
    """
    spans = [bound.spans for bound in draft.network.bounds if bound.spans.latest is not None]
    plain = [each for each in spans if len(each.parts) == 1] or spans
    ends = (each.latest if each.earliest is None else each.earliest for each in plain)
    return [day for day in ends if day is not None]


def known_age_in_years(draft: Draft) -> float | None:
    """The age of the instrument at its latest examination, as old as it may be, if that is known."""
    seen, dated = latest_look(draft), first_days(draft)
    return None if seen is None or not dated else max(0.0, (seen - min(dated)) / DAYS_A_YEAR)


def age_in_years(draft: Draft) -> float:
    """The same, or a usual age."""
    age = known_age_in_years(draft)
    return USUAL_AGE_YEARS if age is None else age


def fitments(draft: Draft) -> dict[str, Fitment]:
    """What the traces say, by the fitting event (or lone position) they are on."""
    by_event: dict[str, list[tuple[float, Recorded[Trace], TraceKind]]] = {}
    for trace in draft.case.of(Trace):
        row = draft.packs.trace_kind(trace.line.trace)
        if row is None:
            continue
        places = [*trace.line.positions, *(f"part/{part}" for part in trace.line.parts)]
        events = dict.fromkeys(draft.anatomy.event_of(place) for place in places)
        if events:
            draft.rows[row.id] = row
        for event in events:
            by_event.setdefault(event, []).append((trace_ratio(draft, row.row), trace, row.row))
    return {event: _fitment(found) for event, found in by_event.items()}


def _fitment(found: list[tuple[float, Recorded[Trace], TraceKind]]) -> Fitment:
    return Fitment(
        max((ratio for ratio, _, _ in found if ratio > 1), default=1.0),
        min((ratio for ratio, _, _ in found if ratio < 1), default=1.0),
        tuple(trace.id for ratio, trace, _ in found if ratio >= TELLING),
        tuple(trace.id for ratio, trace, _ in found if ratio <= 1 / TELLING),
        any(_tests_fitting(kind) for _, _, kind in found),
        tuple(
            TraceWeight(
                trace.id, ratio, _middle(kind.against_service), _middle(kind.against_matching)
            )
            for ratio, trace, kind in found
        ),
    )


def _tests_fitting(kind: TraceKind) -> bool:
    """Whether the trace would hardly be there on a service part, nor often on a chosen one."""
    return _middle(kind.against_service) >= 10 and _middle(kind.against_matching) >= 4


def _middle(pair: tuple[float, float]) -> float:
    return sqrt(pair[0] * pair[1])


def trace_ratio(draft: Draft, kind: TraceKind) -> float:
    """P(trace | first-fitted) / P(trace | replaced), the replacements being mixed as practice has it.

    For a trace that a replacement shows less, the mix is taken of the probabilities, so that
    the weaker of the two ratios rules.
    """
    mix = [draft.packs.practice(row).row.value for row in draft.mix]
    service = mix[0] / sum(mix)
    return 1 / (
        service / _middle(kind.against_service) + (1 - service) / _middle(kind.against_matching)
    )


def suppositions(draft: Draft, fitment: Mapping[str, Fitment]) -> dict[str, Supposition]:
    """Every supposition the rules named, with its prior and where that is from."""
    age = age_in_years(draft)
    return {name: _with_prior(draft, doubt, age, fitment) for name, doubt in draft.doubts.items()}


def _with_prior(
    draft: Draft, doubt: Doubt, age: float, fitment: Mapping[str, Fitment]
) -> Supposition:
    group = doubt.group
    if doubt.practice is not None:
        row = draft.packs.practice(doubt.practice)
        draft.rows[row.id] = row
        prior, at_most, where = row.row.value, row.row.high, row.id
    else:
        prior, at_most, where = _part_prior(draft, doubt, age)
        group = _assembly_of(draft, doubt) or group
        work = _recorded_against(draft, doubt)
        if work is not None:
            # A record that speaks of this very part is set against its own soundness, not
            # against how often such parts are replaced; and one work is one doubt.
            prior, at_most = min(prior, EVEN), min(at_most, EVEN)
            where = f"{where}, no better than even for a recorded work"
            group = f"work:{work}"
        traces = fitment.get(doubt.subject)
        if traces is not None and doubt.kind == "first-fitted":
            prior, at_most = _after_traces(prior, traces), _after_traces(at_most, traces)
            where = f"{where}, and the traces there"
    prior = min(max(prior, LEAST), GREATEST)
    return Supposition(
        doubt.id, doubt.kind, doubt.subject, doubt.sentence, prior, where, group, at_most
    )


def _assembly_of(draft: Draft, doubt: Doubt) -> str | None:
    """The assembly of a part: harness, tuner set ... Parts of one are mostly changed together.

    Giving up four controls of a harness is therefore one doubt, not four.
    """
    if doubt.kind != "first-fitted" or doubt.subject.startswith("part/"):
        return None
    view = draft.anatomy.view
    members = [
        place
        for event in draft.anatomy.events.values()
        if event.id == doubt.subject
        for place in event.positions
    ] or [doubt.subject]
    rows = [view.find(place) for place in members]
    assemblies = {row.assembly if row is not None else None for row in rows}
    (first, *others) = sorted(name or "" for name in assemblies)
    return f"assembly:{first}:{view.root_of(members[0])}" if first and not others else None


def _after_traces(prior: float, traces: Fitment) -> float:
    odds = log(prior / (1 - prior)) + log(traces.strongest_for) + log(traces.strongest_against)
    return 1 / (1 + exp(-odds))


def _recorded_against(draft: Draft, doubt: Doubt) -> str | None:
    """The first recorded work that says outright that the supposition does not hold."""
    actions = {"first-fitted": ("replaced", "added"), "as-made": ("altered",)}.get(doubt.kind, ())
    for work in draft.case.of(Work):
        if work.line.action in actions:
            events = {draft.anatomy.event_of(position) for position in work.line.positions}
            if doubt.subject in events | set(work.line.positions):
                return work.id
    return None


def _part_prior(draft: Draft, doubt: Doubt, age: float) -> tuple[float, float, str]:
    """The catalogue's share for a part, its high end and where it stands."""
    share, where = part_shares(draft, doubt, age)
    return share.middle, share.high, where


def part_shares(draft: Draft, doubt: Doubt, age: float) -> tuple[PriorShare, str]:
    """The catalogue's share for a part at that age, with its range, and where it stands.

    Of a fitting event it is the least of its members'.
    """
    view = draft.anatomy.view
    aged = f"at {age:.0f} years"
    if doubt.kind == "joined":
        one, _, other = doubt.subject.partition("+")
        union = view.union_between(one, other)
        priors: tuple[Prior, ...] = union.priors if union is not None else ()
        found = prior_at(priors, age) if priors else PriorShare(0.6, 0.8, 0.99)
        return found, f"{view.reference_of(one)} {aged}"
    if doubt.kind == "as-made":
        row = draft.packs.practice("unaltered-root")
        draft.rows[row.id] = row
        return PriorShare(row.row.low, row.row.value, row.row.high), row.id
    rows = _rows_of(draft, doubt.subject)
    if not rows:
        return PriorShare(EVEN, EVEN, EVEN), "no catalogue speaks of this position"
    least = min((prior_at(row.priors, age) for row in rows), key=lambda share: share.middle)
    return least, f"{view.reference_of(rows[0].id)} {aged}"


def _rows_of(draft: Draft, subject: str) -> list[CataloguePosition]:
    """The catalogue's rows of a fitting event's members, or of a lone part."""
    view = draft.anatomy.view
    places = [
        place
        for event in draft.anatomy.events.values()
        if event.id == subject
        for place in event.positions
    ] or [draft.anatomy.position_of(subject)]
    found = (view.find(place) for place in dict.fromkeys(places))
    return [row for row in found if row is not None]


def shares_by_year(draft: Draft, event: str) -> tuple[float, ...]:
    """The catalogue's middle share for a part or fitting event at each whole year of age."""
    rows = _rows_of(draft, event)
    return _by_year(tuple(dict.fromkeys(row.priors for row in rows)))


@lru_cache(maxsize=512)
def _by_year(priors: tuple[tuple[Prior, ...], ...]) -> tuple[float, ...]:
    return tuple(
        min((prior_at(each, age).middle for each in priors), default=EVEN)
        for age in range(OLDEST_YEARS + 1)
    )
