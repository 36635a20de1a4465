"""What would a mark say that has not been read, or a doubtful one that is read again?

Question answered: for every place where the catalogue looks for a code, stamp, label or number and
none that dates is on record, the chance of each date that it may bear; for a mark that is worn or
has glyphs in doubt, the chance of each way in which a second reading may turn out.

Method: the model that such marks are weighed by, turned round. The dates are taken in steps of a
quarter year or more where the date of completion is open, and in long stretches elsewhere: what is told in bits is therefore no more than what the code itself would tell. A mark can
also be beyond reading, as often as practice has it. A second reading is by another hand in other
light: it errs as a mark one grade clearer does.

Cost: a few running sums along the axis for each step.

What it does not do: foresee a mark on a part that a work with a date put in; nor what a slip of a
glyph would give, which counts here as a mark that is wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ledger.basis.spans import Spans
from ledger.knowledge.glyphs import DIGITS, possible_count, possible_texts, read_glyphs
from ledger.knowledge.marks import MarkReading, mark_readings
from ledger.knowledge.slips import slips_of
from ledger.models import Mark
from ledger.reason.date_marks import LONGEST_LAG_WEEKS, USUAL_LAG, slip_shares
from ledger.reason.evidence import Piece, Terms
from ledger.reason.examination import UNREAD, Examination, Ready
from ledger.reason.factors import Table
from ledger.reason.likelihoods import (
    DAYS_A_WEEK,
    FIRST,
    WAYS,
    by_ways,
    lag_chances,
    later_by,
    spread_evenly,
)
from ledger.reason.stretches import Stretches, YearRun, years_in_words
from ledger.record.case import Recorded

# Words of a catalogue's checks that mean a mark with a date in it.
DATE_WORDS = ("code", "date", "pencil", "heel stamp", "dowel stamp", "block stamp", "stamp inside")
NO_DATE_WORDS = ("patent",)
# Which share of practice of marks beyond reading is that of which place, by a word of its name.
ILLEGIBLE = {
    "capacitor": "illegible-capacitor",
    "transformer": "illegible-transformer",
    "choke": "illegible-transformer",
    "speaker": "illegible-speaker-ink",
    "neck": "illegible-neck-pencil",
    "body": "illegible-neck-pencil",
    "label": "lost-label",
    "chart": "lost-label",
    "serial": "illegible-inked-serial",
}
USUALLY_ILLEGIBLE = "illegible-pot"
TEXTS_AT_MOST = 12
# Figures of a code that tell its date: two of the year and two of the week.
DATE_FIGURES = 4
CLEARER = {"clear": "clear", "worn": "clear", "partial": "worn"}


@dataclass(slots=True)
class _Foresight:
    """What the marks of one case have in common."""

    ready: Ready
    stretches: Stretches
    flags: Table
    lags: dict[str, Table] = field(default_factory=dict)
    fresh: dict[tuple[str, str], Table] = field(default_factory=dict)

    @property
    def spreads(self) -> tuple[float, float]:
        """How far chosen and donated parts lie from the completion."""
        practice = self.ready.practice
        return practice("spread-matching-years"), practice("spread-transplant-years")

    def lag(self, place: str) -> tuple[str, Table]:
        """The row of the lag from made to fitted at a place, and the chance of each week of it."""
        name = getattr(self.ready.row_of(place), "lag", None) or USUAL_LAG
        if name not in self.lags:
            practice = self.ready.practice
            self.lags[name] = lag_chances(
                min(self.stretches.weeks, LONGEST_LAG_WEEKS),
                practice(name),
                practice("lag-component-sigma"),
                practice("lag-component-tail-share"),
            )
        return name, self.lags[name]

    def made(self, place: str) -> Table:
        """For each stretch and week of fitting the chance that the mark's date lies in it."""
        practice = self.ready.practice
        plain, _, _ = slip_shares(DATE_FIGURES, practice("misreading-clear"))
        right = practice("sound-clear-mark") * plain
        within = self.stretches.made_within(self.lag(place)[1])
        return right * within + (1 - right) * self.stretches.shares[:, None]

    def by_ways(self, told: Table, beside: Table | None) -> Table:
        """The same for each way and week of completion, beside what else is on its event."""
        other = np.ones(self.stretches.weeks) if beside is None else beside
        whole = np.maximum(by_ways(other, self.spreads), 1e-300)
        found = np.stack([by_ways(other * each, self.spreads) for each in told]) / whole
        sums: Table = np.maximum(found.sum(axis=0), 1e-300)
        return found / sums

    def date_mark(self, place: str, event: str) -> Table:
        """The table of a date mark on the place, which nobody can have beyond reading."""
        if self.ready.draft.anatomy.is_root(place):
            return self.made(place)
        beside = self._beside(event)
        if beside is not None:
            return self.by_ways(self.made(place), beside)
        key = (self.lag(place)[0], "")
        if key not in self.fresh:
            self.fresh[key] = self.by_ways(self.made(place), None)
        return self.fresh[key]

    def _beside(self, event: str) -> Table | None:
        """The chance of the marks that are on the event already, by the week of fitting."""
        known = self.ready.outcome.factors.get(f"event {event}")
        if known is None or known.table.shape[-1] == 1:
            return None
        return from_logs(known.table[FIRST])


