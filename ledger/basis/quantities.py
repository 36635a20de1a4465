"""Read figures with the trade's units, exactly.

Some letters mean two things at the bench: ``K`` (kilohm, kelvin), ``F`` (farad, Fahrenheit)
and ``mF`` or ``MF`` (microfarad on old parts, millifarad or megafarad by SI). They are refused
with advice, unless the caller knows the dimension and only one meaning is left.

Values are decimals and never rounded on reading; amounts in base units are fractions, so that
no comparison depends on rounding.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from ledger.basis.limits import Comparison, compare
from ledger.basis.units import (
    SMALLER_UNITS,
    TWO_MEANINGS,
    UNIT_NAMES,
    UNITS,
    Unit,
    decimal_of,
)

MOST_CHARACTERS: Final = 60


_ONE_CHARACTER: Final = str.maketrans(
    {
        "\u03bc": "µ",
        "\u2126": "Ω",
        "\u2212": "-",
        "\u2032": "'",
        "\u2019": "'",
        "\u2033": '"',
        "\u201d": '"',
        "\u00a0": " ",
        "\u202f": " ",
        "\u00bd": " 1/2",
        "\u00bc": " 1/4",
        "\u00be": " 3/4",
        "\u215b": " 1/8",
        "\u215c": " 3/8",
        "\u215d": " 5/8",
        "\u215e": " 7/8",
        "\u2044": "/",
    }
)
_FIGURE: Final = re.compile(
    r"(?P<sign>[+-]?) *(?:(?:(?P<whole>[0-9]+)(?: +|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    r"|(?P<plain>[0-9]+(?:\.[0-9]*)?|\.[0-9]+))"
)
_NAME: Final = re.compile(r"[^\s0-9+±%.-][^\s0-9+±%-]*")


class QuantityUnreadable(ValueError):
    """The text is not a figure with a unit of the trade.

    ``position`` counts characters from 0; ``advice`` is a sentence without its full stop.
    """

    def __init__(self, position: int, found: str, expected: str, advice: str = "") -> None:
        self.position, self.found, self.expected, self.advice = position, found, expected, advice
        text = f"at character {position + 1}: found {found}; expected {expected}"
        super().__init__(f"{text}. {advice}." if advice else f"{text}.")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure and its unit, as written but for the spelling of the unit.

    >>> print(read_quantity('1 5/8"'))
    1.625 in
    >>> print(read_quantity('1 5/8"').in_unit("mm"))
    41.275 mm
    """

    value: Decimal
    unit: str
    dimension: str

    def __str__(self) -> str:
        joint = "" if self.unit in ("", "°") else " "
        return f"{self.value:f}{joint}{self.unit}"

    @property
    def in_base(self) -> Fraction:
        """The exact amount in the base unit of its dimension."""
        unit = UNITS[self.unit]
        return Fraction(self.value) * unit.size + unit.zero

    @property
    def step_in_base(self) -> Fraction:
        """The exact amount when it is a difference: the zero of the scale plays no part."""
        return Fraction(self.value) * UNITS[self.unit].size

    def in_unit(self, unit: str) -> Quantity:
        """The same amount in another unit of the dimension, to twelve digits.

        Raises:
            ValueError: the unit is of another dimension.
        """
        if UNITS[unit].dimension != self.dimension:
            raise ValueError(f"{unit} does not measure {self.dimension}")
        return quantity_of(self.in_base, unit)


