"""How likely is each week of completion, and each part to be the first, given all that is recorded?

Question answered: the exact posterior of the week of completion, of the way in which every part
or fitting event came there, and of every other supposition, within the model below.

Model: given the week of completion, fitting events are independent but for what they share:
reference rows, tellers, unions, parents of integral parts. A fitting event came there in one of
the four ways of :mod:`ledger.reason.likelihoods`; its parts share the week in which it was
fitted, so that four controls of one harness are one piece of evidence. Priors are those of the
catalogue at the instrument's age and of the practice pack (common practice, no source).

Method: one table for each piece of evidence, summed exactly by variable elimination with the
date axis carried along (:mod:`ledger.reason.factors`). A root other than the anchor has a date of
its own, which is the instrument's if the union holds and any date if not.

Cost: linear in the evidence and in the axis, but for the rows and tellers that tie pieces together.

What it does not do: sample, or weigh what nobody has put a chance to.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from ledger.basis.edtf import read_date
from ledger.basis.spans import EVER, Spans
from ledger.knowledge.marks import MarkReading
from ledger.models import Custody, Feature, Mark, Paper, Sighting, Source, Testimony, Work
from ledger.reason.dating import DAYS_A_YEAR, alternatives, place_of, timeline_days
from ledger.reason.draft import Doubt, Draft
from ledger.reason.factors import Factor, Table, Weighing, normalised
from ledger.reason.likelihoods import (
    WAYS,
    Axis,
    Lag,
    Reading,
    by_ways,
    fitted_in,
    from_log_odds,
    log_odds,
    near,
    not_after,
    within_softly,
)
from ledger.reason.network import Supposition
from ledger.reason.priors import Fitment, age_in_years, part_prior, ways_ratio
from ledger.record.case import Recorded
from ledger.references import SerialTable, Timeline

FIRST = 0
MARGIN_YEARS = 12
CODES_ONE_DIGIT, CODES_TWO_DIGITS, CODES_OF_DATES = 520, 2_600, 400
# Chances of a feature or measure where the works' rule does not speak of the part: it may agree
# by chance. A starting value of our own.
AGREES_BY_CHANCE = 0.3
ERROR = 0.03


@dataclass(slots=True)
class _Evidence:
    """Everything that becomes a table, by the root whose completion it speaks of."""

    draft: Draft
    suppositions: Mapping[str, Supposition]
    fitments: Mapping[str, Fitment]
    axis: Axis
    lag: Lag
    sizes: dict[str, int] = field(default_factory=dict)
    factors: dict[str, list[Factor]] = field(default_factory=dict)

    def add(self, root: str, variables: tuple[str, ...], table: Table) -> None:
        """Take a table of chances (not of logarithms), dates last."""
        with np.errstate(divide="ignore"):
            self.factors.setdefault(root, []).append(Factor(variables, np.log(table)))

    def holds(self, name: str) -> str:
        """A supposition that holds or not, as a variable with its prior; 1 is that it holds."""
        if name not in self.sizes:
            self.sizes[name] = 2
            prior = self.suppositions[name].prior
            self.add(ANYWHERE, (name,), np.array([[1 - prior], [prior]]))
        return name

    def way(self, event: str) -> str:
        """The way in which a fitting event came there, as a variable."""
        return f"way:{event}"


ANYWHERE = ""


@dataclass(frozen=True, slots=True)
class PartWeight:
    """How likely a part, or parts fitted as one, left the works with the instrument.

    ``low`` and ``high`` are the ends over the range that practice states for its own prior;
    ``ways`` has the chance of each of :data:`ledger.reason.likelihoods.WAYS`.
    """

    event: str
    chance: float
    low: float
    high: float
    ways: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Weights:
    """What the weighing gives: ``weeks`` has the chance of each week of ``axis``."""

    axis: Axis
    weeks: Table
    parts: tuple[PartWeight, ...]
    suppositions: Mapping[str, float]

    def quantile(self, share: float) -> int:
        """The first day of the week by which completion has come with that chance."""
        at = int(np.searchsorted(np.cumsum(self.weeks), share))
        return self.axis.days(min(at, self.axis.weeks - 1))[0]


def weigh(
    draft: Draft,
    readings: Mapping[str, tuple[MarkReading, ...]],
    suppositions: Mapping[str, Supposition],
    fitments: Mapping[str, Fitment],
) -> Weights | None:
    """The exact posterior; None where no evidence bounds an axis to weigh on.

    Raises:
        TooTangled: too many pieces of evidence are tied together for an exact sum.
    """
    axis = _axis(draft)
    if axis is None:
        return None
    lag = Lag.of_practice(draft.packs, "lag-component-median-weeks", min(axis.weeks, 780))
    evidence = _Evidence(draft, suppositions, fitments, axis, lag)
    _weigh_parts(evidence, readings)
    _weigh_labels(evidence, readings)
    _weigh_features(evidence)
    _weigh_comparisons(evidence)
    _weigh_told(evidence)
    return _summed(evidence)


def _axis(draft: Draft) -> Axis | None:
    """Weeks from some years before the earliest date to the latest examination or date."""
    bounds = [b.spans for b in draft.network.bounds if b.moment.startswith(("made:", "completed:"))]
    ends = [day for spans in bounds for day in (spans.earliest, spans.latest) if day is not None]
    if not ends:
        return None
    seen = [
        latest
        for source in draft.case.of(Source)
        if source.line.date is not None
        and (latest := read_date(source.line.date).spans.latest) is not None
    ]
    margin = round(MARGIN_YEARS * DAYS_A_YEAR)
    first = min(ends) - margin
    last = max(seen) if seen else max(ends) + margin
    return Axis(first, max((last - first) // 7, 104))


# -- parts ------------------------------------------------------------------------------------


def _weigh_parts(evidence: _Evidence, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    anatomy = evidence.draft.anatomy
    places = [*anatomy.positions, *(f"part/{name}" for name in anatomy.removed)]
    by_event: dict[str, list[str]] = {}
    for place in places:
        by_event.setdefault(anatomy.event_of(place), []).append(place)
    for event, members in by_event.items():
        dated = _dated(evidence, members, readings)
        if anatomy.is_root(members[0]):
            if dated is not None:
                evidence.add(anatomy.root_of(members[0]), (), dated)
            continue
        _weigh_event(evidence, event, members, dated)


def _dated(
    evidence: _Evidence, members: Iterable[str], readings: Mapping[str, tuple[MarkReading, ...]]
) -> Table | None:
    """For each week of fitting the chance of every date mark on the members; None without one."""
    total: Table | None = None
    for recorded in evidence.draft.case.of(Mark):
        if place_of(recorded.line) not in members:
            continue
        for group in alternatives(recorded.id, readings.get(recorded.id, ())):
            if group[0][1].bears_on != "made" or any(not r.spans for _, r in group):
                continue
            days = Spans.of(span for _, reading in group for span in reading.spans)
            legible = evidence.suppositions[f"sound:{recorded.id}"].prior
            if days.latest is None:
                chance = legible * (1 - not_after(evidence.axis, _before(days))) + (1 - legible)
            else:
                codes = CODES_TWO_DIGITS if len(group) == 1 else CODES_ONE_DIGIT
                chance = fitted_in(evidence.axis, days, evidence.lag, Reading(legible, codes))
            total = chance if total is None else total * chance
    return total


def _before(days: Spans) -> Spans:
    return Spans.between(None, days.earliest)


def _weigh_event(evidence: _Evidence, event: str, members: list[str], dated: Table | None) -> None:
    """The prior of a fitting event's ways, with its marks, traces, works and sightings."""
    draft = evidence.draft
    name = evidence.way(event)
    evidence.sizes[name] = len(WAYS)
    doubt = Doubt(f"first-fitted:{event}", "first-fitted", event, "", None, "")
    first, _, _ = part_prior(draft, doubt, age_in_years(draft))
    mix = _mix(draft)
    prior = np.array([first, *((1 - first) * share for share in mix)])[:, None]
    parent = _parent_event(evidence, members[0])
    root = draft.anatomy.root_of(members[0])
    if parent is None:
        evidence.add(ANYWHERE, (name,), prior)
    else:
        # An integral part came with its parent: it is the first only if the parent is, and else
        # came as the parent did, but for what was renewed on it since.
        table = np.full((len(WAYS), len(WAYS), 1), 0.0)
        table[FIRST] = prior
        for way in range(1, len(WAYS)):
            table[way, 1:, 0] = [(1 - first) * share for share in mix]
            table[way, way, 0] += first
        evidence.add(ANYWHERE, (evidence.way(parent), name), table)
    traces = evidence.fitments.get(event)
    if traces is not None:
        evidence.add(ANYWHERE, (name,), np.array(ways_ratio(traces))[:, None])
    table = _event_table(evidence, members, dated)
    if table is not None:
        evidence.add(root, (name,), table)


