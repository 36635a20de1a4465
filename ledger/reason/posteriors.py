"""Which accounts, parts and dates are how likely, once all evidence is weighed?

Question answered: the chance of each account, and in words the chance of each date, part and other
supposition, with the range over its own prior; on request the range over every starting value, the
worth of every line and what sways the conclusion.

Method: an account is weighed by taking what it gives up not to hold, and every other supposition
that stands in a conflict to hold. Suppositions that no table speaks of count by their prior odds.
The likeliest weeks of a date are those of highest posterior density.

Cost: one weighing for each account, of what it touches, and for parts that of
:mod:`ledger.reason.own_priors`.

What it does not do: weigh accounts beyond those that come first by the odds of practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, inf, log

import numpy as np

from ledger.basis.percentages import percent, percent_range
from ledger.basis.spans import iso_date
from ledger.chances import (
    Chances,
    DateChance,
    PartChance,
    SuppositionChance,
    Verdict,
    WeekChance,
)
from ledger.findings import FindingKind
from ledger.models import Work
from ledger.reason.domains import mask_of_all
from ledger.reason.draft import Because, Draft
from ledger.reason.evidence import Evidence, Terms
from ledger.reason.factors import Table
from ledger.reason.given import Given
from ledger.reason.likelihoods import FIRST, WAYS, Axis, from_log_odds, log_odds
from ledger.reason.network import Supposition
from ledger.reason.own_priors import over_own_priors
from ledger.reason.priors import latest_look
from ledger.reason.ranges import REGION, region
from ledger.reason.weighed import Weighed
from ledger.reason.weighing import Outcome, Scales
from ledger.reason.wording import article, listing

# A bound on the work and no statement about the world; the report says what was left out.
ACCOUNTS_WEIGHED = 24
EVEN = 0.5
LEAST_WEEK = 1e-6
NOTE = (
    "Exact within its model: the parts' priors, lags, misreadings and traces are starting values of "
    "common practice without a published source, each with its range. Here the edges of dates fade, "
    "where bounds and conflicts take them as they stand: what a conflict rules out keeps some chance."
)
KIND: FindingKind = "chance"


@dataclass(frozen=True, slots=True)
class Clamps:
    """Suppositions as the weighing can hold them: variables, lines, and those it has no table of."""

    held: Mapping[str, Sequence[int]]
    taken: Mapping[str, bool]
    free: tuple[tuple[str, bool], ...]


def clamps(evidence: Evidence, states: Iterable[tuple[str, bool]]) -> Clamps:
    """How to hold suppositions to be so, or not so.

    Those of one teller, or of rows from one source, are one choice, which one that is given up
    decides; a line that is a choice of no table of its own is taken
    for right or wrong in the tables that it is part of.
    """
    held: dict[str, Sequence[int]] = {}
    taken: dict[str, bool] = {}
    free: list[tuple[str, bool]] = []
    in_pieces = {line for piece in evidence.pieces for line in piece.lines}
    for name, holds in states:
        kind, _, subject = name.partition(":")
        variable = _variable_of(evidence, name)
        if variable is not None:
            is_way = variable.startswith("way:")
            values = (FIRST,) if holds == is_way else tuple(range(1, len(WAYS)))
            shared = () if is_way else held.get(variable, ())
            held[variable] = values if is_way else (min((int(holds), *shared)),)
        elif kind == "sound" and subject in in_pieces:
            taken[subject] = holds
        else:
            free.append((name, holds))
    return Clamps(held, taken, tuple(free))


def _variable_of(evidence: Evidence, name: str) -> str | None:
    kind, _, subject = name.partition(":")
    if kind == "first-fitted":
        way = f"way:{subject}"
        return way if way in evidence.sizes else None
    if evidence.doubted_as(name) in evidence.sizes:
        return evidence.doubted_as(name)
    if kind == "sound" and subject in evidence.draft.case.lines:
        group = evidence.draft.doubted_with(evidence.draft.case.lines[subject])
        return group if group in evidence.sizes else None
    return None


def given_on(scales: Scales, given: Given) -> Outcome:
    """Everything weighed, with what is given for the sake of argument held to be so."""
    states = [*((name, True) for name in given.holds), *((name, False) for name in given.fails)]
    if not states:
        return scales.on()
    found = clamps(scales.evidence, states)
    return scales.on(Terms(taken=found.taken), found.held)


def ranked_accounts(scales: Scales, weighed: Weighed) -> tuple[Weighed, tuple[float, ...]]:
    """The same with its likeliest accounts in the order of their exact chance, and those chances.

    Those that come first by the odds of practice are weighed; the chances are shares among them.
    The leading ones are those within practice's band of the best.
    """
    found, ready = weighed.reconciliation, weighed.ready
    tried = found.accounts[:ACCOUNTS_WEIGHED]
    if not tried:
        return weighed, ()
    contested = ready.named(mask_of_all(found.conflicts))
    logs = account_logs(
        scales, [ready.named(mask) for mask in tried], contested, weighed.suppositions
    )
    order = sorted(range(len(tried)), key=lambda i: (-round(logs[i], 9), i))
    if logs[order[0]] == -inf:
        return weighed, ()
    chances = shares([logs[i] for i in order])
    band = scales.evidence.draft.packs.practice("leading-account-band").row.value
    places = (*order, *range(len(tried), len(found.accounts)))
    reconciliation = replace(
        found,
        accounts=tuple(found.accounts[i] for i in places),
        costs=tuple(found.costs[i] for i in places),
    )
    leading = tuple(
        tried[i] for i, chance in zip(order, chances, strict=True) if chance * band >= chances[0]
    )
    return replace(weighed, reconciliation=reconciliation, leading=leading), chances


def account_logs(
    scales: Scales,
    accounts: Sequence[Sequence[str]],
    contested: Sequence[str],
    suppositions: Mapping[str, Supposition],
) -> tuple[float, ...]:
    """The logarithm of the weight of each account, on one scale for all.

    Args:
        scales: the evidence.
        accounts: what each gives up, by name.
        contested: every supposition that stands in a conflict.
        suppositions: the priors of those that no table speaks of.
    """
    found: list[float] = []
    for given_up in accounts:
        lost = frozenset(given_up)
        held = clamps(scales.evidence, [(name, name not in lost) for name in contested])
        total = scales.log_total(Terms(taken=held.taken), held.held)
        for name, holds in held.free:
            prior = suppositions[name].prior
            total += log(prior if holds else 1 - prior)
        found.append(total)
    return tuple(found)


def tell_chances(scales: Scales, outcome: Outcome) -> Chances:
    """The chances of dates, parts and suppositions, written down as findings."""
    draft = scales.evidence.draft
    if not outcome.is_possible():
        return Chances("Nothing explains all of the evidence together.", is_possible=False)
    dates = [_date(draft, "completed", outcome.weeks(), scales)]
    dates += [_date(draft, event, weeks, scales) for event, weeks in outcome.later().items()]
    ranges = over_own_priors(outcome)
    parts: list[PartChance] = []
    others: list[SuppositionChance] = []
    for name in sorted(scales.evidence.sizes):
        chances = outcome.chances(name)
        if name in ranges:
            event = name.removeprefix("way:")
            parts.append(_part(scales.evidence, event, chances, ranges[name]))
        else:
            others.append(_supposition(scales.evidence, name, float(chances[1])))
    return Chances(NOTE, dates=tuple(dates), parts=tuple(parts), suppositions=tuple(others))


def _date(draft: Draft, event: str, weeks: Table, scales: Scales) -> DateChance:
    axis = scales.evidence.axis
    spans = tuple(
        (iso_date(axis.days(first)[0]), iso_date(axis.days(last)[1]))
        for first, last in region(weeks)
    )
    middle = int(np.searchsorted(np.cumsum(weeks), EVEN))
    median = iso_date(axis.days(min(middle, axis.weeks - 1))[0])
    sentence = f"{article(event)}: {_spans_in_words(draft, axis, spans, median)}."
    of = tuple(
        bound.id for bound in draft.network.bounds if bound.moment == draft.anatomy.moment_of(event)
    )
    name = f"chance.{event.replace(' ', '-')}"
    finding = draft.finding(name, KIND, Because("weighed", sentence, of))
    shown = tuple(
        WeekChance(iso_date(axis.days(i)[0]), round(float(weeks[i]), 9))
        for i in np.flatnonzero(weeks >= LEAST_WEEK).tolist()
    )
    return DateChance(event, REGION, median, spans, shown, sentence, finding)  # type: ignore[arg-type]  # one of the three events


def _spans_in_words(
    draft: Draft, axis: Axis, spans: tuple[tuple[str, str], ...], median: str
) -> str:
    """The likeliest spans; where they reach an end of the axis, that they may reach beyond.

    An examination is such an end; what lies before the first date on record, or after the last one of
    what nobody has examined, is weighed as far as practice has it and no further.
    """
    begins, ends = iso_date(axis.first_day), iso_date(axis.days(axis.weeks - 1)[1])
    is_open_below = spans[0][0] == begins
    is_open_above = spans[-1][1] == ends and latest_look(draft) is None
    named = [f"{first} to {last}" for first, last in spans]
    if is_open_above:
        named[-1] = f"from {spans[-1][0]} on"
    if is_open_below:
        named[0] = f"up to {spans[0][1]}"
    if is_open_above and is_open_below and len(spans) == 1:
        named = ["at any time"]
    how = "the likeliest weeks that hold" if len(spans) == 1 else "the likeliest spans that hold"
    unknown = [f"it may be earlier still, for the weighing begins on {begins}"] * is_open_below
    unknown += [f"it may be later still, for the weighing ends on {ends}"] * is_open_above
    more = unknown or [f"as likely before as after {median}"]
    return f"{listing(named)} ({how} {percent(REGION)} of the chance); {'; '.join(more)}"


def _moved(chance: float, middle: float, end: float) -> float:
    """The chance when its own prior is at an end of its range: the odds move as the prior's do."""
    if not (0.0 < chance < 1.0 and 0.0 < middle < 1.0):
        return chance
    return from_log_odds(log_odds(chance) + log_odds(end) - log_odds(middle))


