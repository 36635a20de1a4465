"""The site folder: the database that is served, and what the server is told about it.

What comes in has been masked before: the lines of a report carry no withheld matter, and of a
ledger entry only its place in the chain is taken, never its body. Reports stream through one at
a time, so that memory does not grow with their number. The same input gives the same content.

The folder appears whole or not at all: everything is written beside it, flushed to the disk and
then renamed into place, the database last.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from ledger.errors import PublicationError
from ledger.findings import ReferenceText, Report
from ledger.holdings import schema_file
from ledger.publish.evidence import reference_href
from ledger.publish.placing import (
    DATABASE_FILE,
    METADATA_FILE,
    SETTINGS_FILE,
    put_in_place,
    refuse_foreign,
    write_seal,
)
from ledger.publish.report_rows import Row, exhibit_captions, rows_of, yes_no
from ledger.publish.tables import Table, metadata_of, read_tables
from ledger.record.entries import Entry
from ledger.references import (
    PACK_SECTIONS,
    PackFile,
    Reference,
    Specification,
    Timeline,
)

TITLE = "Documented instruments"

# What visitors may not do is refused by the server's own settings as well as by our code, so
# that the folder stays closed when somebody serves it without our command.
SETTINGS: Mapping[str, object] = {
    "allow_csv_stream": False,
    "allow_download": False,
    "allow_facet": True,
    "default_allow_sql": False,
    "default_cache_ttl": 60,
    "default_facet_size": 20,
    "default_page_size": 50,
    "facet_time_limit_ms": 200,
    "max_csv_mb": 5,
    "max_returned_rows": 500,
    "sql_time_limit_ms": 1000,
    "suggest_facets": False,
    "template_debug": False,
    "trace_debug": False,
    "truncate_cells_html": 400,
}


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry of the ledger the site was made from."""

    sequence: int
    hash: str
    recorded_at: str


@dataclass(frozen=True, slots=True)
class ExhibitFile:
    """A file as it may be published: nothing in it that tells more than the picture."""

    sha256: str
    media_type: str
    content: bytes
    thumbnail: bytes | None = None


@dataclass(frozen=True)
class Publication:
    """Everything a site is made of. The iterables are gone through once, in this order.

    ``say_row`` gives the sentence for a row of a pack from the pack's id and the row;
    ``may_be_taken`` says whether visitors may download the database as a whole. ``proof`` is of
    the ledger's latest checkpoint; ``seal`` gives the name and the text of the seal over the
    finished files from the SHA-256 of each by its name.
    """

    head: Head
    packs: Iterable[PackFile]
    say_row: Callable[[str, Reference], str]
    entries: Iterable[Entry]
    reports: Iterable[Report]
    exhibits: Iterable[ExhibitFile]
    rules: Mapping[str, str] = field(default_factory=dict)
    may_be_taken: bool = False
    proof: Mapping[str, Any] | None = None
    seal: Callable[[Mapping[str, str]], tuple[str, str]] | None = None


def publish_site(folder: Path, publication: Publication) -> Path:
    """The folder with the finished site; on any failure whatever was there is left as it was.

    Raises:
        PublicationError: the folder holds something else, cannot be written, or the reports
            name something that was not given.
    """
    schema = schema_file("site.sql").read_text(encoding="utf-8")
    refuse_foreign(folder)
    tables = read_tables(schema)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    except OSError as error:
        raise PublicationError(f"The site cannot be written at {folder}: {error}.") from error
    try:
        _write_database(beside / DATABASE_FILE, publication, schema)
        _write_settings(beside, tables, may_be_taken=publication.may_be_taken)
        if publication.seal is not None:
            write_seal(beside, publication.seal)
        put_in_place(beside, folder)
    except (OSError, sqlite3.Error) as error:
        raise PublicationError(f"The site was not written at {folder}: {error}.") from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return folder


def _write_settings(folder: Path, tables: tuple[Table, ...], *, may_be_taken: bool) -> None:
    for name, content in (
        (METADATA_FILE, metadata_of(tables, TITLE)),
        (SETTINGS_FILE, {**SETTINGS, "allow_download": may_be_taken}),
    ):
        text = json.dumps(content, indent=2, ensure_ascii=False, sort_keys=True)
        (folder / name).write_text(text + "\n", encoding="utf-8")


def _write_database(path: Path, publication: Publication, schema: str) -> None:
    connection = sqlite3.connect(path)
    try:
        # Rows name one another before both are there; what dangles is looked for at the end.
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("PRAGMA journal_mode = DELETE")
        # Until the file is whole nobody needs it: it is flushed once, before it is renamed.
        connection.execute("PRAGMA synchronous = OFF")
        connection.executescript(schema)
        database = Database(connection)
        with database.atomic():
            _fill(database, publication)
        _refuse_dangling(connection)
        passages = database.table("passage")
        passages.enable_fts(
            ["title", "text"], fts_version="FTS5", tokenize="porter unicode61 remove_diacritics 2"
        )
        passages.optimize()
        connection.commit()
        connection.execute("PRAGMA optimize")
        database.vacuum()
    finally:
        connection.close()


def _fill(database: Database, publication: Publication) -> None:
    _insert(database, "head", [asdict(publication.head)])
    if publication.proof is not None:
        body = json.dumps(publication.proof, sort_keys=True, separators=(",", ":"))
        size = publication.proof["checkpoint"]["size"]
        _insert(database, "proof", [{"size": size, "body": body}])
    _insert(
        database,
        "rule",
        ({"id": name, "sentence": text} for name, text in publication.rules.items()),
    )
    references: set[str] = set()
    examples: list[Row] = []
    for pack in publication.packs:
        _insert(database, "pack", [_pack(pack)])
        rows = list(_pack_rows(pack, publication.say_row))
        references.update(row["id"] for row in rows)
        _insert(database, "reference", rows)
        _insert(database, "passage", map(_reference_passage, rows))
        examples += _examples(pack)
    _insert(database, "entry", map(_entry, publication.entries))
    captions = _fill_reports(database, publication.reports, references)
    _fill_examples(database, examples)
    _fill_exhibits(database, publication.exhibits, captions)


