"""The evidence as a graph: every statement with what it stands on, from exhibit to finding.

Built from a report and its case alone. The words are those of :mod:`ledger.exchange.terms`. A
statement follows by one or several rule applications (any of them is enough); a rule application
takes premises and suppositions (all of them are needed); a line is told by its source. The first
rule application of a statement is the one that the report and the site show; others are found by
:mod:`ledger.exchange.alternatives` and marked ``is_reported`` false.

Nothing withheld enters: sentences are those of the report, fields of sources are read as they may
be shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

import networkx as nx

from ledger.exchange.alternatives import other_chains
from ledger.exchange.terms import EDGE_TERMS, GRAPH_FORMAT, NODE_TERMS, SUPPOSING
from ledger.findings import Finding, LineText, Report, SuppositionText
from ledger.models import Answer, Challenge, Line, Source, Work
from ledger.record.case import Case

EvidenceGraph: TypeAlias = "nx.MultiDiGraph[str]"
Value: TypeAlias = str | int | float | bool | None

LINE, REFERENCE, FINDING = "line:", "reference:", "finding:"
SUPPOSITION, STEP, POSITION = "supposition:", "step:", "position:"

KIND_OF_SECTION = {
    "exhibits": "exhibit",
    "sources": "source",
    "parts": "part",
    "questions": "question",
    "challenges": "challenge",
    "answers": "answer",
}


def graph_of(report: Report, case: Case) -> EvidenceGraph:
    """The evidence graph of a report on a case; the same graph for the same report and case."""
    graph: EvidenceGraph = nx.MultiDiGraph(
        format=GRAPH_FORMAT,
        instrument=report.instrument,
        name=report.name,
        sequence=report.sequence,
        invented=report.invented,
    )
    building = _Building(graph, report, case)
    building.add_nodes()
    building.add_edges()
    return graph


def days_as_text(days: Iterable[tuple[str | None, str | None]]) -> str:
    """Spans of days as intervals in the Extended Date/Time Format, parted by semicolons.

    >>> days_as_text([(None, "1951-07-31"), ("1954-02-09", "1954-02-09")])
    '../1951-07-31; 1954-02-09'
    """
    return "; ".join(
        first if first is not None and first == last else f"{first or '..'}/{last or '..'}"
        for first, last in days
    )


class _Building:
    """A graph while it is built; names are resolved as the report's own pages resolve them."""

    def __init__(self, graph: EvidenceGraph, report: Report, case: Case) -> None:
        self.graph = graph
        self.report = report
        self.case = case
        self.readings = {reading.id: reading for reading in report.readings}
        self.conflicts = {conflict.id: conflict for conflict in report.conflicts}
        self.accounts = {account.id: account for account in report.accounts}
        self.findings = {finding.id for finding in report.findings}
        self.told = findings_told(report)

    # -- nodes -------------------------------------------------------------------------------

    def node(self, name: str, kind: str, sentence: str, **fields: Value) -> None:
        """A node with the fields that it has; one that it can lack is left out while empty."""
        terms = NODE_TERMS[kind].fields
        kept = {f: value for f, value in fields.items() if value not in (None, "") or f in terms}
        self.graph.add_node(name, kind=kind, sentence=sentence, **kept)

    def add_nodes(self) -> None:
        for line in self.report.lines:
            self._add_line(line)
        for row in self.report.references:
            self.node(
                f"{REFERENCE}{row.id}",
                "reference statement",
                row.sentence,
                section=row.section,
                source=row.source,
                confidence=row.confidence,
                n=row.n,
                is_practice=row.is_practice,
            )
        for supposed in self.report.suppositions:
            self.node(
                f"{SUPPOSITION}{supposed.id}",
                "supposition",
                supposed.sentence,
                supposition_kind=supposed.kind,
                subject=supposed.subject,
                prior=supposed.prior,
                prior_from=supposed.prior_from,
                is_presumed=supposed.is_presumed,
            )
        for position in self.report.positions:
            sentence = f"{position.name}: {position.label}"
            self.node(f"{POSITION}{position.position}", "position", sentence)
        for finding in self.report.findings:
            self._add_finding(finding)

    def _add_line(self, line: LineText) -> None:
        kind = KIND_OF_SECTION.get(line.section, "assertion")
        fields: dict[str, Value] = {}
        recorded = self.case.lines.get(line.id)
        if recorded is not None and isinstance(recorded.line, Source):
            fields = {
                "source_kind": recorded.shown("kind"),
                "by": recorded.shown("by"),
                "date": recorded.shown("date"),
                "hand": recorded.shown("hand"),
            }
        elif recorded is not None and kind == "exhibit":
            fields = {"content_hash": recorded.content_hash}
        self.node(
            f"{LINE}{line.id}",
            kind,
            line.sentence,
            section=line.section,
            title=line.title,
            sequence=line.sequence,
            hash=line.hash,
            **fields,
        )

    def _add_finding(self, finding: Finding) -> None:
        name, told = f"{FINDING}{finding.id}", finding.id in self.told
        days = days_as_text(finding.days)
        if finding.id in self.readings:
            reading = self.readings[finding.id]
            self.node(
                name,
                "reading",
                finding.sentence,
                is_used=reading.is_used,
                is_plain=reading.is_plain,
                standing=reading.standing,
                is_told=told,
                days=days_as_text(reading.days),
            )
        elif finding.id in self.conflicts:
            change = self.conflicts[finding.id].is_recorded_change
            self.node(name, "conflict", finding.sentence, is_recorded_change=change, is_told=told)
        elif finding.id in self.accounts:
            account = self.accounts[finding.id]
            self.node(
                name,
                "account",
                finding.sentence,
                is_leading=account.is_leading,
                odds_note=account.odds_note,
                is_told=told,
            )
        else:
            kind, moment = finding.kind, finding.moment
            self.node(
                name,
                "finding",
                finding.sentence,
                finding_kind=kind,
                is_told=told,
                moment=moment,
                days=days,
            )

    # -- edges -------------------------------------------------------------------------------

    def edge(self, tail: str, head: str, kind: str, place: int = 1) -> None:
        """An edge, once for its kind; a head that the report does not have is told as missing."""
        if head not in self.graph:
            self.graph.add_node(head, kind="missing", sentence=f"{head} is not in this report")
        if not self.graph.has_edge(tail, head, key=kind):
            bears = EDGE_TERMS[kind].bears
            self.graph.add_edge(tail, head, key=kind, kind=kind, bears=bears, place=place)

    def about(self, tail: str, *heads: str) -> None:
        """What is spoken of, as far as it is in the report."""
        for place, head in enumerate(heads, 1):
            if head in self.graph:
                self.edge(tail, head, "about", place)

    def node_of(self, premise: str) -> str:
        """The node that a premise names, by its short or its full id."""
        if premise in self.findings:
            return f"{FINDING}{premise}"
        if premise.startswith(LINE):
            short = premise.removeprefix(LINE).removeprefix(f"{self.report.instrument}/")
            return f"{LINE}{short}"
        return premise if premise.startswith(REFERENCE) else f"{FINDING}{premise}"

    def add_edges(self) -> None:
        for line in self.report.lines:
            self._tie_line(line)
        for supposed in self.report.suppositions:
            self.about(f"{SUPPOSITION}{supposed.id}", *self._subjects(supposed))
        for position in self.report.positions:
            if position.finding in self.findings:
                self.about(f"{FINDING}{position.finding}", f"{POSITION}{position.position}")
        for finding in self.report.findings:
            step = self._add_step(finding, finding.premises, finding.suppositions)
            self._tie_dependency(finding, step)
        by_id = {finding.id: finding for finding in self.report.findings}
        for end, chains in other_chains(self.report).items():
            for number, chain in enumerate(chains, 1):
                needed = dict.fromkeys(s for name in chain for s in by_id[name].suppositions)
                self._add_step(by_id[end], chain, tuple(needed), f".other.{number}")
        self._tie_accounts()
        for surprise in self.report.surprises:
            if surprise.explained_by is not None and surprise.id in self.findings:
                self.edge(
                    f"{FINDING}{surprise.id}", f"{LINE}{surprise.explained_by}", "explained by"
                )

    def _add_step(
        self,
        finding: Finding,
        premises: tuple[str, ...],
        suppositions: tuple[str, ...],
        suffix: str = "",
    ) -> str:
        step = f"{STEP}{finding.id}{suffix}"
        sentence = f"by the rule “{finding.rule}”"
        is_reported = not suffix
        self.node(step, "rule application", sentence, rule=finding.rule, is_reported=is_reported)
        self.edge(f"{FINDING}{finding.id}", step, "follows by", 1 if is_reported else 2)
        for place, premise in enumerate(premises, 1):
            self.edge(step, self.node_of(premise), "takes", place)
        supposing = SUPPOSING.get(finding.kind, "supposes")
        for place, name in enumerate(suppositions, 1):
            self.edge(step, f"{SUPPOSITION}{name}", supposing, place)
        return step

    def _tie_line(self, line: LineText) -> None:
        name = f"{LINE}{line.id}"
        if line.source:
            self.edge(name, f"{LINE}{line.source}", "told by")
        for place, exhibit in enumerate(line.exhibits, 1):
            if line.section != "exhibits":
                self.edge(name, f"{LINE}{exhibit}", "shown in", place)
        self.about(name, *(f"{POSITION}{position}" for position in line.positions))
        recorded = self.case.lines.get(line.id)
        if recorded is not None:
            self._tie_by_case(name, recorded.line)

    def _tie_by_case(self, name: str, about: Line) -> None:
        """What only the case tells: copies, what works explain, challenges and answers."""
        if isinstance(about, Source) and about.copied_from is not None:
            self.edge(name, f"{LINE}{about.copied_from}", "copied from")
        elif isinstance(about, Work):
            for explained in about.explains:
                self.edge(f"{LINE}{explained}", name, "explained by")
        elif isinstance(about, Challenge):
            for place, head in enumerate(self._doubted(about), 1):
                self.edge(name, head, "doubts", place)
        elif isinstance(about, Answer):
            self.edge(name, f"{LINE}{about.challenge}", "answers")
            heads = (*(f"{LINE}{each}" for each in about.lines), *map(self.node_of, about.findings))
            for place, head in enumerate(heads, 1):
                self.edge(name, head, "rests its answer on", place)

    def _doubted(self, challenge: Challenge) -> list[str]:
        lines = [*challenge.lines, *challenge.sources, *challenge.parts]
        lines += [challenge.mark] if challenge.mark is not None else []
        return [
            *(f"{LINE}{name}" for name in lines),
            *(f"{POSITION}{name}" for name in challenge.positions),
            *(f"{SUPPOSITION}{name}" for name in challenge.suppositions),
            *map(self.node_of, challenge.findings),
            *(f"{REFERENCE}{name}" for name in challenge.references),
        ]

    def _subjects(self, supposed: SuppositionText) -> list[str]:
        if supposed.kind == "sound":
            return [f"{LINE}{supposed.subject}"]
        if supposed.kind == "holds":
            return [f"{REFERENCE}{supposed.id.removeprefix('holds:').partition('#')[0]}"]
        names = supposed.subject.split("+") if supposed.kind == "joined" else [supposed.subject]
        together = [
            position.position
            for position in self.report.positions
            if position.fitting_event in names
        ]
        parts = [f"{LINE}{n.removeprefix('part/')}" for n in names if n.startswith("part/")]
        return [*(f"{POSITION}{name}" for name in (*names, *together)), *parts]

    def _tie_dependency(self, finding: Finding, step: str) -> None:
        """A row that rests on this very instrument is built on the lines it is held against."""
        if finding.kind != "dependency":
            return
        taken = [head for _, head, kind in self.graph.out_edges(step, keys=True) if kind == "takes"]
        for row in taken:
            for line in taken:
                if row.startswith(REFERENCE) and line.startswith(LINE):
                    self.edge(row, line, "built on")

    def _tie_accounts(self) -> None:
        for account in self.report.accounts:
            for conflict in self.report.conflicts:
                if set(account.gives_up) & set(conflict.suppositions):
                    self.edge(f"{FINDING}{account.id}", f"{FINDING}{conflict.id}", "settles")


def findings_told(report: Report) -> frozenset[str]:
    """The ids of the findings that the report gives to its reader, not only as steps to others."""
    ends = [end for dating in report.datings for end in (dating.not_before, dating.not_after)]
    found = [
        *report.conclusion,
        *report.identity,
        *(end.finding for end in ends),
        *(position.finding for position in report.positions),
        *(conflict.id for conflict in report.conflicts),
        *(swap.finding for swap in report.swaps),
        *(surprise.id for surprise in report.surprises),
    ]
    if report.chances is not None:
        found += [date.finding for date in report.chances.dates]
        found += [part.finding for part in report.chances.parts]
    return frozenset(name for name in found if name)
