"""Commands that ask the catalogues and packs."""

from __future__ import annotations

import json
from pathlib import Path

import click

from ledger import printing, reporting, workflow
from ledger.basis.visible import visible, visible_json
from ledger.commands.options import LEDGER_OPTION, entries_of
from ledger.knowledge import marks, readings


@click.command()
@click.argument("kind", required=False)
@LEDGER_OPTION
def catalogue(kind: str | None, ledger_path: Path) -> None:
    """List the words a bench sheet may use.

    With a KIND of instrument its positions; without one the kinds and the kinds of trace.
    """
    packs = reporting.known_packs(entries_of(ledger_path))
    if kind is None:
        printing.print_words(printing.console(), packs)
    else:
        printing.print_catalogue(printing.console(), packs.catalogue(kind))


@click.command(name="read-mark")
@click.argument("text")
@click.option("--kind", help="Of what kind of instrument; see the command catalogue.")
@click.option("--position", help="Where the mark is; needs --kind.")
@click.option("--maker", default="", help="Whose tables to try, besides those of no maker.")
@click.option("--model", default="", help="Whose tables of one model to try; needs --maker.")
@click.option("--scheme", help="Read it by this scheme only, as in a sheet.")
@LEDGER_OPTION
@click.option("--json", "as_json", is_flag=True, help="The candidates as JSON.")
def read_mark(text: str, ledger_path: Path, *, as_json: bool, **where: str | None) -> None:
    """Say every way in which a mark can be read, why, and the bound each would give.

    TEXT is the mark glyph for glyph: ? for one that cannot be read, [38] for either of two; for
    instance "134 4?8". Nothing is recorded. Packs recorded in the ledger are used as well.
    """
    packs = reporting.known_packs(entries_of(ledger_path))
    kind, position = where["kind"], where["position"]
    if position is not None and kind is None:
        raise click.UsageError("--position says where on an instrument: say --kind as well.")
    if kind is not None and position is not None:
        workflow.check_position(packs, kind, position)
    made = marks.Made(where["maker"] or "", where["model"] or "")
    found = marks.read_mark(text, packs, kind, position, made, where["scheme"])
    values = marks.read_value(text, packs)
    if as_json:
        said = readings.readings_as_dict(text, found, values)
        click.echo(visible_json(json.dumps(said, indent=2, ensure_ascii=False)))
    else:
        click.echo(visible(readings.readings_as_text(text, found, values)))
