"""How commands print lines of text: wrapped as paragraphs, with nothing hidden in them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

import click

from ledger.basis.visible import visible

WIDTH = 100


def say(lines: Iterable[str]) -> None:
    """Print each line; a long one goes on beneath its own beginning."""
    for line in lines:
        click.echo(wrapped(visible(line)))


def wrapped(line: str) -> str:
    """The line in several that are not too wide, behind the same indent and mark.

    >>> wrapped("  - " + "word " * 24).splitlines()[1]
    '    word word word word word'
    """
    text = line.lstrip(" ")
    indent = " " * (len(line) - len(text))
    hanging = indent + ("  " if text.startswith("- ") else "")
    return "\n".join(
        textwrap.wrap(
            text,
            WIDTH,
            initial_indent=indent,
            subsequent_indent=hanging,
            break_long_words=False,
            break_on_hyphens=False,
        )
    )
