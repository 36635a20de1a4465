"""The answer to a question as bars: a name, a value and, where there is one, its range."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ledger.publish.svg import Caption, cut, drawing, element, text, told
from ledger.publish.wording import worded

MOST_BARS = 24
LINE_HEIGHT, BAR_HEIGHT, TEXT_SIZE = 22.0, 11.0, 12.5
WIDE_UNITS, NARROW_UNITS = 900.0, 360.0
VALUE_ROOM = 76.0


@dataclass(frozen=True, slots=True)
class PlotBar:
    """One bar; ``low`` and ``high`` are the ends of its range, None where there is none."""

    name: str
    value: float
    words: str
    low: float | None = None
    high: float | None = None


def plot_bars(
    rows: Sequence[Mapping[str, Any]], columns: Sequence[str], unit: str = ""
) -> list[PlotBar]:
    """The bars of the rows that hold figures, no more than fit; ``unit`` follows each figure.

    >>> [bar] = plot_bars([{"part": "nut", "chance": "under 0.1"}], ["part", "chance"])
    >>> bar.value, bar.words
    (0.1, 'under 0.1')
    """
    bars = []
    for row in rows[:MOST_BARS]:
        name, *cells = (row[column] for column in columns)
        figures = [_figure(cell) for cell in cells]
        known = [figure for figure in figures if figure is not None]
        if known and len(known) == len(figures):
            words = f"{_words(cells[0])}{unit}"
            bars.append(PlotBar(worded(str(name)), known[0], words, *known[1:]))
    return bars


def _figure(cell: object) -> float | None:
    """The figure in a cell, also where it stands for less or more than it."""
    text = str(cell).removeprefix("under ").removeprefix("over ")
    try:
        return float(text)
    except ValueError:
        return None


def _words(cell: object) -> str:
    return f"{cell:,.10g}" if isinstance(cell, int | float) else str(cell)


def plot_svg(bars: Sequence[PlotBar], title: str, width: float, prefix: str) -> str:
    """The bars beneath one another; empty where there is none."""
    if not bars:
        return ""
    is_wide = width > NARROW_UNITS
    left = width * 0.38 if is_wide else 6.0
    step = LINE_HEIGHT if is_wide else 2 * LINE_HEIGHT - 4
    most = max(max(bar.value, bar.high or 0.0) for bar in bars) or 1.0
    reach = width - left - VALUE_ROOM
    body = "".join(
        _bar(bar, index * step + 4, (left, reach, most), is_wide=is_wide)
        for index, bar in enumerate(bars)
    )
    is_ranged = any(bar.high is not None for bar in bars)
    description = "One bar for each row of the answer below" + (
        "; the thin line over it is the range." if is_ranged else "."
    )
    return drawing(prefix, (width, len(bars) * step + 8), Caption(title, description), body)


def _bar(bar: PlotBar, top: float, over: tuple[float, float, float], *, is_wide: bool) -> str:
    left, reach, most = over

    def far(figure: float) -> float:
        return reach * min(1.0, max(0.0, figure / most))

    size = TEXT_SIZE
    name = cut(bar.name, left - 14 if is_wide else 330, size)
    bar_top = top + 3 if is_wide else top + LINE_HEIGHT - 4
    middle = bar_top + BAR_HEIGHT / 2
    ends = far(max(bar.value, bar.high or 0.0))
    said = f"{bar.name}: {bar.words}"
    pieces = element(
        "rect",
        x=left,
        y=bar_top,
        width=max(1.0, far(bar.value)),
        height=BAR_HEIGHT,
        class_="bar plain",
        fill="currentColor",
        fill_opacity="0.55",
    )
    if bar.low is not None and bar.high is not None:
        said += f", range {bar.low:,.10g} to {bar.high:,.10g}"
        first, last = left + far(bar.low), left + far(bar.high)
        pieces += element(
            "path",
            d=f"M{first:.1f} {middle - 5:.1f}v10M{first:.1f} {middle:.1f}H{last:.1f}"
            f"M{last:.1f} {middle - 5:.1f}v10",
            stroke="currentColor",
            stroke_width=1.4,
            fill="none",
        )
    words = text(
        name,
        left - 8 if is_wide else left,
        top + 13,
        size,
        text_anchor="end" if is_wide else "start",
        class_="label",
    )
    value_x = left + ends + 6
    value = text(bar.words, value_x, bar_top + 10, size - 1, class_="note")
    return element("g", told(said) + words + pieces + value, class_="row")
