"""What was connected across a part when its resistance was read, as a person wrote it down."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from ledger.basis.quantities import QuantityUnreadable, read_measurement
from ledger.basis.units import RESISTANCE, TEMPERATURE

Connection = Literal["isolated", "across", "in circuit", "not told"]

_ACROSS: Final = re.compile(
    r"\b(?:across|in parallel with|parallel (?:to|with)|loaded (?:by|with)|shunted by|bridged by)\b",
    re.IGNORECASE,
)
_LOAD: Final = re.compile(
    r"(?:(?P<count>two|both|three|2|3)(?: x)? )?(?P<value>\d+(?:\.\d+)?) ?-?"
    r"(?P<unit>kilohms?|kohms?|k(?:Ω|\u2126)?|megohms?|meg|M(?:Ω|\u2126)?|ohms?|Ω|\u2126)\b"
    r"(?P<doubt> ?(?:±|\+/-) ?\d+(?:\.\d+)? ?%?)?",
    re.IGNORECASE,
)
_NOT_ISOLATED: Final = re.compile(r"\bnot (?:isolated|disconnected|lifted)\b", re.IGNORECASE)
_ISOLATED: Final = re.compile(
    r"\b(?:isolated|lifted|disconnected|unsoldered|desoldered|out of (?:the )?circuit|"
    r"taken out|by itself|alone|leads? (?:off|free))\b",
    re.IGNORECASE,
)
_CONNECTED: Final = re.compile(
    r"\b(?:in (?:the )?circuit|in place|in situ|connected|wired|at the (?:jack|plug|lead)|"
    r"through the (?:jack|lead))\b",
    re.IGNORECASE,
)
_COUNTS: Final = {"two": 2, "both": 2, "2": 2, "three": 3, "3": 3}
_LEADING_WORDS: Final = re.compile(r"^(?:at|about|near|ca\.?|approx\.?|roughly) ", re.IGNORECASE)
_RANGE: Final = re.compile(r"(-?\d+(?:\.\d+)?) ?(?:to|-|\u2013) ?(-?\d+(?:\.\d+)?) ?(\D+)")
_DEGREES: Final = re.compile(
    r"(?P<figure>-?\d+(?:\.\d+)?)(?: ?(?:±|\+/-) ?(?P<before>\d+(?:\.\d+)?))? ?"
    r"(?:degrees? ?|deg\.? ?|° ?)?(?P<scale>[CF])(?:elsius|ahrenheit)?"
    r"(?: ?(?:±|\+/-) ?(?P<after>\d+(?:\.\d+)?) ?(?:(?P<kelvin>K)|°? ?(?P=scale))?)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Load:
    """A resistance that lay across the part; ``half_width_ohms`` None: its doubt is not told."""

    ohms: Fraction
    half_width_ohms: Fraction | None
    text: str


@dataclass(frozen=True, slots=True)
class Circuit:
    """How the part was connected when it was read."""

    connection: Connection
    loads: tuple[Load, ...] = ()


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature in degrees Celsius; ``half_width_k`` None: its doubt is not told."""

    celsius: Fraction
    half_width_k: Fraction | None


def read_circuit(text: str) -> Circuit:
    """How the part was connected, as far as the words tell; ``not told`` where they do not.

    >>> read_circuit("across a 500 k control").loads[0].ohms
    Fraction(500000, 1)
    >>> read_circuit("one end lifted").connection, read_circuit("volume full").connection
    ('isolated', 'not told')
    """
    plain = " ".join(text.split())
    across = _ACROSS.search(plain)
    if across:
        loads = tuple(
            load for found in _LOAD.finditer(plain, across.end()) for load in _loads(found)
        )
        return Circuit("across", loads) if loads else Circuit("in circuit")
    if _NOT_ISOLATED.search(plain):
        return Circuit("in circuit")
    if _ISOLATED.search(plain):
        return Circuit("isolated")
    return Circuit("in circuit" if _CONNECTED.search(plain) else "not told")


def _loads(found: re.Match[str]) -> tuple[Load, ...]:
    unit = found["unit"]
    if unit[0] in "kK":
        unit = "k"
    elif unit[0] in "mM":
        unit = "M"
    else:
        unit = "ohm"
    doubt = (found["doubt"] or "").strip().removeprefix("+/-").removeprefix("±").strip()
    try:
        read = read_measurement(f"{found['value']} {unit}", doubt or None, RESISTANCE)
    except QuantityUnreadable:
        return ()
    if read.quantity.in_base <= 0:
        return ()
    load = Load(read.quantity.in_base, read.uncertainty, str(read))
    return (load,) * _COUNTS.get((found["count"] or "").casefold(), 1)


def read_temperature(text: str) -> Temperature:
    """The temperature in the text: ``21 C``, ``about 70 °F``, ``21 ± 1 °C``, ``19 to 22 °C``.

    Raises:
        QuantityUnreadable: it is not a temperature in figures with its scale.

    >>> float(read_temperature("68 F").celsius), read_temperature("19 to 23 C").half_width_k
    (20.0, Fraction(2, 1))
    """
    plain = _LEADING_WORDS.sub("", " ".join(text.split()))
    between = _RANGE.fullmatch(plain)
    if between:
        low, high = (_one(f"{end} {between[3]}") for end in between.group(1, 2))
        half = abs(high.celsius - low.celsius) / 2
        return Temperature((low.celsius + high.celsius) / 2, half)
    return _one(plain)


def _one(text: str) -> Temperature:
    degrees = _DEGREES.fullmatch(text)
    if degrees and not (degrees["kelvin"] and degrees["scale"] in "Ff"):
        doubt = degrees["before"] or degrees["after"]
        text = f"{degrees['figure']} °{degrees['scale'].upper()}{f' ± {doubt}' if doubt else ''}"
    read = read_measurement(text, None, TEMPERATURE)
    return Temperature(read.quantity.in_base - Fraction("273.15"), read.uncertainty)