def verdict_of(low: float, high: float) -> Verdict:
    """What a range says: nothing where it straddles even."""
    if low > EVEN:
        return "likelier the first"
    return "likelier not the first" if high < EVEN else "cannot be told"


def _part(
    evidence: Evidence, event: str, chances: Table, over_prior: tuple[float, float]
) -> PartChance:
    draft = evidence.draft
    chance = float(chances[FIRST])
    low, high = over_prior
    verdict = verdict_of(low, high)
    first, service, period, transplant = (round(float(share), 4) for share in chances)
    told = "" if verdict == "cannot be told" else f": {verdict}"
    spread = f"{percent_range(low, high)} over the range of its prior"
    sentence = (
        f"The {draft.event_name(event)}: chance {percent(chance)} of having left the works with the "
        f"instrument ({spread}){told or ': which of the two cannot be told'}.{_altered(draft, event)}"
    )
    lines = dict.fromkeys(
        line
        for piece in evidence.pieces
        if f"way:{event}" in piece.variables
        for line in piece.lines
    )
    name = draft.finding(
        f"chance.{event}",
        KIND,
        Because("weighed", sentence, tuple(f"line:{line}" for line in lines)),
    )
    return PartChance(
        event=event,
        positions=evidence.members_of(event),
        chance=first,
        low=round(low, 4),
        high=round(high, 4),
        service=service,
        period=period,
        transplant=transplant,
        verdict=verdict,
        sentence=sentence,
        finding=name,
    )


