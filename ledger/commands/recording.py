"""Commands that record, and that say what is recorded."""

from __future__ import annotations

from pathlib import Path

import click

from ledger import workflow
from ledger.commands.options import LEDGER_OPTION, RECORDER_OPTION, entries_of, now
from ledger.record.store import Ledger


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
@RECORDER_OPTION
def record(files: tuple[Path, ...], ledger_path: Path, recorder: str) -> None:
    """Record bench sheets and packs; a sheet that is unchanged adds nothing.

    All files are checked first: if one has a fault, all faults are listed and nothing is
    recorded.
    """
    for done in workflow.record_files(ledger_path, files, recorder, now()):
        click.echo(_told(done))


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
def check(files: tuple[Path, ...], ledger_path: Path) -> None:
    """Check bench sheets and packs without recording them."""
    workflow.check_files(files, entries_of(ledger_path))
    click.echo("No fault found.")


@click.command()
@LEDGER_OPTION
def instruments(ledger_path: Path) -> None:
    """List the instruments in the ledger."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        for name, title in workflow.instruments(ledger.entries()).items():
            click.echo(f"{name}  {title}")


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
