"""The one door of the RDF: what is exported, in which formats, and what each cannot carry.

The quads are sorted, each once, and none has a blank node, so that the same ledger gives the
same bytes. N-Quads are written here, a line for a quad; the other formats are written by the
store's own serializer from them.

What is withheld cannot be here: of a line only what may be shown is taken, of a report only the
sentences that are published, of a pack no serial number of an example.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import pyoxigraph as ox

from ledger.errors import WitnessmarkError
from ledger.exchange.assertions_rdf import set_quads
from ledger.exchange.findings_rdf import report_quads
from ledger.exchange.iris import DEFAULT_BASE, PREFIXES, TERMS, Names, Quad, is_base, spelt
from ledger.exchange.references_rdf import reference_quads, rows_by_id
from ledger.exchange.statements import Checkpoint, ToldSet, told_instrument
from ledger.findings import ReferenceText, Report
from ledger.record.case import Case
from ledger.references import PackFile

LOST_EVERYWHERE: Final = (
    "withheld values: that a field is withheld is told, never what it holds",
    "notes of lines, file names of exhibits, what is masked in them, and who consented to what",
    "files of exhibits: their SHA-256 stands for them",
    "examinations advised, cautions and positions on the part map: the report has them",
    "weights of lines, what sways the chances, and their distribution by weeks: the report has them",
    "what follows if a challenger is right: the command answer tells it",
    "the order of several values of one field",
)


@dataclass(frozen=True, slots=True)
class RdfFormat:
    """A format of RDF: the ending of its files, and what it cannot carry."""

    name: str
    title: str
    ending: str
    has_graphs: bool
    loses: tuple[str, ...] = ()

    @property
    def losses(self) -> tuple[str, ...]:
        """Everything that a file of this format does not hold."""
        return (*LOST_EVERYWHERE, *self.loses)


FORMATS: Final[Mapping[str, RdfFormat]] = MappingProxyType(
    {
        each.name: each
        for each in (
            RdfFormat("trig", "TriG", "trig", has_graphs=True),
            RdfFormat("n-quads", "N-Quads", "nq", has_graphs=True),
            RdfFormat("json-ld", "JSON-LD", "jsonld", has_graphs=True),
            RdfFormat(
                "turtle",
                "Turtle",
                "ttl",
                has_graphs=False,
                loses=(
                    (
                        "named graphs: which statement belongs to which assertion, and which of "
                        "them tell its provenance and publication, can no longer be told apart"
                    ),
                ),
            ),
        )
    }
)
_CONFORMS: Final = spelt("dcterms:conformsTo")
_WRITTEN: Final = {
    "trig": ox.RdfFormat.TRIG,
    "n-quads": ox.RdfFormat.N_QUADS,
    "json-ld": ox.RdfFormat.JSON_LD,
    "turtle": ox.RdfFormat.TURTLE,
}
_READ: Final = {
    **{FORMATS[name].ending: written for name, written in _WRITTEN.items()},
    "json": ox.RdfFormat.JSON_LD,
    "nt": ox.RdfFormat.N_TRIPLES,
}


@dataclass(frozen=True)
class Telling:
    """All that an export is made of; ``rules`` has the sentence of each rule by its name."""

    cases: Iterable[tuple[Case, Report]]
    packs: Iterable[PackFile] = ()
    checkpoint: Checkpoint = field(default_factory=lambda: Checkpoint(0, ""))
    base: str = DEFAULT_BASE
    rules: Mapping[str, str] = field(default_factory=dict)


def exported(telling: Telling) -> tuple[Quad, ...]:
    """Everything that is told, as sorted quads.

    Raises:
        WitnessmarkError: the base is none.
    """
    if not is_base(telling.base):
        raise WitnessmarkError(
            f"{telling.base!r} cannot be the base of names: say an http address that ends in a "
            "slash, such as https://bench.example/."
        )
    return tuple(sorted(set(_quads(telling))))


def _quads(telling: Telling) -> Iterator[Quad]:
    names = Names(telling.base)
    rows = rows_by_id(telling.packs)
    used: dict[str, ReferenceText] = {}
    instruments = []
    for case, report in telling.cases:
        instruments.append(told_instrument(case, report))
        used.update((row.id, row) for row in report.references)
        yield from report_quads(names, report, telling.rules)
    told = [instrument.id for instrument in instruments]
    for row in used.values():
        yield from reference_quads(names, row, rows, told)
    yield from set_quads(ToldSet(telling.base, telling.checkpoint, tuple(instruments)))


def written(quads: Iterable[Quad], form: str) -> bytes:
    """The quads in a format, in their own order; Turtle holds each triple once, sorted."""
    if form == "turtle":
        triples = sorted({quad[1:] for quad in quads})
        lines = "".join(f"{s} {p} {o} .\n" for s, p, o in triples).encode()
        return _serialized(
            (found.triple for found in ox.parse(lines, format=ox.RdfFormat.N_TRIPLES)), form
        )
    lines = n_quads(quads)
    if form == "n-quads":
        return lines
    return _serialized(ox.parse(lines, format=ox.RdfFormat.N_QUADS), form)


def _serialized(found: Iterable[ox.Quad] | Iterable[ox.Triple], form: str) -> bytes:
    prefixes = None if form == "json-ld" else dict(PREFIXES)
    made = ox.serialize(found, format=_WRITTEN[form], prefixes=prefixes)
    return (made or b"").rstrip(b"\n") + b"\n"


def n_quads(quads: Iterable[Quad]) -> bytes:
    r"""The quads as N-Quads, a line for each.

    >>> n_quads([("", "<http://a.example/s>", "<http://a.example/p>", '"o"')])
    b'<http://a.example/s> <http://a.example/p> "o" .\n'
    """
    return "".join(
        f"{s} {p} {o} {g} .\n" if g else f"{s} {p} {o} .\n" for g, s, p, o in quads
    ).encode()


def read_quads(content: bytes, ending: str, name: str = "the file") -> tuple[Quad, ...]:
    """The quads of a file, sorted, each once.

    Args:
        content: its bytes.
        ending: of the name of the file, which says its format.
        name: what to call the file where it cannot be read.

    Raises:
        WitnessmarkError: the ending is none of RDF, or the file cannot be read as it says.
    """
    form = _READ.get(ending.removeprefix("."))
    if form is None:
        known = ", ".join(sorted(f".{each}" for each in _READ))
        raise WitnessmarkError(f"{name} does not say by its ending which RDF it is: {known}.")
    try:
        given = {_as_quad(found) for found in ox.parse(content, format=form)}
    except (SyntaxError, ValueError) as error:
        raise WitnessmarkError(f"{name} cannot be read: {error}.") from error
    kept_to = {found for _, _, predicate, found in given if predicate == _CONFORMS}
    own = min(kept_to, default="")
    if len(kept_to) == 1 and own.endswith("/term/>"):
        return respelt(given, own[1:-1], TERMS)
    return tuple(sorted(given))


def respelt(quads: Iterable[Quad], beginning: str, instead: str) -> tuple[Quad, ...]:
    """The quads, sorted, with every name that begins one way beginning another way.

    A publisher may serve the terms under an address of the site, and a reader of several sets
    wants them under one.

    Raises:
        WitnessmarkError: terms cannot stand there.
    """
    if not (is_base(instead) and instead.endswith("/term/")):
        raise WitnessmarkError(
            f"{instead!r} cannot be the beginning of the terms: say an http address that ends in "
            "/term/, such as https://bench.example/term/."
        )
    old, new = f"<{beginning}", f"<{instead}"

    def told(term: str) -> str:
        return new + term[len(old) :] if term.startswith(old) else term

    return tuple(sorted({(told(g), told(s), told(p), told(o)) for g, s, p, o in quads}))


def _as_quad(found: ox.Quad) -> Quad:
    graph = found.graph_name
    return (
        "" if isinstance(graph, ox.DefaultGraph) else str(graph),
        str(found.subject),
        str(found.predicate),
        str(found.object),
    )
