"""Commands of the bench: to begin, to print what to look at, to take in what was found."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from ledger import reporting, workflow
from ledger.basis.modelfaults import fitted
from ledger.basis.yamltext import Place, YamlTree
from ledger.bench.exhibits_in import add_exhibits
from ledger.bench.first_steps import start_folder
from ledger.bench.forms import PARTS
from ledger.bench.mapping import mapping_beside
from ledger.bench.mapping_draft import draft_mapping
from ledger.bench.photographs_in import PhotographsRead, exhibits_of, read_photographs, told
from ledger.bench.plan import plan
from ledger.bench.recorded import erased_fields, recorded_sheet
from ledger.bench.row_ids import RowIds, id_part
from ledger.bench.spreadsheet_in import is_spreadsheet, read_spreadsheet
from ledger.bench.spreadsheet_out import Offer, spreadsheet, write_spreadsheet
from ledger.bench.tables import read_tables
from ledger.bench.worksheet import worksheet as worksheet_page
from ledger.commands.options import LEDGER_OPTION, entries_of
from ledger.errors import Fault, FaultsFound
from ledger.knowledge.packs import Packs
from ledger.models import SECTIONS, BenchSheet, Instrument
from ledger.record.case import case_at
from ledger.record.sheet import SheetRead
from ledger.record.store import Ledger


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=".")
@click.option("--kind", prompt="Kind of instrument", help="See the command catalogue.")
@click.option("--name", prompt="What a reader will see as its name", help="Of the instrument.")
@click.option("--id", "own_id", help="A short name of its own. [default: made from the name]")
@click.option("--invented", is_flag=True, help="It is an example, not a real object.")
@click.option("--yaml", "as_sheet", is_flag=True, help="A sheet of YAML, not a spreadsheet.")
@LEDGER_OPTION
def start(folder: Path, ledger_path: Path, own_id: str | None, **about: str | bool) -> None:
    """Begin the record of an instrument in a FOLDER of its own.

    A spreadsheet to fill in, a worksheet to print, a folder for pictures, and what to do first.
    """
    packs = reporting.known_packs(entries_of(ledger_path))
    kind, name = str(about["kind"]), str(about["name"])
    packs.catalogue(kind)
    instrument = _instrument(own_id or id_part(name), kind, name, invented=bool(about["invented"]))
    made = start_folder(folder, instrument, packs, as_sheet=bool(about["as_sheet"]))
    for path in made:
        click.echo(f"Made {path}")
    click.echo(f"What to do first stands in {made[2]}.")


@click.command()
@click.argument("subject", metavar="INSTRUMENT-OR-KIND")
@click.option("--html", type=click.Path(path_type=Path), help="Where to write the page to print.")
@click.option("--xlsx", type=click.Path(path_type=Path), help="Where to write the spreadsheet.")
@click.option("--part", "parts", multiple=True, type=click.Choice(PARTS), help="Only this part.")
@LEDGER_OPTION
def worksheet(
    subject: str, html: Path | None, xlsx: Path | None, parts: tuple[str, ...], ledger_path: Path
) -> None:
    """Write what to look at as a page to print, and as a spreadsheet to fill in.

    For an instrument of the ledger, a sheet, or a kind of instrument. The spreadsheet of an
    instrument holds what is recorded of it; the page says how much, and never a reading.
    """
    packs = reporting.known_packs(entries_of(ledger_path))
    sheet = _sheet_of(subject, ledger_path, packs)
    kind = sheet.instrument.kind if sheet is not None else subject
    view = packs.catalogue(kind)
    lines = [] if sheet is None else [line for s in SECTIONS for line in getattr(sheet, s)]
    todo = plan(kind, packs, lines)
    if html is not None or xlsx is None:
        about = sheet.instrument if sheet is not None else None
        path = html or Path(f"{about.id if about is not None else kind}-worksheet.html")
        _write(path, worksheet_page(todo, view, parts or PARTS, about))
        click.echo(f"Wrote {path}: print it on A4 or Letter, or fill it in where it is.")
    if xlsx is not None:
        offer = Offer(view.names(), packs.trace_kind_names(), todo)
        write_spreadsheet(xlsx, spreadsheet(sheet, offer, with_questions=True))
        click.echo(f"Wrote {xlsx}: fill it in, then witnessmark record {xlsx}")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--look", is_flag=True, help="Only say what would be taken.")
@LEDGER_OPTION
def photographs(folder: Path, sheet: Path, ledger_path: Path, *, look: bool) -> None:
    """Put the pictures of a FOLDER into a SHEET as exhibits, each with what its name names.

    The SHEET is YAML or the spreadsheet that start wrote; it is kept as it was, beside it.
    """
    packs = reporting.known_packs(entries_of(ledger_path))
    (read,) = _sheets_in(sheet, packs)
    view = packs.catalogue(read.sheet.instrument.kind)
    known = {file.sha256: name for name, file in read.exhibits.items()}
    found = read_photographs(folder, sheet.parent, view, known)
    for sentence in told(found):
        click.echo(sentence)
    if not look:
        _take(found, read, sheet, packs)


def _take(found: PhotographsRead, read: SheetRead, sheet: Path, packs: Packs) -> None:
    new = found.new()
    if not new:
        click.echo(f"{sheet}: nothing new.")
        return
    ids = RowIds({line.id for section in SECTIONS for line in getattr(read.sheet, section)})
    view = packs.catalogue(read.sheet.instrument.kind)
    kept = add_exhibits(sheet, exhibits_of(new, view, ids))
    click.echo(f"{sheet}: {len(new)} put in; as it was before, it is kept as {kept}")


@click.command(name="map-columns")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--kind", required=True, help="Of what kind the instruments are.")
@click.option("--tab", default="", help="Which tab; without it, the first.")
@click.option("--heading-row", default=1, show_default=True, help="Where the headings stand.")
@LEDGER_OPTION
def map_columns(file: Path, kind: str, tab: str, heading_row: int, ledger_path: Path) -> None:
    """Write what the columns of a spreadsheet of your own mean, to be mended.

    The mapping is written beside the FILE and used from then on whenever it is checked or recorded.
    """
    view = reporting.known_packs(entries_of(ledger_path)).catalogue(kind)
    tables = read_tables(file, None, heading_row)
    table = next((each for each in tables if not tab or each.title == tab), None)
    if table is None or not table.headings:
        found = f"no headings in row {heading_row}" + (f" of {tab}" if tab else "")
        raise FaultsFound([Fault(str(file), 0, 0, "", found, "a row of headings")])
    path = mapping_beside(file)
    if path.exists():
        fault = Fault(str(path), 0, 0, "", "a file of that name", "none yet", "It was left alone")
        raise FaultsFound([fault])
    _write(path, draft_mapping(table, file.name, view))
    click.echo(f"Wrote {path}. Read it through, then witnessmark check {file}")


def _write(path: Path, text: str) -> None:
    """Put the text into a file, in place of what is there.

    Raises:
        FaultsFound: it cannot be written there.
    """
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        found = error.strerror or "a place that cannot be written to"
        advice = "Name a folder that is there and may be written to"
        raise FaultsFound(
            [Fault(str(path), 0, 0, "", found, "a place to write", advice)]
        ) from error


def _instrument(own_id: str, kind: str, name: str, *, invented: bool) -> Instrument:
    """The instrument that was told.

    Raises:
        FaultsFound: what was told does not make one.
    """
    told_of = {"id": own_id, "kind": kind, "name": name, "invented": "yes" if invented else "no"}
    typed = YamlTree("start", {**told_of}, {(): Place(0, 0)}, {})
    instrument, faults = fitted(typed, Instrument)
    if instrument is None:
        raise FaultsFound(faults)
    return instrument


def _sheets_in(path: Path, packs: Packs) -> tuple[SheetRead, ...]:
    """The one sheet of a file.

    Raises:
        FaultsFound: it has faults, or holds several instruments.
    """
    reads = (
        read_spreadsheet(path, packs) if is_spreadsheet(path) else workflow.one_sheet(path, packs)
    )
    if len(reads) > 1:
        found = f"{len(reads)} instruments"
        raise FaultsFound([Fault(str(path), 0, 0, "", found, "a file with one")])
    return tuple(reads)


def _sheet_of(subject: str, ledger_path: Path, packs: Packs) -> BenchSheet | None:
    """What is recorded of the subject, if it is an instrument or a sheet; None for a kind."""
    path = Path(subject)
    if path.suffix and path.is_file():
        (read,) = _sheets_in(path, packs)
        return read.sheet
    entries = entries_of(ledger_path)
    names: Mapping[str, str] = reporting.instruments(entries)
    if subject in names:
        with Ledger.open(ledger_path, read_only=True) as ledger:
            case = case_at(entries, subject, None, ledger.opened())
        for name in erased_fields(case):
            click.echo(f"Notice: {name} was erased and reads as withheld.")
        return recorded_sheet(case)
    if subject not in packs.kinds():
        packs.catalogue(subject)
    return None
