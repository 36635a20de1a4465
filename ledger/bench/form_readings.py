"""What is shown once a reading is saved, and never before: what it may mean, what was expected.

Whoever has not written down what is there should not be told what ought to be there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Final

from ledger.basis.quantities import QuantityUnreadable, read_measurement, read_quantity
from ledger.basis.yamltext import Tree
from ledger.bench.form_desk import OnBench
from ledger.bench.form_kinds import BLIND
from ledger.bench.form_tree import line_of
from ledger.knowledge.glyphs import read_glyphs
from ledger.knowledge.marks import Made, read_mark, read_value
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import MarkReading, bound_in_words
from ledger.models import Instrument
from ledger.reason.row_wording import row_sentence
from ledger.references import Confusion, Specification

MOST_SHOWN: Final = 12


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to read it, with the reason and from where that is known."""

    says: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class AfterSaving:
    """What is told of a reading that was saved: as it is kept, what it may mean, what expected."""

    kept: str
    used: tuple[Candidate, ...] = ()
    unused: tuple[Candidate, ...] = ()
    expected: tuple[Candidate, ...] = ()
    left_off: int = 0

    @property
    def is_empty(self) -> bool:
        """Whether nothing at hand says anything of it."""
        return not (self.used or self.unused or self.expected)


def after_saving(bench: OnBench, section: str, typed: Mapping[str, str]) -> AfterSaving | None:
    """What is shown of a line when it is saved; None for what is not read blind."""
    if section == "marks":
        return _of_mark(bench, line_of(section, typed))
    if section == "measurements":
        return _of_measurement(bench, line_of(section, typed))
    if section == "features":
        return _of_feature(bench, line_of(section, typed))
    return None


def blind_text(section: str, typed: Mapping[str, str]) -> str:
    """The reading itself, of a line that is read blind; nothing for any other."""
    name = BLIND.get(section)
    return " ".join(typed.get(name, "").split()) if name else ""


def read_anew(note: str, before: str) -> str:
    """The note with a sentence about a reading that was changed after candidates were shown.

    >>> read_anew("", "912 828")
    'Read anew after the candidate readings had been shown; it was first read as “912 828”.'
    """
    said = (
        f"Read anew after the candidate readings had been shown; it was first read as “{before}”."
    )
    return note if said in note else f"{note}\n{said}".strip()


def compared(first: str, second: str) -> tuple[tuple[str, str, bool], ...]:
    """The two readings of a mark glyph by glyph, and whether each pair is the same.

    >>> compared("91?", "918")
    (('9', '9', True), ('1', '1', True), ('?', '8', False))
    """
    pairs = zip_longest(
        (glyph.written for glyph in read_glyphs(first)),
        (glyph.written for glyph in read_glyphs(second)),
        fillvalue="",
    )
    return tuple((one, other, one == other) for one, other in pairs)


def confusions(bench: OnBench) -> dict[str, str]:
    """For each glyph those that it is taken for, as the packs know."""
    found: dict[str, str] = {}
    for row in bench.packs.rows(Confusion):
        one, other = row.row.glyphs
        if len(one) == len(other) == 1:
            for glyph, partner in ((one, other), (other, one)):
                if partner not in found.get(glyph, ""):
                    found[glyph] = found.get(glyph, "") + partner
    return found


def figure_in_words(value: str, uncertainty: str = "") -> str:
    """How a figure is read, or what keeps it from being read.

    >>> figure_in_words("7.52 k"), figure_in_words('1 5/8"')
    ('Records 7.52 kΩ.', 'Records 1.625 in.')
    """
    if not value.strip():
        return ""
    try:
        return f"Records {read_measurement(value, uncertainty.strip() or None)}."
    except QuantityUnreadable as error:
        return str(error)


def _of_mark(bench: OnBench, line: Mapping[str, Tree]) -> AfterSaving:
    text = _told(line, "text")
    about = bench.instrument()
    position = _told(line, "position") or None
    readings = read_mark(
        text,
        bench.packs,
        about.kind,
        position if position and bench.view.find(position) else None,
        Made(about.maker, about.model),
        _told(line, "scheme") or None,
    )
    values = [
        Candidate(f"As a value: {value.reading}", value.reason, value.source)
        for value in read_value(text, bench.packs)
    ]
    used = [_candidate(reading) for reading in readings if reading.is_used]
    unused = [_candidate(reading) for reading in readings if not reading.is_used] + values
    kept = tuple(used[:MOST_SHOWN])
    others = tuple(unused[:MOST_SHOWN])
    left_off = len(used) + len(unused) - len(kept) - len(others)
    return AfterSaving(text, kept, others, (), left_off)


def _candidate(reading: MarkReading) -> Candidate:
    says = reading.reading
    if reading.kind != "fact" and reading.spans:
        event = f" ({reading.bears_on})" if reading.bears_on else ""
        says = f"{says}: {bound_in_words(reading.spans)}{event}"
    return Candidate(says, reading.reason, reading.source)


def _of_measurement(bench: OnBench, line: Mapping[str, Tree]) -> AfterSaving:
    value, doubt = _told(line, "value"), _told(line, "uncertainty") or None
    try:
        measured = read_measurement(value, doubt)
    except QuantityUnreadable:
        return AfterSaving(value)
    found = []
    for row in _rows_at(bench, line):
        limits = [read_quantity(text) if text else None for text in (row.row.low, row.row.high)]
        if row.row.feature or not _speaks_of(row.row.quantity, _told(line, "quantity")):
            continue
        if any(each and each.dimension != measured.quantity.dimension for each in limits):
            continue
        stands = measured.against(*limits).in_words(measured.quantity.unit)
        says = f"{row_sentence(row.row)} Yours is {stands}."
        found.append(Candidate(says, row.row.note, row.row.source))
    return AfterSaving(str(measured), expected=tuple(found))


def _of_feature(bench: OnBench, line: Mapping[str, Tree]) -> AfterSaving:
    named = _told(line, "feature").casefold()
    found = [
        Candidate(row_sentence(row.row), row.row.note, row.row.source)
        for row in _rows_at(bench, line)
        if row.row.feature and row.row.feature.casefold() == named
    ]
    return AfterSaving(_told(line, "value"), expected=tuple(found))


def _rows_at(bench: OnBench, line: Mapping[str, Tree]) -> tuple[Row[Specification], ...]:
    about: Instrument = bench.instrument()
    at = _told(line, "position").partition(".")[0]
    rows = bench.packs.applying(Specification, about)
    return tuple(row for row in rows if row.row.position == at)


def _speaks_of(quantity: str, typed: str) -> bool:
    """Whether the words that were typed name the quantity of a specification."""
    wanted, said = set(quantity.casefold().split()), set(typed.casefold().split())
    return bool(wanted) and (wanted <= said or (bool(said) and said <= wanted))


def _told(line: Mapping[str, Tree], name: str) -> str:
    value = line.get(name)
    return value.strip() if isinstance(value, str) else ""
