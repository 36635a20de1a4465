"""Commands that record, and that say what is recorded."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ledger import reporting, workflow
from ledger.basis.visible import visible
from ledger.bench.spreadsheet_in import is_spreadsheet, read_spreadsheet
from ledger.bench.tables import count_rows
from ledger.commands.options import LEDGER_OPTION, RECORDER_OPTION, entries_of, now
from ledger.knowledge.packs import Packs
from ledger.record.sheet import SheetRead
from ledger.record.store import Ledger

MAPPING_OPTION = click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    help="What the columns of a spreadsheet of your own mean; see map-columns.",
)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
@RECORDER_OPTION
@MAPPING_OPTION
def record(files: tuple[Path, ...], ledger_path: Path, recorder: str, mapping: Path | None) -> None:
    """Record bench sheets and packs; a sheet that is unchanged adds nothing.

    A sheet is YAML, or a spreadsheet: the one that worksheet or start wrote, filled in, or one of
    your own with a mapping. All files are checked first: if one has a fault, all faults are listed and nothing is
    recorded.
    """
    read = _reader(mapping)
    for done in workflow.record_files(ledger_path, files, recorder, now(), read):
        click.echo(_told(done))
        _tell_notices(done.notices)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
@MAPPING_OPTION
def check(files: tuple[Path, ...], ledger_path: Path, mapping: Path | None) -> None:
    """Check bench sheets and packs without recording them."""
    checked = workflow.check_files(files, entries_of(ledger_path), _reader(mapping))
    click.echo("No fault found.")
    for each in checked:
        _tell_notices(each.notices)


@click.command()
@LEDGER_OPTION
def instruments(ledger_path: Path) -> None:
    """List the instruments in the ledger."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        for name, title in reporting.instruments(ledger.entries()).items():
            click.echo(f"{name}  {visible(title)}")


def _reader(mapping: Path | None) -> workflow.Reader:
    """Reads a sheet of YAML or a spreadsheet, showing how far it has got with the latter."""

    def read(path: Path, known: Packs | None) -> tuple[SheetRead, ...]:
        if not is_spreadsheet(path):
            return workflow.one_sheet(path, known)
        if not sys.stderr.isatty():
            return read_spreadsheet(path, known, mapping)
        label = f"Reading {path.name}"
        with click.progressbar(length=count_rows(path), label=label, file=sys.stderr) as bar:
            return read_spreadsheet(path, known, mapping, bar.update)

    return read


def _tell_notices(notices: tuple[str, ...]) -> None:
    for notice in notices:
        click.echo(f"Notice: {visible(notice)}")


def _told(done: workflow.Recording) -> str:
    if not done.changed:
        return f"{done.file}: nothing new; {done.book.id} stands as recorded."
    parts = [
        f"{count} {word}"
        for count, word in (
            (done.recorded, "recorded"),
            (done.superseded, "superseded"),
            (done.retracted, "retracted"),
        )
        if count
    ]
    return f"{done.file}: {done.book.kind} {done.book.id}: {', '.join(parts)}."