def from_logs(logs: Table) -> Table:
    """The weights of logarithms, the greatest one."""
    found: Table = np.exp(logs - max(float(logs.max()), -1e300))
    return found


def foreseen_marks(ready: Ready, stretches: Stretches) -> list[Examination]:
    """Every mark that could be read, or read again."""
    sight = _Foresight(ready, stretches, stretches.flags())
    found: list[Examination] = []
    for event, members in ready.open_events():
        for place in members:
            row = ready.row_of(place)
            if row is None or ready.has_dated_mark(place):
                continue
            if row.marks_date == "completed":
                found += _label(sight, place, event)
            elif _bears_date(row.checks) and not _is_beyond_us(ready, event):
                found.append(_date_mark(sight, place, event))
    for mark in ready.dated_marks():
        again = _second_reading(sight, mark)
        found += [] if again is None else [again]
    return found


def _bears_date(checks: Sequence[str]) -> bool:
    return any(
        any(word in check for word in DATE_WORDS) and not any(no in check for no in NO_DATE_WORDS)
        for check in checks
    )


def _is_beyond_us(ready: Ready, event: str) -> bool:
    """Whether a work with a date put the parts in: see the top."""
    return ready.is_reworked(ready.evidence.events[event])


def _date_mark(sight: _Foresight, place: str, event: str) -> Examination:
    ready = sight.ready
    table, told, runs = _told_in_years(sight, sight.date_mark(place, event), place)
    is_root = ready.draft.anatomy.is_root(place)
    variables = () if is_root else (ready.evidence.way(event),)
    return Examination(
        id=f"mark {place}",
        positions=(place,),
        reach=ready.reach((place,)),
        what=f"read the date mark of the {ready.names((place,))}",
        root=ready.draft.anatomy.root_of(place),
        variables=variables,
        table=table,
        words=(*(f"its date falls {years_in_words(run)}" for run in runs), UNREAD),
        told=told,
        about=variables,
        years=runs,
        says="its date falls",
        left_because=ready.left_because(place),
        rows=(sight.lag(place)[0], _illegible(place), "sound-clear-mark", "misreading-clear"),
    )


def _illegible(place: str) -> str:
    return next((row for word, row in ILLEGIBLE.items() if word in place), USUALLY_ILLEGIBLE)


def _told_in_years(
    sight: _Foresight, table: Table, place: str
) -> tuple[Table, tuple[int, ...], tuple[YearRun, ...]]:
    """The table with the chance that nothing can be read, and the years it is told in."""
    unread = sight.ready.practice(_illegible(place))
    last = np.full((1, *table.shape[1:]), unread)
    found = np.concatenate([(1 - unread) * table, last])
    runs = sight.stretches.runs
    return found, (*sight.stretches.told, len(runs)), runs