@dataclass(frozen=True, slots=True)
class Measurement:
    """A figure with its doubt: how far off, at most, the person who measured says it may be.

    ``uncertainty`` is in base units; None means that nothing was said, which is not zero.
    """

    quantity: Quantity
    uncertainty: Fraction | None

    @property
    def low(self) -> Fraction:
        """The least amount it may be, in base units."""
        return self.quantity.in_base - (self.uncertainty or 0)

    @property
    def high(self) -> Fraction:
        """The greatest amount it may be, in base units."""
        return self.quantity.in_base + (self.uncertainty or 0)

    def against(self, low: Quantity | None, high: Quantity | None) -> Comparison:
        """How the measurement stands to limits of the same dimension; None is no limit.

        Raises:
            ValueError: a limit is of another dimension, or the limits are reversed.

        >>> measured, limit = read_measurement("42.6 ± 0.1 mm"), read_quantity
        >>> print(measured.against(limit("43.4 mm"), limit("44 mm")).in_words("mm"))
        below the limits, short by 0.8 to 1.4 mm
        """
        for limit in (low, high):
            if limit and limit.dimension != self.quantity.dimension:
                raise ValueError(f"{limit} is no limit for {self.quantity}")
        return compare(
            self.quantity.in_base,
            self.uncertainty,
            low.in_base if low else None,
            high.in_base if high else None,
        )

    def __str__(self) -> str:
        if self.uncertainty is None:
            return str(self.quantity)
        unit = self.quantity.unit
        step = Quantity(decimal_of(self.uncertainty / UNITS[unit].size), unit, "")
        return f"{self.quantity} ± {step}"


def quantity_of(amount: Fraction, unit: str) -> Quantity:
    """The quantity of ``amount`` base units in ``unit``, to twelve digits where not exact.

    >>> print(quantity_of(Fraction(127, 5000), "in"))
    1 in
    """
    known = UNITS[unit]
    return Quantity(decimal_of((amount - known.zero) / known.size), unit, known.dimension)


def read_quantity(text: str, dimension: str | None = None) -> Quantity:
    """The figure and unit in ``text``; feet with inches and pounds with ounces become one.

    ``dimension``, where the caller knows it, settles the letters that mean two things, and
    refuses every other dimension.

    Raises:
        QuantityUnreadable: there is no figure, no known unit, or something more.

    >>> print(read_quantity("3 ft 4 in"))
    40 in
    >>> print(read_quantity("470K", "resistance"))
    470 kΩ
    """
    return _read_whole(_simplified(text), 0, dimension)


def read_measurement(
    value: str, uncertainty: str | None = None, dimension: str | None = None
) -> Measurement:
    """The value with its doubt, which stands after ± in ``value`` or by itself, with a unit or %.

    Raises:
        QuantityUnreadable: either text cannot be read, or the doubt is told twice.

    >>> print(read_measurement("42.6 ± 0.1 mm"))
    42.6 mm ± 0.1 mm
    >>> print(read_measurement("7.52 k", "1 %"))
    7.52 kΩ ± 0.0752 kΩ
    """
    text = _simplified(value).replace("+/-", "±")
    figure, sign, doubt = text.partition("±")
    place = len(figure) + 1
    if sign and uncertainty:
        raise QuantityUnreadable(
            len(figure),
            "± and an uncertainty by itself",
            "one of the two",
            "Keep the one that holds",
        )
    if not sign:
        figure, doubt, place = text, _simplified(uncertainty or ""), 0
    quantity = _read_beside(figure, doubt, dimension) if sign else None
    quantity = quantity or _read_whole(figure, 0, dimension)
    return Measurement(quantity, _read_doubt(doubt, place, quantity) if doubt or sign else None)


def _read_beside(figure: str, doubt: str, dimension: str | None) -> Quantity | None:
    """The value of ``42.6 ± 0.1 mm``, whose unit stands only after its doubt."""
    number = _FIGURE.fullmatch(figure.strip())
    behind = _FIGURE.match(doubt.strip())
    name = doubt.strip()[behind.end() :].strip() if behind else ""
    if not number or not name or name == "%":
        return None
    return _read_whole(f"{figure.strip()} {name}", 0, dimension)


def _read_doubt(doubt: str, place: int, quantity: Quantity) -> Fraction:
    text = doubt.strip()
    number = _FIGURE.match(text)
    rest = text[number.end() :].strip() if number else text
    if number and rest in ("", "%"):
        figure = Fraction(_figure(number, place))
        one = abs(quantity.step_in_base) / 100 if rest else UNITS[quantity.unit].size
        step = figure * one
    else:
        step = _read_whole(text, place, quantity.dimension).step_in_base
    if step < 0:
        raise QuantityUnreadable(place, repr(text), "an uncertainty that is not negative")
    return step


