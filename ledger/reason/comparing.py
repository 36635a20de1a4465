"""Does what was measured or seen agree with how the works made it?

Question answered: which measures, features and numbers cannot have left the works as they are.

Method: a measure clashes with a specification only where the whole interval of its uncertainty
lies outside the limits, and not where the row says that a value outside is an open question; a
feature clashes where its value is none of those the works made; two numbers where the works gave
both parts one number and the two are legible and differ. What passes is written down as such and
supports nothing by itself; a test that nearly everything passes says so.

Cost: linear in lines times the rows that concern their position.

What it does not do: weigh what passes.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from ledger.knowledge.glyphs import possible_count, read_glyphs
from ledger.knowledge.marks import MarkReading
from ledger.knowledge.packs import Row
from ledger.models import Feature, Mark, Measurement
from ledger.reason.anatomy import Anatomy
from ledger.reason.draft import Because, Draft, line_of, reference_of
from ledger.reason.measuring import Outcome, hold_against_limits, passed
from ledger.reason.wording import article, line_sentence, listing
from ledger.record.case import Recorded
from ledger.references import MatchingNumbers, Specification

FEWEST_DIGITS = 2
MOST_NUMBERS = 1000
OPEN_QUESTION = "outside."


def compare_with_specifications(draft: Draft) -> None:
    """Write down every comparison; one that cannot have left the works so is a clash."""
    rows = draft.packs.applying(Specification, draft.case.instrument)
    lines: list[Recorded[Measurement] | Recorded[Feature]] = [*draft.case.of(Measurement)]
    lines.extend(draft.case.of(Feature))
    for recorded in lines:
        line = recorded.line
        place = line.position if line.position is not None else f"part/{line.part}"
        base = draft.anatomy.position_of(place).partition(".")[0]
        for row in rows:
            if row.row.position != base:
                continue
            found = _held_against(draft, place, recorded, row)
            if found is not None:
                _write(draft, place, recorded, row, found)


def _write(
    draft: Draft,
    place: str,
    recorded: Recorded[Measurement] | Recorded[Feature],
    row: Row[Specification],
    found: Outcome,
) -> None:
    name = f"specification.{recorded.id}.{row.id}"
    draft.rows[row.id] = row
    draft.rows.update((each.id, each) for each in found.rows)
    premises = (line_of(recorded), *(reference_of(each) for each in (row, *found.rows)))
    work = draft.explained_by(recorded.id)
    if found.verdict == "open question":
        name = f"{OPEN_QUESTION}{recorded.id}.{row.id}"
    if found.verdict != "passes" and work is not None:
        said = line_sentence(work, draft.anatomy.name)
        sentence = (
            f"{found.sentence} That is conceded, and accounted for by a recorded work: {said}"
        )
        of = (*premises, line_of(work))
        because = Because("specification", sentence, of, (draft.sound(work),))
        draft.finding(name, "comparison", because)
        return
    if found.verdict != "contradicts":
        draft.finding(name, "comparison", Because("specification", found.sentence, premises))
        return
    supposed = (
        draft.sound(recorded),
        draft.holds(row),
        *draft.makeup(place),
        *draft.scope(row, place),
    )
    draft.clash(name, Because("specification", found.sentence, premises, supposed))


def _held_against(
    draft: Draft,
    place: str,
    recorded: Recorded[Measurement] | Recorded[Feature],
    row: Row[Specification],
) -> Outcome | None:
    line = recorded.line
    if isinstance(line, Measurement):
        same = row.row.quantity.casefold() == line.quantity.casefold()
        return hold_against_limits(draft, place, recorded, row) if same else None
    if row.row.feature.casefold() != line.feature.casefold():
        return None
    name = draft.anatomy.name(place)
    shown = recorded.shown("value")
    made_so = {value.casefold() for value in row.row.values}
    if line.value.casefold() in made_so:
        return passed(draft, f"{name}: {recorded.shown('feature')} {shown}", row.row)
    sample = f", n={row.row.n}" if row.row.n is not None else ""
    sentence = (
        f"{article(name)}: {recorded.shown('feature')} is {shown}; the works made it "
        f"{' or '.join(row.row.values)} ({row.row.source}{sample})."
    )
    if row.row.outside == "open question":
        return Outcome("open question", f"{sentence} The row has that for an open question.")
    return Outcome("contradicts", sentence)


def match_numbers(draft: Draft, readings: Mapping[str, tuple[MarkReading, ...]]) -> None:
    """Two parts to which the works gave one number, with different numbers on them, clash.

    Where any number on the one agrees with any on the other, they match, whatever else they bear.
    """
    for row in draft.packs.applying(MatchingNumbers, draft.case.instrument):
        ours = [_numbers_at(draft, row, position, readings) for position in row.row.positions]
        if not all(ours):
            continue
        agreeing = [
            (one, other)
            for one in ours[0]
            for other in ours[1]
            if numbers_of(one.line.text) & numbers_of(other.line.text)
        ]
        draft.rows[row.id] = row
        for one, other in agreeing:
            _tell_match(draft, row, one, other)
        if not agreeing:
            _tell_mismatch(draft, row, ours[0], ours[1])


def _numbers_at(
    draft: Draft,
    row: Row[MatchingNumbers],
    position: str,
    readings: Mapping[str, tuple[MarkReading, ...]],
) -> list[Recorded[Mark]]:
    """Marks at the position that are numbers and nothing but numbers, all of it legible.

    What is a patent, a design or a date code is no such number. What a serial table reads may be
    the very number that was written on the other part as well, so it stands where no other does.
    """
    marks = [
        mark
        for mark in draft.case.of(Mark)
        if mark.line.position == position
        and numbers_of(mark.line.text)
        and mark.line.scheme in (None, "matching-numbers", row.row.id, row.id)
    ]
    kinds = {
        mark.id: {reading.kind for reading in readings.get(mark.id, ()) if reading.is_used}
        for mark in marks
    }
    plain = [mark for mark in marks if mark.line.scheme is not None or not kinds[mark.id]]
    return plain or [mark for mark in marks if kinds[mark.id] == {"serial"}]


def numbers_of(text: str) -> frozenset[str]:
    """Every number that a mark may be, its digits only; none where it is no number.

    A mark is a number if it has two digits or more, at most one word of letters before them, and
    few enough glyphs in doubt to be told from another.
    """
    glyphs = [g for g in read_glyphs(text) if g.written not in "#.-º° "]
    while glyphs and not glyphs[0].digits():
        glyphs = glyphs[1:]
    if len(glyphs) < FEWEST_DIGITS or not all(glyph.digits() for glyph in glyphs):
        return frozenset()
    if possible_count(tuple(glyphs)) > MOST_NUMBERS:
        return frozenset()
    return frozenset("".join(choice) for choice in product(*(g.digits() for g in glyphs)))


def _tell_match(
    draft: Draft, row: Row[MatchingNumbers], one: Recorded[Mark], other: Recorded[Mark]
) -> None:
    names = [draft.anatomy.name(str(mark.line.position)) for mark in (one, other)]
    premises = (line_of(one), line_of(other), reference_of(row))
    sentence = (
        f"{article(listing(names))} bear numbers that agree as far as they can be read, as the "
        "works gave them; a chance match or a later hand is not excluded."
    )
    because = Because("matching numbers", sentence, premises)
    draft.finding(f"numbers.{one.id}.{other.id}", "comparison", because)


def _tell_mismatch(
    draft: Draft,
    row: Row[MatchingNumbers],
    ones: list[Recorded[Mark]],
    others: list[Recorded[Mark]],
) -> None:
    """No two numbers agree: one clash, which falls if any of them is read wrongly."""
    places = [str(marks[0].line.position) for marks in (ones, others)]
    names = [draft.anatomy.name(place) for place in places]
    shown = [listing(f"“{mark.shown('text')}”" for mark in marks) for marks in (ones, others)]
    sentence = (
        f"The {names[0]} bears {shown[0]}, the {names[1]} {shown[1]}; the works gave both one "
        f"number ({row.row.source})."
    )
    marks = (*ones, *others)
    supposed = (
        *(draft.sound(mark) for mark in marks),
        draft.holds(row),
        *_togetherness(draft.anatomy, draft, *places),
    )
    premises = (*(line_of(mark) for mark in marks), reference_of(row))
    name = f"numbers.{ones[0].id}.{others[0].id}"
    draft.clash(name, Because("matching numbers", sentence, premises, supposed))


def _togetherness(anatomy: Anatomy, draft: Draft, one: str, other: str) -> tuple[str, ...]:
    """What must hold for two parts to have left the works together."""
    path = anatomy.view.union_path(anatomy.root_of(one), anatomy.root_of(other)) or ()
    unions = tuple(anatomy.union_id(union) for union in path)
    return (*unions, *draft.fitting(one), *draft.fitting(other))
