"""The terms of ``schema/ontology.ttl``: what each is called, what it means, what stands above it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from typing import Final

import pyoxigraph as ox

from ledger.exchange.iris import PREFIXES, TERMS
from ledger.holdings import schema_file

ONTOLOGY_FILE: Final = "ontology.ttl"
KINDS: Final = {
    f"{PREFIXES['owl']}Class": "class",
    f"{PREFIXES['owl']}ObjectProperty": "property",
    f"{PREFIXES['owl']}DatatypeProperty": "property",
    f"{PREFIXES['skos']}ConceptScheme": "scheme",
    f"{TERMS}State": "state",
}
_ABOVE: Final = ("rdfs:subClassOf", "rdfs:subPropertyOf", "skos:inScheme")


@dataclass(frozen=True, slots=True)
class Term:
    """One term; ``above`` are the terms, ours and others', of which it is a kind."""

    name: str
    kind: str
    label: str
    definition: str
    example: str
    above: tuple[str, ...] = ()
    values: str = ""

    @property
    def iri(self) -> str:
        """Its name on the web of data."""
        return f"{TERMS}{self.name}"


@cache
def terms() -> tuple[Term, ...]:
    """Every term of the ontology by its name.

    >>> [term.label for term in terms() if term.name == "PositionState"]
    ['state of a position']
    """
    known: defaultdict[str, defaultdict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    content = schema_file(ONTOLOGY_FILE).read_bytes()
    for found in ox.parse(content, format=ox.RdfFormat.TURTLE):
        subject, value = found.subject, found.object
        if isinstance(subject, ox.NamedNode) and isinstance(value, ox.NamedNode | ox.Literal):
            known[subject.value][_short(found.predicate.value)].append(value.value)
    return tuple(
        _term(iri.removeprefix(TERMS), known[iri])
        for iri in sorted(known)
        if iri.startswith(TERMS) and iri != TERMS
    )


def _term(name: str, said: defaultdict[str, list[str]]) -> Term:
    kinds = [KINDS[kind] for kind in said["rdf:type"] if kind in KINDS]
    return Term(
        name=name,
        kind=kinds[0] if kinds else "",
        label="".join(said["rdfs:label"][:1]),
        definition="".join(said["skos:definition"][:1]),
        example="".join(said["skos:example"][:1]),
        above=tuple(sorted(_short(iri) for each in _ABOVE for iri in said[each])),
        values=_short("".join(said["rdfs:range"][:1])),
    )


def _short(iri: str) -> str:
    """An IRI by its prefix, where it has one of ours."""
    for prefix, beginning in PREFIXES.items():
        if iri.startswith(beginning):
            return f"{prefix}:{iri.removeprefix(beginning)}"
    return iri
