"""The part map as something to point at: every position a numbered link, the same in the list.

A filled mark says that something was written down there, a hollow one that nothing was; what was
read is not told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from ledger.knowledge.catalogues import CatalogueView
from ledger.publish.outlines import OUTLINES
from ledger.publish.part_drawing import (
    LEADER_FROM,
    MAP,
    MAP_UNITS,
    RADIUS,
    Marker,
    Point,
    spread,
)
from ledger.publish.svg import Caption, drawing, element, link, text, told

BELOW: Final = 20.0


@dataclass(frozen=True, slots=True)
class MapPlace:
    """A position as it stands in the list beside the map."""

    number: int
    position: str
    name: str
    count: int
    href: str


def map_places(
    view: CatalogueView, counts: Mapping[str, int], address: str
) -> tuple[MapPlace, ...]:
    """Every position of the catalogue, numbered; ``counts`` tells how many lines speak of each."""
    return tuple(
        MapPlace(at, name, row.name, counts.get(name, 0), f"{address}/at/{name}")
        for at, (name, row) in enumerate(view.positions.items(), 1)
    )


def map_svg(view: CatalogueView, places: tuple[MapPlace, ...]) -> Markup:
    """The drawing; positions without a place of their own stand in the list alone."""
    given = [
        {"position": name, "name": row.name, "place": row.place}
        for name, row in view.positions.items()
    ]
    markers = [marker for marker in spread(given) if marker.at is not None]
    body = _outline(view.kind) + "".join(map(_leader, markers))
    body += "".join(_marker(marker, places[marker.number - 1]) for marker in markers)
    caption = Caption(
        f"Part map of a {view.name}",
        "Each number is a position and leads to what can be recorded there. The list beside the "
        "drawing has them all, with their names.",
    )
    size = (MAP_UNITS, MAP.height + BELOW)
    # It is made of our own shapes, and every text in it is escaped where it is put in.
    return Markup(drawing("bench-map", size, caption, body))  # noqa: S704 - as above


def _outline(kind: str) -> str:
    paths = "".join(
        element("path", d=path, fill="none", stroke="currentColor", stroke_opacity="0.45")
        for path in OUTLINES.get(kind, ())
    )
    scale = f"scale({MAP.width / 100:.1f} {MAP.height / 100:.1f})"
    move = f"translate({MAP.x:.0f} {MAP.y:.0f}) {scale}"
    return element("g", paths, class_="outline", transform=move) if paths else ""


def _leader(marker: Marker) -> str:
    if marker.at is None or marker.meant is None:
        return ""
    (x, y), (a, b) = marker.at, marker.meant
    if (x - a) ** 2 + (y - b) ** 2 < LEADER_FROM**2:
        return ""
    path = f"M{x:.1f} {y:.1f}L{a:.1f} {b:.1f}"
    return element("path", d=path, stroke="currentColor", stroke_opacity="0.5", fill="none")


def _marker(marker: Marker, place: MapPlace) -> str:
    if marker.at is None:
        return ""
    x, y = at = marker.at
    much = "nothing yet" if not place.count else f"{place.count} recorded"
    says = f"{place.number}. {place.name}: {much}"
    ink = "ink" if place.count else "paper"
    shown = told(says) + element(
        "circle", cx=x, cy=y, r=RADIUS, class_=ink, stroke="currentColor", stroke_width=1.6
    )
    shown += _number(place.number, at, is_filled=bool(place.count))
    return link(place.href, shown, aria_label=says, class_="place")


def _number(number: int, at: Point, *, is_filled: bool) -> str:
    return text(
        str(number),
        at[0],
        at[1] + 4,
        11,
        text_anchor="middle",
        font_weight="600",
        class_="on-ink" if is_filled else "on-paper",
    )