def _mix(draft: Draft) -> tuple[float, ...]:
    """The shares of service, period and transplant among replacements."""
    rows = ("mix-service", "mix-matching", "mix-transplant")
    shares = [draft.packs.practice(row).row.value for row in rows]
    return tuple(share / sum(shares) for share in shares)


def _parent_event(evidence: _Evidence, place: str) -> str | None:
    anatomy = evidence.draft.anatomy
    parent = anatomy.view.parent_of(anatomy.position_of(place))
    if not anatomy.is_integral(place) or parent is None or anatomy.is_root(parent):
        return None
    return anatomy.event_of(parent)


def _event_table(evidence: _Evidence, members: list[str], dated: Table | None) -> Table | None:
    """For each way and week of completion, the chance of marks, works and sightings together."""
    weeks = evidence.axis.weeks
    works = [
        work
        for work in evidence.draft.case.of(Work)
        if work.line.action in ("replaced", "added") and set(work.line.positions) & set(members)
    ]
    seen = [
        (sighting, shown.same_as_now)
        for sighting in evidence.draft.case.of(Sighting)
        for shown in sighting.line.shows
        if shown.position in members and sighting.line.same_instrument == "yes"
    ]
    if dated is None and not works and not seen:
        return None
    by_week = np.ones(weeks) if dated is None else dated
    table = by_ways(by_week)
    for work in works:
        table = table * _work_table(evidence, work, by_week, table)
    for sighting, same in seen:
        table = table * _sighting_table(evidence, sighting, same)
    return table


