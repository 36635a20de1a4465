"""The pages of reference rows and of sources: what each says, and what would be other without it."""

from __future__ import annotations

from typing import Any, Final
from urllib.parse import unquote

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils import tilde_encode  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    NotFound,
    Request,
    Response,
)

from ledger.publish.answers import page
from ledger.publish.evidence import (
    finding_href,
    instrument_href,
    short_hash,
)
from ledger.publish.shortening import shortened
from ledger.publish.support import section_word
from ledger.publish.svg import anchor
from ledger.publish.tables import DATABASE
from ledger.publish.time_rows import NARROW_UNITS
from ledger.publish.timeline_drawing import timelines_svg
from ledger.publish.wording import spelled, worded

MOST_CHANGES, MOST_USES = 300, 2000
READ: Final = frozenset({"sentence", "title"})

_REFERENCE_SQL: Final = (
    "SELECT reference.*, pack.title AS pack_title, pack.version, pack.invented FROM reference"
    " LEFT JOIN pack ON pack.id = reference.pack WHERE reference.id = :id"
)
_TIMELINE_COLUMNS: Final = "id, sentence, scope, begins, ends, overlap_days, n, position"
_BESIDE_SQL: Final = (
    f"SELECT {_TIMELINE_COLUMNS} FROM reference WHERE section = 'timelines'"  # noqa: S608 - columns
    " AND position = :position AND pack IS :pack ORDER BY begins, id LIMIT 24"
)
_ALL_TIMELINES_SQL: Final = (
    f"SELECT reference.{_TIMELINE_COLUMNS}, pack, pack.title AS pack_title FROM reference"  # noqa: S608 - columns
    " LEFT JOIN pack ON pack.id = reference.pack WHERE section = 'timelines'"
    " ORDER BY pack, position, begins, reference.id LIMIT 200"
)
_EXAMPLES_SQL: Final = (
    "SELECT timeline_example.reference, example, timeline_example.source, date,"
    " is_published_here, instrument.name FROM timeline_example"
    " JOIN reference ON reference.id = timeline_example.reference"
    " LEFT JOIN instrument ON instrument.id = example {where}"
    " ORDER BY date, timeline_example.id LIMIT 2000"
)
_ALL_EXAMPLES_SQL: Final = _EXAMPLES_SQL.format(where="")
_EXAMPLES_BESIDE_SQL: Final = _EXAMPLES_SQL.format(
    where="WHERE reference.section = 'timelines' AND reference.position = :position"
    " AND reference.pack IS :pack"
)
_CHANGES_SQL: Final = (
    "SELECT finding.instrument, instrument.name, finding.id, finding.sentence, withdrawal.effect"
    " FROM withdrawal JOIN finding ON finding.key = withdrawal.finding"
    " JOIN instrument ON instrument.id = finding.instrument WHERE withdrawal.{column} = :id"
    " ORDER BY finding.instrument, withdrawal.effect, CASE finding.kind WHEN 'date' THEN 0"
    " WHEN 'chance' THEN 1 WHEN 'state' THEN 2 WHEN 'identity' THEN 3 ELSE 4 END, withdrawal.id"
    " LIMIT :most"
)
_REFERENCE_CHANGES_SQL: Final = _CHANGES_SQL.format(column="reference")
_SOURCE_CHANGES_SQL: Final = _CHANGES_SQL.format(column="source")
_USES_SQL: Final = (
    "SELECT count(DISTINCT finding) AS findings, count(DISTINCT instrument) AS instruments"
    " FROM (SELECT finding, instrument FROM support WHERE reference = :id LIMIT :most)"
)
# The sways of an instrument name the value by the id of its row without that of its pack.
_SWAYS_SQL: Final = (
    "SELECT sway.instrument, instrument.name, sway.sentence FROM sway"
    " JOIN instrument ON instrument.id = sway.instrument WHERE sway.value = :value"
    " ORDER BY sway.instrument, sway.id LIMIT 60"
)
SECTION_NAMES: Final = {
    "cautions": "what can hurt or is against the law (a caution)",
    "confusions": "glyphs that are taken for one another",
    "date_codes": "how a date is written",
    "facts": "a fact of law, trade or technique",
    "mark_layouts": "how a mark is laid out",
    "matching_numbers": "numbers that the works gave alike",
    "patent_years": "patent numbers by year",
    "practices": "common practice",
    "serial_tables": "serial numbers by date",
    "source_codes": "a code of a component maker",
    "specifications": "how the works made a part",
    "technologies": "when a material or technique came",
    "timelines": "when a feature was in production",
    "trace_kinds": "a kind of trace",
    "value_signs": "a sign for a value",
}
NOTHING_CHANGES: Final = "No chain of a statement here goes through it."
STARTS_A_WEIGHING: Final = (
    "No chain goes through it. The chances above would be other, and which accounts lead may be."
)
MAY_START_ONE: Final = (
    "No chain goes through it. A weighing can start from it; it is not among the values that sway "
    "a conclusion here most."
)
_SECTIONS_SQL: Final = (
    "SELECT pack, section, count(*) AS rows FROM reference GROUP BY pack, section"
    " ORDER BY pack IS NULL, pack, section"
)
_PACKS_SQL: Final = "SELECT id, title, version, invented, licence, note FROM pack ORDER BY id"
_SOURCE_SQL: Final = (
    "SELECT source.*, line.sequence, line.hash, instrument.name AS instrument_name,"
    " instrument.invented FROM source JOIN line ON line.key = source.key"
    " JOIN instrument ON instrument.id = source.instrument WHERE source.key = :id"
)
_LINES_SQL: Final = (
    "SELECT id, section, title, sentence, sequence FROM line WHERE source = :id ORDER BY sequence"
)
_WEIGHTS_SQL: Final = (
    "SELECT DISTINCT line_weight.key, line_weight.sentence, line_weight.words"
    " FROM line JOIN weighed_line ON weighed_line.line = line.key"
    " JOIN line_weight ON line_weight.key = weighed_line.line_weight WHERE line.source = :id"
    " ORDER BY max(line_weight.ratio, 1 / max(line_weight.ratio, 1e-300)) DESC, line_weight.key"
    " LIMIT 20"
)


