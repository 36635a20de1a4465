"""How does a measured value stand to the limits of a specification?

Question answered: is it within, outside or neither for sure, what was taken out of the reading
first, how likely is it to be within, and what does that tell?

Method: a resistance is first brought to what the part has by itself and, of copper, at 20 °C
(:mod:`ledger.basis.electrical`). Then all that it may be is held against the limits. The
probability that it conforms follows JCGM 106:2012: a single doubt is a bound within which any
amount is as likely as another, several doubts together are taken as normal.

Cost: constant for a line and a row.

What it does not do: take passing for support. Of a test that nearly every replacement passes too
the ratio is given, which is about one.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor, log10
from typing import Any, Final, Literal

from ledger.basis.conformity import Passing, conformance_probability, conformance_within_bound
from ledger.basis.electrical import Allowances, IsolatedResistance, isolated_resistance
from ledger.basis.limits import Comparison, Standing, compare
from ledger.basis.phrases import phrase_in
from ledger.basis.quantities import Measurement as Reading
from ledger.basis.quantities import Quantity, quantity_of, read_measurement, read_quantity
from ledger.basis.units import CAPACITANCE, RESISTANCE, UNITS, decimal_of
from ledger.knowledge.packs import Row
from ledger.models import Measurement
from ledger.reason.draft import Draft
from ledger.reason.wording import article, listing
from ledger.record.case import Recorded
from ledger.references import Practice, Specification

Verdict = Literal["passes", "cannot be told", "open question", "contradicts"]

COPPER_WORDS: Final = (
    "coil*",
    "winding*",
    "primary",
    "secondary",
    "pickup*",
    "transformer*",
    "choke*",
    "loudspeaker*",
    "speaker*",
)
NOT_COPPER_WORDS: Final = ("control*", "pot", "pots", "potentiometer*", "resistor*", "switch*")
UNTOLD_DOUBT: Final = "untold-doubt-share"
TELLING_FIELDS: Final = frozenset({"value", "uncertainty", "circuit", "temperature"})
# The practice row that each allowance for what a sheet does not say is taken from.
ALLOWANCE_ROWS: Final = {
    "control_tolerance": "control-tolerance",
    "thermometer_k": "thermometer-doubt",
    "coldest_celsius": "bench-temperature",
    "warmest_celsius": "bench-temperature",
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """How an observation stands to a specification, in a sentence, and the rows used for it."""

    verdict: Verdict
    sentence: str
    rows: tuple[Row[Any], ...] = ()


@dataclass(frozen=True, slots=True)
class _Figure:
    """What is held against the limits, in base units; ``half_width`` None: no upper bound."""

    value: Fraction
    half_width: Fraction | None
    text: str
    isolated: IsolatedResistance | None = None

    def chance(self, low: Fraction | None, high: Fraction | None) -> float | None:
        """The probability that the value is within the limits, where a doubt is known."""
        if not self.half_width:
            return None
        ends = [None if end is None else float(end) for end in (low, high)]
        if self.isolated is not None and self.isolated.doubts > 1:
            doubt = self.isolated.uncertainty_ohms
            return conformance_probability(float(self.value), doubt, *ends)
        return conformance_within_bound(float(self.value), float(self.half_width), *ends)


def hold_against_limits(
    draft: Draft, place: str, recorded: Recorded[Any], row: Row[Specification]
) -> Outcome | None:
    """How a measurement stands to the row's limits; None where they are of another dimension."""
    line: Measurement = recorded.line
    measured = read_measurement(line.value, line.uncertainty)
    low = read_quantity(row.row.low) if row.row.low is not None else None
    high = read_quantity(row.row.high) if row.row.high is not None else None
    limit = low or high
    if limit is None or limit.dimension != measured.quantity.dimension:
        return None
    figure, rows = _figure(draft, place, line, measured)
    is_hidden = bool(recorded.withheld & TELLING_FIELDS)
    said = f"{article(draft.anatomy.name(place))}: {recorded.shown('quantity')} "
    said += "withheld" if is_hidden else figure.text
    sample = f", n={row.row.n}" if row.row.n is not None else ""
    limits = " to ".join(str(each) for each in (low, high) if each is not None)
    said += f" against {limits} ({row.row.source}{sample})"
    found = _standing(figure, low, high)
    words = _in_words(figure, found, limit, (low, high), is_hidden=is_hidden)
    if found.is_conflict:
        return _outside(draft, place, line, row, (f"{said}: {words}.", rows))
    if found.standing is Standing.WITHIN:
        outcome = passed(draft, f"{said}: {words}", row.row)
        return Outcome(outcome.verdict, outcome.sentence, (*rows, *outcome.rows))
    sentence = f"{said}: {words}; the doubt of the figure leaves it open."
    return Outcome("cannot be told", sentence, rows)