def _work_table(evidence: _Evidence, work: Recorded[Work], by_week: Table, table: Table) -> Table:
    """What a record of a work says, as ratios for each way and week."""
    sound = evidence.suppositions[f"sound:{work.id}"].prior
    ratios = np.full((len(WAYS), evidence.axis.weeks), sound)
    ratios[FIRST] = 1 - sound
    stated = {"service": 1, "modern": 1, "works": 1, "period": 2}.get(work.line.replacement or "")
    if stated is not None:
        for way in range(1, len(WAYS)):
            if way != stated:
                ratios[way] = 1 - sound
    if work.line.date is not None:
        days = read_date(work.line.date).spans
        ratios[1:] *= not_after(evidence.axis, days)
        then = evidence.axis.share(days)
        if then.sum():
            placed = by_ways(by_week, then / then.sum())[1]
            with np.errstate(divide="ignore", invalid="ignore"):
                ratios[1] *= np.where(table[1] > 0, placed / table[1], 0.0)
    return ratios + 1e-9


def _sighting_table(evidence: _Evidence, sighting: Recorded[Sighting], same: str) -> Table:
    """What a dated sighting says of whether the part of now was there."""
    sound = evidence.suppositions[f"sound:{sighting.id}"].prior
    weeks = evidence.axis.weeks
    table = np.ones((len(WAYS), weeks))
    if same == "cannot be told":
        return table
    seen = not_after(evidence.axis, read_date(sighting.line.date).spans)
    until = seen.sum()
    since = np.clip((until - np.arange(weeks)) / np.arange(weeks, 0, -1), 0.0, 1.0)
    table[FIRST] = sound if same == "yes" else 1 - sound
    table[1:] = since if same == "yes" else 1 - since
    mixed: Table = sound * table + (1 - sound) * 0.5
    return mixed


# -- labels, features, comparisons --------------------------------------------------------------


