"""What do marks and features say of days?

Question answered: which days does each mark allow for the making of its part or the completion
of the instrument, and which does each feature allow by its timeline?

Method: the candidate readings of a mark are alternatives, so their union bounds one moment; a
reading without days leaves the moment open. A timeline speaks of completion only, and only if
the feature left the works with the instrument; it is recomputed without this instrument where
it rests on it, and the range of what is left is extended by the classical confidence limit for
the ends of a range (Strauss and Sadler, "Classical confidence intervals and Bayesian
probability estimates for ends of local taxon ranges", Mathematical Geology 21, 1989).

Cost: linear in marks, features and rows.

What it does not do: choose between readings, or take a part's date for the object's.
"""

from __future__ import annotations

from dataclasses import replace

from ledger.basis.spans import EVER, Span, Spans, iso_date
from ledger.knowledge.marks import MarkReading, mark_readings
from ledger.knowledge.packs import Row
from ledger.knowledge.tree_rings import TREE_RING_SCHEME
from ledger.models import Feature, Mark
from ledger.reason.draft import Because, Draft, line_of, reference_of
from ledger.reason.recorded_dates import (
    UNDATED,
    RecordedDays,
    days_of_row,
    recorded_days,
)
from ledger.reason.row_wording import row_sentence
from ledger.reason.wording import article, counted, days_as_when, days_in_words, was
from ledger.record.case import Recorded
from ledger.references import DateCode, MarkLayout, SerialTable, Timeline

DAYS_A_YEAR = 365.2425
FEWEST_EXAMPLES = 3
RANGE_CONFIDENCE = 0.95


def place_of(line: Mark | Feature) -> str:
    """The position of a line, or ``part/<id>`` for a part that was removed."""
    return line.position if line.position is not None else f"part/{line.part}"


def read_marks(draft: Draft) -> dict[str, tuple[MarkReading, ...]]:
    """All candidate readings by line id; what they bound is written into the draft."""
    found: dict[str, tuple[MarkReading, ...]] = {}
    for recorded in draft.case.of(Mark):
        place = place_of(recorded.line)
        row = draft.anatomy.view.find(draft.anatomy.position_of(place))
        readings = _as_given(
            draft,
            recorded.id,
            tuple(
                replace(reading, spans=_days_of(draft, recorded, reading).spans)
                for reading in mark_readings(recorded.line, row, draft.packs, draft.case.instrument)
            ),
        )
        found[recorded.id] = readings
        for i, reading in enumerate(readings, 1):
            _write_reading(draft, recorded, i, reading)
        for n, used in enumerate(alternatives(recorded.id, readings)):
            _bound_by_mark(draft, recorded, used, f".{n + 1}" if n else "")
    return found


def _days_of(draft: Draft, recorded: Recorded[Mark], reading: MarkReading) -> RecordedDays:
    """The days of a reading, widened where what it is read by is a date in doubt."""
    if reading.kind == "written" and recorded.line.scheme != TREE_RING_SCHEME:
        return recorded_days(draft.packs, reading.reading)
    return days_of_row(draft.packs, draft.packs.row(reading.reference), reading.spans)


def _as_given(
    draft: Draft, line: str, readings: tuple[MarkReading, ...]
) -> tuple[MarkReading, ...]:
    """The readings, with the one alone in use that is taken as given, if any is."""
    taken = [i for i in range(len(readings)) if f"reading.{line}.{i + 1}" in draft.given.readings]
    if not taken:
        return readings
    return tuple(replace(each, is_used=i in taken) for i, each in enumerate(readings))


def alternatives(
    line: str, readings: tuple[MarkReading, ...]
) -> tuple[list[tuple[str, MarkReading]], ...]:
    """The used readings by what they bound together, each with the id of its finding.

    Readings of one kind are alternatives and bound one moment by their union; general facts each
    hold by themselves.
    """
    groups: dict[tuple[str, str, int], list[tuple[str, MarkReading]]] = {}
    for i, reading in enumerate(readings, 1):
        if reading.is_used and reading.bears_on is not None:
            own = i if reading.kind == "fact" else 0
            key = (reading.bears_on, reading.kind, own)
            groups.setdefault(key, []).append((f"reading.{line}.{i}", reading))
    return tuple(groups.values())


