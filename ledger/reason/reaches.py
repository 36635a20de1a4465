"""How far does a reference row reach?

Question answered: for the rows beneath a disputed claim, from how many examples each was made, by
whom, how sharp its ends are, from how many sources its examples come, and whether it rests on the
very instrument.

Method: what the row itself says, and the findings of dependency.

Cost: linear in rows.

What it does not do: correct for how the examples were chosen; it says that nobody did.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from ledger.knowledge.packs import Row
from ledger.reason.disputing import REFERENCE, Matter
from ledger.reason.wording import counted
from ledger.references import SerialTable, Specification, Timeline


def reaches_of_rows(matter: Matter, beneath: tuple[str, ...]) -> Iterator[str]:
    """How far each reference row beneath the claims reaches, a sentence or two each."""
    named = [*beneath, *(f"{REFERENCE}{name}" for name in matter.challenge.line.references)]
    for name in dict.fromkeys(named):
        if not name.startswith(REFERENCE):
            continue
        row = matter.draft.packs.row(name.removeprefix(REFERENCE))
        if row is not None and isinstance(row.row, SerialTable | Timeline | Specification):
            yield _reach(row)
            if isinstance(row.row, Timeline) and row.row.examples:
                yield _sample(row)
    rows = {name for name in named if name.startswith(REFERENCE)}
    for finding in matter.report.findings:
        if finding.kind == "dependency" and rows & set(finding.premises):
            yield finding.sentence


def _reach(row: Row[Any]) -> str:
    what = "specification"
    sample = (
        f"made from {counted(row.row.n, 'example')}"
        if row.row.n is not None
        else "made from a number of examples that is not stated"
    )
    overlap = ""
    if isinstance(row.row, Timeline):
        what = "span of a feature"
        days = row.row.overlap_days
        overlap = f", with an overlap of {days} days" if days else ", with no overlap stated"
    if isinstance(row.row, SerialTable):
        what = "table of numbers"
        overlap = f", {_lap_of(row.row)}"
    return (
        f"The {what} “{row.id}” is a reconstruction {sample}{overlap} ({row.row.source}; confidence "
        f"{row.row.confidence}): a true example can lie outside it."
    )


def _lap_of(table: SerialTable) -> str:
    ordered = sorted(table.ranges, key=lambda each: (each.first, each.last))
    laps = sum(a.last >= b.first for a, b in pairwise(ordered))
    return f"{counted(laps, 'run')} of which overlap" if laps else "no runs of which overlap"


def _sample(row: Row[Timeline]) -> str:
    """How many sources the examples of a row come from, and that they were not drawn at random."""
    sources = Counter(each.source for each in row.row.examples)
    (most, many) = sources.most_common(1)[0]
    return (
        f"The {counted(len(row.row.examples), 'example')} named for “{row.id}” come from "
        f"{counted(len(sources), 'source')}, {many} of them from “{most}”; examples from one source "
        "are one group, and how they were chosen is not corrected for."
    )
