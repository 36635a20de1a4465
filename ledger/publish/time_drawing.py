"""The drawing of what happened when, and the words for spans of days.

It takes a report as plain data and only draws what it says: no date is worked out here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

from ledger.publish.evidence import Evidence
from ledger.publish.svg import Caption
from ledger.publish.time_rows import (
    NO_LOWER,
    NO_UPPER,
    WIDE_UNITS,
    Bar,
    Layout,
    Row,
    numbered,
    rows_drawing,
)
from ledger.publish.time_scale import date_words, day_of

LANES = {
    "made": "Parts made",
    "completed": "Completed",
    "dispatched": "Dispatched",
    "first sold": "First sold",
    "work": "Work done",
    "custody": "In whose hands",
    "sighting": "Seen",
    "paper": "On paper",
    "testimony": "Told",
}

UNDER_ACCOUNT = re.compile(r"(?P<what>.*) \(account (?P<number>[0-9]+)\)")

BarKind = Literal["plain", "contested", "allowed", "given back", "gap"]
GAP_ITEM = "time.gap."  # how the ids of items begin that tell of a time without a holder


def span_words(begins: str | None, ends: str | None) -> str:
    """The span in words, both ends always told.

    >>> span_words("1956-07-15", None)
    'not before 15 July 1956, no upper bound known'
    """
    lower = f"not before {date_words(begins)}" if begins else NO_LOWER
    upper = f"not after {date_words(ends)}" if ends else NO_UPPER
    return f"{lower}, {upper}"


def days_words(begins: str | None, ends: str | None) -> str:
    """A run of days from one to another; with an end that is open as :func:`span_words`.

    >>> days_words("1956-07-15", "1956-07-28"), days_words("1956-07-29", "1956-08-11")
    ('15 to 28 July 1956', '29 July to 11 August 1956')
    >>> days_words("1956-12-30", "1957-01-05"), days_words("1956", "1956")
    ('30 December 1956 to 5 January 1957', '1956')
    """
    if not begins or not ends:
        return span_words(begins, ends)
    first, last = date_words(begins).split(), date_words(ends).split()
    if first == last:
        return " ".join(first)
    is_full = len(first) == len(last) == 3  # day, month and year
    if is_full and first[1:] == last[1:]:
        first = first[:1]
    elif is_full and first[2] == last[2]:
        first = first[:2]
    return f"{' '.join(first)} to {' '.join(last)}"


def days_between(begins: str, ends: str) -> str:
    """A run of days as it stands behind "completed" within a sentence.

    >>> days_between("1956-07-15", "1956-07-28"), days_between("1956-07-15", "1956-07-15")
    ('between 15 and 28 July 1956', 'on 15 July 1956')
    """
    first, is_run, last = days_words(begins, ends).partition(" to ")
    return f"between {first} and {last}" if is_run else f"on {first}"


def time_axis_svg(
    report: Mapping[str, Any],
    *,
    width: float = WIDE_UNITS,
    prefix: str = "events",
    days: Sequence[int] = (),
) -> str:
    """All that happened to the instrument, lane by lane, on one axis of years.

    The axis is over the ``days``, where they are given, so that several drawings can share it.
    """
    evidence = Evidence(report)
    rows: list[Row] = []
    for lane, heading in LANES.items():
        found = _lane_rows(evidence, lane)
        if found:
            rows += [Row(heading), *found]
    if not rows:
        rows = [Row("Nothing that can be put on an axis of time is recorded.")]
    name = report["name"]
    caption = Caption(
        f"Events of {name} on an axis of years",
        f"{numbered(rows)} rows of bars. A bar that fades into an arrow has an end that is not "
        "known. A hatched bar is contested, an empty one a gap. Several bars in one row are "
        "several readings.",
    )
    return rows_drawing(rows, Layout(width, prefix), caption, days)


def _lane_rows(evidence: Evidence, lane: str) -> list[Row]:
    """The rows of one lane: items told in the same words share a row."""
    items_of_lane = [item for item in evidence.report["timeline"] if item["lane"] == lane]
    alike = _alike_under_accounts(items_of_lane)
    grouped: dict[str, list[Mapping[str, Any]]] = {}
    for item in items_of_lane:
        label = alike.get(item["label"], item["label"])
        if label == item["label"] or label not in grouped:
            grouped.setdefault(label, []).append(item)
    rows = []
    for label, items in grouped.items():
        bars = [
            bar_over(
                label,
                (item["begins"], item["ends"]),
                _kind(item),
            )
            for item in items
        ]
        rows.append(Row(label, tuple(bars), _row_href(evidence, items)))
    return [*rows, *_reading_rows(evidence)] if lane == "made" else rows


def _kind(item: Mapping[str, Any]) -> BarKind:
    if item["id"].startswith(GAP_ITEM):
        return "gap"
    return "contested" if item["is_contested"] else "plain"


def _alike_under_accounts(items: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """A common label for items that say the same of several accounts, by each one's own."""
    found: dict[tuple[Any, ...], list[re.Match[str]]] = {}
    for item in items:
        under = UNDER_ACCOUNT.fullmatch(item["label"])
        if under is not None:
            key = (under["what"], item["begins"], item["ends"], item["is_contested"])
            found.setdefault(key, []).append(under)
    return {
        each[0]: f"{each['what']} (accounts {', '.join(m['number'] for m in members)})"
        for members in found.values()
        if len(members) > 1
        for each in members
    }


def _row_href(evidence: Evidence, items: Iterable[Mapping[str, Any]]) -> str:
    """The finding of the items, or the one line they all rest on where they are several."""
    findings = list(dict.fromkeys(item["finding"] for item in items if item["finding"]))
    if not findings:
        return ""
    lines = {name for finding in findings for name in evidence.lines_beneath(finding)}
    if len(findings) > 1 and len(lines) == 1:
        return evidence.href_of(lines.pop())
    return evidence.href_of(findings[0])


def _reading_rows(evidence: Evidence) -> Iterable[Row]:
    """Marks of which no item of the axis speaks, with every reading that is used."""
    items = evidence.report["timeline"]
    told = {name for item in items for name in (item["finding"], item["id"])}
    for line, used in _used_readings(evidence.report["readings"]).items():
        if told.isdisjoint(reading["id"] for reading in used):
            bars = [bar_over(r["reading"], span) for r in used for span in r["days"]]
            several = f" ({len(bars)} readings)" if len(bars) > 1 else ""
            label = f"Mark “{used[0]['text']}”{several}"
            yield Row(label, tuple(bars), evidence.href_of(f"line:{line}"))


def _used_readings(
    readings: Iterable[Mapping[str, Any]],
) -> dict[str, list[Mapping[str, Any]]]:
    used: dict[str, list[Mapping[str, Any]]] = {}
    for reading in readings:
        if reading["is_used"] and reading["days"]:
            used.setdefault(reading["line"], []).append(reading)
    return used


def bar_over(label: str, span: Sequence[str | None], kind: BarKind = "plain") -> Bar:
    """The bar of a span as reports write it, with its words for a pointer that rests on it."""
    begins, ends = span
    says = f"{label}: {span_words(begins, ends)}{' (contested)' if kind == 'contested' else ''}"
    return Bar(day_of(begins), day_of(ends, is_end=True), kind, says)
