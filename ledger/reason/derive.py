"""What follows from each line by itself?

Question answered: the bounds, relations and clashes that the rules of :mod:`ledger.reason.rules`
give for a case, each with its premises and suppositions.

Method: one short function a rule, over the lines it concerns, in the order of the sheet.

Cost: linear in lines and rows.

What it does not do: decide anything. A part's date stays the part's; it reaches the instrument
only through the supposition that the part left the works with it, and another root only through
a union.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from ledger.basis.spans import EVER
from ledger.knowledge.marks import MarkReading
from ledger.knowledge.packs import Packs
from ledger.models import Work
from ledger.reason.anatomy import EVENTS, anatomy_of
from ledger.reason.comparing import compare_with_specifications, match_numbers
from ledger.reason.contradicting import compare_observations
from ledger.reason.dating import date_features, read_marks
from ledger.reason.draft import Because, Draft, line_of
from ledger.reason.fretting import check_frets
from ledger.reason.given import NOTHING_GIVEN, Given
from ledger.reason.recorded_dates import RecordedDays, recorded_days
from ledger.reason.technology import date_technologies
from ledger.reason.witnesses import date_by_witnesses
from ledger.reason.wording import line_sentence, was
from ledger.record.case import Case, Recorded


@dataclass(frozen=True, slots=True)
class Derivation:
    """The draft with everything the rules gave, and the readings of every mark."""

    draft: Draft
    readings: Mapping[str, tuple[MarkReading, ...]]


def derive(case: Case, packs: Packs, given: Given = NOTHING_GIVEN) -> Derivation:
    """Everything that follows from the lines of the case, one by one.

    Of what is ``given`` only the readings of marks count here.

    Raises:
        UnknownName: no pack has a catalogue for the instrument's kind.
    """
    draft = Draft(case, packs, anatomy_of(case, packs), given=given)
    _order_events(draft)
    _fit_parts(draft)
    _join_roots(draft)
    readings = read_marks(draft)
    date_features(draft)
    date_technologies(draft)
    check_frets(draft)
    compare_with_specifications(draft)
    match_numbers(draft, readings)
    compare_observations(draft, readings)
    for work in case.of(Work):
        _record_work(draft, work)
    date_by_witnesses(draft)
    return Derivation(draft, readings)


def _order_events(draft: Draft) -> None:
    for earlier, later in pairwise(EVENTS):
        draft.relation(
            f"order.{later.replace(' ', '-')}",
            (draft.anatomy.moment_of(earlier), later),
            Because("order of events", f"It was {earlier} before it was {later}."),
        )


def _fit_parts(draft: Draft) -> None:
    """Every part: made before fitted, and fitted at completion if it is the first."""
    places = [*draft.anatomy.positions, *(f"part/{name}" for name in draft.anatomy.removed)]
    for place in places:
        made, fitted = draft.anatomy.made(place), draft.anatomy.fitted(place)
        name = draft.anatomy.name(place)
        event = draft.anatomy.events.get(place)
        shown_by = tuple(f"line:{trace}" for trace in event.traces) if event else ()
        occasion = ", on one occasion with what its joints go with" if event else ""
        draft.relation(
            f"before.{place}",
            (made, fitted),
            Because(
                "fitted on one occasion" if event else "made before fitted",
                f"The {was(name)} made before being fitted{occasion}.",
                shown_by,
            ),
        )
        if not draft.anatomy.is_root(place):
            _fit_part(draft, place)


def _fit_part(draft: Draft, place: str) -> None:
    anatomy = draft.anatomy
    name = f"fitted.{anatomy.event_of(place)}"
    if name in draft.findings:
        return
    parent = anatomy.view.parent_of(anatomy.position_of(place))
    through = anatomy.is_integral(place) and parent is not None and not anatomy.is_root(parent)
    target = anatomy.fitted(parent) if through and parent is not None else anatomy.completed(place)
    when = f"with the {anatomy.name(parent)}" if through and parent else "by the completion"
    subject = draft.event_name(anatomy.event_of(place))
    own = anatomy.first_fitted(place)
    draft.fitting(place)
    draft.same_day(
        name,
        (anatomy.fitted(place), target),
        Because(
            "first-fitted at completion",
            f"If the {subject} left the works with the instrument, it was fitted {when}.",
            (),
            (own,),
        ),
    )


def _join_roots(draft: Draft) -> None:
    for union in draft.anatomy.view.unions:
        first, second = union.between
        one, other = draft.anatomy.name(first), draft.anatomy.name(second)
        supposed = draft.joined(draft.anatomy.union_id(union), first, second)
        draft.same_day(
            f"union.{first}+{second}",
            (f"completed:{first}", f"completed:{second}"),
            Because(
                "union",
                f"If the {one} and the {other} belong together ({union.how}), they were completed "
                "as one.",
                (),
                (supposed,),
            ),
        )


# -- works ------------------------------------------------------------------------------------


def _record_work(draft: Draft, work: Recorded[Work]) -> None:
    line = work.line
    done = f"done:{work.id}"
    supposed = draft.sound(work)
    said = line_sentence(work, draft.anatomy.name)
    if line.date is not None:
        _date_work(draft, work, recorded_days(draft.packs, line.date))
    for position in line.positions:
        if line.action in ("replaced", "added"):
            _fit_by_work(draft, work, position)
        elif line.action == "altered":
            draft.clash(
                f"altered.{work.id}.{position}",
                Because(
                    "recorded work",
                    f"The {draft.anatomy.name(position)} cannot be as it left the works if this "
                    f"is true: {said}",
                    (line_of(work),),
                    (supposed, *draft.makeup(position)[-1:]),
                ),
            )
    for part in line.removed:
        draft.relation(
            f"removed.{work.id}.{part}",
            (f"fitted:part/{part}", done),
            Because(
                "removed by a work",
                f"The {draft.anatomy.name(f'part/{part}')} had been fitted before it was taken "
                f"out: {said}",
                (line_of(work),),
                (supposed,),
            ),
        )


def _date_work(draft: Draft, work: Recorded[Work], told: RecordedDays) -> None:
    """When the work was done, and that what it was done to had been completed by then."""
    if told.spans == EVER:
        return
    supposed, said = draft.sound(work), line_sentence(work, draft.anatomy.name)
    draft.rows.update((row.id, row) for row in told.rows)
    premises = (line_of(work), *told.premises)
    because = Because("recorded work", f"Done {told.in_words()}: {said}", premises, (supposed,))
    draft.bound(f"done.{work.id}", f"done:{work.id}", told.spans, because)
    for root in _roots_worked_on(draft, work):
        draft.relation(
            f"worked.{work.id}.{root}",
            (f"completed:{root}", f"done:{work.id}"),
            Because(
                "worked on after completion",
                f"The {draft.anatomy.name(root)} had been completed when this was done: {said}",
                (line_of(work),),
                (supposed,),
            ),
        )


def _roots_worked_on(draft: Draft, work: Recorded[Work]) -> tuple[str, ...]:
    """The roots that a work was done to; where it put in a root, the one that it was put to.

    What puts in a part is told to be after completion where the part is.
    """
    anatomy, line = draft.anatomy, work.line
    if line.action not in ("replaced", "added"):
        return tuple(dict.fromkeys(anatomy.root_of(position) for position in line.positions))
    put_in = {position for position in line.positions if anatomy.is_root(position)}
    anchor = anatomy.view.anchor
    return (anchor,) if put_in and anchor not in put_in else ()


def _fit_by_work(draft: Draft, work: Recorded[Work], position: str) -> None:
    anatomy = draft.anatomy
    supposed = draft.sound(work)
    said = line_sentence(work, anatomy.name)
    name = anatomy.name(position)
    if anatomy.is_root(position):
        path = anatomy.view.union_path(anatomy.view.anchor, position) or ()
        own = tuple(anatomy.union_id(union) for union in path[-1:]) or draft.makeup(position)
        sentence = (
            f"The {name} cannot belong to the instrument from the first if this is true: {said}"
        )
        draft.clash(
            f"replaced.{work.id}.{position}",
            Because("recorded work", sentence, (line_of(work),), (supposed, *own)),
        )
        return
    because = Because(
        "recorded work",
        f"The {was(name)} fitted then: {said}",
        (line_of(work),),
        (supposed,),
    )
    draft.same_day(
        f"refitted.{work.id}.{position}", (anatomy.fitted(position), f"done:{work.id}"), because
    )
    draft.clash(
        f"not-first.{work.id}.{position}",
        Because(
            "recorded work",
            f"What a work put in did not leave the works with the instrument: {said}",
            (line_of(work),),
            (supposed, *draft.fitting(position)[:1]),
        ),
    )
    draft.relation(
        f"after.{work.id}.{position}",
        (anatomy.completed(position), f"done:{work.id}"),
        Because(
            "recorded work",
            f"What a work puts in is put in after completion: {said}",
            (line_of(work),),
            (supposed,),
        ),
        1,
    )
