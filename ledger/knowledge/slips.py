"""Which days would a mark tell if one glyph of it had been taken for another?

Question answered: how many glyphs of a mark can be taken for others, and for every text that differs
from the one recorded by one such glyph, by the rows of practice, how often its slips would give just
the text recorded, and the days that it would tell in the same way.

Method: a glyph that is misread is read as each of those it is easily taken for equally often, a
figure for a figure where a figure was read and a letter where a letter was. A figure of a source-date code that is another figure changes its source, its year or its week and
nothing else, so that the days follow from the figures alone; whatever else may be a date is read as
a whole. Both give what :func:`ledger.knowledge.marks.mark_readings` gives.

Cost: a sum for each changed figure; a reading of the whole mark for each other change.

What it does not do: say how often a glyph is misread, or follow two slips in one mark.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Slips:
    """What a mark may have been, if one glyph of it was misread.

    ``glyphs`` of the mark can be taken for others. ``told`` has for each other text that tells days
    the share of the slips of that one glyph which give the text recorded, and the days; ``telling`` is
    the share of all slips that lie between texts which tell days.
    """

    glyphs: int
    told: tuple[tuple[float, Spans], ...]
    telling: float


NO_SLIPS = Slips(0, (), 1.0)


def slips_of(
    mark: Mark,
    position: CataloguePosition | None,
    packs: Packs,
    instrument: Instrument,
    kind: ReadingKind,
) -> Slips:
    """The slips of the mark's glyphs and the days behind them, read as that kind."""
    if kind not in READ_IN_GLYPHS:
        return NO_SLIPS
    glyphs = [glyph.written for glyph in read_glyphs(mark.text)]
    layouts = layouts_at(mark, position, packs, instrument) if kind == "source date" else None
    if layouts is not None:
        found = _of_figures(mark.text, packs, *layouts)
    else:
        found = _of_marks(mark, glyphs, position, packs, instrument, kind)
    # A letter in the place of a figure is no slip unless it tells days: most codes have none there.
    shares = [
        (1 / _ways(packs, read, other), days)
        for read, other, days in found
        if days or read.isdigit() == other.isdigit()
    ]
    told = tuple((share, days) for share, days in shares if days)
    every = sum(share for share, _ in shares)
    return Slips(
        sum(glyph in taken_for(packs) for glyph in glyphs),
        told,
        sum(share for share, _ in told) / every if every else 1.0,
    )


def _ways(packs: Packs, read: str, other: str) -> int:
    """Of how many glyphs of the kind of the one read the other is easily taken for each."""
    return sum(each.isdigit() == read.isdigit() for each in taken_for(packs)[other])


def _of_marks(
    mark: Mark,
    glyphs: Sequence[str],
    position: CataloguePosition | None,
    packs: Packs,
    instrument: Instrument,
    kind: ReadingKind,
) -> Iterator[tuple[str, str, Spans]]:
    """Each glyph, what it may have been, and the days of the whole mark read with that."""
    for at, other in _slips(glyphs, packs):
        changed = mark.model_copy(update={"text": _with(glyphs, at, other)})
        readings = mark_readings(changed, position, packs, instrument)
        of_kind = (each for each in readings if each.is_used and each.kind == kind)
        yield glyphs[at], other, Spans.of(span for each in of_kind for span in each.spans)


def _of_figures(
    text: str, packs: Packs, layouts: tuple[Row[MarkLayout], ...], position: str | None
) -> Iterator[tuple[str, str, Spans]]:
    """The same for source-date codes, from the figures where a figure takes the place of one."""
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
        yield glyphs[at], other, days


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
