"""What the ledger holds of an instrument, as a sheet again."""

from __future__ import annotations

from ledger.models import SECTIONS, BenchSheet
from ledger.record.case import WITHHELD_TEXT, Case


def recorded_sheet(case: Case) -> BenchSheet:
    """The sheet that the lines of a case make, in the order in which they were recorded."""
    held: dict[str, list[object]] = {section: [] for section in SECTIONS}
    for recorded in case.lines.values():
        held[recorded.section].append(recorded.line)
    return BenchSheet.model_validate(
        {
            "bench_sheet": "1",
            "instrument": case.instrument,
            **{section: tuple(lines) for section, lines in held.items()},
        }
    )


def erased_fields(case: Case) -> tuple[str, ...]:
    """The withheld fields whose values are no longer there, as ``line.field``.

    In a sheet made from the case they read as withheld, and recorded again they would be recorded
    as that word.
    """
    return tuple(
        f"{recorded.id}.{name}"
        for recorded in case.lines.values()
        for name in sorted(recorded.withheld)
        if getattr(recorded.line, name) == WITHHELD_TEXT
    )
