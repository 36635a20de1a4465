"""Values marked on components: letter codes, codes of three figures, and old words.

Question answered: which resistance, capacitance or frequency may ``4K7``, ``104K`` or ``.05 MFD``
mean. A letter stands for the point and the power of ten, a second one for the tolerance; what
each stands for is in rows. A mark that several systems fit is read by all of them.

What it does not do: it dates nothing. That a letter code follows a standard of 1952, and that
picofarads came after 1960, are soft signs and told as such.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from ledger.knowledge.glyphs import collapsed
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import Quantity, ValueReading, value_in_words
from ledger.references import ValueSign

MOST_CHARACTERS = 60
SMALL_CAPACITANCE = Fraction(10, 10**12)
# What is made for instruments and amplifiers lies well inside these (common practice).
USUAL: dict[Quantity, tuple[Fraction, Fraction]] = {
    "resistance": (Fraction(1, 100), Fraction(10) ** 9),
    "capacitance": (Fraction(1, 10**13), Fraction(1, 10)),
    "frequency": (Fraction(1), Fraction(10) ** 10),
}
SOFT_1952 = "Such codes follow a standard of 1952 and came into use later: a soft sign, no bound."

_CODE = re.compile(
    r"(?P<whole>[0-9]{0,4})(?P<unit>[A-Zpnµum])(?P<part>[0-9]{0,3}) ?(?P<tolerance>[A-Z]?)"
)
_THREE_FIGURES = re.compile(r"(?P<figures>[0-9]{2})(?P<power>[0-9]) ?(?P<tolerance>[A-Z]?)")
_WORDED = re.compile(
    r"(?P<figure>[0-9]{0,7}(?:[.,][0-9]{1,6})?) ?-?(?P<word>[a-zµ/ .]{1,24})", re.IGNORECASE
)


class ValueSigns:
    """The signs of several packs by system, ready to read with; build once and keep."""

    def __init__(self, rows: Iterable[Row[ValueSign]]) -> None:
        self._held: dict[tuple[str, str], list[Row[ValueSign]]] = {}
        for row in rows:
            self._held.setdefault((row.row.system, row.row.sign), []).append(row)

    def of(self, system: str, sign: str) -> tuple[Row[ValueSign], ...]:
        """The rows for the sign in that system; several where editions differ."""
        return tuple(self._held.get((system, sign), ()))


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The limits around a value, how they are told, and the row they are from."""

    low: Fraction
    high: Fraction
    wording: str
    row: Row[ValueSign]


def exact(row: Row[ValueSign]) -> Fraction:
    """The figure of a row without the rounding of binary floats."""
    return Fraction(str(row.row.means))


def power(row: Row[ValueSign]) -> Fraction:
    """The power of ten of a row, as a factor."""
    return Fraction(10) ** round(row.row.means)


def tolerances(
    signs: ValueSigns, system: str, sign: str, value: Fraction
) -> Iterator[Tolerance | None]:
    """The limits that a tolerance sign gives, one for each edition; None where there is no sign."""
    if not sign:
        yield None
        return
    for row in signs.of(system, sign):
        high = exact(row)
        low = -high if row.row.low is None else Fraction(str(row.row.low))
        unit, size = ("pF", Fraction(1, 10**12)) if system.endswith("pF") else ("%", value / 100)
        wording = (
            f"±{float(high):g} {unit}"
            if low == -high
            else f"{float(low):g}/+{float(high):g} {unit}"
        )
        yield Tolerance(value + low * size, value + high * size, wording, row)


def value_reading(
    quantity: Quantity,
    value: Fraction,
    tolerance: Tolerance | None,
    reason: str,
    rows: Iterable[Row[ValueSign]],
) -> ValueReading:
    """A value with its limits, the reason, and every row that it rests on."""
    least, most = USUAL[quantity]
    used = [*rows, *([tolerance.row] if tolerance else [])]
    editions = dict.fromkeys(row.row.edition for row in used if row.row.edition)
    notes = dict.fromkeys(row.row.note for row in used if row.row.note)
    unsure = sorted({row.row.confidence for row in used} - {"high"})
    told = [
        reason,
        *(f"By the edition {edition}." for edition in editions),
        *notes,
        *([f"Rows of {' and '.join(unsure)} confidence are used."] if unsure else []),
    ]
    shown = value_in_words(quantity, value)
    is_plausible = least <= value <= most
    if not is_plausible:
        told.append("Hardly any such part is made: look again, or read from the other end.")
    return ValueReading(
        quantity=quantity,
        value=value,
        low=tolerance.low if tolerance else None,
        high=tolerance.high if tolerance else None,
        reading=f"{shown} {tolerance.wording}" if tolerance else shown,
        reason=" ".join(told),
        source="; ".join(dict.fromkeys(row.row.source for row in used)),
        references=tuple(row.id for row in used),
        is_plausible=is_plausible,
    )


