"""Commands that say what follows from a record."""

from __future__ import annotations

import gc
from importlib import import_module
from pathlib import Path

import click

from ledger import printing, reporting
from ledger.commands.options import AT_OPTION, LEDGER_OPTION
from ledger.reason.explain import explain as unfolded
from ledger.reason.reasoner import reason
from ledger.record.store import Ledger


@click.command()
@click.argument("instrument")
@LEDGER_OPTION
@click.option("--json", "as_json", is_flag=True, help="The whole report, in the published schema.")
@AT_OPTION
@click.option(
    "--full",
    "is_full",
    is_flag=True,
    help="Also what each line is worth, how far every starting value of practice sways it, what to "
    "examine next, and what there is to say to each challenge.",
)
def weigh(
    instrument: str, ledger_path: Path, sequence: int | None, *, as_json: bool, is_full: bool
) -> None:
    """Say what follows from the record of an INSTRUMENT."""
    # It runs once and ends: what is built is needed to the end, so nothing is worth collecting.
    gc.disable()
    with Ledger.open(ledger_path, read_only=True) as ledger:
        report = reporting.weigh(ledger, instrument, sequence, by=_reasoner(is_full=is_full))
    if as_json:
        click.echo(reporting.report_json(report))
    else:
        printing.print_report(printing.console(), report)


def _reasoner(*, is_full: bool) -> reporting.Reasoner:
    """What makes the report; the usual one has to be quick and never imports the full one."""
    if not is_full:
        return reason
    found: reporting.Reasoner = import_module("ledger.reason.in_full").reason_in_full
    return found


@click.command()
@click.argument("finding")
@LEDGER_OPTION
@AT_OPTION
def explain(finding: str, ledger_path: Path, sequence: int | None) -> None:
    """Unfold a FINDING down to entries, exhibits and reference rows.

    A finding is named INSTRUMENT/FINDING, as the report and the site name it; for instance
    my-mandolin/completed.not-before.account.1 or my-mandolin/state.tuners.
    """
    instrument, slash, name = finding.partition("/")
    if not slash:
        raise click.ClickException(
            f"{finding!r} names no finding. Say INSTRUMENT/FINDING, such as "
            f"{finding}/completed.not-before.account.1; weigh --json lists them all."
        )
    with Ledger.open(ledger_path, read_only=True) as ledger:
        report = reporting.weigh(ledger, instrument, sequence)
    printing.print_explanation(printing.console(), unfolded(report, name))
