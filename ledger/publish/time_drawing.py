"""Drawings of time: what happened when, and what closes the date of completion.

Both take a report as plain data and only draw what it says: no date is worked out here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

from ledger.publish.evidence import Evidence, finding_href
from ledger.publish.svg import Caption, anchor
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
CLOSES_LOWER = "closes the lower side, says nothing of the upper"
CLOSES_UPPER = "closes the upper side, says nothing of the lower"
CLOSES_BOTH = "closes both sides"

Span = tuple[str | None, str | None]
BarKind = Literal["plain", "contested", "allowed", "given back"]


def span_words(begins: str | None, ends: str | None) -> str:
    """The span in words, both ends always told.

    >>> span_words("1956-07-15", None)
    'not before 15 July 1956, no upper bound known'
    """
    lower = f"not before {date_words(begins)}" if begins else NO_LOWER
    upper = f"not after {date_words(ends)}" if ends else NO_UPPER
    return f"{lower}, {upper}"


def time_axis_svg(
    report: Mapping[str, Any], *, width: float = WIDE_UNITS, prefix: str = "events"
) -> str:
    """All that happened to the instrument, lane by lane, on one axis of years."""
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
        "known. A hatched bar is contested. Several bars in one row are several readings.",
    )
    return rows_drawing(rows, Layout(width, prefix), caption)


def _lane_rows(evidence: Evidence, lane: str) -> list[Row]:
    """The rows of one lane: items told in the same words share a row."""
    grouped: dict[str, list[Mapping[str, Any]]] = {}
    for item in evidence.report["timeline"]:
        if item["lane"] == lane:
            grouped.setdefault(item["label"], []).append(item)
    rows = []
    for label, items in grouped.items():
        bars = [
            _bar(
                label,
                (item["begins"], item["ends"]),
                "contested" if item["is_contested"] else "plain",
            )
            for item in items
        ]
        rows.append(Row(label, tuple(bars), _row_href(evidence, items)))
    return [*rows, *_reading_rows(evidence)] if lane == "made" else rows


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
            bars = [_bar(r["reading"], span) for r in used for span in r["days"]]
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


def _bar(label: str, span: Sequence[str | None], kind: BarKind = "plain") -> Bar:
    begins, ends = span
    says = f"{label}: {span_words(begins, ends)}{' (contested)' if kind == 'contested' else ''}"
    return Bar(day_of(begins), day_of(ends, is_end=True), kind, says)


def date_bounds_svg(
    report: Mapping[str, Any], *, width: float = WIDE_UNITS, prefix: str = "bounds"
) -> str:
    """Completion under each leading account, and beneath it what each piece of evidence allows.

    Pieces whose days a report does not tell cannot be drawn; they are in the list of support.
    """
    evidence = Evidence(report)
    datings = [dating for dating in report["datings"] if dating["event"] == "completed"]
    rows: list[Row] = []
    for dating in datings:
        if len(datings) > 1:
            account = evidence.accounts.get(dating["account"])
            title = evidence.account_title(dating["account"])
            rows.append(Row(f"{title}: {account['sentence']}" if account else title))
        rows.append(_completed_row(report, dating))
        rows += _piece_rows(evidence, dating)
        rows += _shift_rows(evidence, dating)
    if not rows:
        rows = [Row("Nothing recorded bounds the date of completion.")]
    caption = Caption(
        f"What closes the date of completion of {report['name']}",
        "For each leading account: the days on which the instrument may have been completed, "
        "then what each piece of evidence allows, then where an end moves when a piece is "
        "left out.",
    )
    return rows_drawing(rows, Layout(width, prefix), caption)


def _completed_row(report: Mapping[str, Any], dating: Mapping[str, Any]) -> Row:
    lower, upper = dating["not_before"], dating["not_after"]
    spans = dating["possible"] or [(lower["date"], upper["date"])]
    bars = tuple(_bar("Completed", span) for span in spans)
    finding = lower["finding"] or upper["finding"]
    href = finding_href(report["instrument"], finding) if finding else ""
    return Row("Completed: possible days", bars, href, is_main=True)


def _piece_rows(evidence: Evidence, dating: Mapping[str, Any]) -> list[Row]:
    """A row for each piece of evidence beneath either end, in the order of the report."""
    lower = evidence.beneath(dating["not_before"]["finding"])
    upper = evidence.beneath(dating["not_after"]["finding"])
    rows = []
    for label, href, names, spans in _pieces(evidence):
        closes_lower, closes_upper = bool(names & lower), bool(names & upper)
        if closes_lower and closes_upper:
            note, allowed = CLOSES_BOTH, []
        elif closes_lower:
            note, allowed = CLOSES_LOWER, _from(spans)
        elif closes_upper:
            note, allowed = CLOSES_UPPER, _until(spans)
        else:
            continue
        bars = [_bar(label, span, "allowed") for span in allowed]
        bars += [_bar(label, span) for span in spans]
        rows.append(Row(label, tuple(bars), href, note))
    return rows


def _pieces(evidence: Evidence) -> Iterable[tuple[str, str, set[str], list[Span]]]:
    """The pieces whose days the report tells: label, link, what it is known by, its days."""
    report = evidence.report
    drawn: set[str] = set()
    for line, used in _used_readings(report["readings"]).items():
        drawn.add(f"line:{line}")
        spans = [(begins, ends) for r in used for begins, ends in r["days"]]
        label = f"{evidence.line_title(line)}: “{used[0]['text']}”"
        names = {f"line:{line}", *(reading["id"] for reading in used)}
        yield label, f"#{anchor('line', line)}", names, spans
    for item in report["timeline"]:
        finding = item["finding"]
        if not finding or item["lane"] == "completed":
            continue
        names = {finding, *evidence.lines_beneath(finding)}
        if names & drawn or (item["begins"] is None and item["ends"] is None):
            continue
        href = finding_href(report["instrument"], finding)
        yield item["label"], href, names, [(item["begins"], item["ends"])]


def _from(spans: list[Span]) -> list[Span]:
    """From the earliest day on: what several readings together leave is the weakest of them."""
    known = [begins for begins, _ in spans]
    if not known or None in known:
        return []
    return [(min((b for b in known if b is not None), key=_sortable), None)]


def _until(spans: list[Span]) -> list[Span]:
    known = [ends for _, ends in spans]
    if not known or None in known:
        return []
    return [(None, max((e for e in known if e is not None), key=_sortable))]


def _sortable(date: str) -> int:
    return day_of(date) or 0


def _shift_rows(evidence: Evidence, dating: Mapping[str, Any]) -> list[Row]:
    """Where each end moves when one premise is left out."""
    rows = []
    for end, is_lower in ((dating["not_before"], True), (dating["not_after"], False)):
        for shift in end["shifts"]:
            side = "not before" if is_lower else "not after"
            moved = date_words(shift["date"]) or (NO_LOWER if is_lower else NO_UPPER)
            span = (shift["date"], end["date"]) if is_lower else (end["date"], shift["date"])
            says = shift["sentence"] or f"without it, {side} {moved}"
            bar = Bar(day_of(span[0]), day_of(span[1], is_end=True), "given back", says)
            note = f"{side} would move: {moved}" if shift["date"] else f"then {moved}"
            title = f"Leave out {evidence.name_of(shift['without'])}"
            rows.append(Row(title, (bar,), evidence.href_of(shift["without"]), note))
    return rows
