"""Do the frets stand where a rule puts them?

Question answered: which scale length and which of two rules the measured distances from the nut
fit, how much better the one fits than the other, and which frets do not stand by it.

Method: :mod:`ledger.basis.frets`, for every place with three measures or more "from nut to fret"
and a number. What comes out is a matter of type and of work, and bounds no date.

Cost: quadratic in the frets of a place.

What it does not do: say who set a fret, or when.
"""

from __future__ import annotations

import re
from typing import Final

from ledger.basis.frets import FEWEST_FRETS, FretComparison, FretVerdict, compare_frets
from ledger.basis.quantities import read_measurement
from ledger.basis.units import LENGTH, UNITS
from ledger.models import Measurement
from ledger.reason.draft import Because, Draft, line_of, reference_of
from ledger.reason.wording import article, listing
from ledger.record.case import Recorded

RULE = "fret positions"
_NUT: Final = re.compile(r"\bnut\b", re.IGNORECASE)
_FRET: Final = re.compile(r"\bfret (\d{1,2})\b|\b(\d{1,2})(?:st|nd|rd|th) fret\b", re.IGNORECASE)


def check_frets(draft: Draft) -> None:
    """Write down how the frets of every place stand to the rules, fret by fret."""
    places: dict[str, list[tuple[int, Recorded[Measurement]]]] = {}
    for recorded in draft.case.of(Measurement):
        fret = _fret_of(recorded)
        if fret is not None:
            line = recorded.line
            place = line.position if line.position is not None else f"part/{line.part}"
            places.setdefault(place, []).append((fret, recorded))
    for place, measures in places.items():
        _check_place(draft, place, measures)


def _fret_of(recorded: Recorded[Measurement]) -> int | None:
    """The number of the fret whose distance from the nut a line gives; None for other lines."""
    if recorded.withheld & {"quantity", "value", "uncertainty"}:
        return None
    found = _FRET.search(recorded.line.quantity)
    if not found or not _NUT.search(recorded.line.quantity):
        return None
    measured = read_measurement(recorded.line.value, recorded.line.uncertainty)
    return int(found[1] or found[2]) if measured.quantity.dimension == LENGTH else None


def _check_place(
    draft: Draft, place: str, measures: list[tuple[int, Recorded[Measurement]]]
) -> None:
    row = draft.packs.practice("fret-distance-doubt")
    unit = UNITS["mm"].size
    distances: dict[int, tuple[float, float]] = {}
    is_allowed = False
    for fret, recorded in measures:
        measured = read_measurement(recorded.line.value, recorded.line.uncertainty)
        half = float(measured.uncertainty / unit) if measured.uncertainty else row.row.value
        is_allowed = is_allowed or not measured.uncertainty
        distances[fret] = (float(measured.quantity.in_base / unit), half)
    if len(distances) < FEWEST_FRETS:
        return
    try:
        found = compare_frets(distances)
    except ValueError:
        return  # a fret behind the nut: the figures are not what their words say
    premises = tuple(line_of(recorded) for _, recorded in measures)
    if is_allowed:
        draft.rows[row.id] = row
        premises = (*premises, reference_of(row))
    name = article(draft.anatomy.name(place))
    draft.finding(f"frets.{place}", "comparison", Because(RULE, _told(name, found), premises))


def _told(name: str, found: FretComparison) -> str:
    better, other = found.better, found.other
    fits = [verdict.fret for verdict in better.frets if verdict.fits]
    rule = f"a scale of {better.scale_mm:.2f} mm ± {better.scale_doubt_mm:.2f} (standard "
    rule += f"uncertainty) by {better.rule}"
    against = (
        f"{other.rule} is off by {other.typical_mm:.2f} mm a fret where that is by "
        f"{better.typical_mm:.2f}"
    )
    which = (
        f"{against}, and makes the distances {_times(found.log10_ratio)} less likely"
        if found.can_tell
        else f"{against}, which does not tell the two rules apart"
    )
    apart = [verdict for verdict in better.frets if not verdict.fits]
    misfits = (
        f"these do not fit: {listing(_verdict(each) for each in apart)}"
        if apart
        else "every fret measured fits"
    )
    each = "; ".join(_verdict(one) for one in better.frets if one.fits)
    kept = f" Those that fit: {each}." if fits and apart else f" Fret by fret: {each}."
    return f"{name}: the frets fit {rule}; {which}; {misfits}.{kept}"


def _verdict(verdict: FretVerdict) -> str:
    way = "towards the bridge" if verdict.residual_mm > 0 else "towards the nut"
    pitch = "sharp" if verdict.cents > 0 else "flat"
    return (
        f"fret {verdict.fret} {abs(verdict.residual_mm):.2f} mm {way} "
        f"({abs(verdict.cents):.1f} cents {pitch})"
    )


def _times(log10_ratio: float) -> str:
    return "more than a million times" if log10_ratio > 6 else f"{10**log10_ratio:.0f} times"