def _label(sight: _Foresight, place: str, event: str) -> list[Examination]:
    """A label, chart, plate or number that dates completion, where such a date can be told from it."""
    ready = sight.ready
    row = ready.row_of(place)
    if row is None or not any("date" in check for check in row.checks):
        return []
    way = ready.evidence.way(event)
    right = ready.practice("sound-clear-mark")
    allowance = ready.practice("label-allowance") / DAYS_A_WEEK
    mean = max(allowance / np.log(10), 0.5)
    near = np.stack([spread_evenly(each, mean) for each in sight.flags])
    near /= np.maximum(near.sum(axis=0), 1e-300)
    shares = sight.stretches.shares[:, None]
    table = np.broadcast_to(shares[:, None], (len(near), len(WAYS), near.shape[-1])).copy()
    table[:, FIRST] = right * near + (1 - right) * shares
    found, told, runs = _told_in_years(sight, table, place)
    return [
        Examination(
            id=f"label {place}",
            positions=(place,),
            reach=ready.reach((place,)),
            what=f"read the {ready.names((place,))}",
            root=ready.draft.anatomy.root_of(place),
            variables=(way,),
            table=found,
            words=(*(f"it is dated {years_in_words(run)}" for run in runs), UNREAD),
            told=told,
            about=(way,),
            years=runs,
            says="it is dated",
            left_because=ready.left_because(place),
            rows=("label-allowance", _illegible(place), "sound-clear-mark"),
        )
    ]


# -- a second reading ---------------------------------------------------------------------------


def _second_reading(sight: _Foresight, mark: Recorded[Mark]) -> Examination | None:
    """A mark that is worn, or whose glyphs are in doubt, read again."""
    ready, line = sight.ready, mark.line
    if line.position is None or (line.legibility == "clear" and not _is_doubtful(line.text)):
        return None
    place = line.position
    event = ready.draft.anatomy.event_of(place)
    name = f"mark {mark.id}" if ready.draft.anatomy.is_root(place) else f"event {event}"
    piece = next((each for each in ready.evidence.pieces if each.name == name), None)
    if piece is None or mark.id not in piece.lines or mark.id in ready.outcome.terms.taken:
        return None
    right, texts = _right(ready, piece, mark.id), _texts(sight, mark, piece)
    again = ready.practice(f"sound-{CLEARER[line.legibility]}-mark")
    same_slip = ready.practice(f"misreading-{CLEARER[line.legibility]}")
    as_before = again * right + same_slip * (1 - right)
    if texts:
        rest = 1 - again * sum(table for _, table in texts)
        tables = [*(again * table for _, table in texts), np.clip(rest, 0.0, 1.0)]
        words = (*(f"it reads {text}" for text, _ in texts), "it reads otherwise, or not at all")
    else:
        tables = [as_before, 1 - as_before]
        words = ("it is read as before", "it is read otherwise")
    return Examination(
        id=f"again {mark.id}",
        positions=(place,),
        reach=ready.reach((place,)),
        what=f"have the mark “{mark.shown('text')}” of the {ready.names((place,))} read again, "
        "by another hand, with light from four sides",
        root=piece.root,
        variables=piece.variables,
        table=np.stack(tables),
        words=_masked(mark, words),
        told=tuple(range(len(words))),
        about=piece.variables,
        rows=(f"sound-{line.legibility}-mark", f"sound-{CLEARER[line.legibility]}-mark"),
    )


def _masked(mark: Recorded[Mark], words: tuple[str, ...]) -> tuple[str, ...]:
    """The words without the glyphs of a mark that is withheld."""
    if not mark.withheld & {"text", "reads"}:
        return words
    return tuple(
        f"reading {i}" if word.startswith("it reads ") and i < len(words) else word
        for i, word in enumerate(words, 1)
    )