def measured_apart(
    draft: Draft, place: str, lines: tuple[Measurement, Measurement]
) -> tuple[Row[Practice], ...] | None:
    """The rows needed to tell that two figures cannot both be right; None where they can.

    A figure whose doubt is not told is given that of practice, a resistance is first brought to what
    the part has by itself; two that have no upper bound are never apart.
    """
    found: list[tuple[Fraction, Fraction]] = []
    rows: dict[str, Row[Practice]] = {}
    dimensions = set()
    for line in lines:
        measured = read_measurement(line.value, line.uncertainty)
        dimensions.add(measured.quantity.dimension)
        figure, used = _figure(draft, place, line, measured)
        if figure.half_width is None:
            return None
        half = figure.half_width
        if measured.uncertainty is None:
            untold = draft.packs.practice(UNTOLD_DOUBT)
            half += abs(figure.value) * Fraction(str(untold.row.value))
            used = (*used, untold)
        found.append((figure.value, half))
        rows.update((row.id, row) for row in used)
    (one, doubt), (other, other_doubt) = found
    if len(dimensions) > 1 or abs(one - other) <= doubt + other_doubt:
        return None
    return tuple(rows.values())


def passed(draft: Draft, said: str, row: Specification) -> Outcome:
    """That a part passes, which supports nothing, and how little where replacements pass too."""
    said = article(said)
    if not row.nearly_all_pass:
        sentence = f"{said}: as the works made it. That is a matter of type, not of fitting."
        return Outcome("passes", sentence)
    rows = tuple(
        draft.packs.practice(name) for name in ("passing-first-fitted", "passing-replacements")
    )
    passing = Passing(*(each.row.value for each in rows))
    return Outcome("passes", f"{said}: as the works made it. {passing.in_words()}", rows)


def is_copper(line: Measurement, name: str) -> bool:
    """Whether a resistance is that of a coil or winding, by the words for it and its place."""
    text = f"{line.quantity} {name} {line.position or ''}"
    if phrase_in(text, NOT_COPPER_WORDS) is not None:
        return phrase_in(line.quantity, COPPER_WORDS) is not None
    return phrase_in(text, COPPER_WORDS) is not None


def _figure(
    draft: Draft, place: str, line: Measurement, measured: Reading
) -> tuple[_Figure, tuple[Row[Practice], ...]]:
    """The figure to hold against limits, and the rows of practice that it needed."""
    if measured.quantity.dimension != RESISTANCE:
        value, doubt = measured.quantity.in_base, measured.uncertainty or Fraction(0)
        return _Figure(value, doubt, str(measured)), ()
    found = isolated_resistance(
        measured,
        line.circuit,
        line.temperature,
        is_copper=is_copper(line, draft.anatomy.name(place)),
        allowances=_allowances(draft),
    )
    names = dict.fromkeys(ALLOWANCE_ROWS[each] for each in found.allowed)
    return _corrected(measured, found), tuple(draft.packs.practice(name) for name in names)


