"""The drawing of how likely the weeks of completion are, with both ends beneath it.

It takes a report as plain data and only draws what it says. The area over a week is its chance;
what lies within the likeliest weeks is darker. The ends under each leading account stand beneath
on the same axis, so that one sees how far what is likely reaches towards what is possible.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.publish.evidence import Evidence
from ledger.publish.svg import Caption, drawing, element, text, text_width
from ledger.publish.time_drawing import span_words
from ledger.publish.time_scale import Scale, date_words, day_of

EVENT = "completed"
MARGIN, AREA_TOP, AREA_HEIGHT = 12.0, 22.0, 120.0
AXIS_ROOM, ROW_HEIGHT, TEXT_SIZE = 20.0, 34.0, 11.5
WEEK_DAYS = 7
LEAST_SHARE = 0.002  # of the likeliest week; what is below it only lengthens the axis


def weeks_svg(report: Mapping[str, Any], *, width: float, prefix: str = "weeks") -> str:
    """The drawing; empty where the weeks were not weighed."""
    chance = _dated(report)
    if chance is None or not chance["weeks"]:
        return ""
    weeks = [(_day(each["day"]), each["chance"]) for each in chance["weeks"]]
    highest = max(share for _, share in weeks)
    known = [day for day, share in weeks if share >= highest * LEAST_SHARE]
    rows = _rows(report)
    known += [day for _, span in rows for day in span if day is not None]
    scale = Scale.over([*known, max(known) + WEEK_DAYS], MARGIN, width - MARGIN)
    regions = [(_day(first), _day(last)) for first, last in chance["region"]]
    base = AREA_TOP + AREA_HEIGHT
    body = _area(weeks, highest, scale, regions, is_within=False)
    body += _area(weeks, highest, scale, regions, is_within=True)
    body += _axis(scale, base) + _median(chance["median"], scale)
    for index, (label, span) in enumerate(rows):
        body += _row(label, span, scale, base + AXIS_ROOM + index * ROW_HEIGHT)
    height = base + AXIS_ROOM + len(rows) * ROW_HEIGHT + 6
    caption = Caption(
        f"How likely each week of completion of {report['name']} is",
        f"{chance['sentence']} The area over a week is its chance. The likeliest weeks that "
        f"together hold {chance['share']:.0%} are dark, all others pale. The bars beneath are what "
        "is possible under each leading account.",
    )
    return drawing(prefix, (width, height), caption, body)


def _dated(report: Mapping[str, Any]) -> Mapping[str, Any] | None:
    chances = report["chances"]
    dates = chances["dates"] if chances else ()
    return next((each for each in dates if each["event"] == EVENT), None)


def _day(date: str) -> int:
    return day_of(date) or 0


def _rows(report: Mapping[str, Any]) -> list[tuple[str, tuple[int | None, int | None]]]:
    """What is possible under each leading account, told once where it is alike."""
    evidence = Evidence(report)
    found: dict[tuple[str | None, str | None], list[str]] = {}
    for dating in report["datings"]:
        if dating["event"] == EVENT:
            ends = (dating["not_before"]["date"], dating["not_after"]["date"])
            found.setdefault(ends, []).append(dating["account"])
    rows: list[tuple[str, tuple[int | None, int | None]]] = []
    for (begins, ends), accounts in found.items():
        names = ", ".join(map(evidence.account_name, accounts)) if len(found) > 1 else ""
        words = span_words(begins, ends)
        label = f"Possible{f' under {names}' if names else ''}: {words}"
        rows.append((label, (day_of(begins), day_of(ends, is_end=True))))
    return rows


def _area(
    weeks: Iterable[tuple[int, float]],
    highest: float,
    scale: Scale,
    regions: Sequence[tuple[int, int]],
    *,
    is_within: bool,
) -> str:
    """The area over the weeks within the likeliest ones, or over all the others."""
    base = AREA_TOP + AREA_HEIGHT
    steps = ""
    for day, share in weeks:
        middle = day + WEEK_DAYS // 2
        if any(first <= middle <= last for first, last in regions) is not is_within:
            continue
        top = base - AREA_HEIGHT * share / highest
        left, right = scale.x(day), scale.x(day + WEEK_DAYS)
        if right > left:
            steps += f"M{left:.1f} {base:.1f}V{top:.1f}H{right:.1f}V{base:.1f}Z"
    if not steps:
        return ""
    return element(
        "path",
        d=steps,
        class_="weeks within" if is_within else "weeks",
        fill="currentColor",
        fill_opacity="0.75" if is_within else "0.25",
    )


def _axis(scale: Scale, base: float) -> str:
    shown = element(
        "path",
        d=f"M{scale.left:.1f} {base:.1f}H{scale.right:.1f}",
        stroke="currentColor",
        stroke_opacity="0.6",
        fill="none",
    )
    for tick in scale.ticks():
        half = text_width(tick.label, TEXT_SIZE) / 2
        x = min(max(tick.x, scale.left + half), scale.right - half)
        shown += element(
            "path",
            d=f"M{tick.x:.1f} {base:.1f}v4",
            stroke="currentColor",
            stroke_opacity="0.6",
            fill="none",
        )
        shown += text(tick.label, x, base + 15, TEXT_SIZE, text_anchor="middle", class_="tick")
    return shown


def _median(date: str, scale: Scale) -> str:
    x = scale.x(_day(date))
    words = f"as likely before as after {date_words(date)}"
    half = text_width(words, TEXT_SIZE) / 2
    at = min(max(x, scale.left + half), scale.right - half)
    line = element(
        "path",
        d=f"M{x:.1f} {AREA_TOP - 5:.1f}V{AREA_TOP + AREA_HEIGHT:.1f}",
        stroke="currentColor",
        stroke_dasharray="4 3",
        fill="none",
    )
    return line + text(words, at, AREA_TOP - 9, TEXT_SIZE, text_anchor="middle", class_="note")


def _row(label: str, span: tuple[int | None, int | None], scale: Scale, top: float) -> str:
    """One bar of what is possible; an open end runs on to the edge as an arrow."""
    begins, ends = span
    left = scale.left if begins is None else scale.x(begins)
    right = scale.right if ends is None else max(scale.x(ends), left + 3)
    y = top + 8
    shown = element(
        "path",
        d=f"M{left:.1f} {y:.1f}H{right:.1f}",
        stroke="currentColor",
        stroke_width=4,
        stroke_opacity="0.6",
        fill="none",
        class_="possible",
    )
    for is_open, x, towards in ((begins is None, left, -1), (ends is None, right, 1)):
        edge = f"l{-8 * towards} -6m0 12l{8 * towards} -6" if is_open else "v-7v14"
        shown += element(
            "path",
            d=f"M{x:.1f} {y:.1f}{edge}",
            stroke="currentColor",
            stroke_width=2,
            fill="none",
        )
    half = text_width(label, TEXT_SIZE) / 2
    middle = min(max((left + right) / 2, scale.left + half), scale.right - half)
    return shown + text(label, middle, top + 27, TEXT_SIZE, text_anchor="middle", class_="note")
