"""The part map: where each position is, and by its shape in which state its part is.

A marker's shape tells the state, its number leads to the list beside the drawing, where name
and state stand in words. Colour is never needed to tell one from another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Any

from ledger.publish.originality import NO_SUCH_PART
from ledger.publish.outlines import OUTLINES
from ledger.publish.svg import Box, Caption, anchor, drawing, element, link, text, told

MAP_UNITS = 360.0  # a narrow screen's width, so that a marker stays large enough to touch
MAP = Box(10.0, 10.0, 340.0, 400.0)
RADIUS, LEAST_DISTANCE, RING_STEP = 11.0, 25.0, 13.0
RINGS, DIRECTIONS = 14, 16
STRIP_HEADING, STRIP_ROW, STRIP_COLUMNS = 26.0, 28.0, 13
LEADER_FROM = 6.0

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Shape:
    """How a state is drawn. ``family`` groups what a page may colour alike."""

    outline: str
    family: str
    is_filled: bool = False
    is_double: bool = False
    is_broken: bool = False

    def words(self) -> str:
        """The shape in words, for those who are told rather than shown."""
        manner = [
            word
            for word, applies in (
                ("filled", self.is_filled),
                ("double", self.is_double),
                ("broken", self.is_broken),
            )
            if applies
        ]
        return f"{manner[0] if manner else 'plain'} {self.outline}"


SHAPES: Mapping[str, Shape] = {
    "first-fitted": Shape("circle", "stayed", is_filled=True),
    "presumed first-fitted (untested)": Shape("circle", "stayed"),
    "works-refitted": Shape("circle", "stayed", is_double=True),
    "period replacement": Shape("square", "replaced"),
    "service replacement": Shape("square", "replaced", is_double=True),
    "modern replacement": Shape("square", "replaced", is_filled=True),
    "altered in place": Shape("gable", "replaced"),
    "missing": Shape("circle", "replaced", is_broken=True),
    "cannot be told": Shape("diamond", "open"),
    "not examined": Shape("diamond", "open", is_broken=True),
    NO_SUCH_PART: Shape("pair of brackets", "open"),
}
SEVERAL = "one of several states"
SEVERAL_SHAPE = Shape("diamond", "open", is_filled=True)
SOME_REPLACEMENT = "replaced, in one of several ways"
SOME_REPLACEMENT_SHAPE = Shape("square", "replaced", is_broken=True)


@dataclass(frozen=True, slots=True)
class Marker:
    """One position as numbered on the map; ``at`` is None where it has no place there."""

    number: int
    position: Mapping[str, Any]
    at: Point | None
    meant: Point | None

    @property
    def href(self) -> str:
        """The row of the table beneath the map."""
        return f"#{anchor('position', self.position['position'])}"


def shape_of(states: Sequence[str]) -> tuple[str, Shape]:
    """What the key calls the states, and the shape they are drawn in.

    No state at all is the state of a part that an instrument like this one does not have.
    """
    if len(states) == 1 and states[0] in SHAPES:
        return states[0], SHAPES[states[0]]
    if not states:
        return NO_SUCH_PART, SHAPES[NO_SUCH_PART]
    if all(state.endswith("replacement") for state in states):
        return SOME_REPLACEMENT, SOME_REPLACEMENT_SHAPE
    return SEVERAL, SEVERAL_SHAPE


def part_map_svg(report: Mapping[str, Any], *, prefix: str = "parts") -> str:
    """The map with a numbered marker for each position, in the order of the report."""
    markers = spread(report["positions"])
    placed = [marker for marker in markers if marker.at is not None]
    aside = [marker for marker in markers if marker.at is None]
    outline = _outline(report["kind"])
    height = MAP.height + 20 if placed or outline else 6.0
    body = outline + "".join(_leader(marker) for marker in placed)
    body += "".join(_placed(marker, marker.at) for marker in placed if marker.at)
    if aside:
        body += text("With no place on the drawing:", MAP.x, height + 16, 12, class_="note")
        for index, marker in enumerate(aside):
            row, column = divmod(index, STRIP_COLUMNS)
            at = (MAP.x + 14 + column * 26, height + STRIP_HEADING + 12 + row * STRIP_ROW)
            body += _placed(marker, at)
        height += STRIP_HEADING + STRIP_ROW * (1 + (len(aside) - 1) // STRIP_COLUMNS) + 4
    caption = Caption(
        f"Part map of {report['name']}",
        f"A plain drawing with {len(markers)} numbered markers; the list beside it names each "
        "position and the state of its part.",
    )
    return drawing(prefix, (MAP_UNITS, height), caption, body)


def marker_svg(states: Sequence[str], *, prefix: str) -> str:
    """The shape of a state alone, to stand beside its words in the key."""
    name, shape = shape_of(states)
    caption = Caption(name, f"Drawn as a {shape.words()}.")
    size = 2 * RADIUS + 4
    return drawing(prefix, (size, size), caption, _marker(shape, (size / 2, size / 2)))


def spread(positions: Iterable[Mapping[str, Any]]) -> list[Marker]:
    """Every position with its number and a spot of its own, none covering another."""
    markers: list[Marker] = []
    taken: list[Point] = []
    for number, position in enumerate(positions, start=1):
        place = position["place"]
        if place is None:
            markers.append(Marker(number, position, None, None))
            continue
        meant = (
            MAP.x + MAP.width * _on_the_map(place[0]),
            MAP.y + MAP.height * _on_the_map(place[1]),
        )
        at = next((spot for spot in _spots(meant) if _is_free(spot, taken)), None)
        if at is not None:
            taken.append(at)
        markers.append(Marker(number, position, at, meant))
    return markers


def _on_the_map(share: float) -> float:
    return min(100, max(0, share)) / 100


def _spots(meant: Point) -> Iterable[Point]:
    """The place itself, then rings around it, nearest first and sideways before upwards."""
    yield meant
    for ring in range(1, RINGS + 1):
        for turn in range(DIRECTIONS):
            side = 1 if turn % 2 else -1
            angle = side * ((turn + 1) // 2) * 2 * pi / DIRECTIONS
            yield (
                meant[0] + RING_STEP * ring * cos(angle),
                meant[1] + RING_STEP * ring * sin(angle),
            )


def _is_free(spot: Point, taken: Iterable[Point]) -> bool:
    x, y = spot
    if not (RADIUS + 2 <= x <= MAP_UNITS - RADIUS - 2 and RADIUS + 2 <= y <= MAP.height + 8):
        return False
    # Measured as squares are, so that their corners do not run into one another.
    return all(max(abs(x - a), abs(y - b)) >= LEAST_DISTANCE for a, b in taken)


def _outline(kind: str) -> str:
    paths = "".join(
        element(
            "path",
            d=path,
            fill="none",
            stroke="currentColor",
            stroke_opacity="0.45",
            vector_effect="non-scaling-stroke",
        )
        for path in OUTLINES.get(kind, ())
    )
    if not paths:
        return ""
    scale = f"scale({MAP.width / 100:.1f} {MAP.height / 100:.1f})"
    return element(
        "g", paths, class_="outline", transform=f"translate({MAP.x:.0f} {MAP.y:.0f}) {scale}"
    )


def _leader(marker: Marker) -> str:
    """A thin line from a marker that had to give way to the place it is about."""
    if marker.at is None or marker.meant is None:
        return ""
    (x, y), (a, b) = marker.at, marker.meant
    if (x - a) ** 2 + (y - b) ** 2 < LEADER_FROM**2:
        return ""
    line = element(
        "path",
        d=f"M{x:.1f} {y:.1f}L{a:.1f} {b:.1f}",
        class_="leader",
        stroke="currentColor",
        stroke_opacity="0.5",
        fill="none",
    )
    return line + element("circle", cx=a, cy=b, r=2, fill="currentColor", fill_opacity="0.5")


def _placed(marker: Marker, at: Point) -> str:
    position = marker.position
    _, shape = shape_of(position["states"])
    says = f"{marker.number}. {position['name']}: {position['label']}"
    shown = told(says) + _marker(shape, at)
    shown += text(
        str(marker.number),
        at[0],
        at[1] + 4,
        11,
        text_anchor="middle",
        font_weight="600",
        class_="on-ink" if shape.is_filled else "on-paper",
        fill="#ffffff" if shape.is_filled else "currentColor",
    )
    return link(marker.href, shown, aria_label=says)


def _marker(shape: Shape, at: Point) -> str:
    drawn = _closed(shape.outline, at, RADIUS, shape)
    if shape.is_double:
        drawn += _closed(shape.outline, at, RADIUS - 3, shape)
    return element("g", drawn, class_=f"marker {shape.family}")


def _closed(outline: str, at: Point, reach: float, shape: Shape) -> str:
    x, y = at
    paths = {
        "circle": f"M{x - reach:.1f} {y:.1f}a{reach} {reach} 0 1 0 {2 * reach} 0"
        f"a{reach} {reach} 0 1 0 {-2 * reach} 0Z",
        "square": f"M{x - reach:.1f} {y - reach:.1f}h{2 * reach}v{2 * reach}h{-2 * reach}Z",
        "gable": f"M{x - reach:.1f} {y + reach:.1f}v{-1.2 * reach:.1f}L{x:.1f} {y - reach - 3:.1f}"
        f"L{x + reach:.1f} {y - 0.2 * reach:.1f}v{1.2 * reach:.1f}Z",
        "diamond": f"M{x:.1f} {y - reach - 1.5:.1f}L{x + reach + 1.5:.1f} {y:.1f}"
        f"L{x:.1f} {y + reach + 1.5:.1f}L{x - reach - 1.5:.1f} {y:.1f}Z",
        "pair of brackets": f"M{x - reach + 5:.1f} {y - reach:.1f}h-5v{2 * reach}h5"
        f"M{x + reach - 5:.1f} {y - reach:.1f}h5v{2 * reach}h-5",
    }
    dashes = {"stroke_dasharray": "3 2.5"} if shape.is_broken else {}
    return element(
        "path",
        d=paths[outline],
        fill="currentColor" if shape.is_filled else "#ffffff",
        class_="ink" if shape.is_filled else "paper",
        stroke="currentColor",
        stroke_width=1.6,
        **dashes,
    )
