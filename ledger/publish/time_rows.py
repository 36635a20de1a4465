"""Rows of bars over a common axis of days: the shape of every drawing of time.

Each row has its own line for its words and its own line for its bars, so words never lie on
one another. An end that nobody knows fades out into an arrow and is told in words as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from ledger.publish.svg import (
    Caption,
    drawing,
    element,
    fading,
    hatching,
    link,
    text,
    text_width,
    told,
    wrapped,
)
from ledger.publish.time_scale import Scale

WIDE_UNITS, NARROW_UNITS = 1040, 360
LABEL_SHARE = 0.36  # of a wide drawing's width
LABEL_SIZE, NOTE_SIZE = 13.0, 11.5
BOLDNESS = 1.16  # how much more room bold words take
MARGIN, BAR_HEIGHT, FADE_WIDTH, LEAST_BAR = 26.0, 11.0, 44.0, 4.0
LINE_HEIGHT, NOTE_HEIGHT, ROW_GAP, AXIS_HEIGHT = 17.0, 15.0, 7.0, 26.0
ROWS_BEFORE_SECOND_AXIS = 10

NO_LOWER, NO_UPPER = "no lower bound known", "no upper bound known"
NO_BOUND = "no bound known on either side"


@dataclass(frozen=True, slots=True)
class Bar:
    """A run of days; None is an open end.

    ``allowed`` is what a piece of evidence leaves possible, drawn as an outline behind what it
    says itself; ``given back`` is what would be possible again without a piece; ``gap`` a time of
    which nothing is told, drawn empty.
    """

    begins: int | None
    ends: int | None
    kind: Literal["plain", "contested", "allowed", "given back", "gap"] = "plain"
    says: str = ""

    @property
    def days(self) -> tuple[int, ...]:
        """The ends that are known, in order."""
        return tuple(sorted(day for day in (self.begins, self.ends) if day is not None))


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the drawing; without bars it is a heading.

    ``note`` replaces what would be said of open ends: a piece of evidence that closes one side
    only says nothing of the other, which is not the same as a side that nothing closes.
    """

    label: str
    bars: tuple[Bar, ...] = ()
    href: str = ""
    note: str = ""
    is_main: bool = False

    @property
    def is_heading(self) -> bool:
        """Whether the row only introduces those beneath it."""
        return not self.bars

    def notes(self) -> tuple[str, str, str]:
        """What is said beneath the bars at the left, in the middle and at the right."""
        contested = ["contested"] if any(bar.kind == "contested" for bar in self.bars) else []
        is_open_before = any(bar.begins is None for bar in self.bars)
        is_open_after = any(bar.ends is None for bar in self.bars)
        if self.note:
            return "", self.note, ""
        if is_open_before and is_open_after:
            return "", "; ".join([NO_BOUND, *contested]), ""
        if is_open_before:
            return "; ".join([NO_LOWER, *contested]), "", ""
        if is_open_after:
            return "", "", "; ".join([*contested, NO_UPPER])
        return "", "".join(contested), ""


@dataclass(frozen=True, slots=True)
class Layout:
    """How the drawing is divided: words beside the bars where there is room, else above."""

    width: float
    prefix: str

    @property
    def is_wide(self) -> bool:
        """Whether words stand beside their bars."""
        return self.width >= 640

    @property
    def left(self) -> float:
        """Where the axis begins."""
        return MARGIN + (self.width * LABEL_SHARE if self.is_wide else 0)

    @property
    def right(self) -> float:
        """Where the axis ends."""
        return self.width - MARGIN

    @property
    def label_width(self) -> float:
        """The room for words."""
        return self.width * LABEL_SHARE - 8 if self.is_wide else self.width - 12

    def label_lines(self, row: Row) -> tuple[str, ...]:
        """The words of the row as they are shown."""
        size = LABEL_SIZE * (BOLDNESS if row.is_main or row.is_heading else 1)
        if row.is_heading:
            return wrapped(row.label, self.width - 12, size, 3)
        return wrapped(row.label, self.label_width, size, 2)

    def height(self, row: Row) -> float:
        """The room the row takes, the gap to the next included."""
        words = len(self.label_lines(row)) * LINE_HEIGHT
        if row.is_heading:
            return words + ROW_GAP + 6
        bars = LINE_HEIGHT + NOTE_HEIGHT * self._lines_of_notes(row)
        return (max(words, bars) if self.is_wide else words + bars) + ROW_GAP

    def note_lines(self, note: str) -> tuple[str, ...]:
        """A note beneath bars in the lines it takes."""
        return wrapped(note, self.right - self.left, NOTE_SIZE, 3) if note else ()

    def _lines_of_notes(self, row: Row) -> int:
        left, middle, right = row.notes()
        return max(len(self.note_lines(middle)), 1 if left or right else 0)


