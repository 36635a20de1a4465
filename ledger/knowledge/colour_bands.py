"""Colours on a resistor: bands from three to six, and the older body, end and dot.

Question answered: which resistance, tolerance and temperature coefficient do the colours say.
Where an edition of the standard gave a colour another meaning both are listed; bands can be read
from either end, so the other end is listed too where it makes sense.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from ledger.knowledge.component_values import (
    MOST_CHARACTERS,
    Tolerance,
    ValueSigns,
    exact,
    power,
    tolerances,
    value_reading,
)
from ledger.knowledge.glyphs import collapsed
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import ValueReading
from ledger.references import ValueSign

# Number of bands: figures before the multiplier, and whether a coefficient comes last.
BANDS = {3: (2, False), 4: (2, False), 5: (3, False), 6: (3, True)}
_NAMES = {"gray": "grey", "purple": "violet", "golden": "gold", "no": "none"}
_SPLIT = re.compile(r"[ ,;/·-]+")
_BODY_END_DOT = re.compile(
    r"body (?P<body>[a-z]+)[ ,;]+(?:end|tip) (?P<end>[a-z]+)[ ,;]+dot (?P<dot>[a-z]+)"
    r"(?:[ ,;]+(?:other end|other tip|second end) (?P<last>[a-z]+))?"
)


def colour_readings(text: str, signs: ValueSigns) -> list[ValueReading]:
    """Every resistance that a row of colours may mean; empty where the words are no colours."""
    if len(text) > 2 * MOST_CHARACTERS:
        return []
    plain = collapsed(text).casefold()
    if (old := _BODY_END_DOT.fullmatch(plain)) is not None:
        given = [old["body"], old["end"], old["dot"], *([old["last"]] if old["last"] else [])]
        named = [_NAMES.get(colour, colour) for colour in given]
        reason = "Body, end and dot, as before bands: body and end are figures, the dot noughts."
        return list(_bands(named, signs, reason))
    colours = [_NAMES.get(word, word) for word in _SPLIT.split(plain)]
    if colours and colours[-1] == "none":
        colours.pop()
    if len(colours) not in BANDS:
        return []
    reason = f"{len(colours)} bands, read from the end nearer to the edge."
    forward = list(_bands(colours, signs, reason))
    if len(colours) == 3:
        return forward
    reason = f"{len(colours)} bands, read from the other end."
    backward = [replace(each, is_plain=False) for each in _bands(colours[::-1], signs, reason)]
    return [*forward, *(each for each in backward if each.is_plausible)]


def _bands(colours: Sequence[str], signs: ValueSigns, reason: str) -> Iterator[ValueReading]:
    count, has_coefficient = BANDS[len(colours)]
    figures = [signs.of("colour figure", colour) for colour in colours[:count]]
    multipliers = signs.of("colour multiplier", colours[count])
    if not all(figures) or not multipliers:
        return
    rows = [found[0] for found in figures]
    number = int("".join(f"{round(row.row.means)}" for row in rows))
    coefficients: tuple[Row[ValueSign] | None, ...] = (None,)
    if has_coefficient:
        coefficients = signs.of("colour coefficient", colours[-1])
    for multiplier in multipliers:
        value = number * power(multiplier)
        for tolerance in _tolerances(colours, count, signs, value):
            for coefficient in coefficients:
                used = [*rows, multiplier, *([coefficient] if coefficient else [])]
                told = reason
                if tolerance is None:
                    told += " Without a fourth band the tolerance is 20 %."
                found = value_reading("resistance", value, tolerance, told, used)
                yield _finished(found, value, tolerance, coefficient)


def _tolerances(
    colours: Sequence[str], count: int, signs: ValueSigns, value: Fraction
) -> Iterator[Tolerance | None]:
    if len(colours) == count + 1:
        yield None
        return
    yield from tolerances(signs, "colour tolerance", colours[count + 1], value)


def _finished(
    found: ValueReading,
    value: Fraction,
    tolerance: Tolerance | None,
    coefficient: Row[ValueSign] | None,
) -> ValueReading:
    if tolerance is None:
        fifth = value / 5
        return replace(
            found, low=value - fifth, high=value + fifth, reading=f"{found.reading} ±20 %"
        )
    if coefficient is None:
        return found
    ppm = round(exact(coefficient))
    reading = f"{found.reading}, ±{ppm} ppm/K"
    return replace(found, reading=reading, coefficient_ppm_per_kelvin=ppm)
