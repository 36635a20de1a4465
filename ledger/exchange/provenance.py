"""The same provenance for tools that speak PROV but not RDF: PROV-N and PROV-JSON.

Every entity and activity keeps its name and everything that is said of it, as attributes. A
derivation keeps its own name, its step and its premise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final

from prov.identifier import QualifiedName
from prov.model import PROV, XSD, Literal, ProvDocument

from ledger.errors import WitnessmarkError
from ledger.exchange.iris import PREFIXES, Quad, plain, spelt
from ledger.exchange.ontology import terms

LOST: Final = (
    "named graphs: which statement belongs to which assertion, provenance or publication",
    (
        "things that are neither entity nor activity (instruments, positions, parts, spans of "
        "days): they are named where something is said of them, and not described"
    ),
)
_OWN: Final = "b"  # the prefix of the names under the set's own base
# A relation of PROV and the name that it has as a record.
_TYPE: Final = spelt("rdf:type")
_DERIVED: Final = spelt("prov:wasDerivedFrom")
_GENERATED: Final = spelt("prov:wasGeneratedBy")
_USED: Final = spelt("prov:used")
_QUALIFIED: Final = spelt("prov:qualifiedDerivation")
_PRIMARY: Final = spelt("prov:hadPrimarySource")
_ENTITY: Final = spelt("prov:entity")
_ACTIVITY: Final = spelt("prov:hadActivity")
_RELATIONS: Final = frozenset({_DERIVED, _GENERATED, _USED, _QUALIFIED, _PRIMARY, _TYPE})

Said = Mapping[str, Mapping[str, list[str]]]


@cache
def _above(name: str) -> frozenset[str]:
    """Every class that a class stands below, itself included."""
    found = {name}
    for term in terms():
        if f"wm:{term.name}" == name:
            for above in term.above:
                found |= _above(above)
    return frozenset(found)


@cache
def _roles() -> Mapping[str, str]:
    """For each class, in full, whether what is of it is an entity or an activity."""
    roles: dict[str, str] = {}
    for term in terms():
        above = _above(f"wm:{term.name}")
        if "prov:Activity" in above:
            roles[f"<{term.iri}>"] = "activity"
        elif above & {"prov:Entity", "prov:Plan", "prov:Collection"}:
            roles[f"<{term.iri}>"] = "entity"
    return roles


def document(quads: Iterable[Quad], base: str) -> ProvDocument:
    """The quads as a document of the PROV data model; the same quads give the same records."""
    said: defaultdict[str, defaultdict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for _, subject, predicate, value in sorted(set(quads)):
        if value not in said[subject][predicate]:
            said[subject][predicate].append(value)
    writer = _Writer(said, base)
    for subject in sorted(said):
        writer.tell(subject)
    return writer.document


def prov_n(quads: Iterable[Quad], base: str) -> str:
    """The quads as PROV-N."""
    return f"{document(quads, base).get_provn()}\n"


def prov_json(quads: Iterable[Quad], base: str) -> str:
    """The quads as PROV-JSON."""
    text = document(quads, base).serialize(format="json", indent=1, sort_keys=True)
    return f"{text}\n"


class _Writer:
    """A document that grows by what is said of one thing after another."""

    def __init__(self, said: Said, base: str) -> None:
        self._said = said
        self._base = base
        self.document = ProvDocument()
        self._spaces = {
            prefix: self.document.add_namespace(prefix, iri)
            for prefix, iri in sorted({**PREFIXES, _OWN: base}.items())
            if prefix not in ("prov", "xsd")
        }

    def tell(self, subject: str) -> None:
        """Add the record of a thing, and the relations in which it stands to others."""
        told = self._said[subject]
        roles = {_roles()[kind] for kind in told.get(_TYPE, ()) if kind in _roles()}
        name = self._name(plain(subject))
        if "activity" in roles:
            self.document.activity(name, other_attributes=self._attributes(told))
            for used in told.get(_USED, ()):
                self.document.used(name, self._name(plain(used)))
        elif roles:
            self.document.entity(name, self._attributes(told))
        self._tell_relations(name, told)

    def _tell_relations(self, name: QualifiedName, told: Mapping[str, list[str]]) -> None:
        for step in told.get(_GENERATED, ()):
            self.document.wasGeneratedBy(name, self._name(plain(step)))
        qualified: set[str] = set()
        for derivation in told.get(_QUALIFIED, ()):
            about = self._said.get(derivation, {})
            activities = [self._name(plain(each)) for each in about.get(_ACTIVITY, ())]
            for premise in about.get(_ENTITY, ()):
                qualified.add(premise)
                self.document.wasDerivedFrom(
                    name,
                    self._name(plain(premise)),
                    activity=activities[0] if activities else None,
                    identifier=self._name(plain(derivation)),
                )
        for premise in told.get(_DERIVED, ()):
            if premise not in qualified:
                self.document.wasDerivedFrom(name, self._name(plain(premise)))
        for source in told.get(_PRIMARY, ()):
            self.document.hadPrimarySource(name, self._name(plain(source)))

    def _attributes(self, told: Mapping[str, list[str]]) -> list[tuple[Any, Any]]:
        found: list[tuple[Any, Any]] = [
            (PROV["type"], self._name(plain(kind))) for kind in told.get(_TYPE, ())
        ]
        for predicate, values in sorted(told.items()):
            if predicate not in _RELATIONS:
                key = self._name(plain(predicate))
                found += [(key, self._value(value)) for value in values]
        return found

    def _value(self, term: str) -> object:
        if term.startswith("<"):
            return self._name(plain(term))
        _, mark, datatype = term.rpartition('"^^')
        return Literal(plain(term), self._name(datatype[1:-1])) if mark else plain(term)

    def _name(self, iri: str) -> QualifiedName:
        if iri.startswith(self._base) and not iri.startswith(PREFIXES["wm"]):
            return self._spaces[_OWN][iri.removeprefix(self._base)]
        for prefix, beginning in PREFIXES.items():
            if iri.startswith(beginning):
                local = iri.removeprefix(beginning)
                if prefix == "prov":
                    return PROV[local]
                if prefix == "xsd":
                    return XSD[local]
                return self._spaces[prefix][local]
        raise WitnessmarkError(f"{iri} is a name under none of the beginnings that are known.")
