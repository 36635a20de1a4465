"""Commands that ask the evidence graph and give it out."""

from __future__ import annotations

from pathlib import Path

import click

from ledger import reporting
from ledger.basis.visible import visible
from ledger.commands.options import AT_OPTION, LEDGER_OPTION
from ledger.commands.paragraphs import say
from ledger.exchange.bearing_text import bears_most, resting_text, support_text
from ledger.exchange.formats import FORMATS
from ledger.exchange.graph import EvidenceGraph, graph_of
from ledger.exchange.resting import named_thing, resting_on, sources_by
from ledger.findings import Report
from ledger.record.case import Case, case_at
from ledger.record.store import Ledger


@click.command()
@click.argument("instrument")
@click.option(
    "--format",
    "name",
    type=click.Choice(list(FORMATS)),
    required=True,
    help="; ".join(f"{name}: {each.says}" for name, each in FORMATS.items()) + ".",
)
@click.option("--out", type=click.Path(path_type=Path), help="The file to write. [default: print]")
@LEDGER_OPTION
@AT_OPTION
def export(
    instrument: str, name: str, out: Path | None, ledger_path: Path, sequence: int | None
) -> None:
    """Give out the evidence on an INSTRUMENT for other tools.

    Nothing withheld is in it. What the format cannot carry is said on the error stream.
    """
    report, case = weighed(ledger_path, instrument, sequence)
    exported = FORMATS[name].write(report, case)
    for loss in exported.losses:
        click.echo(visible(loss), err=True)
    if out is None:
        click.echo(exported.text, nl=False)
        return
    try:
        out.write_text(exported.text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise click.ClickException(f"{out} cannot be written: {error.strerror}.") from error
    click.echo(f"Written to {out}.")


@click.command()
@click.argument("finding")
@LEDGER_OPTION
@AT_OPTION
def support(finding: str, ledger_path: Path, sequence: int | None) -> None:
    """Say on what a FINDING stands: what it falls without, and what could stand in for what.

    A finding is named INSTRUMENT/FINDING, as for the command explain, which unfolds the chain.
    """
    instrument, slash, name = finding.partition("/")
    if not slash:
        raise click.ClickException(
            f"{finding!r} names no finding. Say INSTRUMENT/FINDING, such as "
            f"{finding}/completed.not-before.account.1; weigh --json lists them all."
        )
    say(support_text(_graph(ledger_path, instrument, sequence), name))


@click.command(name="rests-on")
@click.argument("instrument")
@click.argument("things", nargs=-1)
@click.option("--examiner", help="Everything by this person, as their sources name them.")
@LEDGER_OPTION
@AT_OPTION
def rests_on(
    instrument: str,
    things: tuple[str, ...],
    examiner: str | None,
    ledger_path: Path,
    sequence: int | None,
) -> None:
    """Say what of an INSTRUMENT's report rests on THINGS: lines, sources or rows of packs.

    They are named by their ids, rows as pack/row. Without any it lists the lines that bear most.
    """
    graph = _graph(ledger_path, instrument, sequence)
    named = [named_thing(graph, name) for name in things]
    named += sources_by(graph, examiner) if examiner is not None else ()
    say(resting_text(graph, resting_on(graph, named)) if named else bears_most(graph))


def weighed(ledger_path: Path, instrument: str, sequence: int | None) -> tuple[Report, Case]:
    """The report on an instrument with the case that it is on."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        report = reporting.weigh(ledger, instrument, sequence)
        return report, case_at(ledger.entries(), instrument, sequence, ledger.opened())


def _graph(ledger_path: Path, instrument: str, sequence: int | None) -> EvidenceGraph:
    return graph_of(*weighed(ledger_path, instrument, sequence))
