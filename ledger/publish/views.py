"""The site's own pages, each drawn from the read-only database when it is asked for."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from operator import attrgetter
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    Forbidden,
    NotFound,
    Request,
    Response,
)

from ledger.basis.verbal_scale import NEITHER, SCALE
from ledger.basis.visible import visible_json
from ledger.publish.answers import page, stored_page
from ledger.publish.drawn_pages import COUNT_SQL, FRONT_SQL, MOST_ON_FRONT
from ledger.publish.evidence import finding_href, instrument_href, reference_href, source_href
from ledger.publish.originality import state_words
from ledger.publish.pages import finding_page, front_page, instrument_page
from ledger.publish.report_pages import (
    CHANGES_SQL,
    DECISIVE_SQL,
    KEPT_BACK_SQL,
    RECORDINGS_SQL,
    WORKED_OUT_SQL,
    recordings_told,
    without_kept_back,
)
from ledger.publish.tables import DATABASE
from ledger.publish.wording import worded_beneath, worded_report

COUNTING_MS: Final = 1_000  # for each table, once: the file does not change
IMAGES: Final = frozenset({"image/png", "image/jpeg", "image/gif", "image/webp"})
FOR_EVER: Final = "public, max-age=31536000, immutable"
FAVICON: Final = Path(__file__).parent / "static" / "favicon.svg"
REPORTS_KEPT: Final = 8

_SHA256 = re.compile(r"[0-9a-f]{64}")


async def _rows(site: Datasette, sql: str, parameters: Mapping[str, Any]) -> list[Any]:
    """The rows of the answer, within the site's limits of time and of rows."""
    answer = await site.get_database(DATABASE).execute(sql, dict(parameters), truncate=True)
    return list(answer.rows)


def _part(request: Request, name: str) -> str:
    return unquote(request.url_vars[name])


async def _report_body(site: Datasette, instrument: str) -> str:
    rows = await _rows(
        site, "SELECT body FROM report WHERE instrument = :instrument", {"instrument": instrument}
    )
    if not rows:
        raise NotFound(f"There is no instrument {instrument!r} on this site.")
    body: str = rows[0][0]
    return body


async def _shown_report(site: Datasette, instrument: str) -> dict[str, Any]:
    """The report for a page: files that are kept back are not named as if they could be seen.

    The last few are kept as read, since whoever follows a chain goes from finding to finding.
    """
    kept: dict[str, dict[str, Any]] = site.witnessmark_reports
    if instrument not in kept:
        report: dict[str, Any] = json.loads(await _report_body(site, instrument))
        rows = await _rows(site, KEPT_BACK_SQL, {"instrument": instrument})
        kept[instrument] = without_kept_back(report, {row[0] for row in rows})
        while len(kept) > REPORTS_KEPT:
            kept.pop(next(iter(kept)), None)
        return kept.get(instrument, report)
    return kept[instrument]


async def show_front(datasette: Datasette, request: Request) -> Response:
    """The front page: every instrument with its conclusion."""
    stored = await stored_page(datasette, request, "/")
    if stored is not None:
        return stored
    rows = await _rows(datasette, FRONT_SQL, {"most": MOST_ON_FRONT})
    (count,) = await _rows(datasette, COUNT_SQL, {})
    context = {
        **front_page(worded_report(json.loads(row[0])) for row in rows),
        "left_out": max(0, count[0] - MOST_ON_FRONT),
    }
    return page(datasette, "front_whole.html", context)


async def show_instrument(datasette: Datasette, request: Request) -> Response:
    """The page of one instrument."""
    instrument = _part(request, "instrument")
    stored = await stored_page(datasette, request, instrument_href(instrument))
    if stored is not None:
        return stored
    report = await _shown_report(datasette, instrument)
    asked = {"instrument": instrument}
    recordings = recordings_told(
        await _rows(datasette, RECORDINGS_SQL, asked), await _rows(datasette, CHANGES_SQL, asked)
    )
    shown = instrument_page(worded_report(report), recordings)
    return page(datasette, "instrument.html", shown)


async def show_report(datasette: Datasette, request: Request) -> Response:
    """The report of one instrument as data."""
    body = visible_json(await _report_body(datasette, _part(request, "instrument")))
    return Response(body, content_type="application/json; charset=utf-8")


async def show_finding(datasette: Datasette, request: Request) -> Response:
    """One finding with everything beneath it."""
    instrument, name = _part(request, "instrument"), _part(request, "finding")
    stored = await stored_page(datasette, request, finding_href(instrument, name))
    if stored is not None:
        return stored
    report = await _shown_report(datasette, instrument)
    asked = {"finding": f"{report['instrument']}/{name}", "instrument": report["instrument"]}
    grounds = await _rows(datasette, DECISIVE_SQL, asked)
    is_worked_out = bool(grounds) or bool(await _rows(datasette, WORKED_OUT_SQL, asked))
    decisive = frozenset(row[0] for row in grounds) if is_worked_out else None
    context = finding_page(worded_beneath(report, name), name, decisive)
    if context is None:
        raise NotFound(f"There is no finding {name!r} on {report['instrument']}.")
    return page(datasette, "finding.html", context)