def masked_reading(recorded: Recorded[Mark], reading: MarkReading) -> tuple[str, str]:
    """The reading and its reason as they may be shown: a withheld mark is not told by its reading."""
    if not recorded.withheld & {"text", "reads"}:
        return reading.reading, reading.reason
    return "withheld", f"Read by {reading.reference or 'the date written'}; the mark is withheld."


def _write_reading(draft: Draft, recorded: Recorded[Mark], i: int, reading: MarkReading) -> None:
    row = draft.packs.row(reading.reference)
    premises = [line_of(recorded)]
    if row is not None:
        draft.rows[row.id] = row
        premises.append(reference_of(row))
    allowed = _days_of(draft, recorded, reading)
    draft.rows.update((each.id, each) for each in allowed.rows)
    premises.extend(allowed.premises)
    says, why = masked_reading(recorded, reading)
    sentence = f"“{recorded.shown('text')}”: {says}; {why.rstrip('.')}{allowed.allowed}."
    rule = _rule_of(reading)
    draft.finding(
        f"reading.{recorded.id}.{i}",
        "reading",
        Because(rule if reading.is_used else "as recorded", sentence, tuple(premises)),
    )


def _rule_of(reading: MarkReading) -> str:
    if reading.kind == "fact":
        return "general fact"
    return "label dates completion" if reading.bears_on == "completed" else "mark dates its part"


def _bound_by_mark(
    draft: Draft, recorded: Recorded[Mark], used: list[tuple[str, MarkReading]], suffix: str
) -> None:
    place = place_of(recorded.line)
    days = Spans.of(span for _, reading in used for span in reading.spans)
    if any(not reading.spans for _, reading in used) or not days or days == EVER:
        return
    supposed = [draft.sound(recorded)]
    rows = {reading.reference: draft.packs.row(reading.reference) for _, reading in used}
    if len(rows) == 1:
        (row,) = rows.values()
        # A layout of digits is a way of reading and falls with the reading; a table or a fact
        # can be wrong while the mark is read aright.
        if row is not None and not isinstance(row.row, MarkLayout | DateCode):
            supposed.extend((draft.holds(row), *draft.scope(row, place)))
    premises = tuple(name for name, _ in used)
    if used[0][1].bears_on == "completed":
        dated = (days, suffix, used[0][1])
        _completed_by_label(draft, recorded, dated, premises, supposed)
        return
    name = draft.anatomy.name(place)
    root = draft.anatomy.is_root(place)
    when = _days_of(draft, recorded, used[0][1]).in_words(days)
    sentence = f"The {was(name)} made {when}, by the mark “{recorded.shown('text')}”."
    because = Because(_rule_of(used[0][1]), sentence, premises, tuple(supposed))
    draft.bound(f"made.{recorded.id}{suffix}", draft.anatomy.made(place), days, because)
    if days.latest is not None:
        _limit_stock(draft, place, root=root)


def _limit_stock(draft: Draft, place: str, *, root: bool) -> None:
    """A dated part that is the first was fitted within the stock limit of the works.

    A supposition for each part, and only of first-fitted ones: repairers use stock of any age.
    """
    row = draft.packs.practice("shelf-life-years")
    name = f"stock.{place}"
    if name in draft.findings:
        return
    years = row.row.value
    fitted = draft.anatomy.fitted(place) if "part/" not in place else f"fitted:{place}"
    what = "completed with" if root else "fitted"
    draft.relation(
        name,
        (fitted, draft.anatomy.made(place)),
        Because(
            "stock is used up",
            f"The {draft.anatomy.name(place)} was {what} no later than {years:g} years after it "
            "was made, if the works used up its stock as practice has it.",
            (reference_of(row),),
            (draft.within_stock_limit(row, place, years), *draft.fitting(place)),
        ),
        -round(years * DAYS_A_YEAR),
    )


