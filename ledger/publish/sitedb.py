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
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from ledger.errors import PublicationError
from ledger.findings import Report
from ledger.holdings import schema_file
from ledger.publish.chance_rows import chance_rows, gathered_rows
from ledger.publish.drawn_pages import draw_pages
from ledger.publish.gathered import Gathered
from ledger.publish.pack_rows import (
    pack_body,
    pack_examples,
    pack_row,
    pack_rows,
    reference_passage,
    used_reference,
)
from ledger.publish.placing import (
    DATABASE_FILE,
    METADATA_FILE,
    SETTINGS_FILE,
    put_in_place,
    refuse_foreign,
    write_seal,
)
from ledger.publish.question_pages import MOST_ANSWERED
from ledger.publish.register_answers import without_answers
from ledger.publish.report_rows import Row, exhibit_captions, rows_of
from ledger.publish.searching import KINDS
from ledger.publish.tables import Table, metadata_of, read_tables
from ledger.publish.writing import Writer
from ledger.record.entries import Entry
from ledger.references import PackFile, Reference

TITLE = "Documented instruments"
NO_CAPTION = "An exhibit without a caption"
NOT_PUBLISHED = "not published"

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
    "max_returned_rows": MOST_ANSWERED,
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
    finished files from the SHA-256 of each by its name. ``beside`` gives what was gathered about
    the instrument of a report.
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
    beside: Callable[[Report], Gathered] | None = None


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
        connection.execute(
            "CREATE TEMP TABLE waiting AS SELECT kind, instrument, title, text, href FROM passage"
        )
        _fill(connection, publication)
        _refuse_dangling(connection)
        _order_passages(connection)
        draw_pages(connection)
        connection.commit()
        database = Database(connection)
        passages = database.table("passage")
        passages.enable_fts(
            ["title", "text"], fts_version="FTS5", tokenize="porter unicode61 remove_diacritics 2"
        )
        passages.optimize()
        connection.commit()
        database.vacuum()
    finally:
        connection.close()


def _order_passages(connection: sqlite3.Connection) -> None:
    """Put the passages in the order in which they are of use: each kind is one run of rows.

    A search for common words can then stop early and has the best kinds, and one kind alone is
    looked through without the others.
    """
    for kind in KINDS:
        connection.execute(
            "INSERT INTO passage (kind, instrument, title, text, href)"
            " SELECT kind, instrument, title, text, href FROM waiting WHERE kind = ?"
            " ORDER BY rowid",
            (kind,),
        )
    connection.execute("DROP TABLE waiting")
    connection.execute(
        "INSERT INTO passage_run (kind, first, last)"
        " SELECT kind, min(id), max(id) FROM passage GROUP BY kind ORDER BY min(id)"
    )


def _fill(connection: sqlite3.Connection, publication: Publication) -> None:
    writer = Writer(connection)
    writer.insert("head", [asdict(publication.head)])
    if publication.proof is not None:
        body = json.dumps(publication.proof, sort_keys=True, separators=(",", ":"))
        size = publication.proof["checkpoint"]["size"]
        writer.insert("proof", [{"size": size, "body": body}])
    writer.insert(
        "rule",
        ({"id": name, "sentence": text} for name, text in publication.rules.items()),
    )
    references: set[str] = set()
    examples: list[Row] = []
    for place, pack in enumerate(publication.packs):
        writer.insert("pack", [pack_row(pack)])
        writer.insert("pack_body", [pack_body(pack, place)])
        rows = list(pack_rows(pack, publication.say_row))
        references.update(row["id"] for row in rows)
        writer.insert("reference", rows)
        writer.insert("waiting", map(reference_passage, rows))
        examples += pack_examples(pack)
    writer.insert("entry", map(_entry, publication.entries))
    _fill_reports(writer, publication, references)
    writer.insert("timeline_example", examples)
    connection.execute(
        "UPDATE timeline_example SET is_published_here = 'yes'"
        " WHERE example IN (SELECT id FROM instrument)"
    )
    _fill_exhibits(writer, connection, publication.exhibits)


def _fill_reports(writer: Writer, publication: Publication, references: set[str]) -> None:
    """Write the reports one at a time, with what was gathered beside each."""
    for report in map(without_answers, publication.reports):
        writer.insert(
            "rule",
            (
                {"id": name, "sentence": name}
                for name in sorted({finding.rule for finding in report.findings})
            ),
        )
        missing = [row for row in report.references if row.id not in references]
        references.update(row.id for row in missing)
        writer.insert("reference", map(used_reference, missing))
        beside = Gathered() if publication.beside is None else publication.beside(report)
        for found in (
            rows_of(report, beside.seen),
            chance_rows(report),
            gathered_rows(report, beside),
        ):
            for table, rows in found.items():
                writer.insert("waiting" if table == "passage" else table, rows)
        body = json.dumps(asdict(report), ensure_ascii=False, separators=(",", ":"))
        writer.insert("report", [{"instrument": report.instrument, "body": body}])
        writer.insert("exhibit", map(_kept_back, exhibit_captions(report).items()))


def _kept_back(named: tuple[str, str]) -> Row:
    """A file by its name and caption, as long as its content is not there."""
    digest, caption = named
    return {
        "sha256": digest,
        "caption": caption,
        "media_type": NOT_PUBLISHED,
        "size_bytes": 0,
    }


def _fill_exhibits(
    writer: Writer, connection: sqlite3.Connection, exhibits: Iterable[ExhibitFile]
) -> None:
    for exhibit in exhibits:
        writer.insert("exhibit", [_kept_back((exhibit.sha256, NO_CAPTION))])
        connection.execute(
            "UPDATE exhibit SET media_type = ?, size_bytes = ? WHERE sha256 = ?",
            (exhibit.media_type, len(exhibit.content), exhibit.sha256),
        )
        writer.insert(
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
    connection.execute(
        "INSERT OR IGNORE INTO exhibit (sha256, caption, media_type, size_bytes)"
        " SELECT DISTINCT exhibit, ?, ?, 0 FROM line_exhibit ORDER BY exhibit",
        (NO_CAPTION, NOT_PUBLISHED),
    )


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
