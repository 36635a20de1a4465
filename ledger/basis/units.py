"""The units of the trade: what each measures, its exact size, and the ways it is written.

Definitions are exact and from NIST Special Publication 811 (2008), appendix B, where they are
not SI prefixes: the inch is 25.4 mm, the pound 0.453 592 37 kg, the degree Fahrenheit 5/9 K.
Old names of units (mfd, mmfd, cps) are common practice, no source. Angles keep the degree as
their base unit, because a radian has no exact size in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

_EXACT: Final = Context(prec=240)  # more than any text we read can need
_ROUNDED: Final = Context(prec=12)

LENGTH, MASS, RESISTANCE, CAPACITANCE = "length", "mass", "resistance", "capacitance"
INDUCTANCE, VOLTAGE, CURRENT, FREQUENCY = "inductance", "voltage", "current", "frequency"
TEMPERATURE, ANGLE, COUNT = "temperature", "angle", "count"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its dimension, its size in the base unit, and the zero of its scale there."""

    symbol: str
    dimension: str
    size: Fraction
    zero: Fraction = Fraction(0)


def _units() -> dict[str, Unit]:
    inch, ounce = Fraction("0.0254"), Fraction("0.45359237") / 16
    rows = [
        (LENGTH, "m:1 cm:1e-2 mm:1e-3 µm:1e-6"),
        (MASS, "kg:1 g:1e-3 mg:1e-6"),
        (RESISTANCE, "Ω:1 mΩ:1e-3 kΩ:1e3 MΩ:1e6"),
        (CAPACITANCE, "farad:1 µF:1e-6 nF:1e-9 pF:1e-12"),
        (INDUCTANCE, "H:1 mH:1e-3 µH:1e-6"),
        (VOLTAGE, "V:1 mV:1e-3 kV:1e3"),
        (CURRENT, "A:1 mA:1e-3 µA:1e-6"),
        (FREQUENCY, "Hz:1 kHz:1e3 MHz:1e6"),
        (TEMPERATURE, "kelvin:1"),
        (ANGLE, "°:1"),
    ]
    units = [Unit("", COUNT, Fraction(1))]
    for dimension, row in rows:
        for symbol, size in (entry.split(":") for entry in row.split()):
            units.append(Unit(symbol, dimension, Fraction(size)))
    units += [
        Unit("in", LENGTH, inch),
        Unit("ft", LENGTH, inch * 12),
        Unit("mil", LENGTH, inch / 1000),
        Unit("oz", MASS, ounce),
        Unit("lb", MASS, ounce * 16),
        Unit("°C", TEMPERATURE, Fraction(1), Fraction("273.15")),
        Unit("°F", TEMPERATURE, Fraction(5, 9), Fraction("459.67") * 5 / 9),
    ]
    return {unit.symbol: unit for unit in units}


UNITS: Final = _units()
BASE_UNITS: Final = {
    unit.dimension: unit for unit in UNITS.values() if unit.size == 1 and not unit.zero
}

# Every other way a unit is written. Case matters: m and M, mH and MHz are different things.
_OTHER_NAMES: Final = {
    "in": "\" inch inches in. ''",
    "ft": "' foot feet ft.",
    "mil": "mils thou",
    "m": "metre metres meter meters",
    "µm": "micron microns um",
    "oz": "oz. ounce ounces",
    "lb": "lb. lbs lbs. pound pounds",
    "kg": "Kg kilogram kilograms",
    "g": "gram grams gr.",
    "Ω": "ohm ohms Ohm Ohms R",
    "kΩ": "k kohm kohms kilohm kilohms KΩ kR",
    "MΩ": "M meg megohm megohms Megohm Mohm",
    "mΩ": "mohm milliohm",
    "farad": "farads",
    "µF": "uF mfd MFD Mfd mfd. microfarad microfarads",
    "nF": "nanofarad nanofarads",
    "pF": "mmf MMF mmfd MMFD uuF µµF picofarad picofarads",
    "H": "henry henries Hy",
    "µH": "uH",
    "V": "volt volts",
    "A": "amp amps ampere amperes",
    "µA": "uA",
    "Hz": "c/s cps CPS cycles hertz",
    "kHz": "kc kc/s Kc KHz",
    "MHz": "Mc Mc/s",
    "°C": "degC",
    "°F": "degF",
    "kelvin": "kelvins",
    "°": "deg degree degrees",
}
UNIT_NAMES: Final = {symbol: symbol for symbol in UNITS} | {
    name: symbol for symbol, names in _OTHER_NAMES.items() for name in names.split()
}

# Letters that mean two things at the bench, and how to write each of the things.
TWO_MEANINGS: Final = {
    "K": ("kΩ", "kelvin"),
    "F": ("farad", "°F"),
    "mF": ("µF",),
    "MF": ("µF",),
    "mf": ("µF",),
}
SMALLER_UNITS: Final = {"ft": "in", "lb": "oz"}


def decimal_of(amount: Fraction) -> Decimal:
    """The amount as a decimal: exact where it has one of this length, else to twelve digits.

    >>> decimal_of(Fraction(13, 8)), decimal_of(Fraction(2, 3))
    (Decimal('1.625'), Decimal('0.666666666667'))
    """
    exact = _EXACT.divide(Decimal(amount.numerator), Decimal(amount.denominator))
    if Fraction(exact) == amount:
        return exact.normalize(_EXACT)
    return _ROUNDED.divide(Decimal(amount.numerator), Decimal(amount.denominator))
