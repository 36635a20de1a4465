"""The dates of a report as triples: both ends of each event, what moves them, and its time axis.

An end is never told without its partner: where none is known, the sentence says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ledger.exchange.iris import (
    Names,
    Triple,
    day,
    day_number,
    edtf,
    slug,
    spelt,
    text,
    truth,
)
from ledger.findings import End, EventDating, Report

Days = tuple[tuple[str | None, str | None], ...]

_A: Final = spelt("rdf:type")
_LABEL: Final = spelt("rdfs:label")
_SAYS: Final = spelt("wm:says")


def spans(here: str, term: str, days: Days) -> Iterator[Triple]:
    """Spans of days that belong to something that has an address."""
    joint = "-" if "#" in here else "#"
    for number, (first, last) in enumerate(days, 1):
        span = f"{here[:-1]}{joint}{slug(term.partition(':')[2])}-{number}>"
        yield here, spelt(term), span
        yield span, _A, spelt("wm:DaySpan")
        yield from ends(span, first, last)


def ends(here: str, first: str | None, last: str | None) -> Iterator[Triple]:
    """The ends of a span or an event, as days and as numbers; an open end says nothing."""
    if first is not None:
        yield here, spelt("wm:notBefore"), day(first)
        yield here, spelt("wm:notBeforeDay"), day_number(first)
    if last is not None:
        yield here, spelt("wm:notAfter"), day(last)
        yield here, spelt("wm:notAfterDay"), day_number(last)


def datings(names: Names, report: Report) -> Iterator[Triple]:
    """Every event under every account that is told."""
    for dating in report.datings:
        yield from _dating(names, report.instrument, dating)
    leading = frozenset(account.id for account in report.accounts if account.is_leading)
    told = [dating for dating in report.datings if dating.account in leading or not leading]
    for event in sorted({dating.event for dating in told}):
        same = [dating for dating in told if dating.event == event]
        yield from _overall(names, report.instrument, event, same)


def _overall(
    names: Names, instrument: str, event: str, datings: Sequence[EventDating]
) -> Iterator[Triple]:
    """What holds under every leading account: the widest span, an end only where all have it."""
    here = names.part_of(instrument, "dating", slug(event))
    first = [dating.not_before.date for dating in datings]
    last = [dating.not_after.date for dating in datings]
    yield here, _A, spelt("wm:OverallDating")
    yield here, spelt("wm:ofInstrument"), names.instrument(instrument)
    yield here, spelt("wm:event"), text(event)
    yield from ends(
        here,
        min((found for found in first if found), default=None) if all(first) else None,
        max((found for found in last if found), default=None) if all(last) else None,
    )


def _dating(names: Names, instrument: str, dating: EventDating) -> Iterator[Triple]:
    here = names.part_of(instrument, "dating", f"{slug(dating.event)}.{dating.account}")
    yield here, _A, spelt("wm:Dating")
    yield here, spelt("wm:ofInstrument"), names.instrument(instrument)
    yield here, spelt("wm:event"), text(dating.event)
    yield here, spelt("wm:underAccount"), names.finding(instrument, dating.account)
    yield here, spelt("wm:lowerEndSays"), text(dating.not_before.sentence)
    yield here, spelt("wm:upperEndSays"), text(dating.not_after.sentence)
    yield from ends(here, dating.not_before.date, dating.not_after.date)
    yield from spans(here, "wm:possible", dating.possible)
    for end, term in ((dating.not_before, "wm:lowerEnd"), (dating.not_after, "wm:upperEnd")):
        if end.finding is not None:
            yield here, spelt(term), names.finding(instrument, end.finding)
        yield from _moved(names, instrument, here, end)


def _moved(names: Names, instrument: str, here: str, end: End) -> Iterator[Triple]:
    """What the end is without one premise, and what it would be if more were supposed."""
    side = slug(end.side)
    for number, shift in enumerate(end.shifts, 1):
        part = f"{here[:-1]}-{side}-shift-{number}>"
        yield here, spelt("wm:shift"), part
        yield part, _A, spelt("wm:Shift")
        yield part, spelt("wm:side"), text(end.side)
        yield part, spelt("wm:without"), _left_out(names, instrument, shift.without)
        yield part, _SAYS, text(shift.sentence)
        if shift.date is not None:
            yield part, spelt("wm:movesTo"), day(shift.date)
    for number, further in enumerate(end.further, 1):
        part = f"{here[:-1]}-{side}-further-{number}>"
        yield here, spelt("wm:further"), part
        yield part, _A, spelt("wm:FurtherEnd")
        yield part, spelt("wm:side"), text(end.side)
        yield (
            part,
            spelt("wm:supposes"),
            names.part_of(instrument, "supposition", further.supposition),
        )
        yield part, spelt("wm:movesTo"), day(further.date)
        yield part, _SAYS, text(further.sentence)


def _left_out(names: Names, instrument: str, without: str) -> str:
    kind = without.partition(":")[0]
    if kind in ("first-fitted", "as-made", "sound", "holds", "joined"):
        return names.part_of(instrument, "supposition", without)
    return names.premise(instrument, without)


def timeline(names: Names, report: Report) -> Iterator[Triple]:
    """Each thing on the instrument's time axis, with its dates as they are told."""
    for item in report.timeline:
        here = names.part_of(report.instrument, "event", item.id)
        yield here, _A, spelt("wm:TimelineItem")
        yield here, _LABEL, text(item.label)
        yield here, spelt("wm:ofInstrument"), names.instrument(report.instrument)
        yield here, spelt("wm:lane"), text(item.lane)
        yield here, spelt("wm:isContested"), truth(item.is_contested)
        if item.begins is not None:
            yield here, spelt("wm:begins"), edtf(item.begins)
        if item.ends is not None:
            yield here, spelt("wm:ends"), edtf(item.ends)
        if item.finding is not None:
            yield here, spelt("wm:finding"), names.finding(report.instrument, item.finding)
