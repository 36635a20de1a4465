"""Each line of a case as a named graph with its provenance, and the way back.

The pattern is that of nanopublications: four small graphs to a line. ``#head`` says which they
are, ``#assertion`` what is claimed, ``#provenance`` who claims it, ``#publication`` in which
entry of the ledger it stands. Whoever takes one line has all that belongs to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

from ledger.exchange.iris import (
    DEFAULT_GRAPH,
    Names,
    Quad,
    edtf,
    ending,
    fragment,
    plain,
    spelt,
    text,
    truth,
    whole,
)
from ledger.exchange.statements import (
    SLOTS,
    Checkpoint,
    Slot,
    Told,
    ToldInstrument,
    ToldSet,
    ToldShown,
)

CLASSES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "sources": "wm:Source",
        "exhibits": "wm:Exhibit",
        "parts": "wm:PartRecord",
        "identity": "wm:Identity",
        "marks": "wm:Mark",
        "measurements": "wm:Measurement",
        "features": "wm:Feature",
        "traces": "wm:Trace",
        "works": "wm:Work",
        "custody": "wm:Custody",
        "sightings": "wm:Sighting",
        "papers": "wm:Paper",
        "testimony": "wm:Testimony",
        "non_values": "wm:NonValue",
        "questions": "wm:Question",
        "register_searches": "wm:RegisterSearch",
        "challenges": "wm:Challenge",
        "answers": "wm:Answer",
    }
)
_A: Final = spelt("rdf:type")
_LABEL: Final = spelt("rdfs:label")
_SAYS: Final = spelt("wm:says")
_ID: Final = spelt("dcterms:identifier")

# subject -> predicate -> objects, in whatever graphs they stand
Known = Mapping[str, Mapping[str, list[str]]]


def nanopublication(subject: str) -> Iterator[Quad]:
    """The head of a nanopublication: which graphs it is made of."""
    head = fragment(subject, "head")
    yield head, subject, _A, spelt("np:Nanopublication")
    for term, part in (
        ("np:hasAssertion", "assertion"),
        ("np:hasProvenance", "provenance"),
        ("np:hasPublicationInfo", "publication"),
    ):
        yield head, subject, spelt(term), fragment(subject, part)


def set_quads(told: ToldSet) -> Iterator[Quad]:
    """What was told, under which names, and as of which checkpoint of the ledger."""
    names = Names(told.base)
    head, here = told.checkpoint, names.exported()
    yield DEFAULT_GRAPH, here, _A, spelt("wm:ExportedSet")
    yield DEFAULT_GRAPH, here, _LABEL, text("What this ledger tells")
    yield DEFAULT_GRAPH, here, spelt("dcterms:conformsTo"), spelt("wm:")
    yield DEFAULT_GRAPH, here, spelt("wm:sequence"), whole(head.sequence)
    if head.hash:
        yield DEFAULT_GRAPH, here, spelt("wm:hash"), text(head.hash)
    if head.recorded_at:
        yield DEFAULT_GRAPH, here, spelt("wm:recordedAt"), text(head.recorded_at)
    for instrument in told.instruments:
        yield DEFAULT_GRAPH, here, spelt("wm:tellsOf"), names.instrument(instrument.id)
        yield from instrument_quads(names, instrument)


def instrument_quads(names: Names, told: ToldInstrument) -> Iterator[Quad]:
    """The instrument as its owner describes it, and each of its lines."""
    here = names.instrument(told.id)
    graph = fragment(here, "description")
    yield graph, here, _A, spelt("wm:Instrument")
    yield graph, here, _LABEL, text(told.name)
    yield graph, here, _ID, text(told.id)
    yield graph, here, spelt("wm:kind"), text(told.kind)
    yield graph, here, spelt("wm:isInvented"), truth(told.invented)
    if told.collected:
        yield graph, here, spelt("wm:isCollected"), truth(told.collected)
    if told.maker:
        yield graph, here, spelt("wm:maker"), text(told.maker)
    if told.model:
        yield graph, here, spelt("wm:model"), text(told.model)
    for line in told.lines:
        yield from _line_quads(names, told.id, line)


def _line_quads(names: Names, instrument: str, told: Told) -> Iterator[Quad]:
    here = names.line(instrument, told.id)
    assertion = fragment(here, "assertion")
    provenance = fragment(here, "provenance")
    yield from nanopublication(here)
    yield assertion, here, _A, spelt(CLASSES.get(told.section, "wm:Record"))
    yield assertion, here, spelt("wm:section"), text(told.section)
    yield assertion, here, spelt("wm:ofInstrument"), names.instrument(instrument)
    yield assertion, here, _LABEL, text(told.title)
    yield assertion, here, _ID, text(told.id)
    yield assertion, here, _SAYS, text(told.sentence)
    if told.sha256:
        yield assertion, here, spelt("wm:sha256"), text(told.sha256)
    if told.section == "parts":
        part = names.part_of(instrument, "part", told.id)
        yield assertion, here, spelt("wm:ofPart"), part
        yield assertion, part, _A, spelt("wm:Part")
    for name, values in told.values:
        slot = SLOTS[told.section][name]
        graph = provenance if slot.term == "source" else assertion
        for value in values:
            yield graph, here, spelt(f"wm:{slot.term}"), _object(names, instrument, slot, value)
    for name in told.withheld:
        yield assertion, here, spelt("wm:withholds"), text(name)
    yield from _shown_quads(names, instrument, here, told.shows)
    yield from _provenance_quads(names, instrument, here, told)


def _object(names: Names, instrument: str, slot: Slot, value: str) -> str:
    if slot.manner == "text":
        return text(value)
    if slot.manner == "date":
        return edtf(value)
    if slot.manner == "line":
        return names.line(instrument, value)
    if slot.manner == "finding":
        return names.finding(instrument, value)
    if slot.manner == "reference":
        return names.reference(value)
    return names.part_of(instrument, slot.manner, value)


def _shown_quads(
    names: Names, instrument: str, here: str, shows: Iterable[ToldShown]
) -> Iterator[Quad]:
    graph = fragment(here, "assertion")
    for number, shown in enumerate(shows, 1):
        part = fragment(here, f"shows-{number}")
        yield graph, here, spelt("wm:shows"), part
        yield graph, part, _A, spelt("wm:Shown")
        yield (
            graph,
            part,
            spelt("wm:position"),
            names.part_of(instrument, "position", shown.position),
        )
        yield graph, part, spelt("wm:number"), whole(number)
        yield graph, part, spelt("wm:feature"), text(shown.feature)
        yield graph, part, spelt("wm:value"), text(shown.value)
        yield graph, part, spelt("wm:sameAsNow"), text(shown.same_as_now)


def _provenance_quads(names: Names, instrument: str, here: str, told: Told) -> Iterator[Quad]:
    """Who claims it, and the entry it stands in; both as PROV has them, the entry qualified."""
    assertion, provenance = fragment(here, "assertion"), fragment(here, "provenance")
    publication, quoted = fragment(here, "publication"), fragment(here, "from-entry")
    entry = names.entry(told.sequence)
    for source in dict(told.values).get("source", ()):
        primary = names.line(instrument, source)
        yield provenance, assertion, spelt("prov:hadPrimarySource"), primary
    yield provenance, assertion, spelt("prov:wasDerivedFrom"), entry
    yield publication, here, spelt("prov:wasDerivedFrom"), entry
    yield publication, here, spelt("prov:qualifiedDerivation"), quoted
    yield publication, quoted, _A, spelt("prov:Derivation")
    yield publication, quoted, spelt("prov:entity"), entry
    yield publication, entry, _A, spelt("wm:Entry")
    yield publication, entry, spelt("wm:sequence"), whole(told.sequence)
    yield publication, entry, spelt("wm:hash"), text(told.hash)


def read_set(quads: Iterable[Quad]) -> ToldSet | None:
    """What a ledger told, from its quads; None where they are not such a set."""
    known: defaultdict[str, defaultdict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for _, subject, predicate, found in quads:
        known[subject][predicate].append(found)
    kind = spelt("wm:ExportedSet")
    sets = [subject for subject, told in known.items() if kind in told.get(_A, ())]
    if len(sets) != 1:
        return None
    here = sets[0]
    names = Names(plain(here).removesuffix("#exported"))
    said = known[here]
    told = (_read_instrument(names, name, known) for name in said.get(spelt("wm:tellsOf"), ()))
    return ToldSet(
        names.base,
        Checkpoint(
            _number(said, "wm:sequence"),
            _one(said, "wm:hash"),
            _one(said, "wm:recordedAt"),
        ),
        tuple(sorted(told, key=lambda instrument: instrument.id)),
    )


def _one(said: Mapping[str, list[str]], term: str) -> str:
    """What one term says of a thing, as plain text; empty where it says nothing."""
    found = said.get(spelt(term), ())
    return plain(min(found)) if found else ""


def _number(said: Mapping[str, list[str]], term: str) -> int:
    found = _one(said, term)
    return int(found) if found.isascii() and found.isdigit() else 0


def _read_instrument(names: Names, name: str, known: Known) -> ToldInstrument:
    said = known.get(name, {})
    instrument = ending(name, f"<{names.base}instrument/") or ""
    beginning = f"<{names.address(instrument)}/line/"
    lines = [
        _read_line(names, instrument, line, told, known)
        for subject, told in known.items()
        if (line := ending(subject, beginning)) is not None and "#" not in subject
    ]
    return ToldInstrument(
        instrument,
        _one(said, "rdfs:label"),
        _one(said, "wm:kind"),
        _one(said, "wm:maker"),
        _one(said, "wm:model"),
        _one(said, "wm:isInvented") == "true",
        tuple(sorted((line for line in lines if line is not None), key=lambda line: line.id)),
        _one(said, "wm:isCollected") == "true",
    )


def _read_line(
    names: Names, instrument: str, line: str, said: Mapping[str, list[str]], known: Known
) -> Told | None:
    section = _one(said, "wm:section")
    if not section:
        return None
    entry = known.get(min(said.get(spelt("prov:wasDerivedFrom"), [""])), {})
    values = [
        (name, tuple(sorted(_value(names, instrument, slot, each) for each in found)))
        for name, slot in sorted(SLOTS.get(section, {}).items())
        if (found := said.get(spelt(f"wm:{slot.term}")))
    ]
    shows = [known[part] for part in said.get(spelt("wm:shows"), ())]
    shows.sort(key=lambda part: _number(part, "wm:number"))
    return Told(
        id=line,
        section=section,
        title=_one(said, "rdfs:label"),
        sentence=_one(said, "wm:says"),
        sequence=_number(entry, "wm:sequence"),
        hash=_one(entry, "wm:hash"),
        values=tuple(values),
        withheld=tuple(sorted(plain(name) for name in said.get(spelt("wm:withholds"), ()))),
        shows=tuple(_read_shown(names, instrument, part) for part in shows),
        sha256=_one(said, "wm:sha256"),
    )


def _value(names: Names, instrument: str, slot: Slot, term: str) -> str:
    if slot.manner in ("text", "date"):
        return plain(term)
    if slot.manner in ("line", "finding"):
        return ending(term, f"<{names.address(instrument)}/{slot.manner}/") or plain(term)
    if slot.manner == "reference":
        return ending(term, f"<{names.base}reference/") or plain(term)
    return ending(term, f"<{names.address(instrument)}#{slot.manner}-") or plain(term)


def _read_shown(names: Names, instrument: str, said: Mapping[str, list[str]]) -> ToldShown:
    slot = Slot("position", "position")
    position = min(said.get(spelt("wm:position"), ["<>"]))
    return ToldShown(
        _value(names, instrument, slot, position),
        _one(said, "wm:feature"),
        _one(said, "wm:value"),
        _one(said, "wm:sameAsNow"),
    )
