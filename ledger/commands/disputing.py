"""Commands for a dispute: what would follow otherwise, and what there is to say to a challenge."""

from __future__ import annotations

import gc
import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import click

from ledger import printing, reporting
from ledger.commands.options import AT_OPTION, LEDGER_OPTION
from ledger.disputes import Dispute
from ledger.errors import UnknownName
from ledger.exchange.differing import difference_of
from ledger.findings import Report
from ledger.reason.dispute_wording import sections_of
from ledger.reason.in_full import reason_in_full
from ledger.reason.reasoner import reason
from ledger.reason.standing import difference
from ledger.reason.suppose import Supposing, leaving_out, supposition_of
from ledger.reason.suppose import suppose as supposed
from ledger.record.case import case_at
from ledger.record.store import Ledger

ANSWER_FORMAT = "witnessmark answer 1"


@click.command()
@click.argument("instrument")
@click.option("--first", multiple=True, metavar="POSITION", help="What is there is the first.")
@click.option("--not-first", multiple=True, metavar="POSITION", help="It is not the first.")
@click.option("--leave-out", multiple=True, metavar="NAME", help="A line, source or pack/row.")
@click.option(
    "--read-as", multiple=True, nargs=2, metavar="MARK TEXT", help="A mark, read otherwise."
)
@click.option("--take", multiple=True, metavar="READING", help="One of the readings of a mark.")
@click.option("--holds", multiple=True, metavar="SUPPOSITION", help="Any supposition, by its id.")
@click.option("--fails", multiple=True, metavar="SUPPOSITION", help="It does not hold.")
@LEDGER_OPTION
@AT_OPTION
@click.option("--json", "as_json", is_flag=True, help="The whole report as it would be.")
def suppose(
    instrument: str,
    ledger_path: Path,
    sequence: int | None,
    *,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click read of the options
) -> None:
    """Say what would fall, and what would stand, were something of an INSTRUMENT otherwise.

    Nothing is recorded. For instance: witnessmark suppose my-mandolin --not-first tuners
    --leave-out label-date --read-as pot-code "912 638".
    """
    gc.disable()
    with Ledger.open(ledger_path, read_only=True) as ledger:
        entries = ledger.entries()
        case = case_at(entries, instrument, sequence, ledger.opened())
    packs = reporting.known_packs(entries, sequence)
    before = reason(case, packs)
    what = _what(before, leaving_out(case, given["leave_out"]), given)
    if what.is_nothing:
        raise click.UsageError("Say what is to be supposed: --help lists what can be.")
    after = supposed(case, packs, what)
    if as_json:
        click.echo(reporting.report_json(after))
        return
    places = (*given["first"], *given["not_first"])
    changed = difference_of(before, after)
    told = difference(before, after, places)
    # Which accounts lead is no difference where something is settled for the sake of argument.
    falls = [
        changed.with_reasons(each)
        for each in changed.follows
        if each.kind not in ("account", "conflict")
    ]
    printing.print_supposed(printing.console(), after, (*falls, *told.conflicts), told.stands)


def _what(report: Report, out: Supposing, given: dict[str, Any]) -> Supposing:
    """What the options suppose."""
    first = [supposition_of(report, name) for name in given["first"]]
    not_first = [supposition_of(report, name) for name in given["not_first"]]
    pairs: tuple[tuple[str, str], ...] = tuple((mark, text) for mark, text in given["read_as"])
    return replace(
        out,
        holds=tuple(dict.fromkeys((*first, *given["holds"]))),
        fails=tuple(dict.fromkeys((*not_first, *given["fails"]))),
        marks_read=pairs,
        readings=given["take"],
    )


@click.command()
@click.argument("challenge")
@LEDGER_OPTION
@AT_OPTION
@click.option("--json", "as_json", is_flag=True, help="The answer as JSON.")
def answer(challenge: str, ledger_path: Path, sequence: int | None, *, as_json: bool) -> None:
    """Answer a CHALLENGE line by line: what it rests on, what falls with it, what is conceded.

    A challenge is named INSTRUMENT/CHALLENGE, as in the sheet; the INSTRUMENT alone lists those
    on record.
    """
    gc.disable()
    instrument, slash, name = challenge.partition("/")
    with Ledger.open(ledger_path, read_only=True) as ledger:
        report = reporting.weigh(ledger, instrument, sequence, reason_in_full)
        if not slash:
            printing.print_challenges(printing.console(), report)
            return
        dispute = next((each for each in report.challenges if each.id == name), None)
        if dispute is None:
            raise UnknownName("challenge", name, [each.id for each in report.challenges])
        then = {
            entry: reporting.claims_by_then(ledger, report, dispute, entry)
            for entry in reporting.written_from(report, dispute)
        }
    if as_json:
        click.echo(json.dumps(_as_json(report, dispute, then), indent=2, ensure_ascii=False))
    else:
        printing.print_answer(printing.console(), report, sections_of(report, dispute, then))


def _as_json(
    report: Report, dispute: Dispute, then: dict[int, tuple[str, ...]]
) -> dict[str, object]:
    return {
        "format": ANSWER_FORMAT,
        "instrument": report.instrument,
        "name": report.name,
        "invented": report.invented,
        "sequence": report.sequence,
        "packs": [asdict(pack) for pack in report.packs],
        "challenge": asdict(dispute),
        "claims_then": [{"entry": entry, "claims": list(claims)} for entry, claims in then.items()],
    }
