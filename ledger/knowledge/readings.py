"""What a mark may mean: candidate readings of a date and of a value, and both in print.

A mark has as many readings as there are ways to read it; none is picked here. A reading of a
date tells the days it would give and whether they are used; a reading of a value tells figure,
unit and limits. Both say by which rule, and from where that rule is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from ledger.basis.spans import Span, Spans, iso_date, spans_as_text
from ledger.basis.units import decimal_of

ReadingKind = Literal["written", "serial", "source date", "date code", "fact", "none"]
Quantity = Literal["resistance", "capacitance", "frequency"]

_STEPS = {
    "resistance": ((6, "MΩ"), (3, "kΩ"), (0, "Ω")),
    "capacitance": ((0, "F"), (-6, "µF"), (-9, "nF"), (-12, "pF")),
    "frequency": ((6, "MHz"), (3, "kHz"), (0, "Hz")),
}


@dataclass(frozen=True, slots=True)
class MarkReading:
    """One way to read a mark.

    Readings of one ``kind`` are alternatives; those of kind ``fact`` each hold by themselves.
    ``is_plain`` says that the glyphs were taken as recorded, ``is_used`` that a date may be
    drawn from it. ``spans`` are shown even where they are not used.
    """

    reading: str
    reason: str
    source: str
    reference: str
    spans: Spans
    bears_on: Literal["made", "completed"] | None
    is_plain: bool
    is_used: bool
    number: int | None = None
    kind: ReadingKind = "source date"

    def as_used(self) -> MarkReading:
        """The same reading, a date being drawn from it."""
        return MarkReading(
            self.reading,
            self.reason,
            self.source,
            self.reference,
            self.spans,
            self.bears_on,
            self.is_plain,
            is_used=True,
            number=self.number,
            kind=self.kind,
        )


@dataclass(frozen=True, slots=True)
class ValueReading:
    """One way to read a value marked on a component, in the unit without a prefix.

    ``low`` and ``high`` are the limits of the tolerance, both None where none is told.
    ``is_plausible`` says that such a part is made; ``is_plain`` that the mark was read from
    the end and by the signs as recorded.
    """

    quantity: Quantity
    value: Fraction
    low: Fraction | None
    high: Fraction | None
    reading: str
    reason: str
    source: str
    references: tuple[str, ...]
    is_plain: bool = True
    is_plausible: bool = True
    coefficient_ppm_per_kelvin: int | None = None


def value_in_words(quantity: Quantity, value: Fraction) -> str:
    """The value with the prefix that suits it.

    >>> value_in_words("resistance", Fraction(4700)), value_in_words("capacitance", Fraction(0))
    ('4.7 kΩ', '0 pF')
    """
    steps = _STEPS[quantity]
    power, unit = next((s for s in steps if abs(value) >= Fraction(10) ** s[0]), steps[-1])
    return f"{decimal_of(value / Fraction(10) ** power):f} {unit}"


def bound_in_words(spans: Spans) -> str:
    """What the days would bound, always with both ends.

    >>> bound_in_words(Spans.between(714245, None))
    'not before 1956-07-15; no upper bound'
    """
    return " or ".join(_span_in_words(span) for span in spans) or "gives no date"


def _span_in_words(span: Span) -> str:
    if span.earliest is None and span.latest is None:
        return "no bound on either side"
    if span.latest is None:
        return f"not before {iso_date(span.earliest or 0)}; no upper bound"
    if span.earliest is None:
        return f"no lower bound; not after {iso_date(span.latest)}"
    if span.earliest == span.latest:
        return iso_date(span.earliest)
    return f"not before {iso_date(span.earliest)}, not after {iso_date(span.latest)}"


def readings_as_dict(
    text: str, readings: Sequence[MarkReading], values: Sequence[ValueReading] = ()
) -> dict[str, Any]:
    """The mark with its candidates, in plain values that JSON can hold."""
    return {
        "mark": text,
        "readings": [
            {
                "reading": reading.reading,
                "kind": reading.kind,
                "bears_on": reading.bears_on,
                "days": [list(pair) for pair in spans_as_text(reading.spans)],
                "bound": bound_in_words(reading.spans),
                "is_used": reading.is_used,
                "is_plain": reading.is_plain,
                "number": reading.number,
                "reason": reading.reason,
                "source": reading.source,
                "reference": reading.reference,
            }
            for reading in readings
        ],
        "values": [
            {
                "reading": value.reading,
                "quantity": value.quantity,
                "value": _plain_figure(value.value),
                "low": _plain_figure(value.low),
                "high": _plain_figure(value.high),
                "unit": _STEPS_BASE[value.quantity],
                "coefficient_ppm_per_kelvin": value.coefficient_ppm_per_kelvin,
                "is_plain": value.is_plain,
                "is_plausible": value.is_plausible,
                "reason": value.reason,
                "source": value.source,
                "references": list(value.references),
            }
            for value in values
        ],
    }


_STEPS_BASE = {"resistance": "Ω", "capacitance": "F", "frequency": "Hz"}


def _plain_figure(value: Fraction | None) -> str | None:
    return None if value is None else f"{decimal_of(value):f}"


def readings_as_text(
    text: str, readings: Sequence[MarkReading], values: Sequence[ValueReading] = ()
) -> str:
    """The mark with its candidates, in lines for a terminal; used readings first.

    A source is told once, beneath the last of the readings that stand on the same row.
    """
    lines = [f"“{text}”"]
    used = [reading for reading in readings if reading.is_used]
    unused = [reading for reading in readings if not reading.is_used]
    if not readings and not values:
        lines.append("  Nothing at hand reads it: no date and no value.")
    for title, group in (
        ("Readings that a date can be drawn from", used),
        ("Candidates that no date is drawn from", unused),
    ):
        if group:
            lines.append(f"  {title}:")
        for number, reading in enumerate(group, 1):
            lines.append(f"  {number:3}. {_headline(reading)}")
            last = number == len(group) or group[number].reference != reading.reference
            lines += _beneath(reading.reason, reading.source if last else "", (reading.reference,))
    if values:
        lines.append("  As a value:")
    for number, value in enumerate(values, 1):
        doubt = "" if value.is_plausible else " (hardly ever made)"
        lines.append(f"  {number:3}. {value.reading}{doubt}")
        lines += _beneath(value.reason, value.source, value.references)
    return "\n".join(lines)


def _headline(reading: MarkReading) -> str:
    if reading.kind == "fact" or not reading.spans:
        return reading.reading
    event = f" ({reading.bears_on})" if reading.bears_on else ""
    return f"{reading.reading}: {bound_in_words(reading.spans)}{event}"


def _beneath(reason: str, source: str, references: Sequence[str]) -> list[str]:
    named = ", ".join(reference for reference in references if reference)
    rows = f" [{named}]" if named else ""
    return [f"       {reason}", *([f"       Source: {source}{rows}"] if source else [])]