def _simplified(text: str) -> str:
    if len(text) > MOST_CHARACTERS:
        raise QuantityUnreadable(0, f"{len(text)} characters", f"at most {MOST_CHARACTERS}")
    return text.translate(_ONE_CHARACTER).replace("\u00b5\u00b5", "uu")


def _read_whole(text: str, offset: int, dimension: str | None) -> Quantity:
    first, end = _read_one(text, 0, offset, dimension)
    if dimension and first.dimension != dimension:
        raise QuantityUnreadable(offset, repr(text), f"{dimension}, not {first.dimension}")
    smaller = SMALLER_UNITS.get(first.unit)
    if smaller and end < len(text):
        second, end = _read_one(text, end, offset, dimension)
        per = UNITS[first.unit].size / UNITS[smaller].size
        if second.unit != smaller or not 0 <= second.value < per:
            raise QuantityUnreadable(
                offset, repr(text), f"after {first.unit} a figure in {smaller} below {per}"
            )
        sum_of_both = abs(Fraction(first.value)) * per + Fraction(second.value)
        value = decimal_of(-sum_of_both if first.value.is_signed() else sum_of_both)
        first = Quantity(value, smaller, first.dimension)
    if end < len(text):
        raise QuantityUnreadable(offset + end, repr(text[end:]), "nothing more")
    return first


def _read_one(text: str, start: int, offset: int, dimension: str | None) -> tuple[Quantity, int]:
    """The figure and unit at ``start``, and where they and any spaces after them end."""
    begin = start + len(text[start:]) - len(text[start:].lstrip(" "))
    figure = _FIGURE.match(text, begin)
    if not figure:
        found = repr(text[begin:]) if text[begin:] else "nothing"
        raise QuantityUnreadable(
            offset + begin, found, "a figure with its unit, such as 42.6 mm or 1 5/8 in"
        )
    value = _figure(figure, offset)
    after = figure.end() + len(text[figure.end() :]) - len(text[figure.end() :].lstrip(" "))
    if text[after : after + 1] == ",":
        raise QuantityUnreadable(
            offset + after,
            "','",
            "a point before the decimals",
            "Type 42.6 for 42,6, 1234 for 1,234",
        )
    name = _NAME.match(text, after)
    unit = _unit_named(name[0] if name else "", offset + after, dimension)
    end = name.end() if name else figure.end()
    end += len(text[end:]) - len(text[end:].lstrip(" "))
    return Quantity(value, unit.symbol, unit.dimension), end


def _unit_named(name: str, position: int, dimension: str | None) -> Unit:
    symbol = UNIT_NAMES.get(name)
    meanings = TWO_MEANINGS.get(name, ())
    fitting = [one for one in meanings if UNITS[one].dimension == dimension]
    if fitting and len(meanings) > 1:
        return UNITS[fitting[0]]
    if symbol is not None:
        return UNITS[symbol]
    if meanings:
        advice = f"If you mean {' or '.join(meanings)}, type that"
        raise QuantityUnreadable(position, repr(name), "a unit with one meaning", advice)
    alike = [other for other in UNIT_NAMES if other.lower() == name.lower()]
    advice = f"Type {' or '.join(alike)}" if alike else ""
    known = ", ".join(f"{unit}" for unit in UNITS if unit)
    raise QuantityUnreadable(position, repr(name), f"one of the units {known}", advice)


def _figure(found: re.Match[str], offset: int) -> Decimal:
    """The exact decimal of a matched figure; decimals keep the zeros they were written with."""
    if found["plain"]:
        return Decimal(found["sign"] + found["plain"])
    bottom = int(found["bottom"])
    if not 1 <= bottom <= 1000 or 10**10 % bottom:
        place = offset + found.start("bottom")
        raise QuantityUnreadable(
            place, repr(found["bottom"]), "a part such as 2, 4, 8, 16, 32, 64 or 10"
        )
    amount = int(found["whole"] or 0) + Fraction(int(found["top"]), bottom)
    return decimal_of(-amount if found["sign"] == "-" else amount)
