"""What would a comparison with how the works made it show, or a paper that turns up?

Question answered: for every feature, measure and pair of numbers that a row of the packs speaks of
and nobody has recorded, the chance of each outcome; and of the dates that a paper of the first sale
would bear, which nobody can order up.

Method: where the part left the works with the instrument, nothing was altered and the row holds, a
feature is as the row says while it was in production, its value fading over the overlap, but for
the slips of comparison; where not, it agrees as often as practice has it by chance. A paper follows
completion by the waits of dispatch and sale.

Cost: linear in rows and in the axis.

What it does not do: count a test that nearly everything passes for more than the little it tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from ledger.basis.phrases import phrase_in
from ledger.basis.quantities import read_quantity
from ledger.basis.spans import Spans
from ledger.basis.units import CAPACITANCE, RESISTANCE
from ledger.knowledge.packs import Row
from ledger.models import Feature, Mark, Measurement, Paper
from ledger.reason.dating import timeline_days
from ledger.reason.examination import Examination, Ready
from ledger.reason.factors import Table
from ledger.reason.likelihoods import DAYS_A_WEEK, FIRST, waited, within_softly
from ledger.reason.measuring import COPPER_WORDS
from ledger.reason.stretches import Stretches, years_in_words
from ledger.references import MatchingNumbers, Specification, Timeline

FEWEST_DIGITS = 2
SPLIT_AT_MOST = 64


def foreseen_comparisons(ready: Ready, stretches: Stretches) -> list[Examination]:
    """Every comparison that has not been made, and the paper that may turn up."""
    return [
        *_features(ready),
        *_specifications(ready),
        *_numbers(ready),
        *_paper(ready, stretches),
    ]


def _places(ready: Ready, base: str) -> Iterator[str]:
    """The places of the case at a position of the catalogue, without those that are empty."""
    for _, members in ready.open_events():
        yield from (place for place in members if place.partition(".")[0] == base)


def _is_recorded(ready: Ready, place: str, name: str, *, is_measure: bool) -> bool:
    """Whether a feature or a quantity of that name is on record at the place."""
    case = ready.draft.case
    named = [
        *((each.line.position, each.line.feature, False) for each in case.of(Feature)),
        *((each.line.position, each.line.quantity, True) for each in case.of(Measurement)),
    ]
    wanted = (place, name.casefold(), is_measure)
    return any((at, what.casefold(), kind) == wanted for at, what, kind in named)


def _supposed(ready: Ready, names: Iterable[str]) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The choices that the suppositions are, and the value of each that means that it holds."""
    variables: dict[str, int] = {}
    for name in names:
        kind, _, subject = name.partition(":")
        if kind == "first-fitted":
            variables[ready.evidence.way(subject)] = FIRST
        else:
            variables[ready.evidence.holds(name)] = 1
    return tuple(variables), tuple(variables.values())


def _table(
    ready: Ready, choices: tuple[tuple[str, ...], tuple[int, ...]], held: Table, otherwise: Table
) -> Table:
    """The outcomes where everything holds, by weeks, and where it does not."""
    names, holding = choices
    sizes = tuple(ready.evidence.sizes[name] for name in names)
    shape = (len(held), *sizes, held.shape[-1])
    whole = otherwise.reshape(-1, *(1 for _ in sizes), 1)
    found = np.broadcast_to(whole, shape).copy()
    at: tuple[slice | int, ...] = (slice(None), *holding)
    found[at] = held
    return found


def _about(names: tuple[str, ...]) -> tuple[str, ...]:
    """Of the choices those that are states of parts."""
    return tuple(n for n in names if n.partition(":")[0] in ("way", "joined", "as-made"))


# -- features and when they were made -----------------------------------------------------------


