"""What a part's resistance is by itself and at 20 °C, from what was read on a meter.

Question answered: which resistance, and within which bounds, does a reading stand for, what has
been taken out of it, and what could not be?

A part read with a control across it reads low: the reading is that of the two side by side. A
coil of copper reads high when it is warm. Both are taken out where the sheet says what lay across
and how warm it was. Where something unknown lay across it the part can have any greater
resistance than the reading, so that only the lower bound is left.

Every doubt is the outermost that a figure may be off. The bounds are exact: the resistance goes
up with the reading, down with the control and down with the temperature, so that its ends are at
the ends of those. The standard uncertainty is by the law of propagation (JCGM 100:2008, 5.1.2),
each doubt taken as a rectangular distribution (4.3.7).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from ledger.basis.circuits import Circuit, Load, Temperature, read_circuit, read_temperature
from ledger.basis.copper import COPPER_PER_KELVIN, at_reference, copper_factor
from ledger.basis.quantities import Measurement, QuantityUnreadable
from ledger.basis.uncertainty import combined_uncertainty, uncertainty_of_bound
from ledger.basis.units import RESISTANCE, UNITS


@dataclass(frozen=True, slots=True)
class Allowances:
    """What is allowed for where the sheet does not say: starting values of practice.

    ``control_tolerance`` is the share by which a control may be off what is printed on it.
    """

    control_tolerance: Fraction = Fraction(1, 5)
    thermometer_k: Fraction = Fraction(1)
    coldest_celsius: Fraction = Fraction(10)
    warmest_celsius: Fraction = Fraction(30)


PRACTICE: Final = Allowances()


@dataclass(frozen=True, slots=True)
class IsolatedResistance:
    """The resistance of a part by itself, at 20 °C if it is copper.

    ``high_ohms`` None: it may be any amount above. ``uncertainty_ohms`` is the standard
    uncertainty, 0 where no doubt at all was told or allowed for; ``doubts`` counts what it is
    made of. ``corrected`` and ``uncorrected`` say what was taken out of the reading and what
    could not be, each as a clause. ``allowed`` names the allowances that were needed.
    """

    ohms: Fraction
    low_ohms: Fraction
    high_ohms: Fraction | None
    uncertainty_ohms: float
    doubts: int
    corrected: tuple[str, ...]
    uncorrected: tuple[str, ...]
    allowed: tuple[str, ...]

    @property
    def half_width_ohms(self) -> Fraction | None:
        """The outermost that it may be off on either side, or None where it has no upper bound."""
        if self.high_ohms is None:
            return None
        return max(self.high_ohms - self.ohms, self.ohms - self.low_ohms)


@dataclass(frozen=True, slots=True)
class _Step:
    """The value so far, its bounds, and what each doubt moves it by."""

    ohms: Fraction
    low: Fraction
    high: Fraction | None
    doubts: tuple[Fraction, ...]
    corrected: tuple[str, ...] = ()
    uncorrected: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()


def isolated_resistance(
    measured: Measurement,
    circuit: str = "",
    temperature: str = "",
    *,
    is_copper: bool = True,
    allowances: Allowances = PRACTICE,
) -> IsolatedResistance:
    """The resistance of the part by itself and, if it is copper, at 20 °C.

    Args:
        measured: the reading with its doubt.
        circuit: what was connected, in words: "isolated", "across a 500 k control" ...
        temperature: how warm the part was, in words.
        is_copper: whether it is a coil or winding, whose resistance goes with temperature.
        allowances: what to allow for where the words do not say.

    Raises:
        ValueError: the measurement is not of a resistance.

    >>> from ledger.basis.quantities import read_measurement
    >>> coil = isolated_resistance(
    ...     read_measurement("7.52 k"), "across a 500 k control", "20 °C"
    ... )
    >>> round(float(coil.ohms))
    7635
    """
    if measured.quantity.dimension != RESISTANCE:
        raise ValueError(f"{measured.quantity} is no resistance")
    own = measured.uncertainty
    step = _Step(
        measured.quantity.in_base,
        max(Fraction(0), measured.low),
        measured.high,
        (own,) if own else (),
    )
    step = _unload(step, read_circuit(circuit), allowances)
    if is_copper:
        step = _cool(step, temperature, allowances)
    return IsolatedResistance(
        step.ohms,
        step.low,
        step.high,
        combined_uncertainty(
            [1.0] * len(step.doubts), [uncertainty_of_bound(float(each)) for each in step.doubts]
        ),
        len(step.doubts),
        step.corrected,
        step.uncorrected,
        step.allowed,
    )


def side_by_side(*ohms: Fraction) -> Fraction:
    """The resistance of several connected in parallel.

    Raises:
        ValueError: there is none, or one is not greater than 0.

    >>> float(side_by_side(Fraction(500_000), Fraction(500_000)))
    250000.0
    """
    if not ohms or min(ohms) <= 0:
        raise ValueError("resistances in parallel are greater than 0")
    return 1 / sum((1 / each for each in ohms), Fraction(0))


def without_load(read: Fraction, load: Fraction) -> Fraction:
    """The resistance of what reads so with ``load`` across it.

    Raises:
        ValueError: the reading is not below the load, which two in parallel always are.

    >>> round(float(without_load(Fraction(7520), Fraction(500_000))))
    7635
    """
    if not 0 <= read < load:
        raise ValueError("two resistances in parallel read less than either")
    return read * load / (load - read)


def _unload(step: _Step, circuit: Circuit, allowances: Allowances) -> _Step:
    if circuit.connection == "isolated":
        return step
    if circuit.connection == "across":
        return _without(step, circuit.loads, allowances)
    if circuit.connection == "in circuit":
        why = (
            "it was read in circuit with something unknown across it, so that it may be more "
            "than it reads"
        )
        return _told(step, why, has_no_top=True)
    return _told(step, "whether anything lay across it is not told, and nothing is taken to have")


def _without(step: _Step, loads: tuple[Load, ...], allowances: Allowances) -> _Step:
    widths = [
        load.ohms * allowances.control_tolerance
        if load.half_width_ohms is None
        else load.half_width_ohms
        for load in loads
    ]
    load = side_by_side(*(each.ohms for each in loads))
    names = " and ".join(each.text for each in loads)
    ends = [
        [each.ohms + sign * width for each, width in zip(loads, widths, strict=True)]
        for sign in (-1, 1)
    ]
    if step.ohms >= load:
        return _told(
            step,
            f"it cannot have read so much with {names} across it, so that nothing was taken out",
            has_no_top=True,
        )
    least = side_by_side(*ends[0]) if min(ends[0]) > 0 else Fraction(0)
    most = side_by_side(*ends[1])
    slope = (load / (load - step.ohms)) ** 2
    slope_of_load = (step.ohms / (load - step.ohms)) ** 2
    moved = slope_of_load * max(load - least, most - load)
    step_high = step.high
    assumed = [each for each in loads if each.half_width_ohms is None]
    allowed = (
        f", allowing {float(allowances.control_tolerance) * 100:g} % for what is printed on it"
        if assumed
        else ""
    )
    return _Step(
        without_load(step.ohms, load),
        without_load(step.low, most),
        without_load(step_high, least) if step_high is not None and step_high < least else None,
        (*(each * slope for each in step.doubts), *((moved,) if moved else ())),
        (*step.corrected, f"the load of {names} across it{allowed}"),
        step.uncorrected,
        (*step.allowed, "control_tolerance") if assumed else step.allowed,
    )


def _cool(step: _Step, text: str, allowances: Allowances) -> _Step:
    if not text.strip():
        return _at_any_temperature(step, "how warm it was is not told", allowances)
    try:
        told = read_temperature(text)
        width = allowances.thermometer_k if told.half_width_k is None else told.half_width_k
        ends = [copper_factor(told.celsius - width), copper_factor(told.celsius + width)]
    except QuantityUnreadable:
        return _at_any_temperature(step, f"how warm “{text}” is cannot be told", allowances)
    except ValueError as error:
        return _at_any_temperature(step, str(error), allowances)
    return _at_temperature(step, told, width, (ends[0], ends[1]))


def _at_temperature(
    step: _Step, told: Temperature, width: Fraction, ends: tuple[Fraction, Fraction]
) -> _Step:
    factor = copper_factor(told.celsius)
    ohms = at_reference(step.ohms, told.celsius)
    moved = ohms * COPPER_PER_KELVIN / factor * width
    return _Step(
        ohms,
        step.low / ends[1],
        None if step.high is None else step.high / ends[0],
        (*(each / factor for each in step.doubts), *((moved,) if moved else ())),
        (
            *step.corrected,
            f"its temperature of {float(told.celsius):.3g} °C ± {float(width):.2g} K, to 20 °C",
        ),
        step.uncorrected,
        step.allowed if told.half_width_k is not None else (*step.allowed, "thermometer_k"),
    )


def _at_any_temperature(step: _Step, why: str, allowances: Allowances) -> _Step:
    """The value as it is; its bounds take in all that it may be at 20 °C."""
    coldest, warmest = allowances.coldest_celsius, allowances.warmest_celsius
    low = step.low / copper_factor(warmest)
    high = None if step.high is None else step.high / copper_factor(coldest)
    moved = max(
        step.ohms - at_reference(step.ohms, warmest), at_reference(step.ohms, coldest) - step.ohms
    )
    allowed = f"{float(coldest):g} to {float(warmest):g} °C is allowed for"
    left = f"{why}: it is left as read, and {allowed}, which moves it by up to {_in_words(moved)}"
    return _Step(
        step.ohms,
        min(low, step.ohms),
        None if high is None else max(high, step.ohms),
        (*step.doubts, moved),
        step.corrected,
        (*step.uncorrected, left),
        (*step.allowed, "coldest_celsius", "warmest_celsius"),
    )


def _told(step: _Step, why: str, *, has_no_top: bool = False) -> _Step:
    high = None if has_no_top else step.high
    uncorrected = (*step.uncorrected, why)
    return replace(step, high=high, uncorrected=uncorrected)


def _in_words(ohms: Fraction) -> str:
    unit = next((name for name in ("MΩ", "kΩ") if ohms >= UNITS[name].size), "Ω")
    return f"{float(ohms / UNITS[unit].size):.3g} {unit}"
