"""What is worked out about an instrument before it is published, beside its report.

What would be otherwise without a source, what needs a row, what a finding cannot do without, and
what followed otherwise after each of the last recordings. All of it is reasoned here, once more for
each source that something rests on; what publishes only writes it down. Sentences that were true of
the record once are told as far as they are about dates, states and chances; what a line said before
it was corrected is not told again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from ledger.exchange.differing import Change, difference_of
from ledger.exchange.graph import FINDING, LINE, REFERENCE, EvidenceGraph, graph_of
from ledger.exchange.histories import Batch, batches_of
from ledger.exchange.left_out import said_instead
from ledger.exchange.resting import resting_on
from ledger.exchange.support import decisive, kind_of
from ledger.exchange.terms import STATEMENTS
from ledger.findings import Report
from ledger.knowledge.packs import Packs
from ledger.models import Mark, NonValue
from ledger.publish.gathered import Gathered, RecordingTold, Withdrawal
from ledger.reason.reasoner import reason
from ledger.reason.suppose import Supposing, suppose
from ledger.reason.wording import counted, listing
from ledger.record.case import Case, case_at
from ledger.record.entries import Entry
from ledger.reporting import known_packs

RECORDINGS_COMPARED: Final = 3
RECORDINGS_TOLD: Final = 12
TOLD_IN_FULL: Final = frozenset({"end", "state", "chance"})
CAME_AND_WENT: Final = {
    "conflict": "conflict",
    "account": "leading account",
    "surprise": "surprise",
}
ACTS: Final = (("record", "recorded"), ("supersede", "corrected"), ("retract", "withdrawn"))


def gather(
    report: Report, entries: tuple[Entry, ...], opened: Mapping[str, Any] | None = None
) -> Gathered:
    """All of it for one instrument, from its report and all entries of the ledger."""
    case = case_at(entries, report.instrument, None, opened)
    graph = graph_of(report, case)
    return Gathered(
        withdrawals=tuple(_withdrawals(graph, case, known_packs(entries, None))),
        decisive={
            node.removeprefix(FINDING): decisive(graph, node)
            for node in graph
            if node.startswith(FINDING) and kind_of(graph, node) in STATEMENTS
        },
        recordings=recordings(entries, report.instrument, opened),
        seen=dict(_seen(case)),
    )


def _seen(case: Case) -> Iterator[tuple[str, str]]:
    """How legible each mark is recorded to be, and which nothing each line of none is."""
    for name, recorded in case.lines.items():
        if isinstance(recorded.line, Mark):
            yield name, recorded.line.legibility
        elif isinstance(recorded.line, NonValue):
            yield name, recorded.line.value


def _withdrawals(graph: EvidenceGraph, case: Case, packs: Packs) -> Iterator[Withdrawal]:
    """For every source and row, the statements given to the reader that stand on it.

    Without a source the case is reasoned about again, so that what falls is what would be
    otherwise, and what is said all the same is weakened. Of a row what falls is what needs it.
    """
    before = reason(case, packs)
    for node in graph:
        kind = kind_of(graph, node)
        if kind not in ("source", "reference statement"):
            continue
        found = resting_on(graph, (node,))
        name = node.removeprefix(LINE if kind == "source" else REFERENCE)
        falls = set(found.falls_told(graph))
        if kind == "source" and falls:
            after = suppose(case, packs, Supposing(without_sources=(name,)))
            falls = {told for told in falls if said_instead(before, after, told)}
        for told in (*found.falls, *found.weakened):
            if graph.nodes[told].get("is_told"):
                yield Withdrawal(
                    "source" if kind == "source" else "reference",
                    name,
                    told.removeprefix(FINDING),
                    "falls" if told in falls else "weakened",
                )


def recordings(
    entries: tuple[Entry, ...], instrument: str, opened: Mapping[str, Any] | None = None
) -> tuple[RecordingTold, ...]:
    """The last recordings that bear on the instrument, the first of them first.

    What followed otherwise is worked out for the last few, by reasoning as quickly as can be
    on what was known before and after each.
    """

    def known_after(sequence: int) -> Report:
        case = case_at(entries, instrument, sequence, opened)
        return reason(case, known_packs(entries, sequence))

    batches = batches_of(entries, instrument)[-RECORDINGS_TOLD:]
    told: list[RecordingTold] = []
    before: Report | None = None
    for number, batch in enumerate(batches):
        is_compared = number >= max(1, len(batches) - RECORDINGS_COMPARED)
        changes: tuple[str, ...] = ()
        if is_compared:
            before = before or known_after(batches[number - 1].last)
            after = known_after(batch.last)
            changes = tuple(_changes(difference_of(before, after).follows))
            before = after
        told.append(
            RecordingTold(
                batch.first, batch.last, batch.recorded_at, _sentence(batch), is_compared, changes
            )
        )
    return tuple(told)


def _changes(follows: Iterable[Change]) -> Iterator[str]:
    others: Counter[str] = Counter()
    for change in follows:
        if change.kind in TOLD_IN_FULL:
            yield change.sentence
        elif change.kind in CAME_AND_WENT:
            others[CAME_AND_WENT[change.kind]] += 1
    if others:
        told = listing(counted(number, noun) for noun, number in others.items())
        yield f"Came, went or changed: {told}."


def _sentence(batch: Batch) -> str:
    """How much was recorded; by whom is not told."""
    said = [f"of this instrument {_acts(batch.own)}"] if batch.own else []
    if batch.packs:
        said.append(f"of packs {_acts(batch.packs)}")
    if batch.erased:
        said.append(f"{counted(len(batch.erased), 'thing')} of this instrument erased for good")
    return f"{listing(said)[:1].upper()}{listing(said)[1:]}."


def _acts(entries: Iterable[Entry]) -> str:
    acts: Counter[str] = Counter(entry.act for entry in entries)
    return listing(f"{counted(acts[act], 'line')} {word}" for act, word in ACTS if acts[act])
