"""The form that reads a mark: every candidate by the packs of the site, and by what rule.

What is typed is read and forgotten. Nothing is concluded about any instrument.
"""

from __future__ import annotations

import asyncio
from typing import Any, Final

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import Request, Response  # type: ignore[import-untyped]  # ships no types

from ledger.errors import WitnessmarkError
from ledger.knowledge.marks import Made, read_mark, read_value
from ledger.knowledge.packs import Packs
from ledger.knowledge.readings import MarkReading, ValueReading, bound_in_words
from ledger.publish.answers import page
from ledger.publish.evidence import reference_href
from ledger.publish.searching import clean_query
from ledger.publish.tables import DATABASE
from ledger.publish.wording import spelled, worded
from ledger.references import PackFile

LONGEST_MARK: Final = 60
LONGEST_NAME: Final = 80
MOST_READINGS: Final = 200
PACKS_SQL: Final = "SELECT body FROM pack_body ORDER BY place"
EXAMPLE: Final = "134 4?8"


async def _packs(site: Datasette) -> Packs:
    """The packs of the site, read once."""
    if site.witnessmark_packs is None:
        rows = (await site.get_database(DATABASE).execute(PACKS_SQL)).rows
        bodies = [row[0] for row in rows]
        site.witnessmark_packs = await asyncio.to_thread(_read, bodies)
    packs: Packs = site.witnessmark_packs
    return packs


def _read(bodies: list[str]) -> Packs:
    return Packs.of(PackFile.model_validate_json(body) for body in bodies)


async def show_mark(datasette: Datasette, request: Request) -> Response:
    """The form, and every way to read what was typed into it."""
    packs = await _packs(datasette)
    asked = {
        "text": clean_query(request.args.get("text") or "")[:LONGEST_MARK],
        "kind": clean_query(request.args.get("kind") or "")[:LONGEST_NAME],
        "position": clean_query(request.args.get("position") or "")[:LONGEST_NAME],
        "maker": clean_query(request.args.get("maker") or "")[:LONGEST_NAME],
        "model": clean_query(request.args.get("model") or "")[:LONGEST_NAME],
    }
    context: dict[str, Any] = {
        "page_title": "Read a mark",
        "asked": asked,
        "example": EXAMPLE,
        "kinds": packs.kinds(),
        "is_asked": bool(asked["text"]),
        "readings": [],
        "values": [],
        "is_cut": False,
        "fault": "",
    }
    if asked["text"]:
        try:
            readings, values = await asyncio.to_thread(_readings, packs, asked)
            context["readings"] = [_shown(each) for each in readings[:MOST_READINGS]]
            context["values"] = [_value(each) for each in values[:MOST_READINGS]]
            context["is_cut"] = len(readings) > MOST_READINGS
        except WitnessmarkError as error:
            context["fault"] = str(error)
    return page(datasette, "mark.html", context)


def _readings(
    packs: Packs, asked: dict[str, str]
) -> tuple[tuple[MarkReading, ...], tuple[ValueReading, ...]]:
    kind = asked["kind"] or None
    position = asked["position"] or None
    made = Made(asked["maker"], asked["model"])
    found = read_mark(asked["text"], packs, kind, position, made)
    return found, read_value(asked["text"], packs)


def _shown(reading: MarkReading) -> dict[str, Any]:
    return {
        "reading": worded(reading.reading),
        "bound": spelled(bound_in_words(reading.spans)),
        "bears_on": reading.bears_on or "",
        "is_plain": reading.is_plain,
        "is_used": reading.is_used,
        "reason": worded(reading.reason),
        "source": spelled(reading.source.rstrip(".")),
        "href": reference_href(reading.reference) if reading.reference else "",
    }


def _value(value: ValueReading) -> dict[str, Any]:
    return {
        "reading": value.reading,
        "reason": value.reason,
        "source": spelled(value.source.rstrip(".")),
        "is_plain": value.is_plain,
        "is_plausible": value.is_plausible,
    }


MARK_ROUTES: Final = ((r"^/marks$", show_mark),)