def code_readings(text: str, signs: ValueSigns) -> list[ValueReading]:
    """Every value that a marked code or an old wording may mean; empty where it is none."""
    if len(text) > MOST_CHARACTERS:
        return []
    plain = collapsed(text).replace("\N{GREEK SMALL LETTER MU}", "µ").replace("Ω", "")
    return [
        *_letter_codes(plain.strip(), signs),
        *_three_figures(plain.strip(), signs),
        *_worded(plain.strip(), signs),
    ]


def _letter_codes(plain: str, signs: ValueSigns) -> Iterator[ValueReading]:
    match = _CODE.fullmatch(plain)
    if match is None or not (match["whole"] or match["part"]):
        return
    unit = "µ" if match["unit"] == "u" else match["unit"]
    figure = Fraction(f"{match['whole'] or '0'}.{match['part'] or '0'}")
    place = "in place of the point" if match["part"] else "after the figures"
    kinds: tuple[Quantity, ...] = ("resistance", "capacitance")
    for quantity in kinds:
        for row in signs.of(quantity, unit):
            value = figure * power(row)
            small = quantity == "capacitance" and value < SMALL_CAPACITANCE
            system = "tolerance in pF" if small else "tolerance"
            for tolerance in tolerances(signs, system, match["tolerance"], value):
                reason = f"Letter code of {quantity}, {unit} standing {place}. {SOFT_1952}"
                yield value_reading(quantity, value, tolerance, reason, (row,))


def _three_figures(plain: str, signs: ValueSigns) -> Iterator[ValueReading]:
    match = _THREE_FIGURES.fullmatch(plain)
    if match is None or match["figures"] == "00":
        return
    exponent = {"8": -2, "9": -1}.get(match["power"], int(match["power"]))
    value = int(match["figures"]) * Fraction(10) ** (exponent - 12)
    (row, *_) = signs.of("capacitance", "p") or (None,)
    if row is None:
        return
    system = "tolerance in pF" if value < SMALL_CAPACITANCE else "tolerance"
    for tolerance in tolerances(signs, system, match["tolerance"], value):
        reason = (
            "Code of three figures on a capacitor: two figures and the number of noughts, in "
            "picofarads. Three figures are as often something else."
        )
        yield value_reading("capacitance", value, tolerance, reason, (row,))


def _worded(plain: str, signs: ValueSigns) -> Iterator[ValueReading]:
    match = _WORDED.fullmatch(plain)
    if match is None or not match["figure"]:
        return
    word = match["word"].strip().casefold().replace("μ", "µ").rstrip(".").replace(". ", "").strip()
    figure = Fraction(f"0{match['figure'].replace(',', '.')}")
    systems: tuple[Quantity, ...] = ("capacitance", "frequency")
    for quantity in systems:
        for row in signs.of(f"word of {quantity}", word):
            reason = f"Value in words: {word} is an older or present name of the unit."
            yield value_reading(quantity, figure * power(row), None, reason, (row,))


def resistance_code(value: Fraction) -> str | None:
    """The letter code of a resistance of at most three figures, or None where it has none.

    >>> resistance_code(Fraction(4700)), resistance_code(Fraction(47, 100))
    ('4K7', 'R47')
    """
    return _printed(value, (("R", 0), ("K", 3), ("M", 6), ("G", 9)))


def capacitance_code(value: Fraction) -> str | None:
    """The letter code of a capacitance of at most three figures, or None where it has none.

    >>> capacitance_code(Fraction(33, 10**10)), capacitance_code(Fraction(33, 10**14))
    ('3n3', 'p33')
    """
    return _printed(value, (("p", -12), ("n", -9), ("µ", -6), ("m", -3)))


def _printed(value: Fraction, units: tuple[tuple[str, int], ...]) -> str | None:
    if value <= 0:
        return None
    fitting = [unit for unit in units if value >= Fraction(10) ** unit[1]]
    letter, exponent = fitting[-1] if fitting else units[0]
    figure = value / Fraction(10) ** exponent
    if figure >= 1000 or figure.denominator > 1000 or 1000 % figure.denominator:
        return None
    whole, part = divmod(int(figure * 1000), 1000)
    digits = f"{part:03d}".rstrip("0")
    return f"{whole or ''}{letter}{digits}"
