"""What a published site tells of a number that is withheld: the numbers of a table it fits.

The days that follow from a withheld number are published, and so is the table that reads it.
Whoever lays the one beside the other learns which numbers give those very days. Nothing is
changed by that; whoever publishes is told how far each number is narrowed down.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ledger.findings import Report
from ledger.knowledge.packs import Packs
from ledger.knowledge.serials import Numbers
from ledger.models import Mark
from ledger.record.case import Case
from ledger.references import SerialTable


def narrowed_down(report: Report, case: Case, packs: Packs) -> Iterator[str]:
    """A sentence for each withheld mark that a published table reads, in the order of the record."""
    tables = {row.id: Numbers.of(row) for row in packs.rows(SerialTable)}
    for name, recorded in case.lines.items():
        if not isinstance(recorded.line, Mark) or "text" not in recorded.withheld:
            continue
        read_by = {
            premise.removeprefix("reference:")
            for finding in report.findings
            if f"line:{name}" in finding.premises
            for premise in finding.premises
        }
        for table in (tables[each] for each in sorted(read_by & tables.keys())):
            yield (
                f"Narrowed down: the mark {case.instrument.id}/{name} is withheld, and the table "
                f"{table.row.id}, by which it is dated, is published. {_how_far(recorded.line, table)} "
                "Where that is too near, leave the mark or the table out before you publish."
            )


def _how_far(mark: Mark, table: Numbers) -> str:
    number = table.number(mark.text)
    if number is None:
        return "The days that are told fit only some of its numbers."
    fitting = numbers_alike(number, [(first, last) for first, last, _ in table.ranges])
    every = sum(last - first + 1 for first, last in _apart(table))
    return f"The days that are told fit {fitting:,} of its {every:,} numbers."


def _apart(table: Numbers) -> list[tuple[int, int]]:
    """The ranges of a table joined where they overlap, so that no number is counted twice."""
    joined: list[tuple[int, int]] = []
    for first, last in sorted((first, last) for first, last, _ in table.ranges):
        if joined and first <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    return joined


def numbers_alike(number: int, ranges: list[tuple[int, int]]) -> int:
    """How many numbers lie in the very ranges in which this one lies, itself among them.

    >>> numbers_alike(890, [(1, 900), (880, 1700)]), numbers_alike(5, [(1, 900), (880, 1700)])
    (21, 879)
    """
    within = {span for span in ranges if span[0] <= number <= span[1]}
    edges = sorted({edge for first, last in ranges for edge in (first, last + 1)})
    return sum(
        end - begin
        for begin, end in pairwise(edges)
        if within and {span for span in ranges if span[0] <= begin <= span[1]} == within
    )