def _features(ready: Ready) -> Iterator[Examination]:
    draft = ready.draft
    by_feature: dict[tuple[str, str], list[tuple[Row[Timeline], Spans]]] = {}
    for row in draft.packs.applying(Timeline, draft.case.instrument):
        days = timeline_days(draft, row)
        is_own = any(each.instrument == draft.case.instrument.id for each in row.row.examples)
        if days is not None and not is_own:
            key = (row.row.position, row.row.feature.casefold())
            by_feature.setdefault(key, []).append((row, days))
    for (position, _), rows in by_feature.items():
        feature = rows[0][0].row.feature
        for place in _places(ready, position):
            if not _is_recorded(ready, place, feature, is_measure=False):
                yield _feature(ready, place, rows)


def _feature(ready: Ready, place: str, rows: list[tuple[Row[Timeline], Spans]]) -> Examination:
    draft, axis = ready.draft, ready.evidence.axis
    names = [draft.holds(row) for row, _ in rows]
    names += [*draft.makeup(place), *draft.scope(rows[0][0], place)]
    choices = _supposed(ready, names)
    inside = np.stack(
        [within_softly(axis, days, row.row.overlap_days / DAYS_A_WEEK) for row, days in rows]
    )
    inside /= np.maximum(inside.sum(axis=0), 1.0)
    by_chance, error = ready.practice("agrees-by-chance"), ready.practice("comparison-error")
    sound = ready.practice("sound-first-hand-observation")
    each_by_chance = np.full(len(rows), by_chance / len(rows))
    told = sound * (1 - error) * inside + (1 - sound * (1 - error)) * each_by_chance[:, None]
    held = np.concatenate([told, 1 - told.sum(axis=0, keepdims=True)])
    feature = rows[0][0].row.feature
    words = (*(f"the {feature} is {row.row.value}" for row, _ in rows), f"the {feature} is another")
    return Examination(
        id=f"feature {place} {feature.casefold()}",
        positions=(place,),
        reach=ready.reach((place,)),
        what=f"look at the {feature} of the {ready.names((place,))}",
        root=draft.anatomy.root_of(place),
        variables=choices[0],
        table=_table(ready, choices, held, np.append(each_by_chance, 1 - by_chance)),
        words=words,
        told=tuple(range(len(words))),
        about=_about(choices[0]),
        left_because=ready.left_because(place),
        rows=(*(row.id for row, _ in rows), "agrees-by-chance", "comparison-error"),
    )


# -- measures and how the works made them -------------------------------------------------------


def _specifications(ready: Ready) -> Iterator[Examination]:
    draft = ready.draft
    for row in draft.packs.applying(Specification, draft.case.instrument):
        is_measure = bool(row.row.quantity)
        name = row.row.quantity or row.row.feature
        for place in _places(ready, row.row.position):
            is_recorded = _is_recorded(ready, place, name, is_measure=is_measure)
            if _contradicts(ready, row.row, place) and not is_recorded:
                yield _specification(ready, place, row)


def _contradicts(ready: Ready, row: Specification, place: str) -> bool:
    """Whether a value outside would be weighed, and is not just an open question."""
    if row.outside is not None or row.feature:
        return row.outside != "open question"
    limit = read_quantity(row.low or row.high or "")
    is_copper = phrase_in(f"{row.quantity} {ready.draft.anatomy.name(place)}", COPPER_WORDS)
    return limit.dimension != CAPACITANCE and (
        limit.dimension != RESISTANCE or is_copper is not None
    )


def _specification(ready: Ready, place: str, row: Row[Specification]) -> Examination:
    draft, name = ready.draft, ready.names((place,))
    choices = _supposed(ready, (draft.holds(row), *draft.makeup(place), *draft.scope(row, place)))
    passes = "passing-replacements" if row.row.nearly_all_pass else "agrees-by-chance"
    fails = ready.practice("comparison-error")
    chance = ready.practice(passes)
    asked = row.row.quantity or row.row.feature
    verb = "measure" if row.row.quantity else "look at"
    return Examination(
        id=f"{verb.partition(' ')[0]} {place} {asked.casefold()}",
        positions=(place,),
        reach=ready.reach((place,)),
        what=f"{verb} the {asked} of the {name}",
        root=draft.anatomy.root_of(place),
        variables=choices[0],
        table=_table(
            ready, choices, np.array([[1 - fails], [fails]]), np.array([chance, 1 - chance])
        ),
        words=(f"the {asked} is as the works made it", f"the {asked} is not as the works made it"),
        told=(0, 1),
        about=_about(choices[0]),
        left_because=ready.left_because(place),
        rows=(row.id, passes, "comparison-error"),
    )


