"""Feature timelines drawn side by side: when each is said to have been in production.

Each has its span, what the works may have run beside it, and beneath it the dated examples on
which it rests. A date that cannot be placed on an axis is told in words only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.errors import PublicationError
from ledger.publish.evidence import reference_href
from ledger.publish.support import examples_words
from ledger.publish.svg import Caption
from ledger.publish.time_rows import WIDE_UNITS, Bar, Layout, Row, rows_drawing
from ledger.publish.time_scale import day_of
from ledger.publish.wording import spelled

MOST_TIMELINES = 24


def timelines_svg(
    timelines: Sequence[Mapping[str, Any]],
    examples: Iterable[Mapping[str, Any]],
    *,
    title: str,
    asked: str = "",
    width: float = WIDE_UNITS,
    prefix: str = "timelines",
) -> str:
    """The timelines over one axis, each above its examples; empty where none has a date.

    ``asked`` is the id of the one that the page is about.
    """
    by_timeline: dict[str, list[Mapping[str, Any]]] = {}
    for example in examples:
        by_timeline.setdefault(example["reference"], []).append(example)
    rows = [
        row
        for timeline in timelines[:MOST_TIMELINES]
        for row in _rows(timeline, by_timeline.get(timeline["id"], []), asked)
    ]
    if not any(bar.days for row in rows for bar in row.bars):
        return ""
    caption = Caption(
        title,
        "Solid: from when to when it is said to have been in production. Pale: how long old and "
        "new ran side by side. Beneath each: the dates of its listed examples.",
    )
    return rows_drawing(rows, Layout(width, prefix), caption)


def placed(date: str | None, *, is_end: bool = False) -> int | None:
    """The day on the axis; None for an open end and for what is no plain date."""
    try:
        return day_of(date, is_end=is_end)
    except PublicationError:
        return None


def _rows(
    timeline: Mapping[str, Any], examples: Sequence[Mapping[str, Any]], asked: str
) -> Iterable[Row]:
    begins, ends = placed(timeline["begins"]), placed(timeline["ends"], is_end=True)
    if begins is None and ends is None:
        return
    overlap = timeline["overlap_days"] or 0
    bars = [Bar(begins, ends, "plain", timeline["sentence"])]
    if overlap:
        wide = Bar(
            None if begins is None else begins - overlap,
            None if ends is None else ends + overlap,
            "allowed",
            f"with {overlap} days of overlap",
        )
        bars.insert(0, wide)
    yield Row(
        timeline["sentence"],
        tuple(bars),
        reference_href(timeline["id"]),
        _note(timeline, len(examples)),
        is_main=timeline["id"] == asked,
    )
    dated = [
        Bar(first, last, "contested" if _is_outside(first, last, begins, ends) else "plain", said)
        for example in examples
        for first, last in ((placed(example["date"]), placed(example["date"], is_end=True)),)
        for said in (f"{example['example']}, {spelled(example['date'])}; {example['source']}",)
        if first is not None and last is not None
    ]
    if dated:
        outside = sum(bar.kind == "contested" for bar in dated)
        note = f"{len(dated)} dated example{'' if len(dated) == 1 else 's'}"
        note += f", {outside} outside the span (hatched)" if outside else ""
        yield Row("its examples", tuple(dated), "", note)


def _is_outside(first: int, last: int, begins: int | None, ends: int | None) -> bool:
    return (begins is not None and last < begins) or (ends is not None and first > ends)


def _note(timeline: Mapping[str, Any], listed: int) -> str:
    begins = f"from {spelled(timeline['begins'])}" if timeline["begins"] else "no begin told"
    ends = f"to {spelled(timeline['ends'])}" if timeline["ends"] else "no end told"
    overlap = timeline["overlap_days"] or 0
    told = [f"{begins} {ends}"]
    told += [f"{overlap} days side by side"] if overlap else []
    told.append(examples_words(timeline["n"]) or "not said on how many examples")
    told.append(f"{listed} of them listed" if listed else "none of them listed")
    told += [f"for {timeline['scope']}"] if timeline.get("scope") else []
    return "; ".join(told)