def _completed_by_label(
    draft: Draft,
    recorded: Recorded[Mark],
    dated: tuple[Spans, str, MarkReading],
    premises: tuple[str, ...],
    supposed: list[str],
) -> None:
    place = place_of(recorded.line)
    days, suffix, reading = dated
    told, besides, allowed = _days_of(draft, recorded, reading), "", ""
    if reading.kind == "written":
        row = draft.packs.practice("label-allowance")
        draft.rows[row.id] = row
        margin = round(row.row.value)
        days = days.widened(margin, margin)
        besides = f"{margin} days"
        allowed = "" if told.doubt else f", allowing {besides} either way"
        premises = (*premises, reference_of(row))
    supposed = [*supposed, *draft.fitting(place)]
    at = f"at {told.in_words(days, besides)}" if told.doubt else days_as_when(days)
    sentence = (
        f"The {draft.anatomy.name(place)} (“{recorded.shown('text')}”) puts the completion "
        f"{at}{allowed}."
    )
    draft.bound(
        f"label.{recorded.id}{suffix}",
        draft.anatomy.completed(place),
        days,
        Because("label dates completion", sentence, premises, tuple(supposed)),
    )


def date_features(draft: Draft) -> None:
    """Bound completion by every timeline that speaks of a recorded feature."""
    rows = draft.packs.applying(Timeline, draft.case.instrument)
    spoken: set[str] = set()
    for recorded in draft.case.of(Feature):
        place = place_of(recorded.line)
        base = draft.anatomy.position_of(place).partition(".")[0]
        if draft.explained_by(recorded.id) is not None:
            continue
        for row in rows:
            if row.row.position != base or not _same(row.row.feature, recorded.line.feature):
                continue
            if row.id not in spoken:
                _hold_against_examples(draft, row)
            spoken.add(row.id)
            if _same(row.row.value, recorded.line.value):
                _bound_by_timeline(draft, recorded, row)


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def _bound_by_timeline(draft: Draft, recorded: Recorded[Feature], row: Row[Timeline]) -> None:
    name = f"timeline.{recorded.id}.{row.id}"
    premises: tuple[str, ...] = (line_of(recorded), reference_of(row))
    draft.rows[row.id] = row
    span = timeline_days(draft, row)
    if any(each.instrument == draft.case.instrument.id for each in row.row.examples):
        others = [e for e in row.row.examples if e.instrument != draft.case.instrument.id]
        span = _left_out(draft, row)
        told = "nothing can be told from it" if span is None else "the recomputed span is used"
        sentence = (
            f"The row “{row_sentence(row.row)}” rests on this very instrument; without it "
            f"{counted(len(others), 'example')} are left and {told}."
        )
        because = Because("leave this one out", sentence, premises)
        premises = (*premises, draft.finding(f"dependency.{row.id}", "dependency", because))
    if span is None or span == EVER:
        return
    place = place_of(recorded.line)
    lap = row.row.overlap_days
    spread = span.widened(lap, lap)
    margin = f", with an overlap of {lap} days either way" if lap else ""
    sample = f", n={row.row.n}" if row.row.n is not None else ""
    doubted = _doubt_of_timeline(draft, row)
    premises = (*premises, *doubted.premises)
    when = f"{doubted.doubt} {days_in_words(span)}" if doubted.doubt else days_as_when(span)
    sentence = (
        f"The {draft.anatomy.name(place)} has {row.row.feature} {row.row.value}, which left the "
        f"works {when}{doubted.allowed}{margin} ({row.row.source}{sample})."
    )
    supposed = (
        draft.sound(recorded),
        draft.holds(row),
        *draft.makeup(place),
        *draft.scope(row, place),
    )
    because = Because("feature timeline", sentence, premises, supposed)
    draft.bound(name, draft.anatomy.completed(place), spread, because)


def _doubt_of_timeline(draft: Draft, row: Row[Timeline]) -> RecordedDays:
    """That an end of the row's is a date in doubt, and the row of practice that widened it."""
    ends = [recorded_days(draft.packs, end) for end in (row.row.begins, row.row.ends) if end]
    found = next((end for end in ends if end.doubt), UNDATED)
    draft.rows.update((each.id, each) for each in found.rows)
    return found