# -- numbers that match -------------------------------------------------------------------------


def _numbers(ready: Ready) -> Iterator[Examination]:
    draft = ready.draft
    for row in draft.packs.applying(MatchingNumbers, draft.case.instrument):
        for one in _places(ready, row.row.positions[0]):
            for other in _places(ready, row.row.positions[1]):
                unread = tuple(p for p in (one, other) if not _has_number(ready, p))
                if unread:
                    yield _pair(ready, row, (one, other), unread)


def _has_number(ready: Ready, place: str) -> bool:
    return any(
        mark.line.position == place
        and sum(glyph.isdigit() for glyph in mark.line.text) >= FEWEST_DIGITS
        for mark in ready.draft.case.of(Mark)
    )


def _pair(
    ready: Ready, row: Row[MatchingNumbers], pair: tuple[str, str], unread: tuple[str, ...]
) -> Examination:
    draft, anatomy = ready.draft, ready.draft.anatomy
    path = anatomy.view.union_path(anatomy.root_of(pair[0]), anatomy.root_of(pair[1])) or ()
    unions = [draft.joined(anatomy.union_id(union), *union.between) for union in path]
    choices = _supposed(
        ready, (draft.holds(row), *unions, *draft.fitting(pair[0]), *draft.fitting(pair[1]))
    )
    fails, chance = ready.practice("comparison-error"), ready.practice("chance-match-two-digits")
    return Examination(
        id=f"numbers {' '.join(pair)}",
        positions=pair,
        reach=ready.reach(unread),
        what=f"read the numbers on the {ready.names(pair)} and compare them",
        root="",
        variables=choices[0],
        table=_table(
            ready, choices, np.array([[1 - fails], [fails]]), np.array([chance, 1 - chance])
        ),
        words=("the numbers agree", "the numbers differ"),
        told=(0, 1),
        about=_about(choices[0]),
        left_because=ready.left_because(unread[0]),
        rows=(row.id, "chance-match-two-digits", "comparison-error"),
    )


# -- papers -------------------------------------------------------------------------------------


def _paper(ready: Ready, stretches: Stretches) -> Iterator[Examination]:
    """A paper of the first sale that names the object, unless there is one."""
    known: list[Any] = [
        each
        for each in ready.draft.case.of(Paper)
        if each.line.event == "first sold" and each.line.names_this_object == "yes"
    ]
    if known:
        return
    waits = [
        max(ready.practice(f"lag-{of}-weeks"), 0.5)
        for of in ("completed-to-dispatched", "dispatched-to-sold")
    ]
    right = ready.practice("sound-paper-naming-object")
    sold = np.stack([waited(waited(each, waits[1]), waits[0]) for each in stretches.flags()])
    sold /= np.maximum(sold.sum(axis=0), 1e-300)
    runs = stretches.runs
    yield Examination(
        id="paper first sold",
        positions=(),
        reach="look",
        what="a paper of the first sale that names this very object, if one turns up",
        root=ready.draft.anatomy.view.anchor,
        variables=(),
        table=right * sold + (1 - right) * stretches.shares[:, None],
        words=tuple(f"it is dated {years_in_words(run)}" for run in runs),
        told=stretches.told,
        years=runs,
        says="it is dated",
        is_to_be_had=False,
        rows=(
            "lag-completed-to-dispatched-weeks",
            "lag-dispatched-to-sold-weeks",
            "sound-paper-naming-object",
        ),
    )