async def _rows(site: Datasette, sql: str, **asked: object) -> list[dict[str, Any]]:
    answer = await site.get_database(DATABASE).execute(sql, asked, truncate=True)
    return [_worded(dict(row)) for row in answer.rows]


def _worded(row: dict[str, Any]) -> dict[str, Any]:
    """The row with the texts in it that are read in the wording of the pages."""
    return {
        name: worded(value) if name in READ and isinstance(value, str) else value
        for name, value in row.items()
    }


def _grouped(changes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What changes, instrument by instrument; what falls before what is only weakened."""
    grouped: dict[str, dict[str, Any]] = {}
    for change in changes:
        group = grouped.setdefault(
            change["instrument"],
            {
                "name": change["name"],
                "href": instrument_href(change["instrument"]),
                "falls": [],
                "weakened": [],
            },
        )
        href = finding_href(change["instrument"], change["id"])
        sentence = shortened(change["sentence"])
        # What two accounts say alike is one statement to a reader.
        if all(each["sentence"] != sentence for each in group[change["effect"]]):
            group[change["effect"]].append({"sentence": sentence, "href": href})
    return list(grouped.values())


async def show_references(datasette: Datasette) -> Response:
    """All that is known about production: timelines drawn by position, all else counted."""
    timelines = await _rows(datasette, _ALL_TIMELINES_SQL)
    examples = await _rows(datasette, _ALL_EXAMPLES_SQL)
    grouped: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in timelines:
        grouped.setdefault((row["pack"] or "", row["position"] or ""), []).append(row)
    drawn = [
        {
            "position": position.replace("-", " ") or "no position",
            "pack": rows[0]["pack_title"] or "",
            **_both_widths(rows, examples, f"timelines-{number}"),
        }
        for number, ((pack, position), rows) in enumerate(grouped.items(), start=1)
    ]
    sections: dict[str, list[dict[str, Any]]] = {}
    for row in await _rows(datasette, _SECTIONS_SQL):
        sections.setdefault(row["pack"] or "", []).append(
            {
                "name": row["section"].replace("_", " "),
                "rows": row["rows"],
                "href": f"/{DATABASE}/reference?pack__exact={row['pack'] or ''}"
                f"&section__exact={row['section']}",
            }
        )
    packs = [
        {**pack, "sections": sections.get(pack["id"], [])}
        for pack in await _rows(datasette, _PACKS_SQL)
    ]
    context = {
        "page_title": "What is known about production",
        "drawn": [each for each in drawn if each["svg"]],
        "packs": [pack for pack in packs if pack["sections"]],
        "catalogues": _by_note([pack for pack in packs if not pack["sections"]]),
    }
    return page(datasette, "references.html", context)


def _by_note(packs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Packs of catalogues alone, those together that say the same of themselves."""
    grouped: dict[str, list[dict[str, Any]]] = {}
    for pack in packs:
        grouped.setdefault(pack["note"] or "", []).append(pack)
    return [{"note": note, "packs": members} for note, members in grouped.items()]


def _both_widths(
    timelines: list[dict[str, Any]],
    examples: list[dict[str, Any]],
    prefix: str,
    asked: str = "",
) -> dict[str, str]:
    ids = {row["id"] for row in timelines}
    mine = [example for example in examples if example["reference"] in ids]
    position = (timelines[0]["position"] or "").replace("-", " ") if timelines else ""
    title = f"When features of the position {position} were in production"
    return {
        "svg": timelines_svg(timelines, mine, title=title, asked=asked, prefix=prefix),
        "narrow_svg": timelines_svg(
            timelines,
            mine,
            title=title,
            asked=asked,
            width=NARROW_UNITS,
            prefix=f"{prefix}-narrow",
        ),
    }


async def show_reference(datasette: Datasette, request: Request) -> Response:
    """One row of a pack, with its examples and what would be other without it."""
    name = unquote(request.url_vars["row"])
    found = await _rows(datasette, _REFERENCE_SQL, id=name)
    if not found:
        raise NotFound(f"There is no reference row {name!r}.")
    row = found[0]
    drawing = {"svg": "", "narrow_svg": ""}
    examples: list[dict[str, Any]] = []
    if row["section"] == "timelines":
        place = {"position": row["position"], "pack": row["pack"]}
        beside = await _rows(datasette, _BESIDE_SQL, **place)
        examples = await _rows(datasette, _EXAMPLES_BESIDE_SQL, **place)
        drawing = _both_widths(beside, examples, "timelines", name)
        examples = [each for each in examples if each["reference"] == name]
    (uses,) = await _rows(datasette, _USES_SQL, id=name, most=MOST_USES)
    changes = await _rows(datasette, _REFERENCE_CHANGES_SQL, id=name, most=MOST_CHANGES)
    sways = await _sways(datasette, row)
    context = {
        "page_title": "Reference row",
        "is_invented": row["invented"] == "yes",
        "row": {**row, "source": spelled(row["source"])},
        "section": SECTION_NAMES.get(row["section"], row["section"].replace("_", " ")),
        "sways": sways,
        "nothing_changes": _nothing_changes(row, sways),
        "examples": [
            {
                **each,
                "date": spelled(each["date"] or ""),
                "href": instrument_href(each["example"]) if each["name"] else "",
            }
            for each in examples
        ],
        **drawing,
        "uses": uses,
        "is_used_more": uses["findings"] >= MOST_USES,
        "changes": _grouped(changes),
        "is_cut": len(changes) >= MOST_CHANGES,
        "table_href": f"/{DATABASE}/reference/{tilde_encode(name)}",
        "question_href": f"/questions/rests-on-reference?reference={name}",
    }
    return page(datasette, "reference.html", context)


def _nothing_changes(row: dict[str, Any], sways: list[dict[str, Any]]) -> str:
    """What is said of a row without which no statement that has a chain would be other."""
    if sways:
        return STARTS_A_WEIGHING
    return MAY_START_ONE if row["is_practice"] == "yes" else NOTHING_CHANGES


async def _sways(site: Datasette, row: dict[str, Any]) -> list[dict[str, Any]]:
    """How far a starting value sways each instrument's conclusions, where it is one."""
    if row["is_practice"] != "yes":
        return []
    value = row["id"].rpartition("/")[2]
    found = await _rows(site, _SWAYS_SQL, value=value)
    return [{**each, "href": f"{instrument_href(each['instrument'])}#weighing"} for each in found]


async def show_source(datasette: Datasette, request: Request) -> Response:
    """One source: what it says, what it is worth, and what would be other without it."""
    instrument, name = (unquote(request.url_vars[part]) for part in ("instrument", "source"))
    key = f"{instrument}/{name}"
    found = await _rows(datasette, _SOURCE_SQL, id=key)
    if not found:
        raise NotFound(f"There is no source {name!r} on {instrument}.")
    row = found[0]
    home = instrument_href(instrument)
    lines = await _rows(datasette, _LINES_SQL, id=key)
    changes = await _rows(datasette, _SOURCE_CHANGES_SQL, id=key, most=MOST_CHANGES)
    context = {
        "page_title": row["title"],
        "is_invented": row["invented"] == "yes",
        "row": row,
        "short_hash": short_hash(row["hash"]),
        "instrument_name": row["instrument_name"],
        "instrument_href": home,
        "anchor_href": f"{home}#{anchor('line', name)}",
        "lines": [
            {
                "word": section_word(line["section"]),
                "title": line["title"],
                "sentence": line["sentence"],
                "entry": line["sequence"],
                "href": f"{home}#{anchor('line', line['id'])}",
            }
            for line in lines
        ],
        "weights": await _rows(datasette, _WEIGHTS_SQL, id=key),
        "changes": _grouped(changes),
        "is_cut": len(changes) >= MOST_CHANGES,
    }
    return page(datasette, "source.html", context)


REFERENCE_ROUTES: Final = (
    (r"^/references$", show_references),
    (r"^/reference/(?P<row>.+)$", show_reference),
    (r"^/instrument/(?P<instrument>[^/]+)/source/(?P<source>[^/]+)$", show_source),
)
