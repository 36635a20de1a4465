"""The case of one instrument, folded from ledger entries.

A pure function of the entries: what is not retracted, in its latest form, up to a sequence.
The reasoner sees this and nothing of the store.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from ledger.errors import LedgerError, UnknownName
from ledger.models import ALWAYS_WITHHELD, SECTIONS, Challenge, Custody, Instrument, Line
from ledger.record.entries import Entry
from ledger.references import PackFile

L = TypeVar("L", bound=Line)

WITHHELD_TEXT = "withheld"


@dataclass(frozen=True, slots=True)
class Recorded(Generic[L]):
    """A line with its place in the ledger.

    ``withheld`` names the fields not to be shown; ``content_hash`` is the SHA-256 of the file
    of an exhibit, and empty for other lines. ``pseudonym`` stands for a withheld holder: the same
    for the same one throughout a case, and for nobody in another.
    """

    line: L
    section: str
    sequence: int
    hash: str
    withheld: frozenset[str] = frozenset()
    content_hash: str = ""
    pseudonym: str = ""

    @property
    def id(self) -> str:
        """The id of the line within its sheet."""
        return self.line.id

    def shown(self, name: str) -> str:
        """The field as text that may be published: withheld ones say so and no more."""
        if name in self.withheld:
            return (self.pseudonym if name == "holder" else "") or WITHHELD_TEXT
        value = getattr(self.line, name)
        return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class Case:
    """Everything recorded of one instrument up to ``sequence``."""

    instrument: Instrument
    sequence: int
    lines: Mapping[str, Recorded[Any]] = field(default_factory=dict)

    def of(self, model: type[L]) -> tuple[Recorded[L], ...]:
        """The lines of one kind, in the order in which they were first recorded."""
        return tuple(found for found in self.lines.values() if type(found.line) is model)


def withheld_fields(section: str, line: Line) -> frozenset[str]:
    """The names of the line's fields that never leave the owner's copy.

    Whoever raises a challenge in private is named to the owner alone.
    """
    in_private = isinstance(line, Challenge) and line.raised == "in private"
    own = ("by",) if in_private else ()
    return frozenset((*line.withhold, *ALWAYS_WITHHELD.get(section, ()), *own))


def case_at(
    entries: Iterable[Entry],
    instrument: str,
    sequence: int | None = None,
    opened: Mapping[str, Any] | None = None,
) -> Case:
    """The case of ``instrument`` as it stood after entry ``sequence`` (None: after the last).

    Args:
        entries: the ledger's entries in order; those of other books are passed over.
        instrument: the id of the instrument.
        sequence: the last entry to take.
        opened: values of withheld fields by their commitment; a missing one reads as withheld.

    Raises:
        UnknownName: nothing of that instrument was recorded by then.
    """
    values = opened or {}
    head = 0
    about: Instrument | None = None
    lines: dict[str, Recorded[Any]] = {}
    known: set[str] = set()
    for entry in entries:
        if sequence is not None and entry.sequence > sequence:
            break
        head = entry.sequence
        if entry.book_kind != "instrument":
            continue
        known.add(entry.book)
        if entry.book != instrument:
            continue
        if entry.section == "instrument":
            about = None if entry.body is None else Instrument.model_validate(entry.body)
        elif entry.body is None:
            lines.pop(entry.line, None)
        else:
            lines[entry.line] = _recorded(entry, values)
    if about is None:
        raise UnknownName("instrument", instrument, sorted(known))
    return Case(about, head, _with_pseudonyms(lines))


def _with_pseudonyms(lines: dict[str, Recorded[Any]]) -> dict[str, Recorded[Any]]:
    """The lines, every holder under a number of their own, in the order of recording.

    One who held it twice keeps the number, however the name was typed. An erased name is
    nobody's: each gets a number for itself.
    """
    numbers: dict[str, int] = {}
    for name, recorded in lines.items():
        if not isinstance(recorded.line, Custody):
            continue
        holder = " ".join(recorded.line.holder.casefold().split())
        number = numbers.setdefault(
            name if holder == WITHHELD_TEXT else f"held by {holder}", len(numbers) + 1
        )
        lines[name] = replace(recorded, pseudonym=f"holder {number} on record")
    return lines


def _recorded(entry: Entry, opened: Mapping[str, Any]) -> Recorded[Any]:
    body = dict(entry.body or {})
    content_hash = body.pop("sha256", "") if entry.section == "exhibits" else ""
    line = line_read(entry.section, body, opened)
    return Recorded(
        line,
        entry.section,
        entry.sequence,
        entry.hash,
        withheld_fields(entry.section, line),
        content_hash,
    )


def line_read(section: str, body: Mapping[str, Any], opened: Mapping[str, Any]) -> Line:
    """The line that a recorded body stands for.

    A withheld value that is not among ``opened`` reads as withheld where the field is text,
    and as not given where it is not.
    """
    model = SECTIONS[section]
    given = dict(body)
    for name, value in body.items():
        if not (isinstance(value, dict) and set(value) == {"withheld"}):
            continue
        field_info = model.model_fields[name]
        if value["withheld"] in opened:
            given[name] = opened[value["withheld"]]
        elif field_info.annotation is str or field_info.is_required():
            given[name] = WITHHELD_TEXT
        else:
            del given[name]
    return model.model_validate(given)


def packs_at(
    entries: Iterable[Entry], sequence: int | None = None, besides: Container[str] = ()
) -> tuple[PackFile, ...]:
    """The packs as they stood after entry ``sequence`` (None: after the last).

    They come in the order in which they were first recorded; those named in ``besides`` are left
    out unread.

    Raises:
        LedgerError: one holds what is refused by now, such as a pattern that runs for ever.
    """
    headers: dict[str, dict[str, Any] | None] = {}
    rows: dict[str, dict[tuple[str, str], dict[str, Any]]] = {}
    for entry in entries:
        if sequence is not None and entry.sequence > sequence:
            break
        if entry.book_kind != "pack":
            continue
        if entry.section == "pack":
            headers[entry.book] = entry.body
            continue
        known = rows.setdefault(entry.book, {})
        for key in [key for key in known if key[1] == entry.line]:
            if entry.body is None or key[0] != entry.section:
                del known[key]
        if entry.body is not None:
            known[entry.section, entry.line] = entry.body
    return tuple(
        _pack(name, header, rows.get(name, {}))
        for name, header in headers.items()
        if header is not None and name not in besides
    )


def _pack(
    name: str, header: Mapping[str, Any], rows: Mapping[tuple[str, str], dict[str, Any]]
) -> PackFile:
    sections: dict[str, list[dict[str, Any]]] = {}
    for (section, _), body in rows.items():
        sections.setdefault(section, []).append(body)
    try:
        return PackFile.model_validate({**header, **sections})
    except ValidationError as error:
        found = error.errors(include_url=False)[0]
        raise LedgerError(
            f"The pack {name} in the ledger holds what is refused by now: {found['msg']} "
            "Record the pack again with that mended; it then stands in its place."
        ) from error
