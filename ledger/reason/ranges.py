"""How far do the chances move when practice is not what it is taken to be?

Question answered: for each chance its lowest and highest value when every starting value of
practice is moved, one at a time, to both ends of its stated range; and which values matter most.

Method: one at a time sensitivity (Castillo, Gutiérrez and Hadi, "Sensitivity analysis in discrete
Bayesian networks", IEEE Transactions on Systems, Man, and Cybernetics A 27, 1997: a posterior is
monotone between the ends of one parameter that enters linearly, so the ends suffice).

Cost: two turns of one weighing for each value that any piece asked for, of what it touches.

What it does not do: move several values at once; a range here is not a bound on what all of them
together could do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ledger.reason.evidence import Terms, Value
from ledger.reason.factors import Table
from ledger.reason.likelihoods import FIRST
from ledger.reason.weighing import Outcome, Scales

REGION = 0.95
CLOSE_WEEKS = 26


@dataclass(frozen=True, slots=True)
class Reading:
    """All chances on some terms: of each variable's holding (or first fitting), and the weeks."""

    holding: Mapping[str, float]
    weeks: Table


@dataclass(frozen=True, slots=True)
class Moved:
    """The chances with one starting value at the low and the high end of its range."""

    value: Value
    at_low: Reading
    at_high: Reading


def read_off(scales: Scales, outcome: Outcome) -> Reading:
    """All chances of an outcome."""
    values = {name: holding(name) for name in sorted(scales.evidence.sizes)}
    return Reading(outcome.chances_of(values), outcome.weeks())


def holding(variable: str) -> int:
    """The value of a variable that means that the supposition holds."""
    return FIRST if variable.startswith("way:") else 1


def read_each(scales: Scales, turns: Iterable[Terms]) -> list[Reading]:
    """All chances on each of many terms."""
    values = {name: holding(name) for name in sorted(scales.evidence.sizes)}
    found = scales.on().on_each(turns, values)
    return [
        Reading(dict(zip(found.names, chances, strict=True)), weeks)
        for chances, weeks in zip(found.chances.tolist(), found.weeks, strict=True)
    ]


def movable(scales: Scales) -> tuple[Value, ...]:
    """The starting values with a range that any piece asked for, by name."""
    return tuple(
        value
        for name, value in sorted(scales.evidence.values.items())
        if value.low != value.high and scales.asking(name)
    )


def ends_of(values: Sequence[Value]) -> list[Terms]:
    """Each value at the low and then at the high end of its range."""
    return [Terms(moved={each.id: end}) for each in values for end in (each.low, each.high)]


def moved(values: Sequence[Value], readings: Sequence[Reading]) -> Iterator[Moved]:
    """The readings on the terms of :func:`ends_of`, by value."""
    for value, at_low, at_high in zip(values, readings[::2], readings[1::2], strict=True):
        yield Moved(value, at_low, at_high)


def region(weeks: Table, share: float = REGION) -> list[tuple[int, int]]:
    """The likeliest weeks that together hold the share, as runs of places on the axis.

    Runs that lie less than half a year apart are told as one.

    >>> region(np.array([0.1, 0.4, 0.4, 0.06, 0.04]), 0.85)
    [(0, 2)]
    """
    likely = np.flatnonzero(weeks)
    order = likely[np.argsort(-weeks[likely], kind="stable")]
    count = int(np.searchsorted(np.cumsum(weeks[order]), share * weeks.sum() - 1e-12)) + 1
    taken = np.sort(order[:count])
    runs: list[tuple[int, int]] = []
    for place in taken.tolist():
        if runs and place - runs[-1][1] <= CLOSE_WEEKS:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return runs
