"""The rows of the site database that packs give, and those of rows that a report used."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from ledger.findings import ReferenceText
from ledger.publish.evidence import reference_href
from ledger.publish.percentages import percent
from ledger.publish.report_rows import yes_no
from ledger.references import (
    PACK_SECTIONS,
    PackFile,
    Practice,
    Reference,
    Scope,
    Specification,
    Timeline,
)

Row = dict[str, Any]

# Of a pack those sections are kept whole by which a mark is read.
NOT_FOR_MARKS = frozenset({"timelines", "specifications", "practices", "trace_kinds"})
OF_EVERYTHING = "every maker, model and kind"


def pack_row(pack: PackFile) -> Row:
    """The pack itself: its title, version and licence."""
    return {
        "id": pack.pack,
        "title": pack.title,
        "version": pack.version,
        "invented": yes_no(pack.invented),
        "licence": pack.licence,
        "note": pack.note,
    }


def pack_body(pack: PackFile, place: int) -> Row:
    """The rows by which marks are read; examples of timelines, with their serials, stay out."""
    body = pack.model_dump_json(exclude=set(NOT_FOR_MARKS), exclude_defaults=True)
    return {"pack": pack.pack, "place": place, "body": body}


def _sections(pack: PackFile) -> Iterator[tuple[str, Reference]]:
    for section in PACK_SECTIONS:
        for row in getattr(pack, section):
            if isinstance(row, Reference):
                yield section, row


def pack_rows(pack: PackFile, say_row: Callable[[str, Reference], str]) -> Iterator[Row]:
    """Its rows of every section, each with its sentence."""
    for section, row in _sections(pack):
        begins, ends = (row.begins, row.ends) if isinstance(row, Timeline) else (None, None)
        yield {
            "id": f"{pack.pack}/{row.id}",
            "pack": pack.pack,
            "section": section,
            "sentence": practice_words(row)
            if isinstance(row, Practice) and row.note
            else say_row(pack.pack, row),
            "scope": scope_words(row.scope),
            "source": row.source,
            "confidence": row.confidence,
            "n": row.n,
            "is_practice": yes_no(section == "practices"),
            "begins": begins,
            "ends": ends,
            "overlap_days": row.overlap_days if isinstance(row, Timeline) else None,
            "position": row.position if isinstance(row, Timeline | Specification) else None,
        }


def scope_words(scope: Scope) -> str:
    """Of which instruments a row speaks; what it leaves open speaks of all.

    >>> scope_words(Scope(maker="Corbel", model="Parlour", kinds=("lap-steel", "mandolin")))
    'maker Corbel, model Parlour, kinds lap steel and mandolin'
    >>> scope_words(Scope())
    'every maker, model and kind'
    """
    kinds = [kind.replace("-", " ") for kind in scope.kinds]
    told = [f"maker {scope.maker}"] if scope.maker else []
    told += [f"model {scope.model}"] if scope.model else []
    told += [f"kind{'' if len(kinds) == 1 else 's'} {' and '.join(kinds)}"] if kinds else []
    return ", ".join(told) or OF_EVERYTHING


def practice_words(row: Practice) -> str:
    r"""A starting value by what it is a value of, as its note says, not by its id.

    >>> told = {"id": "a", "source": "common practice", "confidence": "low", "unit": "share"}
    >>> told |= {"value": "0.9", "low": "0.8", "high": "0.96", "note": "A row holds. So it is taken."}
    >>> practice_words(Practice.model_validate(told))
    'A row holds: 90\xa0% (80\xa0% to 96.0\xa0%).'
    """
    what = row.note.partition(". ")[0].rstrip(".")
    unit, of_something, rest = row.unit.partition("share")
    if of_something and not unit:
        middle, low, high = (percent(each) for each in (row.value, row.low, row.high))
        return f"{what}: {middle} ({low} to {high}){rest}."
    return f"{what}: {row.value:g} ({row.low:g} to {row.high:g}) {row.unit}."


def pack_examples(pack: PackFile) -> list[Row]:
    """The examples of its timelines, none yet taken for one that is published here."""
    # The serial number of an example invites theft as much as any other: it stays out.
    return [
        {
            "reference": f"{pack.pack}/{row.id}",
            "example": example.instrument,
            "source": example.source,
            "date": example.date,
            "is_published_here": "no",
        }
        for row in pack.timelines
        for example in row.examples
    ]


def used_reference(row: ReferenceText) -> Row:
    """A row that a report used although its pack was not given."""
    return {
        "id": row.id,
        "pack": None,
        "section": row.section,
        "sentence": row.sentence,
        "scope": None,
        "source": row.source,
        "confidence": row.confidence,
        "n": row.n,
        "is_practice": yes_no(row.is_practice),
    }


def reference_passage(row: Row) -> Row:
    """What can be found of a row by search."""
    return {
        "kind": "reference",
        "instrument": "",
        "title": row["sentence"],
        "text": f"Known from: {row['source']} ({row['id']})",
        "href": reference_href(row["id"]),
    }
