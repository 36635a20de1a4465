"""Copper: how its resistance goes with temperature, and what a length of wire has.

Sources: IEC 60028 (International Annealed Copper Standard, 1925): at 20 degrees Celsius a wire of
1 m and 1 square millimetre has 1/58 ohm, and its resistance goes up by 0.393 % a kelvin. The
gauge law is that of the American wire gauge, 0.005 in for number 36 and 0.46 in for 0000, 39
steps of one ratio between them. All three are from memory; the numbers agree with NBS Handbook
100, "Copper Wire Tables" (1966), as far as its tables are quoted elsewhere.

Tables of fine wire disagree by up to 3 %: some work from the diameter of the law, some from a
diameter rounded to a tenth of a mil. Which one was used is always said.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from enum import Enum
from fractions import Fraction
from math import pi
from typing import Final

from ledger.basis.uncertainty import combined_uncertainty

COPPER_PER_KELVIN: Final = Fraction("0.00393")
REFERENCE_CELSIUS: Final = Fraction(20)
COLDEST_CELSIUS, HOTTEST_CELSIUS = Fraction(-50), Fraction(200)
OHM_SQUARE_MM_PER_M: Final = 1 / 58
MM_PER_MIL: Final = 0.0254
GAUGES: Final = range(51)


class WireTable(Enum):
    """Which diameter a table of wire is worked out from."""

    LAW = "diameters of the gauge law, not rounded, as in the tables of 1914"
    ROUNDED = "nominal diameters rounded to a tenth of a mil, as in later tables"


def copper_factor(celsius: Fraction) -> Fraction:
    """How many times its resistance at 20 °C a piece of copper has at a temperature.

    Raises:
        ValueError: the temperature is outside what the straight line is good for.

    >>> float(copper_factor(Fraction(30)))
    1.0393
    """
    if not COLDEST_CELSIUS <= celsius <= HOTTEST_CELSIUS:
        raise ValueError(f"{float(celsius):g} °C is no temperature for a coil at the bench")
    return 1 + COPPER_PER_KELVIN * (celsius - REFERENCE_CELSIUS)


def at_reference(ohms: Fraction, celsius: Fraction) -> Fraction:
    """The resistance at 20 °C of copper that has ``ohms`` at a temperature.

    Raises:
        ValueError: the temperature is outside what the straight line is good for.

    >>> float(at_reference(Fraction("8314.4"), Fraction(30)))
    8000.0
    """
    return ohms / copper_factor(celsius)


def wire_diameter_mil(gauge: int, table: WireTable = WireTable.LAW) -> float:
    """The diameter of bare wire in mils (thousandths of an inch).

    Raises:
        ValueError: the gauge is not one of 0 to 50.

    >>> round(wire_diameter_mil(42), 4), wire_diameter_mil(42, WireTable.ROUNDED)
    (2.4937, 2.5)
    """
    if gauge not in GAUGES:
        raise ValueError(f"gauge {gauge} is not one of {GAUGES.start} to {GAUGES.stop - 1}")
    exact: float = 5 * 92.0 ** ((36 - gauge) / 39)
    if table is WireTable.LAW:
        return exact
    return float(Decimal(exact).quantize(Decimal("0.1"), ROUND_HALF_EVEN))


def wire_resistance(
    gauge: int, table: WireTable = WireTable.LAW, celsius: Fraction = REFERENCE_CELSIUS
) -> float:
    """The resistance of copper wire in ohms a metre, by the table said.

    Raises:
        ValueError: no such gauge, or no temperature for a coil.

    >>> round(wire_resistance(42) * 304.8, 1)
    1667.8
    """
    diameter_mm = wire_diameter_mil(gauge, table) * MM_PER_MIL
    return OHM_SQUARE_MM_PER_M / (pi * diameter_mm**2 / 4) * float(copper_factor(celsius))


def wire_resistance_uncertainty(
    gauge: int,
    diameter_uncertainty_mil: float,
    kelvin_uncertainty: float = 0.0,
    table: WireTable = WireTable.LAW,
) -> float:
    """The standard uncertainty of the ohms a metre at 20 °C.

    From those of the diameter, in mils, and of the temperature, in kelvins. The resistance goes
    with the inverse square of the diameter, so that a doubt of 1 % in the one is 2 % in the other.

    Raises:
        ValueError: no such gauge.
    """
    ohms = wire_resistance(gauge, table)
    shares = (
        2 * diameter_uncertainty_mil / wire_diameter_mil(gauge, table),
        float(COPPER_PER_KELVIN) * kelvin_uncertainty,
    )
    return ohms * combined_uncertainty((1.0, 1.0), shares)