def _allowances(draft: Draft) -> Allowances:
    rows = {name: draft.packs.practice(name).row for name in ALLOWANCE_ROWS.values()}
    return Allowances(
        Fraction(str(rows["control-tolerance"].value)),
        Fraction(str(rows["thermometer-doubt"].value)),
        Fraction(str(rows["bench-temperature"].low)),
        Fraction(str(rows["bench-temperature"].high)),
    )


def _corrected(measured: Reading, found: IsolatedResistance) -> _Figure:
    """The corrected figure, to the digits that its doubt leaves, with what was done in words."""
    unit = measured.quantity.unit
    half = found.half_width_ohms
    value = found.ohms
    if found.corrected or half != (measured.uncertainty or 0):
        step = _step(measured.quantity, half)
        value = round(found.ohms / step) * step
        if half is not None:
            half = -(-(half + abs(value - found.ohms)) // step) * step
    text = str(measured)
    if found.corrected:
        doubt = f" ± {decimal_of(half / UNITS[unit].size):f} {unit}" if half else ""
        text += (
            f" as read, {quantity_of(value, unit)}{doubt} with {listing(found.corrected)} taken out"
        )
    if found.uncorrected:
        text += f" ({'; '.join(found.uncorrected)})"
    return _Figure(value, half, text, found)


def _step(quantity: Quantity, half_width: Fraction | None) -> Fraction:
    """The last digit worth giving: the second of the doubt, or that of the figure as written."""
    size = UNITS[quantity.unit].size
    if half_width:
        return Fraction(10) ** (floor(log10(half_width / size)) - 1) * size
    exponent = Decimal(quantity.value).as_tuple().exponent
    return Fraction(10) ** min(int(exponent), 0) * size


def _standing(figure: _Figure, low: Quantity | None, high: Quantity | None) -> Comparison:
    ends = (low.in_base if low else None, high.in_base if high else None)
    if figure.half_width is not None:
        return compare(figure.value, figure.half_width, *ends)
    # No upper bound: it is surely outside only where even the least that it may be is above.
    least = figure.isolated.low_ohms if figure.isolated else figure.value
    found = compare(least, 0, *ends)
    if found.standing is Standing.ABOVE:
        return found
    plain = compare(figure.value, 0, *ends)
    return Comparison(
        Standing.OVERLAPS, plain.plain_standing, plain.least, plain.most, Fraction(0), None
    )


def _in_words(
    figure: _Figure,
    found: Comparison,
    limit: Quantity,
    limits: tuple[Quantity | None, Quantity | None],
    *,
    is_hidden: bool,
) -> str:
    if is_hidden:
        return {
            Standing.WITHIN: "within the limits",
            Standing.OVERLAPS: "within the limits or outside",
        }.get(found.standing, "outside the limits")
    if figure.half_width is None and found.standing is Standing.OVERLAPS:
        return f"{found.plain_standing.value} the limits as read, with no upper bound known"
    words = found.in_words(limit.unit)
    chance = figure.chance(*(None if end is None else end.in_base for end in limits))
    if chance is None or found.is_conflict:
        return words
    return f"{words} (probability of being within them, JCGM 106: {_chance_in_words(chance)})"


def _chance_in_words(chance: float) -> str:
    if chance > 0.99:
        return "more than 0.99"
    return "less than 0.01" if chance < 0.01 else f"{chance:.2f}"


def _outside(
    draft: Draft,
    place: str,
    line: Measurement,
    row: Row[Specification],
    said: tuple[str, tuple[Row[Any], ...]],
) -> Outcome:
    sentence, rows = said
    dimension = read_measurement(line.value, line.uncertainty).quantity.dimension
    drifts = dimension == CAPACITANCE or (
        dimension == RESISTANCE and not is_copper(line, draft.anatomy.name(place))
    )
    if (row.row.outside or ("open question" if drifts else "contradicts")) == "contradicts":
        return Outcome("contradicts", sentence, rows)
    why = (
        "Such values drift, are altered and had variants, and a part may have been changed"
        if (drifts)
        else "The row has a value outside for an open question"
    )
    return Outcome("open question", f"{sentence} {why}: a question that stays open, no swap.", rows)
