"""From a ledger to what it holds and to a report: what every command that only reads needs.

Nothing here prints, writes or reads the clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from pydantic import TypeAdapter

from ledger.basis.visible import visible_json
from ledger.disputes import Dispute
from ledger.findings import Report
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.reason.reasoner import reason
from ledger.record.case import Case, case_at, packs_at
from ledger.record.entries import Entry
from ledger.record.store import Ledger

# What makes a report: the usual one here; the full one is imported by those who ask for it.
Reasoner = Callable[[Case, Packs], Report]


def known_packs(entries: Iterable[Entry], sequence: int | None = None) -> Packs:
    """The program's own packs and those recorded in the ledger, as of ``sequence``."""
    return Packs.of((*built_in_packs(), *packs_at(entries, sequence)))


def instruments(entries: Iterable[Entry]) -> dict[str, str]:
    """The name of every instrument in the ledger by its id."""
    found: dict[str, str] = {}
    for entry in entries:
        if entry.book_kind == "instrument" and entry.section == "instrument":
            if entry.body is None:
                found.pop(entry.book, None)
            else:
                found[entry.book] = str(entry.body["name"])
    return found


def report_json(report: Report) -> str:
    """The report as JSON of the published schema, the same bytes for the same report."""
    return visible_json(TypeAdapter(Report).dump_json(report, indent=2).decode("utf-8"))


def weigh(
    ledger: Ledger, instrument: str, sequence: int | None = None, by: Reasoner = reason
) -> Report:
    """The report on an instrument as it was known after entry ``sequence`` (None: now).

    ``by`` makes it: the usual report, or :func:`ledger.reason.in_full.reason_in_full`.

    Raises:
        UnknownName: nothing of that instrument was recorded by then.
    """
    entries = ledger.entries()
    case = case_at(entries, instrument, sequence, ledger.opened())
    return by(case, known_packs(entries, sequence))


def written_from(report: Report, dispute: Dispute) -> tuple[int, ...]:
    """The entries before the report's own from which answers on record were written, each once."""
    entries = (answer.at_entry for answer in dispute.answers)
    return tuple(dict.fromkeys(e for e in entries if e is not None and e < report.sequence))


def claims_by_then(
    ledger: Ledger, report: Report, dispute: Dispute, sequence: int
) -> tuple[str, ...]:
    """Those of the claims in dispute that read otherwise after entry ``sequence``, as they did."""
    by_then = weigh(ledger, report.instrument, sequence)
    said = {finding.id: finding.sentence for finding in by_then.findings}
    return tuple(
        said[claim.finding]
        for claim in dispute.claims
        if said.get(claim.finding, claim.sentence) != claim.sentence
    )
