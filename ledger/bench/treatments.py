"""Works done while the instrument was in the care of whoever keeps the record: what is missing.

A treatment takes evidence away. Whoever has examined an instrument and then works on it, or has
it worked on, can record it before and after, and say what was lost. Works of which only a source
tells, done before anybody here saw the instrument, are history and are not asked for this.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ledger.basis.edtf import read_date
from ledger.models import (
    Assertion,
    BenchSheet,
    Exhibit,
    Feature,
    Line,
    Mark,
    Measurement,
    NonValue,
    Source,
    Trace,
    Work,
)


@dataclass(frozen=True, slots=True)
class Notice:
    """What is pointed out of one line: of a work, say, what the record lacks."""

    line: str
    says: str


@dataclass(frozen=True, slots=True)
class _Days:
    """The first and the last day that a date allows; None where it leaves the end open."""

    earliest: int | None
    latest: int | None

    def is_before(self, other: _Days) -> bool:
        """Whether it surely ends by the day on which the other may begin."""
        return (
            self.latest is not None and other.earliest is not None and self.latest <= other.earliest
        )


def notices(sheet: BenchSheet) -> tuple[Notice, ...]:
    """What the works of a sheet lack, in the order in which they stand."""
    seen = [*sheet.marks, *sheet.measurements, *sheet.features, *sheet.traces, *sheet.non_values]
    return notices_of(
        sheet.sources,
        seen,
        [work for work in sheet.works if isinstance(work, Work)],
        sheet.exhibits,
    )


def notices_of(
    sources: Iterable[Source],
    seen: Sequence[Line],
    works: Iterable[Work],
    exhibits: Sequence[Exhibit],
) -> tuple[Notice, ...]:
    """What the works lack, held against what was seen before and after them."""
    dated = {source.id: _days(source.date) for source in sources if source.date is not None}
    examined = [
        dated[source.id]
        for source in sources
        if source.kind == "examination" and source.id in dated
    ]
    starts = [days.earliest for days in examined if days.earliest is not None]
    found = []
    for work in works:
        if work.date is None or not starts:
            continue
        when = _days(work.date)
        if when.earliest is None or when.earliest < min(starts):
            continue
        found += [Notice(work.id, says) for says in _lacks(work, when, dated, seen, exhibits)]
    return tuple(found)


def _lacks(
    work: Work,
    when: _Days,
    dated: Mapping[str, _Days],
    seen: Sequence[Line],
    exhibits: Sequence[Exhibit],
) -> Iterable[str]:
    before = {name for name, days in dated.items() if days.is_before(when) and name != work.source}
    after = {name for name, days in dated.items() if when.is_before(days) and name not in before}
    missing = [name for name in work.positions if not _is_seen(name, seen, before)]
    what = f"{work.action} {', '.join(work.positions)} ({work.date})"
    if missing:
        yield (
            f"{what}: nothing is recorded of {', '.join(missing)} from before it. What it was like "
            "can no longer be seen: record what is still known, each with its source, and say "
            "under destroyed what was lost. An examination made before belongs under a source of "
            "its own, dated before the work."
        )
    unpictured = [name for name in work.positions if not _is_pictured(name, exhibits, when)]
    if unpictured:
        yield f"{what}: no picture of {', '.join(unpictured)} is dated before it."
    unseen = [name for name in work.positions if not _is_seen(name, seen, after)]
    if unseen:
        yield f"{what}: nothing is recorded of {', '.join(unseen)} from after it."
    if work.action in ("replaced", "removed") and not work.removed:
        yield f"{what}: it does not name what came off (parts, removed), nor whether it was kept."
    if not work.destroyed:
        yield f"{what}: it does not say what evidence it destroyed; if none, say so and why."
    if work.reversible == "cannot be told":
        yield f"{what}: it does not say whether it can be undone."


def _is_seen(position: str, seen: Sequence[Line], sources: set[str]) -> bool:
    return any(
        isinstance(line, Assertion)
        and line.source in sources
        and not (isinstance(line, NonValue) and line.value == "not examined")
        and any(_is_same(position, place) for place in _places(line))
        for line in seen
    )


def _is_pictured(position: str, exhibits: Sequence[Exhibit], when: _Days) -> bool:
    return any(
        exhibit.date is not None
        and _days(exhibit.date).is_before(when)
        and any(_is_same(position, place) for place in exhibit.positions)
        for exhibit in exhibits
    )


def _places(line: Line) -> tuple[str, ...]:
    if isinstance(line, Mark | Measurement | Feature):
        return () if line.position is None else (line.position,)
    return line.positions if isinstance(line, Trace | NonValue) else ()


def _is_same(position: str, place: str) -> bool:
    """Whether a place speaks of the position; one without a suffix speaks of all of several."""
    return place == position or place == position.partition(".")[0]


def _days(text: str) -> _Days:
    spans = read_date(text).spans
    return _Days(spans.earliest, spans.latest)
