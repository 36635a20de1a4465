"""The curve of how likely each week of an event is, drawn above what the evidence allows.

It only draws what a report says: the chance of each week, the likeliest weeks that together hold
most of it, and the day before and after which it is as likely. The likeliest weeks are told by
a darker ground and upright lines as well as in words, so that no colour is needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from ledger.publish.percentages import percent
from ledger.publish.svg import element, link, text, text_width, told, wrapped
from ledger.publish.time_drawing import days_words
from ledger.publish.time_rows import (
    BOLDNESS,
    LABEL_SIZE,
    LINE_HEIGHT,
    NOTE_HEIGHT,
    NOTE_SIZE,
    Layout,
)
from ledger.publish.time_scale import Scale, date_words, day_of

WEEK_DAYS: Final = 7
CURVE_HEIGHT: Final = 104.0
ROOM_ABOVE: Final = 20.0
ROOM_BELOW: Final = 8.0
SMALLEST_SHARE_DRAWN: Final = 0.004  # of the highest week: less than that is no ink


@dataclass(frozen=True, slots=True)
class Curve:
    """The weeks by their first days with their chances, and the likeliest of them as spans."""

    weeks: tuple[tuple[int, float], ...]
    region: tuple[tuple[int, int], ...]
    median: int
    label: str
    words: str
    href: str
    most: float

    @classmethod
    def of_event(
        cls, report: Mapping[str, Any], event: str, href_of: Callable[[str], str]
    ) -> Curve | None:
        """The curve of an event of the report; None where it has not been weighed."""
        chances = report.get("chances")
        for date in chances["dates"] if chances else ():
            weeks = tuple((day_of(week["day"]) or 0, week["chance"]) for week in date["weeks"])
            if date["event"] == event and weeks and date["region"]:
                region = tuple(
                    (day_of(begins) or 0, day_of(ends, is_end=True) or 0)
                    for begins, ends in date["region"]
                )
                runs = " or ".join(days_words(*span) for span in date["region"])
                words = (
                    f"{percent(date['share'])} of the chance lies in {runs}; as likely before as "
                    f"after {date_words(date['median'])}."
                )
                return cls(
                    weeks,
                    region,
                    day_of(date["median"]) or 0,
                    "How likely each week is",
                    words,
                    href_of(date["finding"]),
                    max(chance for _, chance in weeks),
                )
        return None

    @property
    def outer_days(self) -> list[int]:
        """The first and the last day that the drawing should hold."""
        seen = [day for day, chance in self.weeks if chance >= 0.02 * self.most]
        ends = [day for span in self.region for day in span]
        return [min(seen + ends), max(seen + ends) + WEEK_DAYS]

    def height(self, layout: Layout) -> float:
        """The room it takes, with its words where they stand above."""
        return self._words_height(layout) + ROOM_ABOVE + CURVE_HEIGHT + ROOM_BELOW

    def drawn(self, top: float, scale: Scale, layout: Layout) -> str:
        """The curve with its words, from ``top`` down."""
        ground = top + self._words_height(layout) + ROOM_ABOVE + CURVE_HEIGHT
        shape = element(
            "g",
            told(self.words)
            + self._area(scale, ground, self.weeks, "curve-whole", "0.18")
            + "".join(
                self._area(scale, ground, self._within(span), "curve-region", "0.6")
                for span in self.region
            )
            + self._line(scale, ground)
            + "".join(self._fence(scale, ground, span) for span in self.region)
            + self._median(scale, ground),
            class_="curve",
        )
        return element("g", self._said(top, layout) + shape, class_="row curve-row")

    def _label_lines(self, layout: Layout) -> tuple[str, ...]:
        return wrapped(self.label, layout.label_width, LABEL_SIZE * BOLDNESS, 2)

    def _note_lines(self, layout: Layout) -> tuple[str, ...]:
        return wrapped(self.words, layout.label_width - 6, NOTE_SIZE, 7)

    def _words_height(self, layout: Layout) -> float:
        if layout.is_wide:
            return 0.0
        words = len(self._label_lines(layout)) * LINE_HEIGHT
        return words + len(self._note_lines(layout)) * NOTE_HEIGHT

    def _said(self, top: float, layout: Layout) -> str:
        lines = self._label_lines(layout)
        label = "".join(
            text(
                line,
                6,
                top + (index + 1) * LINE_HEIGHT - 2,
                LABEL_SIZE,
                class_="label",
                font_weight="600",
            )
            for index, line in enumerate(lines)
        )
        below = top + len(lines) * LINE_HEIGHT
        notes = "".join(
            text(line, 6, below + (index + 1) * NOTE_HEIGHT - 2, NOTE_SIZE, class_="note")
            for index, line in enumerate(self._note_lines(layout))
        )
        return link(self.href, told(self.label) + label) + notes

    def _y(self, ground: float, chance: float) -> float:
        return ground - CURVE_HEIGHT * chance / self.most

    def _within(self, span: tuple[int, int]) -> tuple[tuple[int, float], ...]:
        first, last = span
        return tuple((day, chance) for day, chance in self.weeks if first <= day <= last)

    def _points(
        self, scale: Scale, ground: float, weeks: tuple[tuple[int, float], ...]
    ) -> list[str]:
        """The tops of the weeks as steps; weeks that are left out lie on the ground."""
        least = SMALLEST_SHARE_DRAWN * self.most
        points: list[str] = []
        reached: int | None = None
        for day, chance in weeks:
            if chance < least or not scale.first <= day <= scale.last:
                continue
            left, right = scale.x(day), scale.x(day + WEEK_DAYS)
            y = self._y(ground, chance)
            if reached is not None and day > reached:
                points.append(f"{scale.x(reached):.1f} {ground:.1f}")
            if reached is None or day > reached:
                points.append(f"{left:.1f} {ground:.1f}")
            points += [f"{left:.1f} {y:.1f}", f"{right:.1f} {y:.1f}"]
            reached = day + WEEK_DAYS
        if reached is not None:
            points.append(f"{scale.x(reached):.1f} {ground:.1f}")
        return points

    def _area(
        self,
        scale: Scale,
        ground: float,
        weeks: tuple[tuple[int, float], ...],
        name: str,
        opacity: str,
    ) -> str:
        points = self._points(scale, ground, weeks)
        if not points:
            return ""
        return element(
            "path",
            d=f"M{'L'.join(points)}Z",
            class_=name,
            fill="currentColor",
            fill_opacity=opacity,
        )

    def _line(self, scale: Scale, ground: float) -> str:
        points = self._points(scale, ground, self.weeks)
        outline = element(
            "path",
            d=f"M{'L'.join(points)}",
            class_="curve-line",
            stroke="currentColor",
            stroke_width=1.2,
            fill="none",
        )
        base = element(
            "path",
            d=f"M{scale.left:.1f} {ground:.1f}H{scale.right:.1f}",
            stroke="currentColor",
            stroke_opacity="0.5",
            fill="none",
        )
        return (outline if points else "") + base

    def _fence(self, scale: Scale, ground: float, span: tuple[int, int]) -> str:
        """Upright lines at both ends of a run of the likeliest weeks."""
        return "".join(
            element(
                "path",
                d=f"M{scale.x(day):.1f} {ground:.1f}V{ground - CURVE_HEIGHT - 4:.1f}",
                class_="curve-fence",
                stroke="currentColor",
                stroke_width=1.4,
                stroke_dasharray="4 3",
                fill="none",
            )
            for day in span
        )

    def _median(self, scale: Scale, ground: float) -> str:
        x = scale.x(self.median)
        day, chance = max(self.weeks, key=lambda week: week[1])
        said = f"{self._share()}; likeliest week {percent(chance)}"
        half = text_width(said, NOTE_SIZE) / 2
        middle = max(scale.left + half, min(scale.right - half, scale.x(day)))
        mark = element(
            "path",
            d=f"M{x:.1f} {ground:.1f}l-5 7h10Z",
            class_="curve-median",
            fill="currentColor",
        )
        return mark + text(
            said,
            middle,
            ground - CURVE_HEIGHT - 8,
            NOTE_SIZE,
            text_anchor="middle",
            class_="note",
        )

    def _share(self) -> str:
        return f"dark: {self.words.partition(' of ')[0]}"
