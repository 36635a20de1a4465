"""Drawings as they stand in a dossier: at the width of a sheet, with no link out of the document.

The drawings are those of the site, whose links lead to its pages. In a dossier there are no such
pages: a link to what the document itself holds is turned inwards, any other is taken out.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from ledger.publish.drawings import date_bounds_svg, part_map_svg, time_axis_svg
from ledger.publish.time_drawing import LANES
from ledger.publish.time_scale import day_of

SHEET_UNITS: Final = 660  # the text of an A4 sheet and of a Letter one is about as wide
MOST_ROWS: Final = 6  # of one drawing of events

_LINK: Final = re.compile(r'<a href="([^"]*)"((?: [a-z-]+="[^"]*")*)>(.*?)</a>', re.DOTALL)
_CLASS: Final = re.compile(r' class="[^"]*"')


def inward(href: str, anchors: Collection[str]) -> str:
    """The place within the document that a link of the site leads to; empty where there is none.

    >>> inward("/instrument/a#line-pot", {"line-pot"}), inward("/instrument/a/finding/b", ())
    ('#line-pot', '')
    """
    anchor = href.partition("#")[2]
    return f"#{anchor}" if anchor in anchors else ""


def turned_inwards(svg: str, anchors: Collection[str]) -> str:
    """The drawing with links to the document's own anchors and no others."""

    def linked(match: re.Match[str]) -> str:
        href, attributes, content = match.groups()
        place = inward(href, anchors)
        if place:
            return f'<a href="{place}"{attributes}>{content}</a>'
        return f"<g{''.join(_CLASS.findall(attributes))}>{content}</g>"

    turned = _LINK.sub(linked, svg)
    if "<a " not in turned:
        turned = turned.replace(' role="group"', ' role="img"', 1)
    return turned


def parts_drawing(report: Mapping[str, Any], anchors: Collection[str]) -> str:
    """The part map."""
    return turned_inwards(part_map_svg(report), anchors)


def bounds_drawing(report: Mapping[str, Any], anchors: Collection[str]) -> str:
    """What closes which side of completion."""
    return turned_inwards(date_bounds_svg(report, width=SHEET_UNITS), anchors)


def events_drawings(report: Mapping[str, Any], anchors: Collection[str]) -> list[str]:
    """The events, in as many drawings over one axis as let each stand on a sheet with others."""
    days = _days(report)
    drawn: list[str] = []
    for number, lanes in enumerate(_sheets(report), start=1):
        part = {
            **report,
            "timeline": [item for item in report["timeline"] if item["lane"] in lanes],
            "readings": report["readings"] if "made" in lanes else (),
        }
        svg = time_axis_svg(part, width=SHEET_UNITS, prefix=f"events-{number}", days=days)
        drawn.append(turned_inwards(svg, anchors))
    return drawn


def _days(report: Mapping[str, Any]) -> list[int]:
    """Every day that is known on the axis of events."""
    spans = [(item["begins"], item["ends"]) for item in report["timeline"]]
    spans += [span for each in report["readings"] if each["is_used"] for span in each["days"]]
    days = [day_of(begins) for begins, _ in spans]
    days += [day_of(ends, is_end=True) for _, ends in spans]
    return [day for day in days if day is not None]


def _sheets(report: Mapping[str, Any]) -> Iterator[list[str]]:
    """The lanes that hold anything, some at a time; a lane is never divided."""
    sheet: list[str] = []
    rows = 0
    for lane in LANES:
        found = len({item["label"] for item in report["timeline"] if item["lane"] == lane})
        if sheet and found and rows + found > MOST_ROWS:
            yield sheet
            sheet, rows = [], 0
        sheet.append(lane)
        rows += found
    yield sheet