async def list_tables(datasette: Datasette, request: Request) -> Response:
    """Every table to look through, with what a row of it is and how many there are.

    The server's own page of a database asks for each table anew who may see it.
    """
    if "sql" in request.args:
        raise Forbidden("Questions in SQL of one's own are not answered.")
    counts = await datasette.get_database(DATABASE).table_counts(COUNTING_MS)
    context = {
        "page_title": "Tables",
        "tables": [
            {"name": table.name, "about": table.about, "count": counts.get(table.name)}
            for table in sorted(datasette.witnessmark_tables.values(), key=attrgetter("name"))
            if table.is_open
        ],
        "site_may_be_taken": datasette.witnessmark_may_be_taken,
    }
    return page(datasette, "tables.html", context)


async def show_words(datasette: Datasette) -> Response:
    """What the words of the site mean, and the rules by which it concludes."""
    rules = await _rows(datasette, "SELECT id, sentence FROM rule ORDER BY id", {})
    context = {
        "page_title": "Words and rules",
        "scale": _scale(),
        "states": state_words(),
        "rules": [{"id": row["id"], "sentence": row["sentence"]} for row in rules],
    }
    return page(datasette, "words.html", context)


def _scale() -> list[dict[str, str]]:
    """The steps of the scale of words, from the weakest up."""
    steps = [(1.0, NEITHER), *reversed(SCALE)]
    ends = [f"{least:,.0f}" for least, _ in steps[1:]]
    return [
        {
            "least": f"{least:,.0f}",
            "below": below,
            "words": words if words == NEITHER else f"{words} support",
        }
        for (least, words), below in zip(steps, [*ends, "no end"], strict=True)
    ]


def page_of(table: str, row: Mapping[str, Any]) -> str:
    """The page of ours that shows more of a row; empty where there is none."""
    names = row.keys()
    if table == "instrument":
        return instrument_href(row["id"])
    if table == "finding":
        return finding_href(row["instrument"], row["id"])
    if table == "reference":
        return reference_href(row["id"])
    if table == "source":
        return source_href(row["instrument"], row["id"])
    return instrument_href(row["instrument"]) if "instrument" in names else ""


async def show_exhibit(datasette: Datasette, request: Request) -> Response:
    """The published file of an exhibit."""
    return await _picture(datasette, request, "content")


async def show_thumbnail(datasette: Datasette, request: Request) -> Response:
    """A small picture of an exhibit."""
    return await _picture(datasette, request, "thumbnail")


async def _picture(datasette: Datasette, request: Request, column: str) -> Response:
    digest = _part(request, "sha256")
    rows = (
        await _rows(
            datasette,
            "SELECT exhibit.media_type, exhibit_file.content,"
            " coalesce(exhibit_file.thumbnail, exhibit_file.content) AS thumbnail"
            " FROM exhibit JOIN exhibit_file USING (sha256) WHERE sha256 = :sha256",
            {"sha256": digest},
        )
        if _SHA256.fullmatch(digest)
        else []
    )
    if not rows or rows[0]["media_type"] not in IMAGES:
        raise NotFound("There is no picture of that name on this site.")
    content: bytes = rows[0][column]
    return Response(
        content,
        content_type=_image_type(content) or rows[0]["media_type"],
        headers={
            "Cache-Control": FOR_EVER,
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "Content-Disposition": "inline",
        },
    )


def _image_type(content: bytes) -> str | None:
    """What the first bytes say the picture is; a thumbnail may be of another kind than its file."""
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "image/webp"
    return None


async def show_icon(datasette: Datasette) -> Response:  # noqa: ARG001 - the server passes it
    """The small picture that browsers put on a tab."""
    return Response(
        FAVICON.read_bytes(), content_type="image/svg+xml", headers={"Cache-Control": FOR_EVER}
    )


# Checked from the top; our own pages stand before those of the server.
ROUTES: Final = (
    (r"^/$", show_front),
    (r"^/favicon\.ico$", show_icon),
    (r"^/instrument/(?P<instrument>[^/]+)\.json$", show_report),
    (r"^/instrument/(?P<instrument>[^/]+)$", show_instrument),
    (r"^/instrument/(?P<instrument>[^/]+)/finding/(?P<finding>.+)$", show_finding),
    (rf"^/{DATABASE}(?:\.html)?$", list_tables),
    (r"^/words$", show_words),
    (r"^/exhibit/(?P<sha256>[^/]+)$", show_exhibit),
    (r"^/exhibit/(?P<sha256>[^/]+)/thumbnail$", show_thumbnail),
)
