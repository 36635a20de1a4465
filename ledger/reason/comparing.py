"""Does what was measured or seen agree with how the works made it?

Question answered: which measures, features and numbers cannot have left the works as they are.

Method: a measure clashes with a specification only where the whole interval of its uncertainty
lies outside the limits; a feature where its value is none of those the works made; two numbers
where the works gave both parts one number and the two are legible and differ. What passes is
written down as such and supports nothing by itself; a test that nearly everything passes says so.

Cost: linear in lines times the rows that concern their position.

What it does not do: conformance probability (JCGM 106); that belongs to the weighing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from ledger.basis.limits import Standing
from ledger.basis.quantities import read_measurement, read_quantity
from ledger.knowledge.glyphs import possible_count, read_glyphs
from ledger.knowledge.packs import Row
from ledger.models import Feature, Mark, Measurement
from ledger.reason.anatomy import Anatomy
from ledger.reason.draft import Because, Draft, line_of, reference_of
from ledger.reason.wording import article, line_sentence, listing
from ledger.record.case import Recorded
from ledger.references import MatchingNumbers, Specification

FEWEST_DIGITS = 2
MOST_NUMBERS = 1000


@dataclass(frozen=True, slots=True)
class _Outcome:
    """How an observation stands to a specification, and the sentence that says so."""

    clashes: bool
    sentence: str


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
            found = _held_against(draft.anatomy.name(place), recorded, row)
            if found is not None:
                _write(draft, place, recorded, row, found)


def _write(
    draft: Draft,
    place: str,
    recorded: Recorded[Measurement] | Recorded[Feature],
    row: Row[Specification],
    found: _Outcome,
) -> None:
    name = f"specification.{recorded.id}.{row.id}"
    draft.rows[row.id] = row
    premises = (line_of(recorded), reference_of(row))
    work = draft.explained_by(recorded.id)
    if found.clashes and work is not None:
        said = line_sentence(work, draft.anatomy.name)
        sentence = (
            f"{found.sentence} That is conceded, and accounted for by a recorded work: {said}"
        )
        of = (*premises, line_of(work))
        because = Because("specification", sentence, of, (draft.sound(work),))
        draft.finding(name, "comparison", because)
        return
    if not found.clashes:
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
    name: str,
    recorded: Recorded[Measurement] | Recorded[Feature],
    row: Row[Specification],
) -> _Outcome | None:
    line = recorded.line
    if isinstance(line, Measurement):
        same = row.row.quantity.casefold() == line.quantity.casefold()
        return _held_against_limits(name, line, row.row) if same else None
    if row.row.feature.casefold() != line.feature.casefold():
        return None
    made_so = {value.casefold() for value in row.row.values}
    if line.value.casefold() in made_so:
        return _Outcome(
            clashes=False, sentence=_passed(f"{name}: {line.feature} {line.value}", row.row)
        )
    sample = f", n={row.row.n}" if row.row.n is not None else ""
    return _Outcome(
        clashes=True,
        sentence=(
            f"{article(name)}: {line.feature} is {line.value}; the works made it "
            f"{' or '.join(row.row.values)} ({row.row.source}{sample})."
        ),
    )


def _held_against_limits(name: str, line: Measurement, row: Specification) -> _Outcome | None:
    measured = read_measurement(line.value, line.uncertainty)
    low = read_quantity(row.low) if row.low is not None else None
    high = read_quantity(row.high) if row.high is not None else None
    limit = low or high
    if limit is None or limit.dimension != measured.quantity.dimension:
        return None
    found = measured.against(low, high)
    sample = f", n={row.n}" if row.n is not None else ""
    limits = " to ".join(str(each) for each in (low, high) if each is not None)
    said = f"{article(name)}: {line.quantity} {measured} against {limits} ({row.source}{sample})"
    words = found.in_words(limit.unit)
    if found.standing in (Standing.BELOW, Standing.ABOVE):
        return _Outcome(clashes=True, sentence=f"{said}: {words}.")
    if found.standing is Standing.WITHIN:
        return _Outcome(clashes=False, sentence=_passed(said, row))
    return _Outcome(
        clashes=False, sentence=f"{said}: {words}; the doubt of the figure leaves it open."
    )


def _passed(said: str, row: Specification) -> str:
    if row.nearly_all_pass:
        return f"{article(said)}: as the works made it, which nearly every replacement is too, so it tells nothing."
    return f"{article(said)}: as the works made it. That is a matter of type, not of fitting."


def match_numbers(draft: Draft) -> None:
    """Two parts to which the works gave one number, with different numbers on them, clash."""
    for row in draft.packs.applying(MatchingNumbers, draft.case.instrument):
        ours = [_numbers_at(draft, position) for position in row.row.positions]
        for one in ours[0]:
            for other in ours[1]:
                _match(draft, row, one, other)


def _numbers_at(draft: Draft, position: str) -> list[Recorded[Mark]]:
    """Marks at the position that are numbers and nothing but numbers, all of it legible."""
    return [
        mark
        for mark in draft.case.of(Mark)
        if mark.line.position == position
        and _numbers(mark.line.text)
        and mark.line.scheme in (None, "matching-numbers")
    ]


def _numbers(text: str) -> frozenset[str]:
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


def _match(
    draft: Draft, row: Row[MatchingNumbers], one: Recorded[Mark], other: Recorded[Mark]
) -> None:
    anatomy = draft.anatomy
    names = [anatomy.name(str(mark.line.position)) for mark in (one, other)]
    shown = [mark.shown("text") for mark in (one, other)]
    premises = (line_of(one), line_of(other), reference_of(row))
    name = f"numbers.{one.id}.{other.id}"
    draft.rows[row.id] = row
    if _numbers(one.line.text) & _numbers(other.line.text):
        sentence = (
            f"{article(listing(names))} bear numbers that agree as far as they can be read, as the "
            "works gave them; a chance match or a later hand is not excluded."
        )
        draft.finding(name, "comparison", Because("matching numbers", sentence, premises))
        return
    sentence = (
        f"The {names[0]} bears “{shown[0]}”, the {names[1]} “{shown[1]}”; the works gave both one "
        f"number ({row.row.source})."
    )
    supposed = (
        draft.sound(one),
        draft.sound(other),
        draft.holds(row),
        *_togetherness(anatomy, draft, str(one.line.position), str(other.line.position)),
    )
    draft.clash(name, Because("matching numbers", sentence, premises, supposed))


def _togetherness(anatomy: Anatomy, draft: Draft, one: str, other: str) -> tuple[str, ...]:
    """What must hold for two parts to have left the works together."""
    path = anatomy.view.union_path(anatomy.root_of(one), anatomy.root_of(other)) or ()
    unions = tuple(anatomy.union_id(union) for union in path)
    return (*unions, *draft.fitting(one), *draft.fitting(other))