class Head(Protocol):
    """Something drawn above the rows on the same axis."""

    def height(self, layout: Layout) -> float:
        """The room it takes."""

    def drawn(self, top: float, scale: Scale, layout: Layout) -> str:
        """What is drawn, from ``top`` down."""


def rows_drawing(
    rows: Sequence[Row],
    layout: Layout,
    caption: Caption,
    days: Sequence[int] = (),
    head: Head | None = None,
) -> str:
    """The drawing of the rows over an axis of the days given, or of every known day in them.

    Bars that go on beyond the days given are cut there, and marked so. The ``head`` stands
    between the axis and the rows.
    """
    every = (day for row in rows for bar in row.bars for day in bar.days)
    scale = Scale.over(days or every, layout.left, layout.right)
    tops: list[float] = []
    bottom = AXIS_HEIGHT + (head.height(layout) if head else 0)
    for row in rows:
        tops.append(bottom)
        bottom += layout.height(row)
    is_tall = len(rows) > ROWS_BEFORE_SECOND_AXIS
    height = bottom + (AXIS_HEIGHT if is_tall else 4)
    body = [_definitions(layout.prefix), _grid(scale, tops, rows, bottom)]
    body.append(_axis(scale, AXIS_HEIGHT - 10, AXIS_HEIGHT - 4))
    if head:
        body.append(head.drawn(AXIS_HEIGHT, scale, layout))
    body += [_row(row, top, scale, layout) for row, top in zip(rows, tops, strict=True)]
    if is_tall:
        body.append(_axis(scale, height - 6, bottom))
    return drawing(layout.prefix, (layout.width, height), caption, "".join(body))


def _definitions(prefix: str) -> str:
    return element(
        "defs",
        hatching(f"{prefix}-hatch")
        + fading(f"{prefix}-before", is_leftward=True)
        + fading(f"{prefix}-after", is_leftward=False),
    )


def _grid(scale: Scale, tops: Sequence[float], rows: Sequence[Row], bottom: float) -> str:
    """Faint lines at the ticks, broken where a heading crosses them."""
    stretches: list[tuple[float, float]] = []
    begins = AXIS_HEIGHT
    for row, top, following in zip(rows, tops, (*tops[1:], bottom), strict=True):
        if row.is_heading:
            stretches.append((begins, top))
            begins = following
    stretches.append((begins, bottom))
    path = "".join(
        f"M{tick.x:.1f} {above:.1f}V{below:.1f}"
        for tick in scale.ticks()
        for above, below in stretches
        if below > above
    )
    if not path:
        return ""
    return element(
        "path", d=path, class_="grid", stroke="currentColor", stroke_opacity="0.16", fill="none"
    )


def _axis(scale: Scale, baseline: float, line_y: float) -> str:
    shown = [
        element(
            "path",
            d=f"M{scale.left:.1f} {line_y:.1f}H{scale.right:.1f}",
            stroke="currentColor",
            stroke_opacity="0.5",
            fill="none",
        )
    ]
    shown += [
        text(tick.label, tick.x, baseline, NOTE_SIZE, text_anchor="middle", class_="tick")
        for tick in scale.ticks()
    ]
    return "".join(shown)


def _row(row: Row, top: float, scale: Scale, layout: Layout) -> str:
    lines = layout.label_lines(row)
    weight = "600" if row.is_main or row.is_heading else "400"
    first = top + LINE_HEIGHT - 4 + (6 if row.is_heading else 0)
    words = "".join(
        text(line, 6, first + index * LINE_HEIGHT, LABEL_SIZE, class_="label", font_weight=weight)
        for index, line in enumerate(lines)
    )
    label = link(row.href, told(row.label) + words)
    if row.is_heading:
        return element("g", label, class_="heading")
    bars_top = top if layout.is_wide else top + len(lines) * LINE_HEIGHT
    bars = "".join(_bar(bar, bars_top + 3, scale, layout.prefix) for bar in row.bars)
    return element(
        "g", label + bars + _notes(row, bars_top + LINE_HEIGHT, scale, layout), class_="row"
    )


def _notes(row: Row, top: float, scale: Scale, layout: Layout) -> str:
    left, middle, right = row.notes()
    placed = [(left, scale.left, "start", 0), (right, scale.right, "end", 0)]
    for index, line in enumerate(layout.note_lines(middle)):
        centre = _beneath_bars(row, scale, text_width(line, NOTE_SIZE) / 2)
        placed.append((line, centre, "middle", index))
    return "".join(
        text(said, x, _note_y(top, index), NOTE_SIZE, text_anchor=side, class_="note")
        for said, x, side, index in placed
        if said
    )


def _note_y(top: float, index: int) -> float:
    return top + NOTE_HEIGHT * (index + 1) - 4


