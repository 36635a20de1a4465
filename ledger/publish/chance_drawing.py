"""A chance as a bar from nought to one, with the range over which it may lie."""

from __future__ import annotations

from typing import Final

from ledger.publish.svg import element, told

WIDTH, HEIGHT = 120.0, 18.0
EVEN: Final = 0.5


def chance_bar(chance: float, low: float, high: float, says: str) -> str:
    """The chance as a mark on a scale, its range as a bar, and a line where it is even.

    It is an image of what the words beside it say, and is called ``says``.
    """
    left, width = 5.0, WIDTH - 10

    def x(share: float) -> float:
        return left + width * min(1.0, max(0.0, share))

    middle = HEIGHT / 2
    body = (
        told(says)
        + element(
            "path",
            d=f"M{left:.1f} {middle:.1f}h{width:.1f}M{left:.1f} {middle - 4:.1f}v8"
            f"M{x(1):.1f} {middle - 4:.1f}v8",
            stroke="currentColor",
            stroke_opacity="0.45",
            fill="none",
        )
        + element(
            "path",
            d=f"M{x(EVEN):.1f} {middle - 7:.1f}v14",
            stroke="currentColor",
            stroke_opacity="0.6",
            stroke_dasharray="2 2",
            fill="none",
        )
        + element(
            "rect",
            x=x(low),
            y=middle - 3,
            width=max(1.5, x(high) - x(low)),
            height=6,
            fill="currentColor",
            fill_opacity="0.35",
        )
        + element(
            "path",
            d=f"M{x(chance):.1f} {middle - 6:.1f}l4 6l-4 6l-4 -6Z",
            fill="currentColor",
        )
    )
    return element(
        "svg",
        body,
        xmlns="http://www.w3.org/2000/svg",
        class_="drawing chance-bar",
        role="img",
        viewBox=f"0 0 {WIDTH:.0f} {HEIGHT:.0f}",
        width=WIDTH,
        height=HEIGHT,
    )
