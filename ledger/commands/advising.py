"""The command that says what to examine next."""

from __future__ import annotations

import gc
import json
from collections.abc import Iterator
from dataclasses import asdict
from itertools import groupby
from pathlib import Path

import click

from ledger import printing, reporting
from ledger.advice import Advice
from ledger.commands.options import AT_OPTION, LEDGER_OPTION
from ledger.reason.next_steps import NextSteps, next_steps
from ledger.record.case import case_at
from ledger.record.store import Ledger

ADVICE_FORMAT = "witnessmark advice 1"
MOST_SHOWN = 5
CLASSES = {
    "look": "To be seen without opening anything",
    "open": "To be seen once it is opened",
    "remove": "To be seen once something is taken off",
    "alter": "Not to be seen without altering it: named, not proposed",
}


@click.command()
@click.argument("instrument")
@click.option(
    "--settle",
    metavar="date|POSITION",
    help="What would settle the date to within a year, or whether a part is the first.",
)
@click.option("--all", "is_all", is_flag=True, help="Every examination that tells anything.")
@LEDGER_OPTION
@AT_OPTION
@click.option("--json", "as_json", is_flag=True, help="The advice as JSON.")
def examine_next(
    instrument: str,
    ledger_path: Path,
    sequence: int | None,
    settle: str | None,
    *,
    is_all: bool,
    as_json: bool,
) -> None:
    """Say which examinations of an INSTRUMENT would tell most.

    What each outcome would change is told with it; the least invasive come first. Nothing is
    recorded. For instance: witnessmark examine-next
    my-mandolin --settle date.
    """
    gc.disable()
    with Ledger.open(ledger_path, read_only=True) as ledger:
        entries = ledger.entries()
        case = case_at(entries, instrument, sequence, ledger.opened())
    packs = reporting.known_packs(entries, sequence)
    found = next_steps(case, packs, settle)
    if as_json:
        click.echo(json.dumps(_as_json(instrument, found), indent=2, ensure_ascii=False))
        return
    out = printing.console()
    for line in _lines(found, MOST_SHOWN if not is_all else None):
        out.print(line, markup=False)
    told = dict.fromkeys(name for each in found.advice for name in each.cautions)
    for row in packs.cautions(told):
        out.print(f"Caution: {row.row.says} {row.row.defer_to}", markup=False)


def _lines(found: NextSteps, most: int | None) -> Iterator[str]:
    """The advice as text: the proposal, then by how far one has to go."""
    if found.note:
        yield found.note
    if found.proposal is not None:
        yield found.proposal.sentence
    for heading, group in groupby(found.advice, key=_heading):
        advice = list(group)
        yield f"\n{heading}"
        for each in advice[:most]:
            yield f"- {each.sentence}"
            yield from (f"    {outcome.sentence}" for outcome in each.outcomes)
        if len(advice) > (most or len(advice)):
            yield f"  and {len(advice) - (most or 0)} more, which tell less (--all)."
    if found.advice:
        yield (
            "\nBits are expected losses of uncertainty under the starting values of practice; one "
            "bit is as much as to learn the fall of a coin."
        )


def _heading(advice: Advice) -> str:
    return CLASSES[advice.reach] if advice.is_to_be_had else "If it turns up"


def _as_json(instrument: str, found: NextSteps) -> dict[str, object]:
    return {
        "format": ADVICE_FORMAT,
        "instrument": instrument,
        "note": found.note,
        "advice": [asdict(each) for each in found.advice],
        "proposal": None if found.proposal is None else asdict(found.proposal),
    }