def timeline_days(draft: Draft, row: Row[Timeline]) -> Spans | None:
    """The span of a timeline in days, without its overlap; None where it has none."""
    line = row.row
    if line.serials is not None:
        return _days_of_serials(draft, row, line.serial_first, line.serial_last)
    begins = recorded_days(draft.packs, line.begins).spans.earliest if line.begins else None
    ends = recorded_days(draft.packs, line.ends).spans.latest if line.ends else None
    if begins is not None and ends is not None and ends < begins:
        return None
    return Spans.between(begins, ends)


def _days_of_serials(
    draft: Draft, row: Row[Timeline], first: int | None, last: int | None
) -> Spans | None:
    """The dates of a run of serials, by the serial table that the timeline names."""
    table = draft.packs.row(f"{row.pack.pack}/{row.row.serials}")
    if table is None or not isinstance(table.row, SerialTable):
        return None
    draft.rows[table.id] = table
    dates: list[Span] = []
    for each in table.row.ranges:
        is_before = last is not None and each.first > last
        is_after = first is not None and each.last < first
        if not is_before and not is_after:
            dates.extend(recorded_days(draft.packs, each.date).spans)
    if not dates:
        return None
    found = Spans.of(dates)
    return Spans.between(
        None if first is None else found.earliest, None if last is None else found.latest
    )


def _left_out(draft: Draft, row: Row[Timeline]) -> Spans | None:
    """The span recomputed from the other examples; None where they are too few to tell."""
    others = [e for e in row.row.examples if e.instrument != draft.case.instrument.id]
    if row.row.serials is not None:
        numbers = [e.serial for e in others if e.serial is not None]
        if len(numbers) < FEWEST_EXAMPLES:
            return None
        extra = round(range_extension(len(numbers)) * (max(numbers) - min(numbers)))
        return _days_of_serials(draft, row, max(0, min(numbers) - extra), max(numbers) + extra)
    dates = [recorded_days(draft.packs, e.date).spans for e in others if e.date is not None]
    firsts = [d.earliest for d in dates if d.earliest is not None]
    lasts = [d.latest for d in dates if d.latest is not None]
    if min(len(firsts), len(lasts)) < FEWEST_EXAMPLES:
        return None
    extra = round(range_extension(len(dates)) * (max(lasts) - min(firsts)))
    return Spans.between(min(firsts) - extra, max(lasts) + extra)


def range_extension(n: int, confidence: float = RANGE_CONFIDENCE) -> float:
    """By how much of the observed range each end is extended for ``confidence`` (n >= 2).

    Strauss and Sadler 1989: (1 - C) ** (-1 / (n - 1)) - 1.

    >>> round(range_extension(10, 0.95), 3)
    0.395
    """
    return float((1 - confidence) ** (-1 / (n - 1)) - 1)


def _hold_against_examples(draft: Draft, row: Row[Timeline]) -> None:
    """An example dated outside the row's own span: one of the two cannot hold."""
    span = timeline_days(draft, row)
    if span is None or row.row.serials is not None:
        return
    spread = span.widened(row.row.overlap_days, row.row.overlap_days)
    for example in row.row.examples:
        if example.date is None or example.instrument == draft.case.instrument.id:
            continue
        days = recorded_days(draft.packs, example.date).spans
        if not days or spread.intersection(days):
            continue
        far = days.earliest if days.earliest is not None else days.latest
        sentence = (
            f"{article(row.row.source)} gives {days_in_words(span)} for {row.row.feature} "
            f"{row.row.value}, yet its own example {example.instrument} is dated {example.date} "
            f"({iso_date(far or 0)}; {example.source})."
        )
        draft.clash(
            f"example.{row.id}.{example.instrument}",
            Because(
                "reference against its examples",
                sentence,
                (reference_of(row),),
                (draft.holds(row), draft.holds(row, example.instrument)),
            ),
        )