def _beneath_bars(row: Row, scale: Scale, half: float) -> float:
    """The middle of what the bars tell, moved so far that a note of that half width fits."""
    days = [day for bar in row.bars if bar.kind != "allowed" for day in bar.days]
    middle = (scale.x(min(days)) + scale.x(max(days))) / 2 if days else scale.left
    return max(scale.left + half, min(scale.right - half, middle))


def _bar(bar: Bar, top: float, scale: Scale, prefix: str) -> str:
    days = bar.days
    begins = scale.left if bar.begins is None else scale.x(days[0])
    ends = scale.right if bar.ends is None else scale.x(days[-1])
    if bar.begins is not None and bar.ends is not None:
        begins = min(begins, scale.right - LEAST_BAR)
        pieces = _block(bar, (begins, max(begins + LEAST_BAR, ends)), top, prefix)
    else:
        pieces = _open_bar(bar, (begins, ends), top, prefix)
    pieces += "".join(_stroke(edge, top) for edge in _cut_at(days, scale))
    return element("g", told(bar.says) + pieces, class_="span") if bar.says else pieces


def _cut_at(days: Sequence[int], scale: Scale) -> list[float]:
    """The edges of the drawing beyond which the bar goes on."""
    is_cut_before = any(day < scale.first for day in days)
    is_cut_after = any(day > scale.last for day in days)
    return [scale.left] * is_cut_before + [scale.right - LEAST_BAR] * is_cut_after


def _stroke(x: float, top: float) -> str:
    """Two slanting strokes: the bar goes on beyond the drawing."""
    y, reach = top + BAR_HEIGHT + 3, BAR_HEIGHT + 6
    return element(
        "path",
        d=f"M{x - 2:.1f} {y:.1f}l5 {-reach:.1f}M{x + 3:.1f} {y:.1f}l5 {-reach:.1f}",
        class_="cut",
        stroke="currentColor",
        stroke_width=1.4,
        fill="none",
    )


def _open_bar(bar: Bar, reach: tuple[float, float], top: float, prefix: str) -> str:
    """A bar whose unknown end fades into an arrow at the edge of the drawing."""
    begins, ends = reach
    open_ends = (bar.begins is None) + (bar.ends is None)
    fade = 0.0 if bar.kind == "allowed" else min(FADE_WIDTH, max(0.0, ends - begins) / open_ends)
    inner = (
        begins + (fade if bar.begins is None else 0),
        ends - (fade if bar.ends is None else 0),
    )
    pieces = _block(bar, inner, top, prefix) if inner[1] > inner[0] else ""
    if bar.begins is None:
        pieces += _fade((begins, inner[0]), top, f"{prefix}-before") if fade else ""
        pieces += _arrow(begins, top, -1)
    if bar.ends is None:
        pieces += _fade((inner[1], ends), top, f"{prefix}-after") if fade else ""
        pieces += _arrow(ends, top, 1)
    if open_ends == 1:
        known = begins if bar.begins is not None else ends
        pieces += element(
            "path",
            d=f"M{known:.1f} {top - 3:.1f}v{BAR_HEIGHT + 6:.1f}",
            class_="limit",
            stroke="currentColor",
            stroke_width=2.5,
            fill="none",
        )
    return pieces


def _block(bar: Bar, reach: tuple[float, float], top: float, prefix: str) -> str:
    is_hatched = bar.kind in ("contested", "given back")
    dashes: dict[str, str | float] = {"stroke_dasharray": "4 3"} if bar.kind == "gap" else {}
    return element(
        "rect",
        x=reach[0],
        y=top,
        width=reach[1] - reach[0],
        height=BAR_HEIGHT,
        class_=f"bar {bar.kind.replace(' ', '-')}",
        fill=f"url(#{prefix}-hatch)" if is_hatched else "currentColor",
        fill_opacity={"plain": "0.55", "allowed": "0.1", "gap": "0"}.get(bar.kind, "1"),
        stroke="currentColor",
        stroke_width=0 if bar.kind == "allowed" else 1,
        **dashes,
    )


def _fade(reach: tuple[float, float], top: float, gradient: str) -> str:
    return element(
        "rect",
        x=reach[0],
        y=top,
        width=reach[1] - reach[0],
        height=BAR_HEIGHT,
        class_="fade",
        fill=f"url(#{gradient})",
    )


def _arrow(x: float, top: float, towards: int) -> str:
    middle = top + BAR_HEIGHT / 2
    back = x - 7 * towards
    return element(
        "path",
        d=f"M{back:.1f} {middle - 5:.1f}L{x:.1f} {middle:.1f}L{back:.1f} {middle + 5:.1f}",
        class_="arrow",
        stroke="currentColor",
        stroke_width=1.6,
        fill="none",
    )


def numbered(rows: Iterable[Row]) -> int:
    """How many of the rows carry bars."""
    return sum(1 for row in rows if not row.is_heading)
