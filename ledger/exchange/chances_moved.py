"""Which chances and regions of dates are other in one weighing than in another?

Told are every likeliest region of an event that has other ends, every part whose verdict is
another, and every part whose chance moved by ``LEAST_MOVED`` or more: less than that is within
what the starting values of practice leave open. Two reports of which one has not been weighed are
told apart by that alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ledger.chances import Chances, DateChance, PartChance
from ledger.reason.wording import article

LEAST_MOVED = 0.05


@dataclass(frozen=True, slots=True)
class Moved:
    """One chance or region that moved, and the findings that told it before and tell it now."""

    sentence: str
    was: str | None = None
    now: str | None = None


def chances_moved(before: Chances | None, after: Chances | None) -> Iterator[Moved]:
    """What moved from one weighing to the other, dates first, in the order of the later report."""
    if before is None or after is None:
        if after is not None:
            yield Moved("The evidence is weighed now, which it was not before.")
        elif before is not None:
            yield Moved("The evidence is no longer weighed.")
        return
    if before.is_possible != after.is_possible:
        said = "can be explained again" if after.is_possible else "is explained by nothing any more"
        yield Moved(f"All of the evidence taken together {said}. {after.note}")
    dates = {date.event: date for date in before.dates}
    for date in after.dates:
        earlier = dates.get(date.event)
        if earlier is None or earlier.region != date.region:
            yield _date_moved(earlier, date)
    parts = {part.event: part for part in before.parts}
    for part in after.parts:
        known = parts.get(part.event)
        if known is None or _is_moved(known, part):
            yield _part_moved(known, part)


def _date_moved(was: DateChance | None, now: DateChance) -> Moved:
    event = article(now.event)
    if was is None:
        return Moved(f"Weighed now: {now.sentence}", None, now.finding)
    share = _percent(now.share)
    return Moved(
        f"{event}: the likeliest weeks that hold {share} of the chance were {_ends(was)} and are "
        f"now {_ends(now)}.",
        was.finding,
        now.finding,
    )


def _ends(date: DateChance) -> str:
    return " or ".join(f"{first} to {last}" for first, last in date.region) or "none"


def _is_moved(was: PartChance, now: PartChance) -> bool:
    return was.verdict != now.verdict or abs(was.chance - now.chance) >= LEAST_MOVED


def _part_moved(was: PartChance | None, now: PartChance) -> Moved:
    if was is None:
        return Moved(f"Weighed now: {now.sentence}", None, now.finding)
    verdict = f" ({was.verdict})" if was.verdict != now.verdict else ""
    said = f"{now.sentence} Before it was {_percent(was.chance)}{verdict}."
    return Moved(said, was.finding, now.finding)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
