"""Small pieces of SVG that every drawing is made of.

A drawing is text built from plain data. It can be read without any style sheet: shapes carry
their own ``fill`` and ``stroke`` (``currentColor``, so that they follow the page's ink), and
classes let a page restyle them. There are no style attributes and no scripts, so a strict
content security policy has nothing to block. All text passes through :func:`escaped`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from ledger.basis.visible import visible, without_hidden

# Everything that XML 1.0 (section 2.2) does not allow as a character.
NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}

ESCAPING = str.maketrans(ESCAPES)

NARROW_GLYPHS = frozenset("iljtfrI.,:;'|!()[]- ")
WIDE_GLYPHS = frozenset("mwMW@%—")

# How wide a glyph is, in ems: upper estimates for the system sans-serif faces of browsers.
NARROW_EM, USUAL_EM, CAPITAL_EM, WIDE_EM = 0.36, 0.58, 0.70, 0.95


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in drawing units: left, top, width and height."""

    x: float
    y: float
    width: float
    height: float


def escaped(text: object) -> str:
    """The text with everything that has a meaning in XML replaced, and nothing hidden left.

    >>> escaped('<b> & "c"')
    '&lt;b&gt; &amp; &quot;c&quot;'
    """
    plain = str(text)
    if plain.isascii() and plain.isprintable():
        return plain.translate(ESCAPING)
    clean = NOT_XML.sub("\ufffd", without_hidden(plain))
    return clean.translate(ESCAPING)


def anchor(prefix: str, name: str) -> str:
    """An id for use in a page: the prefix, a hyphen and the name, fit for an HTML id.

    Ids of positions and lines come through unchanged; anything else is spelt out, so that two
    different names never share an id.

    >>> anchor("position", "pot.volume"), anchor("line", "a b")
    ('position-pot.volume', 'line-a~20b')
    """
    parts = (
        glyph if glyph.isascii() and (glyph.isalnum() or glyph in "._-") else f"~{ord(glyph):02x}"
        for glyph in name
    )
    return f"{prefix}-{''.join(parts)}"


def number(value: float) -> str:
    """The figure with at most one decimal.

    >>> number(3.0), number(2.449)
    ('3', '2.4')
    """
    text = f"{value:.1f}"
    return text.removesuffix(".0") if text != "-0.0" else "0"


def element(name: str, content: str = "", /, **attributes: str | float) -> str:
    """One element; ``content`` is markup already, attribute values are escaped here.

    An underscore in an attribute's name stands for a hyphen, a trailing one is dropped.

    >>> element("line", x1=0, y1=2.5, stroke_width=1, class_="grid")
    '<line x1="0" y1="2.5" stroke-width="1" class="grid"/>'
    """
    told = "".join(
        f' {_attribute(key)}="{escaped(value) if isinstance(value, str) else number(value)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{told}>{content}</{name}>" if content else f"<{name}{told}/>"


@cache
def _attribute(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def text(said: str, x: float, y: float, size: float, **attributes: str | float) -> str:
    """A line of text on its base line, in the page's ink unless ``fill`` says otherwise."""
    ink: dict[str, str | float] = {"fill": "currentColor", **attributes}
    return element("text", escaped(said) or " ", x=x, y=y, font_size=size, **ink)


def link(href: str, content: str, **attributes: str | float) -> str:
    """The content as a plain link, or unlinked where there is nowhere to go."""
    return element("a", content, href=href, **attributes) if href else element("g", content)


def told(full: str) -> str:
    """A title: what a pointer resting on the shape, or a screen reader, is told."""
    return element("title", escaped(visible(full)) or " ")


@lru_cache(maxsize=4096)
def glyph_width(glyph: str) -> float:
    """The estimated width of one glyph in ems; never much less than the true one."""
    if unicodedata.combining(glyph):
        return 0.0
    if unicodedata.east_asian_width(glyph) in ("W", "F"):
        return 1.05
    if glyph in NARROW_GLYPHS:
        return NARROW_EM
    if glyph in WIDE_GLYPHS:
        return WIDE_EM
    return CAPITAL_EM if glyph.isupper() or ord(glyph) > 0x2FF else USUAL_EM


def text_width(said: str, size: float) -> float:
    """How much room the text may need at the given size."""
    return size * _ems(said)


@lru_cache(maxsize=8192)
def _ems(said: str) -> float:
    return sum(map(glyph_width, said))


def cut(said: str, width: float, size: float) -> str:
    """The text itself where it fits into ``width``; else its beginning with an ellipsis.

    >>> cut("harness", 200, 12), cut("harness", 30, 12)
    ('harness', 'har…')
    """
    said = visible(said)
    if text_width(said, size) <= width:
        return said
    room = width - text_width("…", size)
    kept = []
    for glyph in said:
        room -= size * glyph_width(glyph)
        if room < 0:
            break
        kept.append(glyph)
    return "".join(kept).rstrip() + "…"


def wrapped(said: str, width: float, size: float, most_lines: int) -> tuple[str, ...]:
    """The text in at most ``most_lines`` lines that each fit; what is left over is cut.

    >>> wrapped("one two three", 50, 12, 3)
    ('one two', 'three')
    """
    lines: list[str] = []
    current = ""
    for word in _words(visible(said), width, size):
        longer = f"{current} {word}" if current else word
        if text_width(longer, size) <= width:
            current = longer
            continue
        lines.append(current)
        current = word
    lines.append(current)
    if len(lines) <= most_lines:
        return tuple(lines)
    last = cut(f"{lines[most_lines - 1]} …", width, size)
    return (*lines[: most_lines - 1], last)


def _words(said: str, width: float, size: float) -> Iterable[str]:
    for word in said.split():
        piece = ""
        for glyph in word:
            if piece and text_width(piece + glyph, size) > width:
                yield piece
                piece = ""
            piece += glyph
        yield piece


def hatching(name: str) -> str:
    """The definition of slanting lines, to be used as ``fill="url(#name)"``."""
    stroke = element("path", d="M0 6L6 0", stroke="currentColor", stroke_width=1.6, fill="none")
    return element("pattern", stroke, id=name, width=6, height=6, patternUnits="userSpaceOnUse")


def fading(name: str, *, is_leftward: bool) -> str:
    """The definition of ink that fades towards one side: an end that nobody knows."""
    near, far = ("100%", "0%") if is_leftward else ("0%", "100%")
    stops = "".join(
        element("stop", offset=at, stop_color="currentColor", stop_opacity=opacity)
        for at, opacity in (("0%", "0.55"), ("100%", "0.04"))
    )
    return element("linearGradient", stops, id=name, x1=near, x2=far, y1="0%", y2="0%")


@dataclass(frozen=True, slots=True)
class Caption:
    """What a drawing is called and, in words, what it shows."""

    title: str
    description: str


def drawing(prefix: str, size: tuple[float, float], caption: Caption, body: str) -> str:
    """The whole drawing.

    A drawing with links in it is a group: what ``role="img"`` holds is hidden from assistive
    technology, and links must not be. One without links is an image.
    """
    width, height = size
    heading = element("title", escaped(caption.title) or " ", id=f"{prefix}-title") + element(
        "desc", escaped(caption.description) or " ", id=f"{prefix}-desc"
    )
    return element(
        "svg",
        heading + body,
        xmlns="http://www.w3.org/2000/svg",
        class_=f"drawing drawing-{prefix}",
        role="group" if "<a " in body else "img",
        aria_labelledby=f"{prefix}-title",
        aria_describedby=f"{prefix}-desc",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=width,
        height=height,
        font_family="system-ui, sans-serif",
    )
