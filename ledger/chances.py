"""What the weighing concludes: chances of dates and parts, weights of lines, what sways them.

Plain data, a part of the report. A chance is the exact posterior within the model that the weighing
states. ``low`` and ``high`` are its ends over the stated range of its own prior; ``widest`` are its
ends when every starting value of practice is moved, one at a time, to the ends of its stated range,
and None where that was not asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["likelier the first", "likelier not the first", "cannot be told"]


@dataclass(frozen=True, slots=True)
class WeekChance:
    """The chance of one week, by its first day."""

    day: str
    chance: float


@dataclass(frozen=True, slots=True)
class DateChance:
    """How likely the weeks of an event are.

    ``region`` are the likeliest weeks that together hold ``share``, as spans of days; ``widest``
    are the outer ends of that region over the ranges of all starting values. ``weeks`` leaves out
    what is less than a millionth of the whole.
    """

    event: Literal["completed", "dispatched", "first sold"]
    share: float
    median: str
    region: tuple[tuple[str, str], ...]
    weeks: tuple[WeekChance, ...]
    sentence: str
    finding: str
    widest: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class PartChance:
    """How likely a part, or parts fitted as one, left the works with the instrument.

    ``service``, ``period`` and ``transplant`` are the chances of the three ways of replacing it.
    """

    event: str
    positions: tuple[str, ...]
    chance: float
    low: float
    high: float
    service: float
    period: float
    transplant: float
    verdict: Verdict
    sentence: str
    finding: str
    widest: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class SuppositionChance:
    """How likely another supposition holds: a line, a row, a union, a root left as made."""

    supposition: str
    chance: float
    low: float
    high: float
    sentence: str
    widest: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class LineWeight:
    """What a line, or several that are one piece of evidence, is worth for one statement.

    ``ratio`` is the likelihood ratio by leaving the lines out: the odds of the statement with them
    over its odds without. ``words`` is its place on the scale of verbal equivalents.
    """

    lines: tuple[str, ...]
    about: str
    ratio: float
    words: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Sway:
    """How far a starting value of practice moves what it moves most, within its own range."""

    value: str
    low: float
    middle: float
    high: float
    about: str
    chance_at_low: float
    chance_at_high: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Chances:
    """The weighing of a case. ``note`` says what it rests on, or why there is none.

    ``is_possible`` is False where nothing explains all of the evidence.
    """

    note: str
    is_possible: bool = True
    dates: tuple[DateChance, ...] = ()
    parts: tuple[PartChance, ...] = ()
    suppositions: tuple[SuppositionChance, ...] = ()
    weights: tuple[LineWeight, ...] = ()
    sways: tuple[Sway, ...] = ()
