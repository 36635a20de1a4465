"""Which days would a mark tell if one glyph of it had been taken for another?

Question answered: for every text that differs from the one recorded by one glyph which is easily
taken for the one read, by the rows of practice, the days that it would tell in the same way.

Method: a figure of a source-date code that is another figure changes its source, its year or its
week and nothing else, so that the days follow from the figures alone; whatever else may be a
date is read as a whole. Both give what :func:`ledger.knowledge.marks.mark_readings` gives.

Cost: a sum for each changed figure; a reading of the whole mark for each other change.

What it does not do: say how likely a slip is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import accumulate

from ledger.basis.spans import Spans
from ledger.knowledge.glyphs import DIGITS, read_glyphs
from ledger.knowledge.marks import layouts_at, mark_readings
from ledger.knowledge.packs import Packs, Row
from ledger.knowledge.readings import ReadingKind
from ledger.knowledge.source_dates import Divided
from ledger.models import Instrument, Mark
from ledger.references import CataloguePosition, Confusion, MarkLayout

READ_IN_GLYPHS: tuple[ReadingKind, ...] = ("source date", "date code", "serial")


def days_if_misread(
    mark: Mark,
    position: CataloguePosition | None,
    packs: Packs,
    instrument: Instrument,
    kind: ReadingKind,
) -> tuple[Spans, ...]:
    """The days of each text that differs by one slip, read as that kind; none that tells no day."""
    if kind not in READ_IN_GLYPHS:
        return ()
    layouts = layouts_at(mark, position, packs, instrument) if kind == "source date" else None
    if layouts is not None:
        return tuple(_of_figures(mark.text, packs, *layouts))
    glyphs = [glyph.written for glyph in read_glyphs(mark.text)]
    found: list[Spans] = []
    for at, other in _slips(glyphs, packs):
        changed = mark.model_copy(update={"text": _with(glyphs, at, other)})
        readings = mark_readings(changed, position, packs, instrument)
        of_kind = (each for each in readings if each.is_used and each.kind == kind)
        found.append(Spans.of(span for each in of_kind for span in each.spans))
    return tuple(days for days in found if days)


def _of_figures(
    text: str, packs: Packs, layouts: tuple[Row[MarkLayout], ...], position: str | None
) -> Iterator[Spans]:
    """The days of source-date codes, from the figures where a figure takes the place of one."""
    read = read_glyphs(text)
    glyphs = [glyph.written for glyph in read]
    figures = [0, *accumulate(bool(glyph.digits()) for glyph in read)]
    divided = Divided.of(text, packs, layouts, position)
    for at, other in _slips(glyphs, packs):
        if glyphs[at] in DIGITS and other in DIGITS:
            days = divided.days_with(figures[at], other)
        elif other.isalpha() and at + 1 < len(glyphs):
            continue  # no code has a letter before its end
        else:
            days = Divided.of(_with(glyphs, at, other), packs, layouts, position).days()
        if days:
            yield days


def _slips(glyphs: Sequence[str], packs: Packs) -> Iterator[tuple[int, str]]:
    """Each place with each glyph that the one in it is easily taken for."""
    alike = taken_for(packs)
    return ((at, other) for at, glyph in enumerate(glyphs) for other in alike.get(glyph, ()))


def _with(glyphs: Sequence[str], at: int, other: str) -> str:
    return "".join((*glyphs[:at], other, *glyphs[at + 1 :]))


@lru_cache(maxsize=8)
def taken_for(packs: Packs) -> dict[str, tuple[str, ...]]:
    """For each glyph those that it is easily taken for, in the order of the rows, either way."""
    pairs = [each.row.glyphs for each in packs.rows(Confusion)]
    found: dict[str, tuple[str, ...]] = {}
    for one, other in (*pairs, *(pair[::-1] for pair in pairs)):
        found[one] = (*found.get(one, ()), other)
    return found
