"""What should be examined next on this instrument, and what would settle a question?

Question answered: the advice on a case, and on request the least that settles its date or one of
its positions; the one door to advice without a whole report.

Method: derive, gather the evidence, weigh it, and foresee every examination
(:mod:`ledger.reason.advising`, :mod:`ledger.reason.settling`). Conflicts and accounts are not
needed for it and not looked for.

Cost: that of the weighing, and a few milliseconds for each examination.

What it does not do: anything that the weighing of the report does not do.
"""

from __future__ import annotations

from dataclasses import dataclass

from ledger.advice import Advice, Proposal
from ledger.errors import UnknownName
from ledger.knowledge.packs import Packs
from ledger.reason.advising import Survey, advised, survey
from ledger.reason.derive import derive
from ledger.reason.draft import Draft
from ledger.reason.factors import TooTangled
from ledger.reason.given import NOTHING_GIVEN, Given
from ledger.reason.posteriors import given_on
from ledger.reason.priors import fitments, suppositions
from ledger.reason.settling import DATE, settle
from ledger.reason.weighing import scales_of
from ledger.record.case import Case


@dataclass(frozen=True, slots=True)
class NextSteps:
    """The advice on a case; ``note`` says why there is none, where there is none."""

    advice: tuple[Advice, ...]
    proposal: Proposal | None = None
    note: str = ""


def next_steps(
    case: Case, packs: Packs, asked: str | None = None, given: Given = NOTHING_GIVEN
) -> NextSteps:
    """What to examine next, and what would settle what is ``asked``.

    Args:
        case: what is recorded.
        packs: what is known about production.
        asked: ``date``, the name of a position or of parts fitted as one, or None.
        given: what is supposed for the sake of argument.

    Raises:
        UnknownName: no pack has a catalogue for the kind, or it has no such position.
    """
    derivation = derive(case, packs, given)
    draft = derivation.draft
    events = (event.id for event in draft.anatomy.events.values())
    places = (DATE, *draft.anatomy.positions, *dict.fromkeys(events))
    if asked is not None and asked not in places:
        raise UnknownName(f"position of the {draft.anatomy.view.name}", asked, places)
    fitment = fitments(draft)
    try:
        scales = scales_of(draft, derivation.readings, suppositions(draft, fitment), fitment)
        if scales is None:
            return NextSteps((), note=NOTHING_DATED)
        outcome = given_on(scales, given)
        if not outcome.is_possible():
            return NextSteps((), note=IMPOSSIBLE)
        made = survey(outcome)
        proposal = None if asked is None else _proposal(made, draft, asked)
        return NextSteps(advised(made), proposal)
    except TooTangled as error:
        return NextSteps((), note=f"Too tangled to be weighed exactly: {error}.")


NOTHING_DATED = (
    "Nothing recorded has a date yet: read any mark with a date in it first, and what is easiest to "
    "see before what has to be opened."
)
IMPOSSIBLE = "Nothing explains all of the evidence together: read again what is in conflict first."


def _proposal(made: Survey, draft: Draft, asked: str) -> Proposal:
    if asked == DATE:
        return settle(made, DATE)
    choice = _choice(draft, asked)
    if choice is None or choice not in made.ready.evidence.sizes:
        name = draft.anatomy.name(asked)
        says = "is what the instrument of this case is known by" if choice is None else "is empty"
        return Proposal(asked, (), 1.0, 1.0, True, True, 0, f"The {name} {says}.")  # noqa: FBT003 - settled as it is
    return settle(made, choice)


def _choice(draft: Draft, position: str) -> str | None:
    """The choice that is the state of a position; None for the root that all is counted from."""
    anatomy = draft.anatomy
    if not anatomy.is_root(position):
        return f"way:{anatomy.event_of(position)}"
    path = anatomy.view.union_path(anatomy.view.anchor, position) or ()
    return anatomy.union_id(path[-1]) if path else None