def _is_doubtful(text: str) -> bool:
    return any(glyph.is_doubtful for glyph in read_glyphs(text))


def _on(ready: Ready, piece: Piece, line: str, *, taken: bool | None) -> Table:
    """The piece with the line taken for right or wrong; left out where ``taken`` is None."""
    terms = ready.outcome.terms
    without = terms.without if taken is not None else terms.without | {line}
    also = dict(terms.taken) if taken is None else {**terms.taken, line: taken}
    return piece.build(Terms(terms.moved, without, also))


def _right(ready: Ready, piece: Piece, line: str) -> Table:
    """The chance that the mark is right, given the way and the week of completion."""
    right, wrong = (_on(ready, piece, line, taken=taken) for taken in (True, False))
    found: Table = right / np.maximum(right + wrong, 1e-300)
    return found


def _texts(sight: _Foresight, mark: Recorded[Mark], piece: Piece) -> list[tuple[str, Table]]:
    """Each text that the glyphs in doubt allow and that gives days, with its chance.

    None where the doubt is not of glyphs, or where a work or sighting speaks of the part too.
    """
    ready, line = sight.ready, mark.line
    glyphs = read_glyphs(line.text)
    place = str(line.position)
    if not _is_doubtful(line.text) or possible_count(glyphs) > len(DIGITS) * TEXTS_AT_MOST:
        return []
    if piece.variables and _is_beyond_us(ready, ready.draft.anatomy.event_of(place)):
        return []
    whole = _on(ready, piece, mark.id, taken=True) + _on(ready, piece, mark.id, taken=False)
    beside = _on(ready, piece, mark.id, taken=None)
    first = whole[FIRST] if piece.variables else whole
    other = beside[FIRST] if piece.variables else beside
    scale = first / np.maximum(other, 1e-300)
    as_read = ready.practice(f"sound-{line.legibility}-mark") * _unslipped(ready, mark)
    found: list[tuple[str, Table]] = []
    for text in possible_texts(glyphs):
        days = _days(ready, mark, text)
        if not days:
            continue
        told = as_read * _made_in(sight, place, days)
        told = np.minimum(told, scale)
        table = (
            by_ways(other * told, sight.spreads)
            / np.maximum(by_ways(other * scale, sight.spreads), 1e-300)
            if piece.variables
            else told / np.maximum(scale, 1e-300)
        )
        found.append((text, table))
    return found if 1 < len(found) <= TEXTS_AT_MOST else []


def _unslipped(ready: Ready, mark: Recorded[Mark]) -> float:
    """How often none of the mark's glyphs that are read for certain was misread."""
    draft, line = ready.draft, mark.line
    kind = next(each.kind for each in _read(ready, mark, line.text) if each.bears_on == "made")
    row = ready.row_of(str(line.position))
    slips = slips_of(line, row, draft.packs, draft.case.instrument, kind)
    return slip_shares(slips.glyphs, ready.practice(f"misreading-{line.legibility}"))[0]


def _read(ready: Ready, mark: Recorded[Mark], text: str) -> list[MarkReading]:
    """The readings that are used of the mark with that text."""
    found = mark_readings(
        mark.line.model_copy(update={"text": text}),
        ready.row_of(str(mark.line.position)),
        ready.draft.packs,
        ready.draft.case.instrument,
    )
    return [each for each in found if each.is_used]


def _days(ready: Ready, mark: Recorded[Mark], text: str) -> Spans:
    read = _read(ready, mark, text)
    return Spans.of(span for each in read if each.bears_on == "made" for span in each.spans)


def _made_in(sight: _Foresight, place: str, days: Spans) -> Table:
    """For each week of fitting the chance that a code for just these days is on the part."""
    _, lags = sight.lag(place)
    return later_by(sight.ready.evidence.axis.share(days), lags)
