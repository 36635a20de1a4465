"""What do those say who saw the instrument, wrote of it, told of it or held it?

Question answered: the bounds on completion, dispatch and first sale, and on when a part was
there, that dated sightings, papers, accounts and custody give.

Method: one short function for each kind of witness. A sighting or paper counts only if it is of
this very object; an account is widened by the drift that practice gives to memory.

Cost: linear in lines.

What it does not do: take a paper about the object for a paper about its parts.
"""

from __future__ import annotations

from ledger.basis.spans import EVER, Spans, iso_date
from ledger.models import Custody, Mark, Paper, Shown, Sighting, Testimony
from ledger.reason.dating import DAYS_A_YEAR, place_of
from ledger.reason.draft import Because, Draft, line_of, reference_of
from ledger.reason.recorded_dates import RecordedDays, recorded_days
from ledger.reason.wording import line_sentence
from ledger.record.case import Recorded


def date_by_witnesses(draft: Draft) -> None:
    """Bound the events of the instrument by everything that was seen, written, told or held."""
    for sighting in draft.case.of(Sighting):
        _record_sighting(draft, sighting)
    for paper in draft.case.of(Paper):
        _date_by_paper(draft, paper)
    for testimony in draft.case.of(Testimony):
        _date_by_testimony(draft, testimony)
    for custody in draft.case.of(Custody):
        _date_by_custody(draft, custody)


def _days_told(draft: Draft, date: str) -> RecordedDays:
    """The days that the date bounds; the row that widened it is listed among those used."""
    found = recorded_days(draft.packs, date)
    draft.rows.update((row.id, row) for row in found.rows)
    return found


def _record_sighting(draft: Draft, sighting: Recorded[Sighting]) -> None:
    line = sighting.line
    if line.same_instrument != "yes":
        return
    anatomy = draft.anatomy
    seen = f"seen:{sighting.id}"
    supposed = (draft.sound(sighting),)
    premises = (line_of(sighting),)
    told = _days_told(draft, line.date)
    said = line_sentence(sighting, anatomy.name)
    because = Because(
        "seen at a date", f"Seen {told.in_words()}: {said}", (*premises, *told.premises), supposed
    )
    draft.bound(f"seen.{sighting.id}", seen, told.spans, because)
    draft.relation(
        f"existed.{sighting.id}",
        (draft.anatomy.moment_of("completed"), seen),
        Because(
            "seen at a date", f"It was completed before it was seen: {said}", premises, supposed
        ),
    )
    for i, shown in enumerate(line.shows, 1):
        if not anatomy.is_root(shown.position) and anatomy.view.find(shown.position) is not None:
            _record_shown(draft, sighting, i, shown)


def _record_shown(draft: Draft, sighting: Recorded[Sighting], i: int, shown: Shown) -> None:
    """What a sighting shows of one part: that it was there by then, or that another was."""
    anatomy = draft.anatomy
    seen, fitted = f"seen:{sighting.id}", anatomy.fitted(shown.position)
    name, said = anatomy.name(shown.position), line_sentence(sighting, anatomy.name)
    premises, supposed = (line_of(sighting),), (draft.sound(sighting),)
    rule = "seen at a date"
    if shown.same_as_now == "yes":
        sentence = f"The {name} of now stood there by then: {said}"
        because = Because(rule, sentence, premises, supposed)
        draft.relation(f"there.{sighting.id}.{i}", (fitted, seen), because)
    elif shown.same_as_now == "no":
        sentence = (
            f"What is there now as {name} is not what was seen then, so not the first: {said}"
        )
        own = (*supposed, *draft.fitting(shown.position)[:1])
        draft.clash(f"another.{sighting.id}.{i}", Because(rule, sentence, premises, own))
        sentence = f"What was seen then as {name} was another, so what is there now was fitted after: {said}"
        because = Because(rule, sentence, premises, supposed)
        draft.relation(f"changed.{sighting.id}.{i}", (seen, fitted), because, 1)


def _date_by_paper(draft: Draft, paper: Recorded[Paper]) -> None:
    line = paper.line
    said = line_sentence(paper, draft.anatomy.name)
    if line.event is None or line.date is None:
        return
    bearer = None if line.named_by is None else draft.case.lines.get(line.named_by)
    is_left_out = bearer is None and line.named_by is not None
    if line.names_this_object != "yes" or is_left_out:
        want = "the mark by which it names" if is_left_out else "naming"
        draft.finding(
            f"paper.{paper.id}",
            "comparison",
            Because(
                "paper dates an event",
                f"Not used, for want of {want} this object: {said}",
                (line_of(paper),),
            ),
        )
        return
    told = _days_told(draft, line.date)
    sentence = f"It was {line.event} {told.in_words()}, by a paper: {said}"
    premises = (line_of(paper), *told.premises)
    supposed: tuple[str, ...] = (draft.sound(paper),)
    if bearer is not None and isinstance(bearer.line, Mark):
        # Whose number the paper has is this object's only if the number came with it.
        sentence = f"{sentence.rstrip('.')}, by “{bearer.shown('text')}” on it."
        premises = (*premises, line_of(bearer))
        supposed = (*supposed, draft.sound(bearer), *draft.fitting(place_of(bearer.line)))
    because = Because("paper dates an event", sentence, premises, tuple(dict.fromkeys(supposed)))
    draft.bound(f"paper.{paper.id}", draft.anatomy.moment_of(line.event), told.spans, because)


def _date_by_testimony(draft: Draft, testimony: Recorded[Testimony]) -> None:
    line = testimony.line
    if line.event is None or line.date is None:
        return
    source = draft.source_of(testimony)
    relayed = source is not None and source.hand == "relayed"
    row = draft.packs.practice(
        "testimony-drift-relayed-years" if relayed else "testimony-drift-years"
    )
    draft.rows[row.id] = row
    drift = round(row.row.value * DAYS_A_YEAR)
    told = _days_told(draft, line.date)
    days = told.spans.widened(drift, drift)
    if days == EVER:
        return
    years = f"{row.row.value:g} years of drift"
    allowed = "" if told.doubt else f", allowing {years}"
    sentence = (
        f"It was {line.event} {told.in_words(days, years)}{allowed}: "
        f"{line_sentence(testimony, draft.anatomy.name)}"
    )
    draft.bound(
        f"told.{testimony.id}",
        draft.anatomy.moment_of(line.event),
        days,
        Because(
            "told by a person",
            sentence,
            (line_of(testimony), reference_of(row), *told.premises),
            (draft.sound(testimony),),
        ),
    )


def _date_by_custody(draft: Draft, custody: Recorded[Custody]) -> None:
    line = custody.line
    if line.begins is None:
        return
    told = _days_told(draft, line.begins)
    latest = told.spans.latest
    if latest is None:
        return
    until = iso_date(latest)
    allowed = f" (held from {told.in_words()})" if told.doubt else ""
    draft.bound(
        f"held.{custody.id}",
        draft.anatomy.moment_of("completed"),
        Spans.between(None, latest),
        Because(
            "held from a date",
            f"It was completed by {until}, being held then{allowed}.",
            (line_of(custody), *told.premises),
            (draft.sound(custody),),
        ),
    )
