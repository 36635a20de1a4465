"""How does this follow, down to what was seen and by whom?

Question answered: the support of one finding of a report, unfolded through readings, bounds and
rules to lines of the ledger, their sources and exhibits, and rows of reference packs.

Method: premises are followed depth first in their own order; a finding met before on the same
way is named and not unfolded again, and the circle is said.

Cost: linear in the support.

What it does not do: reason. Everything stands in the report.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.errors import UnknownName
from ledger.findings import Finding, LineText, ReferenceText, Report, SuppositionText


@dataclass(frozen=True, slots=True)
class Node:
    """One statement of a chain: what it is, what it says, and what stands under it."""

    id: str
    kind: str
    text: str
    place: str
    below: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Explanation:
    """A finding with its chain and everything that the chain supposes."""

    top: Node
    supposes: tuple[SuppositionText, ...]


class _Index:
    """Everything in a report by its id."""

    def __init__(self, report: Report) -> None:
        self.findings: Mapping[str, Finding] = {f.id: f for f in report.findings}
        self.lines: Mapping[str, LineText] = {line.id: line for line in report.lines}
        self.rows: Mapping[str, ReferenceText] = {row.id: row for row in report.references}
        self.supposed: Mapping[str, SuppositionText] = {s.id: s for s in report.suppositions}


def explain(report: Report, finding: str) -> Explanation:
    """The chain under a finding, down to entries, exhibits and reference rows.

    Raises:
        UnknownName: the report has no such finding.
    """
    index = _Index(report)
    if finding not in index.findings:
        raise UnknownName("finding", finding, tuple(index.findings))
    top = _unfold(index, finding, ())
    names: dict[str, None] = {}
    _gather(index, finding, names, set())
    return Explanation(top, tuple(index.supposed[name] for name in names if name in index.supposed))


def _gather(index: _Index, name: str, names: dict[str, None], seen: set[str]) -> None:
    found = index.findings.get(name)
    if found is None or name in seen:
        return
    seen.add(name)
    for supposition in found.suppositions:
        names.setdefault(supposition)
    for premise in found.premises:
        _gather(index, premise, names, seen)


def _unfold(index: _Index, name: str, above: tuple[str, ...]) -> Node:
    kind, _, rest = name.partition(":")
    if kind == "line" and rest in index.lines:
        return _line(index, index.lines[rest])
    if kind == "reference" and rest in index.rows:
        return _row(index.rows[rest])
    found = index.findings.get(name)
    if found is None:
        return Node(name, "missing", f"{name} is not in this report", "")
    if name in above:
        return Node(name, "circle", f"{found.sentence} (rests on itself here)", "")
    below = tuple(_unfold(index, premise, (*above, name)) for premise in found.premises)
    return Node(name, found.kind, found.sentence, f"by the rule “{found.rule}”", below)


def _line(index: _Index, line: LineText) -> Node:
    place = f"entry {line.sequence} ({line.hash[:12]})"
    below: list[Node] = []
    source = index.lines.get(line.source or "")
    if source is not None:
        below.append(
            Node(
                f"line:{source.id}",
                "source",
                source.sentence,
                f"entry {source.sequence} ({source.hash[:12]})",
            )
        )
    for exhibit in line.exhibits:
        shown = index.lines.get(exhibit)
        if shown is not None:
            below.append(
                Node(
                    f"line:{exhibit}",
                    "exhibit",
                    shown.sentence,
                    f"entry {shown.sequence} ({shown.hash[:12]})",
                )
            )
    return Node(f"line:{line.id}", "line", line.sentence, place, tuple(below))


def _row(row: ReferenceText) -> Node:
    sample = f", n={row.n}" if row.n is not None else ""
    return Node(
        f"reference:{row.id}",
        "reference",
        row.sentence,
        f"{row.source}; confidence {row.confidence}{sample}",
    )
