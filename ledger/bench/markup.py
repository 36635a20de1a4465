"""Small pieces of HTML that the forms are made of: boxes to tick, lines to write on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from ledger.bench.plan import NON_VALUES

BOX = Markup('<span class="box"></span>')
# The four nothings in the narrow columns of a form; the words stand in the key beside it.
NOTHINGS = {
    "N": "searched, not found",
    "E": "not examined",
    "L": "not legible",
    "A": "not applicable",
}


def joined(parts: Iterable[Markup | str]) -> Markup:
    """The parts one after the other; what is not markup is escaped."""
    return Markup("").join(parts)


def field(label: str, value: str = "") -> Markup:
    """A labelled line to write on, with what is known already written on it."""
    return Markup('<div class="field"><b>{}</b><i>{}</i></div>').format(label, value)


def fields(labels: Sequence[str], layout: str = "pair") -> Markup:
    """Several labelled lines beside one another."""
    return Markup('<div class="{}">{}</div>').format(layout, joined(map(field, labels)))


def lines(count: int) -> Markup:
    """Empty lines to write on."""
    return Markup('<div class="write"></div>') * count


def ticks(label: str, choices: Iterable[str]) -> Markup:
    """A label and boxes to tick."""
    boxes = joined(Markup(" {} {} &ensp;").format(BOX, choice) for choice in choices)
    return Markup('<p><span class="soft">{}</span>{}</p>').format(label, boxes)


def heading(number: str, title: str, *, is_page: bool = False) -> Markup:
    """The heading of a part; ``is_page`` begins a new page."""
    place = Markup(' class="page"') if is_page else ""
    return Markup('<h2{}><span class="no">{}</span>{}</h2>').format(place, number, title)


def note(title: str, text: str) -> Markup:
    """A quiet box with something to bear in mind."""
    return Markup('<div class="note wash"><p class="title">{}</p><p>{}</p></div>').format(
        title, text
    )


def nothings_key() -> Markup:
    """The four nothings with their letters and what each means."""
    rows = joined(
        Markup("<dt>{} &ensp;{}</dt><dd>{}</dd>").format(letter, words, NON_VALUES[words])
        for letter, words in NOTHINGS.items()
    )
    return Markup(
        '<div class="note"><p class="title">If nothing was read, say which nothing</p><dl>{}</dl></div>'
    ).format(rows)


def page(title: str, style: str, body: Markup) -> str:
    """A whole page that needs no other file."""
    return Markup(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>{}</title>\n<style>\n{}</style>\n</head>\n<body>\n<main>\n{}</main>\n</body>\n</html>\n"
    ).format(title, Markup(style), body)  # noqa: S704 - our own style sheet
