"""Pages drawn when a site is made, so that serving one is reading one.

The templates are those of the server, and what is printed is shown in plain sight in both.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, select_autoescape
from markupsafe import Markup

from ledger.basis.visible import visible, with_hidden_named

TEMPLATES: Final = Path(__file__).parent / "templates"
# More than this gains little and takes much longer.
PACKING: Final = 6


def shown(value: object) -> object:
    """What a page prints: text with everything told that would not be seen.

    In markup, which may hold addresses and what a form is filled in with, letters stay.
    """
    if isinstance(value, Markup):
        return Markup(with_hidden_named(value))  # noqa: S704 - it was markup, and is no more of it
    return visible(value) if isinstance(value, str) else value


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(default_for_string=True, default=True),
        finalize=shown,
    )


def render(template: str, context: Mapping[str, Any]) -> str:
    """The page as text."""
    return _environment().get_template(template).render(**context)


def packed(page: str) -> bytes:
    """The page as gzip; the same page gives the same bytes."""
    return gzip.compress(page.encode(), PACKING, mtime=0)


def unpacked(body: bytes) -> bytes:
    """The page as it was before it was packed."""
    return gzip.decompress(body)
