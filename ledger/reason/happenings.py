"""What happened when, for the time axis?

Question answered: everything of the case that has a date, in lanes, with the gaps in custody.

Method: the bounds as the rules gave them, one item each; the completed, dispatched and first
sold lanes hold the leading accounts. An item is contested if a supposition about its line stands
in a conflict.

Cost: linear in lines.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate

from ledger.basis.spans import Spans, iso_date
from ledger.findings import Conflict, EventDating, TimelineItem
from ledger.knowledge.marks import MarkReading
from ledger.models import Custody, Mark, Paper, Sighting, Testimony, Work
from ledger.reason.dating import place_of
from ledger.reason.domains import OPEN_HIGH, OPEN_LOW
from ledger.reason.draft import Draft
from ledger.reason.recorded_dates import RecordedDays, recorded_days
from ledger.reason.wording import article, listing
from ledger.record.case import Recorded

GAP_WORTH_TELLING_DAYS = 366


def time_axis(
    draft: Draft,
    readings: Mapping[str, tuple[MarkReading, ...]],
    datings: tuple[EventDating, ...],
    conflicts: tuple[Conflict, ...],
) -> tuple[TimelineItem, ...]:
    """Items in order of lane, then of the record."""
    contested = {
        name.partition(":")[2]
        for conflict in conflicts
        for name in conflict.suppositions
        if name.startswith("sound:")
    }
    return (
        *_made(draft, readings, contested),
        *_events(datings),
        *_works(draft, contested),
        *_custody(draft, contested),
        *_seen_and_said(draft, contested),
    )


def _told(draft: Draft, date: str | None) -> RecordedDays | None:
    return None if date is None else recorded_days(draft.packs, date)


def _in_doubt(told: RecordedDays) -> str:
    """That the date is told in doubt, to stand in a label; empty where it is not."""
    return f", told as “{told.doubtfully}”" if told.doubt else ""


def _ends(spans: Spans) -> tuple[str | None, str | None]:
    return (
        None if spans.earliest is None else iso_date(spans.earliest),
        None if spans.latest is None else iso_date(spans.latest),
    )


def _made(
    draft: Draft, readings: Mapping[str, tuple[MarkReading, ...]], contested: set[str]
) -> list[TimelineItem]:
    found: list[TimelineItem] = []
    for mark in draft.case.of(Mark):
        name = draft.anatomy.name(place_of(mark.line))
        for i, reading in enumerate(readings.get(mark.id, ()), 1):
            if not reading.is_used or not reading.spans:
                continue
            first, last = _ends(reading.spans)
            verb = "made" if reading.bears_on == "made" else "says completed"
            found.append(
                TimelineItem(
                    f"time.{mark.id}.{i}",
                    "made" if reading.bears_on == "made" else "completed",
                    f"{article(name)} {verb}, by “{mark.shown('text')}”",
                    first,
                    last,
                    mark.id in contested,
                    f"reading.{mark.id}.{i}",
                )
            )
    return found


def _events(datings: tuple[EventDating, ...]) -> list[TimelineItem]:
    found: list[TimelineItem] = []
    several = len({dating.account for dating in datings}) > 1
    for dating in datings:
        if dating.not_before.date is None and dating.not_after.date is None:
            continue
        which = f" ({dating.account.replace('.', ' ')})" if several else ""
        found.append(
            TimelineItem(
                f"time.{dating.event.replace(' ', '-')}.{dating.account}",
                dating.event,
                f"{dating.event.capitalize()}{which}",
                dating.not_before.date,
                dating.not_after.date,
                several,
                dating.not_before.finding or dating.not_after.finding,
            )
        )
    return found


def _works(draft: Draft, contested: set[str]) -> list[TimelineItem]:
    found: list[TimelineItem] = []
    for work in draft.case.of(Work):
        told = _told(draft, work.line.date)
        first, last = _ends(told.spans) if told is not None else (None, None)
        names = listing(draft.anatomy.name(position) for position in work.line.positions)
        when = ", undated" if told is None else _in_doubt(told)
        found.append(
            TimelineItem(
                f"time.{work.id}",
                "work",
                f"{article(names)} {work.line.action}{when}",
                first,
                last,
                work.id in contested,
                f"done.{work.id}" if told else None,
            )
        )
    return found


def _custody(draft: Draft, contested: set[str]) -> list[TimelineItem]:
    """Who held it, under running pseudonyms, and the gaps between."""
    found: list[TimelineItem] = []
    for custody in draft.case.of(Custody):
        begins, ends = (_told(draft, date) for date in (custody.line.begins, custody.line.ends))
        first = begins.spans.earliest if begins else None
        last = ends.spans.latest if ends else None
        found.append(
            TimelineItem(
                f"time.{custody.id}",
                "custody",
                (custody.pseudonym or "a person").capitalize(),
                None if first is None else iso_date(first),
                None if last is None else iso_date(last),
                custody.id in contested,
                f"held.{custody.id}" if f"held.{custody.id}" in draft.findings else None,
            )
        )
    found.extend(
        TimelineItem(f"time.gap.{first}", "custody", "Gap: nobody is recorded", first, last)
        for first, last in custody_gaps(draft)
    )
    return found


def custody_gaps(draft: Draft) -> tuple[tuple[str, str], ...]:
    """The spans of which nothing is told, each longer than a year, as pairs of ISO dates.

    Of a holder whose end is not told nothing is told after the beginning, and the other way round.
    """
    held = (custody.line for custody in draft.case.of(Custody))
    told = sorted(_told_of(draft, line) for line in held if line.begins or line.ends)
    reached = list(accumulate((last for _, last in told), max))
    return tuple(
        (iso_date(last + 1), iso_date(first - 1))
        for last, (first, _) in zip(reached, told[1:], strict=False)
        if first - last > GAP_WORTH_TELLING_DAYS
    )


def custody_overlaps(draft: Draft) -> tuple[tuple[str, str, str, str], ...]:
    """Who is recorded at one time with another: both, and the first and last day of it.

    Of each holder the one is told who surely held it longest before. What holds only for some
    days of a date, such as one leaving and another coming in one year, is no overlap.
    """
    held = [_surely_held(draft, each) for each in draft.case.of(Custody)]
    found: list[tuple[str, str, str, str]] = []
    before: _Held | None = None
    for each in sorted((one for one in held if one is not None), key=lambda one: one.latest_begin):
        if before is not None and (days := _shared(before, each)) is not None:
            first, last = days
            found.append((before.who, each.who, iso_date(first), iso_date(last)))
        if before is None or each.earliest_end > before.earliest_end:
            before = each
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Held:
    """A holder with the days at which they came and went, as far as those are told.

    Where no end is told the earliest is the first day on which they can have come.
    """

    who: str
    key: str
    earliest_begin: int
    latest_begin: int
    earliest_end: int
    latest_end: int | None


def _surely_held(draft: Draft, custody: Recorded[Custody]) -> _Held | None:
    begins, ends = (_told(draft, date) for date in (custody.line.begins, custody.line.ends))
    if begins is None or begins.spans.earliest is None or begins.spans.latest is None:
        return None
    first = begins.spans.earliest
    gone, last = (ends.spans.earliest, ends.spans.latest) if ends is not None else (None, None)
    key = custody.pseudonym or custody.line.holder
    end = first if gone is None else gone
    return _Held(custody.pseudonym or "a person", key, first, begins.spans.latest, end, last)


def _shared(before: _Held, later: _Held) -> tuple[int, int] | None:
    """The days on which both held it; None where there need be none, or it is one person.

    Somebody who surely came while the other had it did so, whether or not an end is told; of one
    who came and went within a year the day is not known, and the year is told.
    """
    if before.key == later.key or later.latest_begin >= before.earliest_end:
        return None
    if later.earliest_end > later.latest_begin:
        return later.latest_begin, min(before.earliest_end, later.earliest_end)
    if before.latest_begin > later.earliest_begin:
        return None
    if later.latest_end is None:
        return later.latest_begin, before.earliest_end
    return later.earliest_begin, min(before.earliest_end, later.latest_end)


def _told_of(draft: Draft, custody: Custody) -> tuple[int, int]:
    """The first and the last day of which it is told that they held it."""
    dates = (_told(draft, date) for date in (custody.begins, custody.ends))
    told = [date.spans for date in dates if date is not None]
    firsts = [OPEN_LOW if days.earliest is None else days.earliest for days in told]
    lasts = [OPEN_HIGH if days.latest is None else days.latest for days in told]
    return min(firsts), max(lasts)


def _seen_and_said(draft: Draft, contested: set[str]) -> list[TimelineItem]:
    found: list[TimelineItem] = []
    for sighting in draft.case.of(Sighting):
        same = "" if sighting.line.same_instrument == "yes" else ", not shown to be this instrument"
        told = recorded_days(draft.packs, sighting.line.date)
        first, last = _ends(told.spans)
        found.append(
            TimelineItem(
                f"time.{sighting.id}",
                "sighting",
                f"Seen{_in_doubt(told)}{same}",
                first,
                last,
                sighting.id in contested,
                f"seen.{sighting.id}" if f"seen.{sighting.id}" in draft.findings else None,
            )
        )
    said: list[Recorded[Paper] | Recorded[Testimony]] = [*draft.case.of(Paper)]
    said.extend(draft.case.of(Testimony))
    for line in said:
        item = _said(draft, line, contested)
        if item is not None:
            found.append(item)
    return found


def _said(
    draft: Draft, recorded: Recorded[Paper] | Recorded[Testimony], contested: set[str]
) -> TimelineItem | None:
    line = recorded.line
    if line.date is None:
        return None
    told = recorded_days(draft.packs, line.date)
    first, last = _ends(told.spans)
    of = "paper" if isinstance(line, Paper) else "testimony"
    what = recorded.shown("paper") if isinstance(line, Paper) else "told"
    event = f": {line.event}" if line.event else ""
    finding = f"{'paper' if of == 'paper' else 'told'}.{recorded.id}"
    return TimelineItem(
        f"time.{recorded.id}",
        "paper" if of == "paper" else "testimony",
        f"{article(what)}{event}{_in_doubt(told)}",
        first,
        last,
        recorded.id in contested,
        finding if finding in draft.findings else None,
    )
