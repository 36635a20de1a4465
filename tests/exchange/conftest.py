"""What the tests of exchange share: the samples weighed, small graphs, small cases."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import networkx as nx
import pytest

from ledger import reporting, workflow
from ledger.exchange.graph import EvidenceGraph, graph_of
from ledger.exchange.terms import EDGE_TERMS
from ledger.findings import Report
from ledger.holdings import sample_data
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.reasoner import reason
from ledger.record.case import Case, Recorded, case_at, withheld_fields
from ledger.record.store import Ledger
from ledger.references import PackFile

SAMPLES = ("dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")


@dataclass(frozen=True)
class Weighed:
    """A report with its case and their graph."""

    report: Report
    case: Case
    packs: Packs
    graph: EvidenceGraph


@pytest.fixture(scope="session")
def sample_ledger(tmp_path_factory) -> Path:
    """A ledger with all the sample data. No test adds to it."""
    path = tmp_path_factory.mktemp("samples") / "ledger.db"
    files = sorted(sample_data().glob("*.yaml"))
    workflow.record_files(path, files, "examiner", "2026-03-02T10:00:00Z")
    return path


@pytest.fixture(scope="session")
def samples(sample_ledger) -> Mapping[str, Weighed]:
    """Every sample, weighed."""
    found: dict[str, Weighed] = {}
    with Ledger.open(sample_ledger, read_only=True) as ledger:
        for name in SAMPLES:
            report = reporting.weigh(ledger, name)
            case = case_at(ledger.entries(), name, None, ledger.opened())
            packs = reporting.known_packs(ledger.entries())
            found[name] = Weighed(report, case, packs, graph_of(report, case))
    return found


@pytest.fixture(params=SAMPLES)
def sample(request, samples) -> Weighed:
    """Each sample in turn, weighed."""
    return samples[request.param]


@pytest.fixture(scope="session")
def weigh_lines() -> Callable[..., Weighed]:
    """A small invented case of the given lines and pack rows, weighed."""

    def weighed(
        pack: dict[str, Any] | None = None,
        kind: str = "solid-body-electric",
        **sections: list[dict[str, Any]],
    ) -> Weighed:
        head = {"id": "tiny", "kind": kind, "name": "A tiny case", "maker": "M", "invented": "yes"}
        bench = {"id": "bench", "kind": "examination", "title": "On the bench", "by": "A"}
        sources = [{**bench, "date": "2026-01-05"}, *sections.pop("sources", [])]
        given = {
            section: [
                {"source": "bench", **line} if "source" in SECTIONS[section].model_fields else line
                for line in lines
            ]
            for section, lines in sections.items()
        }
        sheet = BenchSheet.model_validate(
            {"bench_sheet": "1", "instrument": head, "sources": sources, **given}
        )
        case = _case_of(sheet)
        packs = _packs_of(pack)
        report = reason(case, packs)
        return Weighed(report, case, packs, graph_of(report, case))

    return weighed


def _packs_of(pack: dict[str, Any] | None) -> Packs:
    if pack is None:
        return Packs.of(built_in_packs())
    own = {"source": "common practice, no source (invented)", "confidence": "high"}
    rows = {section: [{**own, **row} for row in given] for section, given in pack.items()}
    head = {"pack": "tiny-pack", "title": "Tiny", "version": "1", "invented": "yes"}
    return Packs.of((*built_in_packs(), PackFile.model_validate({**head, **rows})))


def _case_of(sheet: BenchSheet) -> Case:
    lines: dict[str, Recorded[Any]] = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            sequence = len(lines) + 2
            withheld = withheld_fields(section, line)
            lines[line.id] = Recorded(line, section, sequence, f"{sequence:064x}", withheld)
    return Case(sheet.instrument, len(lines) + 1, lines)


@pytest.fixture(scope="session")
def small_graph() -> Callable[..., EvidenceGraph]:
    """A graph of statements, each with its steps, each step with the names that it needs.

    Names that begin with S are statements, with L lines, with R rows, with P suppositions and
    with C sources; ``told`` gives lines their sources, ``copied`` sources theirs.
    """
    kinds = {"S": "finding", "L": "assertion", "R": "reference statement", "C": "source"}

    def named(name: str) -> str:
        prefixes = {"S": "finding:", "L": "line:", "C": "line:", "R": "reference:"}
        return f"{prefixes.get(name[0], 'supposition:')}{name}"

    def made(
        steps: Mapping[str, list[tuple[str, ...]]],
        told: Mapping[str, str] | None = None,
        copied: Mapping[str, str] | None = None,
    ) -> EvidenceGraph:
        graph: EvidenceGraph = nx.MultiDiGraph(instrument="tiny", name="A tiny case")

        def node(name: str) -> str:
            kind = kinds.get(name[0], "supposition")
            graph.add_node(named(name), kind=kind, sentence=f"{name}.", title=name, source="")
            return named(name)

        def edge(tail: str, head: str, kind: str) -> None:
            bears = EDGE_TERMS[kind].bears
            graph.add_edge(tail, head, key=kind, kind=kind, bears=bears, place=1)

        for statement, given in steps.items():
            node(statement)
            for number, needs in enumerate(given):
                step = f"step:{statement}.{number}"
                graph.add_node(
                    step, kind="rule application", sentence="by a rule", is_reported=number == 0
                )
                edge(named(statement), step, "follows by")
                for need in needs:
                    edge(step, node(need), "supposes" if need[0] == "P" else "takes")
        for line, source in (told or {}).items():
            edge(node(line), node(source), "told by")
        for source, origin in (copied or {}).items():
            edge(node(source), node(origin), "copied from")
        return graph

    return made