def _altered(draft: Draft, event: str) -> str:
    """That a recorded alteration is another matter, where there is one."""
    is_altered = any(
        work.line.action == "altered" and event in map(draft.anatomy.event_of, work.line.positions)
        for work in draft.case.of(Work)
    )
    return " Whether it was altered since is another question." if is_altered else ""


def _supposition(evidence: Evidence, name: str, chance: float) -> SuppositionChance:
    draft = evidence.draft
    prior = next(
        value
        for value in (evidence.values.get(f"prior of {name}"), evidence.priors.get(name))
        if value is not None
    )
    low, high = (_moved(chance, prior.middle, end) for end in (prior.low, prior.high))
    told = shared_in_words(draft, evidence.rows.get(name, [name]))
    sentence = f"{article(told)}: chance {percent(chance)}."
    return SuppositionChance(name, round(chance, 4), round(low, 4), round(high, 4), sentence)


def shared_in_words(draft: Draft, names: Sequence[str]) -> str:
    """A supposition, or what several rows or lines of one source have in common, in words."""
    known = [draft.doubts[name].sentence for name in names if name in draft.doubts]
    if len(known) == 1:
        return known[0]
    if known:
        return f"{len(known)} rows of one source can be relied on ({'; '.join(known)})"
    source = draft.case.lines.get(names[0].partition(":")[2])
    title = source.shown("title") if source is not None else names[0]
    return f"“{title}” can be relied on"


def shares(logs: Sequence[float]) -> tuple[float, ...]:
    """The weights of logarithms as shares of their sum.

    >>> shares([0.0, 0.0])
    (0.5, 0.5)
    """
    top = max(logs, default=-inf)
    if top == -inf:
        return tuple(0.0 for _ in logs)
    weights = [exp(each - top) for each in logs]
    return tuple(weight / sum(weights) for weight in weights)