def _insert(database: Database, table: str, rows: Iterable[Row]) -> None:
    database.table(table).insert_all(rows, ignore=table in ("rule", "pack"))


def _fill_reports(
    database: Database, reports: Iterable[Report], references: set[str]
) -> dict[str, str]:
    """Write the reports one at a time; returns the captions of the exhibits they name."""
    captions: dict[str, str] = {}
    for report in reports:
        for name in sorted({finding.rule for finding in report.findings}):
            _insert(database, "rule", [{"id": name, "sentence": name}])
        missing = [row for row in report.references if row.id not in references]
        references.update(row.id for row in missing)
        _insert(database, "reference", map(_used_reference, missing))
        for table, rows in rows_of(report).items():
            _insert(database, table, rows)
        body = json.dumps(asdict(report), ensure_ascii=False, separators=(",", ":"))
        _insert(database, "report", [{"instrument": report.instrument, "body": body}])
        captions.update(exhibit_captions(report))
    return captions


def _fill_examples(database: Database, examples: list[Row]) -> None:
    here = {row["id"] for row in database.query("select id from instrument")}
    _insert(
        database,
        "timeline_example",
        ({**row, "is_published_here": yes_no(row["example"] in here)} for row in examples),
    )


def _fill_exhibits(
    database: Database, exhibits: Iterable[ExhibitFile], captions: Mapping[str, str]
) -> None:
    for exhibit in exhibits:
        _insert(
            database,
            "exhibit",
            [
                {
                    "sha256": exhibit.sha256,
                    "caption": captions.get(exhibit.sha256, "An exhibit without a caption"),
                    "media_type": exhibit.media_type,
                    "size_bytes": len(exhibit.content),
                }
            ],
        )
        _insert(
            database,
            "exhibit_file",
            [
                {
                    "sha256": exhibit.sha256,
                    "content": exhibit.content,
                    "thumbnail": exhibit.thumbnail,
                }
            ],
        )
    # A line may point to a file that is kept back: its name stands, without the file.
    kept_back = database.query(
        "select distinct exhibit from line_exhibit"
        " where exhibit not in (select sha256 from exhibit) order by exhibit"
    )
    _insert(
        database,
        "exhibit",
        [
            {
                "sha256": row["exhibit"],
                "caption": captions.get(row["exhibit"], "An exhibit without a caption"),
                "media_type": "not published",
                "size_bytes": 0,
            }
            for row in kept_back
        ],
    )


def _pack(pack: PackFile) -> Row:
    return {
        "id": pack.pack,
        "title": pack.title,
        "version": pack.version,
        "invented": yes_no(pack.invented),
        "licence": pack.licence,
        "note": pack.note,
    }


def _sections(pack: PackFile) -> Iterator[tuple[str, Reference]]:
    for section in PACK_SECTIONS:
        for row in getattr(pack, section):
            if isinstance(row, Reference):
                yield section, row


def _pack_rows(pack: PackFile, say_row: Callable[[str, Reference], str]) -> Iterator[Row]:
    for section, row in _sections(pack):
        begins, ends = (row.begins, row.ends) if isinstance(row, Timeline) else (None, None)
        yield {
            "id": f"{pack.pack}/{row.id}",
            "pack": pack.pack,
            "section": section,
            "sentence": say_row(pack.pack, row),
            "source": row.source,
            "confidence": row.confidence,
            "n": row.n,
            "is_practice": yes_no(section == "practices"),
            "begins": begins,
            "ends": ends,
            "position": row.position if isinstance(row, Timeline | Specification) else None,
        }


def _examples(pack: PackFile) -> list[Row]:
    # The serial number of an example invites theft as much as any other: it stays out.
    return [
        {
            "reference": f"{pack.pack}/{row.id}",
            "example": example.instrument,
            "source": example.source,
            "date": example.date,
        }
        for row in pack.timelines
        for example in row.examples
    ]


def _used_reference(row: ReferenceText) -> Row:
    return {
        "id": row.id,
        "pack": None,
        "section": row.section,
        "sentence": row.sentence,
        "source": row.source,
        "confidence": row.confidence,
        "n": row.n,
        "is_practice": yes_no(row.is_practice),
    }


def _reference_passage(row: Row) -> Row:
    return {
        "kind": "reference",
        "instrument": "",
        "title": row["id"],
        "text": f"{row['sentence']} {row['source']}",
        "href": reference_href(row["id"]),
    }


def _entry(entry: Entry) -> Row:
    return {
        "sequence": entry.sequence,
        "act": entry.act,
        "book_kind": entry.book_kind,
        "book": entry.book,
        "section": entry.section,
        "line": entry.line,
        "recorded_at": entry.recorded_at,
        "hash": entry.hash,
        "previous": entry.previous,
    }


def _refuse_dangling(connection: sqlite3.Connection) -> None:
    """Every link leads somewhere, or there is no site: a reader must be able to follow it."""
    dangling = connection.execute(
        'SELECT "table", parent, count(*), min(rowid) FROM pragma_foreign_key_check()'
        ' GROUP BY "table", parent ORDER BY "table", parent'
    ).fetchall()
    if not dangling:
        return
    told = "; ".join(
        f"{count} row(s) of {table} name a {parent} that is not there (the first is row {row})"
        for table, parent, count, row in dangling
    )
    raise PublicationError(f"The site was not written: {told}.")
