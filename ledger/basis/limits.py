"""Hold a measured value, with its doubt, against the limits of a specification.

Question answered: is the value inside, outside, or can it not be told, and by how much at least
and at most. The doubt is taken as the outermost that the value may be off on either side, so a
value is in conflict with its limits only when everything it may be lies outside them (the
guarded rejection of JCGM 106:2012, 8.3, with the doubt as the guard band; from memory). How
likely the value is to be inside is another question and not answered here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from ledger.basis.units import UNITS, decimal_of


class Standing(Enum):
    """Where a value, or all that it may be, lies against limits."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"
    OVERLAPS = "overlaps"


@dataclass(frozen=True, slots=True)
class Comparison:
    """A measured value against limits, in base units.

    ``standing`` is that of everything the value may be, ``plain_standing`` that of the bare
    figure. ``least`` and ``most`` say how far the bare figure is from the nearer and from the
    farther limit, both 0 inside; ``least_possible`` and ``most_possible`` say the same with
    the uncertainty taken in. A most is None where the farther limit is not known.
    """

    standing: Standing
    plain_standing: Standing
    least: Fraction
    most: Fraction | None
    least_possible: Fraction
    most_possible: Fraction | None

    @property
    def is_conflict(self) -> bool:
        """Whether everything the value may be lies outside the limits."""
        return self.standing in (Standing.BELOW, Standing.ABOVE)

    def in_words(self, unit: str) -> str:
        """The comparison for people, with its amounts in ``unit``."""
        if self.standing is Standing.WITHIN:
            return "within the limits"
        if self.plain_standing is Standing.WITHIN:
            beyond = _amounts(self.most_possible, self.most_possible, unit)
            return f"within the limits, but its uncertainty reaches up to {beyond} beyond them"
        word = "short" if self.plain_standing is Standing.BELOW else "over"
        text = f"{self.plain_standing.value} the limits, {word} by "
        text += _amounts(self.least, self.most, unit)
        if self.standing is Standing.OVERLAPS:
            text += ", but its uncertainty reaches into them"
        return text


def compare(
    measured: Fraction | Decimal | int,
    uncertainty: Fraction | Decimal | int | None,
    low: Fraction | Decimal | int | None,
    high: Fraction | Decimal | int | None,
) -> Comparison:
    """How a value stands to limits, all in one unit: a conflict only if all it may be is outside.

    A missing uncertainty widens nothing; the caller knows whether one was told.

    Raises:
        ValueError: the limits are reversed, or the uncertainty is negative.

    >>> found = compare(Decimal("42.6"), Decimal("0.1"), Decimal("43.4"), 44)
    >>> found.standing.value, float(found.least), float(found.most)
    ('below', 0.8, 1.4)
    """
    value, doubt = Fraction(measured), Fraction(uncertainty or 0)
    bottom = None if low is None else Fraction(low)
    top = None if high is None else Fraction(high)
    if doubt < 0 or (bottom is not None and top is not None and top < bottom):
        raise ValueError("an uncertainty cannot be negative, nor limits reversed")
    ends = [_standing(end, bottom, top) for end in (value - doubt, value + doubt)]
    plain = _standing(value, bottom, top)
    least, most = _off(plain, (value, value), bottom, top)
    least_possible, most_possible = _off(plain, (value - doubt, value + doubt), bottom, top)
    return Comparison(
        ends[0] if ends[0] is ends[1] else Standing.OVERLAPS,
        plain,
        least,
        most,
        least_possible,
        most_possible,
    )


def _standing(value: Fraction, bottom: Fraction | None, top: Fraction | None) -> Standing:
    if bottom is not None and value < bottom:
        return Standing.BELOW
    return Standing.ABOVE if top is not None and value > top else Standing.WITHIN


def _off(
    side: Standing, reach: tuple[Fraction, Fraction], bottom: Fraction | None, top: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """The least and the most by which anything in ``reach`` is off the limits on that side."""
    lowest, highest = reach
    none = Fraction(0)
    short = none if bottom is None else bottom - highest
    over = none if top is None else lowest - top
    if side is Standing.BELOW:
        return max(none, short), None if top is None else top - lowest
    if side is Standing.ABOVE:
        return max(none, over), None if bottom is None else highest - bottom
    furthest_short = none if bottom is None else bottom - lowest
    furthest_over = none if top is None else highest - top
    return none, max(none, furthest_short, furthest_over)


def _amounts(least: Fraction | None, most: Fraction | None, unit: str) -> str:
    size = UNITS[unit].size
    figures = [f"{decimal_of(amount / size):f}" for amount in (least, most) if amount is not None]
    if most is None:
        return f"at least {figures[0]} {unit}".rstrip()
    return f"{' to '.join(dict.fromkeys(figures))} {unit}".rstrip()
