"""Do two sources say different things of one thing in one place?

Question answered: which two observations of what is there now cannot both be right.

Method: lines of different sources on one place are held against each other, two by two: one feature
with two values, something there and nothing there, one measure in two figures further apart than
the doubts of both allow, and, where the place holds only one, two numbers. A value that only says
more closely what the other says does not differ from it. What one source says twice is taken to be
meant together. A recorded work on the place, on what it is part of or on what is part of it, that
may lie between the two, accounts for the difference; so does one that names either line.

Cost: for every place the square of the number of its lines of one kind.

What it does not do: choose between the two, or count a search in vain against what another found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations
from typing import Any

from ledger.basis.spans import EVER, Spans
from ledger.knowledge.marks import MarkReading
from ledger.models import Feature, Identity, Mark, Measurement, Work
from ledger.reason.comparing import numbers_of
from ledger.reason.domains import OPEN_HIGH, OPEN_LOW
from ledger.reason.draft import Because, Draft, line_of
from ledger.reason.measuring import measured_apart
from ledger.reason.recorded_dates import recorded_days
from ledger.reason.wording import line_sentence
from ledger.record.case import Recorded

RULE = "observations differ"
PRESENCE = "presence"
ABSENT = frozenset(("missing", "absent", "gone", "none", "not there"))
# What an object has one of; a name or a place can be told in several ways at once.
ONE_OF_EACH = ("maker", "model", "kind", "serial")
Readings = Mapping[str, tuple[MarkReading, ...]]
Placed = Recorded[Any]
Seen = tuple[int | None, int | None]


def compare_observations(draft: Draft, readings: Readings) -> None:
    """Write down every two observations that cannot both be right, as a clash of the two."""
    for one, other in _pairs(draft, draft.case.of(Feature)):
        if _key(one.line.feature) == _key(other.line.feature) and _features_differ(one, other):
            _clash(draft, one, other)
    for one, other in _pairs(draft, draft.case.of(Measurement)):
        if _key(one.line.quantity) == _key(other.line.quantity):
            rows = measured_apart(draft, _place(one), (one.line, other.line))
            if rows is not None:
                draft.rows.update((row.id, row) for row in rows)
                _clash(draft, one, other, tuple(f"reference:{row.id}" for row in rows))
    for one, other in _pairs(draft, draft.case.of(Mark)):
        if _has_one_number(draft, _place(one)) and _numbers_differ(one, other, readings):
            _clash(draft, one, other)
    for one, other in combinations(draft.case.of(Identity), 2):
        is_same = one.line.what == other.line.what and one.line.what in ONE_OF_EACH
        if is_same and _are_apart(draft, one, other) and _values_differ(one, other):
            _clash(draft, one, other)


def _pairs(
    draft: Draft, lines: Iterable[Recorded[Any]]
) -> Iterator[tuple[Recorded[Any], Recorded[Any]]]:
    """Every two lines of different sources on one place, in the order of the sheet."""
    by_place: dict[str, list[Recorded[Any]]] = {}
    for line in lines:
        by_place.setdefault(_place(line), []).append(line)
    for here in by_place.values():
        yield from (pair for pair in combinations(here, 2) if _are_apart(draft, *pair))


def _place(recorded: Placed) -> str:
    line = recorded.line
    return line.position if line.position is not None else f"part/{line.part}"


def _are_apart(draft: Draft, one: Placed, other: Placed) -> bool:
    """Whether the two are of different sources, none of which repeats the other."""
    sources = [draft.source_of(one), draft.source_of(other)]
    first = [draft.first_source(source).id for source in sources if source is not None]
    return len(set(first)) == 2


def _key(text: str) -> str:
    return " ".join(text.casefold().split())


def _features_differ(one: Placed, other: Placed) -> bool:
    if _key(one.line.feature) != PRESENCE:
        return _values_differ(one, other)
    return says_absent(one.line) != says_absent(other.line)


def says_absent(line: Feature) -> bool:
    """Whether the line says that nothing is in the position."""
    return _key(line.feature) == PRESENCE and _key(line.value) in ABSENT


def _values_differ(one: Placed, other: Placed) -> bool:
    """Whether neither value holds all the words of the other, so that none only says it closer."""
    words = [
        set(_key(line.line.value).replace(",", " ").replace(";", " ").split())
        for line in (one, other)
    ]
    return not (words[0] <= words[1] or words[1] <= words[0])


def _has_one_number(draft: Draft, place: str) -> bool:
    """Whether the place is a label or number of the instrument, of which there is one."""
    row = draft.anatomy.view.find(draft.anatomy.position_of(place))
    return row is not None and row.marks_date == "completed" and (not row.many or "." in place)


def _numbers_differ(one: Placed, other: Placed, readings: Readings) -> bool:
    """Whether the two are numbers of one scheme, and no figure in doubt lets them be the same."""
    schemes = [_scheme(mark, readings.get(mark.id, ())) for mark in (one, other)]
    numbers = [numbers_of(mark.line.text) for mark in (one, other)]
    lengths = [{len(number) for number in each} for each in numbers]
    return (
        schemes[0] == schemes[1] and bool(lengths[0] & lengths[1]) and not numbers[0] & numbers[1]
    )


def _scheme(mark: Recorded[Mark], readings: tuple[MarkReading, ...]) -> str | None:
    """What the number is read by: the scheme that the sheet names, or the table that reads it."""
    by_table = (reading.reference for reading in readings if reading.kind == "serial")
    return mark.line.scheme or next(by_table, None)


def _clash(draft: Draft, one: Placed, other: Placed, rows: tuple[str, ...] = ()) -> None:
    said = [line_sentence(line, draft.anatomy.name) for line in (one, other)]
    sources = [draft.source_of(line) for line in (one, other)]
    titles = [
        draft.case.lines[source.id].shown("title") if source is not None else "one source"
        for source in sources
    ]
    name = f"differ.{one.id}.{other.id}"
    premises = (line_of(one), line_of(other), *rows)
    sentence = f"{said[0]} So says {titles[0]}. {said[1]} So says {titles[1]}."
    work = _work_between(draft, one, other)
    if work is not None:
        by = line_sentence(work, draft.anatomy.name)
        sentence = f"{sentence} A recorded work may account for the difference: {by}"
        of = (*premises, line_of(work))
        draft.finding(name, "comparison", Because(RULE, sentence, of, (draft.sound(work),)))
        return
    supposed = (draft.sound(one), draft.sound(other))
    draft.clash(name, Because(RULE, f"{sentence} Both cannot be.", premises, supposed))


# -- works between ----------------------------------------------------------------------------


def _work_between(draft: Draft, one: Placed, other: Placed) -> Recorded[Work] | None:
    """The first recorded work that accounts for a difference, or None."""
    for line in (one, other):
        named = draft.explained_by(line.id)
        if named is not None:
            return named
    if isinstance(one.line, Identity):
        return None
    place = draft.anatomy.position_of(_place(one))
    seen = [_seen(draft, line) for line in (one, other)]
    return next(
        (
            work
            for work in draft.case.of(Work)
            if any(_touches(draft, position, place) for position in work.line.positions)
            and _may_lie_between(draft, work.line, seen)
        ),
        None,
    )


def _seen(draft: Draft, line: Placed) -> Seen:
    """The first and last day on which the line may have been observed."""
    source = draft.source_of(line)
    if source is None or source.date is None:
        return None, None
    days = recorded_days(draft.packs, source.date).spans
    return days.earliest, days.latest


def _touches(draft: Draft, worked_on: str, place: str) -> bool:
    """Whether a work on the one may have changed what is seen at the other."""
    view = draft.anatomy.view
    if worked_on == place or worked_on in view.ancestors(place):
        return True
    return view.parent_of(worked_on) == place and draft.anatomy.is_integral(worked_on)


def _may_lie_between(draft: Draft, work: Work, seen: list[Seen]) -> bool:
    """Whether the work may have been done after the one was seen and before the other was."""
    days = recorded_days(draft.packs, work.date).spans if work.date is not None else EVER
    begins = [day for day, _ in seen]
    ends = [day for _, day in seen]
    first = min((OPEN_LOW if day is None else day for day in begins), default=OPEN_LOW)
    last = max((OPEN_HIGH if day is None else day for day in ends), default=OPEN_HIGH)
    return bool(days.intersection(Spans.between(first, last)))
