"""Commands that take what other ledgers tell: look whether it is sound, and keep it beside."""

from __future__ import annotations

from pathlib import Path

import click

from ledger.basis.visible import visible
from ledger.commands.options import LEDGER_OPTION, now
from ledger.errors import WitnessmarkError
from ledger.exchange import theirs
from ledger.exchange.checking import troubles
from ledger.exchange.iris import DEFAULT_BASE, Quad
from ledger.exchange.rdf import read_quads

MOST_TOLD = 50


@click.command(name="check-graph")
@click.argument("file", type=click.Path(path_type=Path))
def check_graph(file: Path) -> None:
    """Check a graph from somebody else, and say in plain words what is wrong with it.

    FILE is TriG, N-Quads, Turtle, N-Triples or JSON-LD, as its ending says.
    """
    _read_sound(file)
    click.echo("No fault found.")


@click.command(name="take-in")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--as", "name", required=True, help="Whose it is, in small letters and hyphens.")
@click.option(
    "--base",
    default=DEFAULT_BASE,
    envvar="WITNESSMARK_BASE",
    show_default=True,
    help="The beginning of your own names, which nobody else may use.",
)
@LEDGER_OPTION
def take_in(file: Path, name: str, base: str, ledger_path: Path) -> None:
    """Take in what another ledger tells, as theirs, beside your own ledger.

    Nothing of it becomes an entry of yours or enters a report. It is refused where it contradicts
    what the same ledger told before. The command ask takes it in with --theirs.
    """
    quads = _read_sound(file)
    receipt = theirs.take_in(theirs.folder_beside(ledger_path), name, quads, base, now())
    click.echo(
        f"Kept as {receipt.name}: {receipt.quads} statements under {visible(receipt.base)}, as of entry "
        f"{receipt.sequence} ({receipt.hash[:16]}…). They are theirs; none is in your ledger."
    )


def _read_sound(file: Path) -> tuple[Quad, ...]:
    """The quads of a file in which nothing is wrong."""
    try:
        content = file.read_bytes()
    except OSError as error:
        raise click.ClickException(f"{file} cannot be read: {error.strerror}.") from error
    quads = read_quads(content, file.suffix, str(file))
    found = troubles(quads)
    if found:
        told = "\n".join(f"  {each}" for each in found[:MOST_TOLD])
        more = f"\n  and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else ""
        noun = "fault" if len(found) == 1 else "faults"
        raise WitnessmarkError(f"{len(found)} {noun} found in {file}:\n{told}{more}")
    return quads
