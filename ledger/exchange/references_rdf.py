"""Rows of packs as named graphs: a reference statement is an assertion too.

The row says what was made when, its source says from where that is known. The serial numbers of
examples stay out: they invite theft as much as any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from ledger.exchange.assertions_rdf import nanopublication
from ledger.exchange.iris import Names, Quad, edtf, fragment, spelt, text, truth, whole
from ledger.findings import ReferenceText
from ledger.references import PACK_SECTIONS, PackFile, Reference, Specification, Timeline

_A: Final = spelt("rdf:type")
# What these sections hold has a class of its own; the rest are reference statements.
CLASSES: Final = {"timelines": "wm:Timeline", "practices": "wm:Practice"}


def rows_by_id(packs: Iterable[PackFile]) -> dict[str, Reference]:
    """Every row of the packs by ``pack/row``."""
    return {
        f"{pack.pack}/{row.id}": row
        for pack in packs
        for section in PACK_SECTIONS
        for row in getattr(pack, section)
        if isinstance(row, Reference)
    }


def reference_quads(
    names: Names, told: ReferenceText, rows: Mapping[str, Reference], instruments: Iterable[str]
) -> Iterator[Quad]:
    """A row as far as it is told, with its examples where it is a timeline.

    Args:
        names: under which base.
        told: the row in a sentence, as a report has it.
        rows: the rows of the packs by id; one that is not there is told by its sentence alone.
        instruments: the instruments that are told of, so that an example can be one of them.
    """
    here = names.reference(told.id)
    assertion, provenance = fragment(here, "assertion"), fragment(here, "provenance")
    pack = told.id.partition("/")[0]
    yield from nanopublication(here)
    yield assertion, here, _A, spelt(CLASSES.get(told.section, "wm:ReferenceStatement"))
    yield assertion, here, spelt("rdfs:label"), text(told.id)
    yield assertion, here, spelt("wm:says"), text(told.sentence)
    yield assertion, here, spelt("wm:section"), text(told.section)
    if told.n is not None:
        yield assertion, here, spelt("wm:exampleCount"), whole(told.n)
    row = rows.get(told.id)
    if row is not None:
        for predicate, found in _described(row):
            yield assertion, here, spelt(predicate), found
        if isinstance(row, Timeline):
            yield from _examples(names, here, row, frozenset(instruments))
    yield provenance, fragment(here, "assertion"), spelt("dcterms:source"), text(told.source)
    yield provenance, here, spelt("wm:knownFrom"), text(told.source)
    yield provenance, here, spelt("wm:confidence"), text(told.confidence)
    yield fragment(here, "publication"), here, spelt("wm:pack"), text(pack)


def _described(row: Reference) -> Iterator[tuple[str, str]]:
    if row.scope.maker:
        yield "wm:maker", text(row.scope.maker)
    if row.scope.model:
        yield "wm:model", text(row.scope.model)
    if isinstance(row, Timeline | Specification):
        yield "wm:place", text(row.position)
    if isinstance(row, Timeline):
        yield "wm:feature", text(row.feature)
        yield "wm:value", text(row.value)
        yield "wm:overlapDays", whole(row.overlap_days)
        if row.begins is not None:
            yield "wm:begins", edtf(row.begins)
        if row.ends is not None:
            yield "wm:ends", edtf(row.ends)


def _examples(
    names: Names, here: str, row: Timeline, instruments: frozenset[str]
) -> Iterator[Quad]:
    graph = fragment(here, "assertion")
    for number, example in enumerate(row.examples, 1):
        part = fragment(here, f"example-{number}")
        is_here = example.instrument in instruments
        yield graph, here, spelt("wm:example"), part
        yield graph, part, _A, spelt("wm:Example")
        yield graph, part, spelt("rdfs:label"), text(example.instrument)
        yield graph, part, spelt("wm:knownFrom"), text(example.source)
        yield graph, part, spelt("wm:isToldHere"), truth(is_here)
        if is_here:
            yield graph, part, spelt("wm:ofInstrument"), names.instrument(example.instrument)
        if example.date is not None:
            yield graph, part, spelt("wm:date"), edtf(example.date)
