"""What would be recorded and known, were something otherwise?

Question answered: the case and the packs without a line, a source or a row, or with a mark read
as somebody else reads it; and in words what is supposed.

Method: a source goes with all that it says, and with every source that repeats it and all that
those say; the line of the source itself stays, since it was heard. A part that is taken out of
consideration takes the lines on it along. Rows of practice cannot be left out, since something
has to stand in their place: they are replaced by a pack.

Cost: linear in lines and rows.

What it does not do: reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from ledger.errors import UnknownName
from ledger.knowledge.packs import Packs
from ledger.models import Assertion, Mark, Source
from ledger.reason.given import Given
from ledger.reason.row_wording import row_name
from ledger.record.case import Case, Recorded


@dataclass(frozen=True, slots=True)
class Supposing:
    """What is supposed, each by the id that a sheet, a pack or a report uses for it.

    ``marks_read`` gives for a mark its text as somebody else reads it, glyph for glyph;
    ``readings`` names candidate readings of a report that are taken.
    """

    holds: tuple[str, ...] = ()
    fails: tuple[str, ...] = ()
    without_lines: tuple[str, ...] = ()
    without_sources: tuple[str, ...] = ()
    without_rows: tuple[str, ...] = ()
    marks_read: tuple[tuple[str, str], ...] = ()
    readings: tuple[str, ...] = ()

    @property
    def given(self) -> Given:
        """The part of it that the reasoner takes as given."""
        return Given(self.holds, self.fails, self.readings)

    @property
    def is_nothing(self) -> bool:
        """Whether nothing is supposed."""
        return self == Supposing()


def case_supposing(case: Case, what: Supposing) -> Case:
    """The case without the lines and sources that are left out, marks read as supposed.

    Raises:
        UnknownName: the case has no such line, source or mark.
    """
    lines = dict(case.lines)
    sources = {name: each.line for name, each in lines.items() if isinstance(each.line, Source)}
    for name in what.without_sources:
        _known("source", name, sources)
    for name in what.without_lines:
        _known("line that can be left out", name, _assertions(lines))
    for name, text in what.marks_read:
        _known("mark", name, [n for n, each in lines.items() if isinstance(each.line, Mark)])
        lines[name] = _read_as(lines[name], text)
    gone = _with_repeats(what.without_sources, sources)
    kept = {
        name: each
        for name, each in lines.items()
        if name not in what.without_lines and getattr(each.line, "source", None) not in gone
    }
    return replace(case, lines=kept)


def _known(kind: str, name: str, known: Iterable[str]) -> None:
    given = tuple(known)
    if name not in given:
        raise UnknownName(kind, name, given)


def _assertions(lines: Mapping[str, Recorded[Any]]) -> list[str]:
    return [name for name, each in lines.items() if isinstance(each.line, Assertion)]


def _read_as(recorded: Recorded[Any], text: str) -> Recorded[Any]:
    """The mark with another text; a date that it was said to give is not taken over."""
    return replace(recorded, line=recorded.line.model_copy(update={"text": text, "reads": None}))


def _with_repeats(names: Iterable[str], sources: Mapping[str, Source]) -> frozenset[str]:
    gone = set(names)
    while True:
        repeats = {n for n, source in sources.items() if source.copied_from in gone}
        if repeats <= gone:
            return frozenset(gone)
        gone |= repeats


def packs_supposing(packs: Packs, what: Supposing) -> Packs:
    """The packs without the rows that are left out.

    Raises:
        UnknownName: there is no such row, or it is one that cannot be left out.
    """
    return packs.without(what.without_rows) if what.without_rows else packs


def in_words(
    what: Supposing, lines: Mapping[str, str], suppositions: Mapping[str, str]
) -> tuple[str, ...]:
    """What is supposed, a sentence each.

    Args:
        what: what is supposed.
        lines: how each line is called.
        suppositions: what each supposition says.
    """
    said = [f"It holds that {_plain(suppositions, name)}." for name in what.holds]
    said += [f"It does not hold that {_plain(suppositions, name)}." for name in what.fails]
    said += [f"Left out: {lines.get(name, name)}." for name in what.without_lines]
    said += [
        f"Left out: all that {lines.get(name, name)} says, and whatever repeats it."
        for name in what.without_sources
    ]
    said += [f"Left out: {row_name(name)}." for name in what.without_rows]
    said += [f"{lines.get(name, name)} is read as “{text}”." for name, text in what.marks_read]
    said += [f"Of the readings of a mark, {name} is taken." for name in what.readings]
    return tuple(each[:1].upper() + each[1:] for each in said)


def _plain(suppositions: Mapping[str, str], name: str) -> str:
    return suppositions.get(name, name).rstrip(".")