def _weigh_labels(evidence: _Evidence, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    """Labels and numbers that date completion, each with its table and its own fitting."""
    draft, axis = evidence.draft, evidence.axis
    allowance = draft.packs.practice("label-allowance").row.value / 7
    for recorded in draft.case.of(Mark):
        place = place_of(recorded.line)
        for group in alternatives(recorded.id, readings.get(recorded.id, ())):
            days = Spans.of(span for _, reading in group for span in reading.spans)
            if group[0][1].bears_on != "completed" or not days or days == EVER:
                continue
            reading = group[0][1]
            sound = evidence.suppositions[f"sound:{recorded.id}"].prior
            spread = allowance if reading.kind == "written" else 4.0
            told = sound * near(axis, days, spread) + (1 - sound) / axis.weeks
            otherwise = np.full(axis.weeks, 1 / axis.weeks)
            variables: list[str] = []
            row = draft.packs.row(reading.reference)
            if row is not None and isinstance(row.row, SerialTable):
                variables.append(evidence.holds(f"holds:{row.id}"))
            if not draft.anatomy.is_root(place):
                variables.append(evidence.way(draft.anatomy.event_of(place)))
            _add_all_holding(evidence, place, variables, told, otherwise)


def _add_all_holding(
    evidence: _Evidence, place: str, variables: list[str], told: Table, otherwise: Table
) -> None:
    """One table where all of the variables hold (a way: first), another in every other case."""
    shape = tuple(evidence.sizes[name] for name in variables)
    table = np.broadcast_to(otherwise, (*shape, len(otherwise))).copy()
    holding = tuple(FIRST if name.startswith("way:") else 1 for name in variables)
    table[holding] = told
    evidence.add(evidence.draft.anatomy.root_of(place), tuple(variables), table)


def _weigh_features(evidence: _Evidence) -> None:
    """Timelines, with soft edges, for features that left the works with the instrument."""
    draft = evidence.draft
    rows = {row.id: row for row in draft.packs.rows(Timeline)}
    for bound in draft.network.bounds:
        if bound.rule != "feature timeline":
            continue
        line = bound.id.split(".", 2)[1]
        row = next((rows[x] for x in rows if bound.id.endswith(f".{x}")), None)
        recorded = next(
            (f for f in draft.case.of(Feature) if bound.id.startswith(f"timeline.{f.id}.")), None
        )
        if row is None or recorded is None:
            raise KeyError(line)
        days = timeline_days(draft, row) or bound.spans
        overlap = row.row.overlap_days / 7
        inside = within_softly(evidence.axis, days, overlap)
        place = place_of(recorded.line)
        told = (1 - ERROR) * inside + ERROR * AGREES_BY_CHANCE
        variables = [evidence.holds(f"holds:{row.id}"), *_makeup(evidence, place)]
        _add_all_holding(
            evidence, place, variables, told, np.full(evidence.axis.weeks, AGREES_BY_CHANCE)
        )


def _makeup(evidence: _Evidence, place: str) -> list[str]:
    found: list[str] = []
    for name in evidence.draft.anatomy.makeup(place):
        kind, _, subject = name.partition(":")
        found.append(evidence.way(subject) if kind == "first-fitted" else evidence.holds(name))
    return list(dict.fromkeys(found))


def _weigh_comparisons(evidence: _Evidence) -> None:
    """Measures, features and numbers that do not agree with how the works made it."""
    for clash in evidence.draft.network.clashes:
        if clash.rule not in ("specification", "matching numbers"):
            continue
        variables: list[str] = []
        for name in clash.suppositions:
            kind, _, subject = name.partition(":")
            if kind == "sound":
                continue
            variables.append(
                evidence.way(subject) if kind == "first-fitted" else evidence.holds(name)
            )
        sound = min(
            (
                evidence.suppositions[name].prior
                for name in clash.suppositions
                if name.startswith("sound:")
            ),
            default=1.0,
        )
        chance = 1 - AGREES_BY_CHANCE
        told = np.array([sound * ERROR + (1 - sound) * chance])
        place = evidence.draft.anatomy.view.anchor
        _add_all_holding(evidence, place, list(dict.fromkeys(variables)), told, np.array([chance]))


# -- papers, people, sightings ------------------------------------------------------------------


def _weigh_told(evidence: _Evidence) -> None:
    """Papers, accounts, custody and sightings: what each says of completion."""
    draft, axis = evidence.draft, evidence.axis
    anchor = draft.anatomy.view.anchor
    even = np.full(axis.weeks, 1 / axis.weeks)
    for bound in draft.network.bounds:
        line = bound.premises[0].partition(":")[2] if bound.premises else ""
        recorded = draft.case.lines.get(line)
        if recorded is None or not isinstance(
            recorded.line, Paper | Testimony | Custody | Sighting
        ):
            continue
        held = evidence.holds(f"sound:{line}")
        if isinstance(recorded.line, Custody | Sighting):
            told = not_after(axis, bound.spans)
            table = np.stack([np.full(axis.weeks, 0.5), told + 1e-9])
        else:
            table = np.stack([even, _event_told(evidence, bound.moment, bound.spans)])
        evidence.add(anchor, (held,), table)


def _event_told(evidence: _Evidence, moment: str, days: Spans) -> Table:
    """For each week of completion the density of a date told for an event after it."""
    told = near(evidence.axis, days, 2.0) + 1e-12
    for lag_row, event in (
        ("lag-dispatched-to-sold-weeks", ("first sold",)),
        ("lag-completed-to-dispatched-weeks", ("first sold", "dispatched")),
    ):
        if moment in event:
            mean = max(evidence.draft.packs.practice(lag_row).row.value, 1.0)
            weights = np.exp(-np.arange(min(evidence.axis.weeks, round(12 * mean))) / mean)
            told = np.convolve(told[::-1], weights / weights.sum())[: evidence.axis.weeks][::-1]
    return told


# -- summing up ---------------------------------------------------------------------------------


def _summed(evidence: _Evidence) -> Weights:
    names = sorted(evidence.sizes)
    weeks = normalised(_over(evidence, None)[0])
    parts: list[PartWeight] = []
    held: dict[str, float] = {}
    age = age_in_years(evidence.draft)
    for name in names:
        shares = normalised(_over(evidence, name)).sum(axis=1)
        if not name.startswith("way:"):
            held[name] = float(shares[1])
            continue
        event = name.removeprefix("way:")
        low, high = _range(evidence.draft, event, age, float(shares[FIRST]))
        parts.append(
            PartWeight(event, float(shares[FIRST]), low, high, tuple(float(s) for s in shares))
        )
    return Weights(evidence.axis, weeks, tuple(parts), held)


def _range(draft: Draft, event: str, age: float, chance: float) -> tuple[float, float]:
    """The chance at the low and high ends of its own prior: the odds move as the prior's do."""
    doubt = Doubt(f"first-fitted:{event}", "first-fitted", event, "", None, "")
    share = part_prior_range(draft, doubt, age)
    if chance in (0.0, 1.0):
        return chance, chance
    odds = log_odds(chance) - log_odds(share[1])
    return from_log_odds(odds + log_odds(share[0])), from_log_odds(odds + log_odds(share[2]))


def part_prior_range(draft: Draft, doubt: Doubt, age: float) -> tuple[float, float, float]:
    """The low, middle and high share of practice for a part."""
    middle, high, _ = part_prior(draft, doubt, age)
    low = max(0.01, 2 * middle - high)
    return low, middle, max(high, middle)


def _over(evidence: _Evidence, name: str | None) -> Table:
    """The summed weight over one variable (or none) and the week of the anchor's completion."""
    anatomy = evidence.draft.anatomy
    anchor = anatomy.view.anchor
    gathered = [*evidence.factors.get(ANYWHERE, ()), *evidence.factors.get(anchor, ())]
    sizes = dict(evidence.sizes)
    apart = [root for root in evidence.factors if root not in (ANYWHERE, anchor)]
    for root in sorted(apart):
        gathered.extend(_joined(evidence, root, name, gathered, sizes))
    weighing = Weighing(sizes, gathered, evidence.axis.weeks)
    if name is None:
        return weighing.over_date()[None, :]
    return weighing.over_variable(name)


def _joined(
    evidence: _Evidence,
    root: str,
    name: str | None,
    others: Iterable[Factor],
    sizes: dict[str, int],
) -> list[Factor]:
    """What a root's evidence says of the anchor's date: all of it if they belong together.

    If they do not, the root was completed at any time, and its evidence, summed over all weeks,
    says nothing of the instrument's. Variables that other evidence shares are carried through.
    """
    anatomy = evidence.draft.anatomy
    path = anatomy.view.union_path(anatomy.view.anchor, root) or ()
    unions = [evidence.holds(anatomy.union_id(union)) for union in path]
    sizes.update({union: 2 for union in unions})
    factors = evidence.factors[root]
    table = Weighing(sizes, factors, evidence.axis.weeks)
    scope = tuple(sorted({n for factor in factors for n in factor.variables}))
    joint = table.joint(scope)
    with np.errstate(divide="ignore"):
        apart = np.logaddexp.reduce(joint, axis=-1, keepdims=True) - np.log(evidence.axis.weeks)
    shape = (*(2 for _ in unions), *joint.shape)
    found = np.broadcast_to(apart, shape).copy() if unions else joint
    if unions:
        found[(1,) * len(unions)] = joint
    return [Factor((*unions, *scope), found)]
