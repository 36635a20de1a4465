"""Is a graph from somebody else such as we would give out ourselves? Said in plain words.

The shapes of ``schema/shapes.ttl`` are held against it (SHACL), and besides them what shapes do
not see: terms that are not in the ontology, names that stand outside the set's own base, graphs
that a nanopublication names and that are not there, and statements that rest on themselves, which
PROV's constraints rule out (PROV-CONSTRAINTS, derivation follows generation).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import Any, Final

import pyshacl
from rdflib import RDF, SH, Graph

from ledger.basis.edtf import DateUnreadable, read_date
from ledger.exchange.iris import EDTF, TERMS, Quad, is_base, plain, spelt
from ledger.exchange.ontology import ONTOLOGY_FILE, terms
from ledger.holdings import schema_file

SHAPES_FILE: Final = "shapes.ttl"
_WM: Final = f"<{TERMS}"
_KIND_WORDS: Final = {
    "MinCountConstraintComponent": "It is not there.",
    "MaxCountConstraintComponent": "There is more than that.",
    "ClassConstraintComponent": "What is named there is not described as such.",
    "DatatypeConstraintComponent": "It is not of that kind.",
    "PatternConstraintComponent": "It is something else.",
}


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something wrong with a graph: of what, what is expected, and what was found."""

    about: str
    says: str
    found: str = ""

    def __str__(self) -> str:
        """One sentence or two for a person."""
        found = f" Found: {self.found}" if self.found else ""
        return f"{self.about}: {self.says}{found}"


def troubles(quads: Iterable[Quad]) -> tuple[Trouble, ...]:
    """Everything wrong with a graph, in a fixed order; nothing where it is sound."""
    given = tuple(quads)
    found = [
        *_nameless(given),
        *_misnamed(given),
        *_sets(given),
        *_missing_graphs(given),
        *_circles(given),
        *_dates(given),
        *_misshapen(given),
    ]
    return tuple(sorted(set(found), key=lambda each: (each.about, each.says, each.found)))


def _nameless(quads: Iterable[Quad]) -> Iterator[Trouble]:
    for quad in quads:
        for term in quad:
            if term.startswith("_:"):
                says = "a thing without a name (a blank node); everything has a name here."
                yield Trouble("the file", says, plain(quad[2]))


def _misnamed(quads: Iterable[Quad]) -> Iterator[Trouble]:
    known = {f"<{term.iri}>" for term in terms()} | {_WM + ">"}
    for _, subject, predicate, value in quads:
        for term in (predicate, value):
            if term.startswith(_WM) and term not in known:
                yield Trouble(
                    plain(subject), "a term that the ontology does not have.", plain(term)
                )


def _sets(quads: Iterable[Quad]) -> Iterator[Trouble]:
    kind = spelt("wm:ExportedSet")
    known = list(quads)
    sets = {s for _, s, p, o in known if o == kind and p == spelt("rdf:type")}
    if len(sets) != 1:
        yield Trouble("the file", "one exported set, with its checkpoint.", f"{len(sets)} of them")
        return
    name = plain(sets.pop())
    base = name.removesuffix("#exported")
    if base == name or not is_base(base):
        says = "a set is named by its base and #exported; a base is an http address ending in /."
        yield Trouble("the file", says, name)
        return
    for _, subject, _, _ in known:
        if not subject.startswith((f"<{base}", "_:")):
            yield Trouble("the file", f"only things under {base}.", plain(subject))


def _missing_graphs(quads: Iterable[Quad]) -> Iterator[Trouble]:
    """Graphs that are named and not there; a file without any named graph is let be."""
    known = tuple(quads)
    graphs = {graph for graph, _, _, _ in known}
    if graphs <= {""}:
        return
    named = ("np:hasAssertion", "np:hasProvenance", "np:hasPublicationInfo")
    terms_of_parts = {spelt(name) for name in named}
    for _, subject, predicate, part in known:
        if predicate in terms_of_parts and part not in graphs:
            yield Trouble(plain(subject), "every graph that it names is there.", plain(part))


def _dates(quads: Iterable[Quad]) -> Iterator[Trouble]:
    ending = f"^^{spelt(EDTF)}"
    for _, subject, _, value in quads:
        if value.endswith(ending):
            try:
                read_date(plain(value))
            except DateUnreadable:
                says = "a date in the Extended Date/Time Format, such as 1955~ or 1947/1949."
                yield Trouble(plain(subject), says, plain(value))


def _circles(quads: Iterable[Quad]) -> Iterator[Trouble]:
    derived = spelt("prov:wasDerivedFrom")
    rests: defaultdict[str, set[str]] = defaultdict(set)
    for _, subject, predicate, value in quads:
        if predicate == derived:
            rests[subject].add(value)
    try:
        TopologicalSorter({name: sorted(rests[name]) for name in sorted(rests)}).prepare()
    except CycleError as error:
        circle = [plain(name) for name in error.args[1]]
        yield Trouble(circle[0], "nothing is derived from itself.", " from ".join(circle))


def _misshapen(quads: Iterable[Quad]) -> Iterator[Trouble]:
    lines = "".join(sorted({f"{s} {p} {o} .\n" for _, s, p, o in quads}))
    graph = Graph().parse(data=lines, format="nt")
    # States are things of the ontology, so that it stands beside what it is held against.
    graph.parse(data=schema_file(ONTOLOGY_FILE).read_text(encoding="utf-8"), format="turtle")
    _, report, _ = pyshacl.validate(graph, shacl_graph=_shapes(), inference="none", advanced=False)
    if isinstance(report, Graph):
        for result in report.subjects(RDF.type, SH.ValidationResult):
            yield _said(report, result)


def _shapes() -> Graph:
    return Graph().parse(data=schema_file(SHAPES_FILE).read_text(encoding="utf-8"), format="turtle")


def _said(report: Graph, result: Any) -> Trouble:  # noqa: ANN401 - rdflib's own node
    """A result of the check as a sentence."""
    message = " ".join(sorted(str(each) for each in report.objects(result, SH.resultMessage)))
    focus = report.value(result, SH.focusNode)
    value = report.value(result, SH.value)
    kind = str(report.value(result, SH.sourceConstraintComponent) or "").removeprefix(str(SH))
    found = _KIND_WORDS.get(kind, "")
    if value is not None and value != focus:
        found = f"{value}. {found}".strip() if found else str(value)
    return Trouble(str(focus), message, found)
