"""What was seen that nothing explains, and where to look next?

Question answered: which observations stay open until an event explains them, which places have
not been looked at that bear on what is in doubt, and what the conclusions take for granted.

Method: a trace that points to an event is explained by a recorded work that names it or that was
done at the same place; a mark that says nothing possible, a line that no leading account can
keep, and a part that is not the first without any record of its coming are open.

Cost: linear in lines and positions.

What it does not do: rank examinations by what they would tell.
"""

from __future__ import annotations

from collections.abc import Mapping

from ledger.basis.percentages import percent
from ledger.findings import Look, PositionFinding, Surprise
from ledger.knowledge.marks import MarkReading
from ledger.models import Mark, NonValue, Question, Trace, Work
from ledger.reason.comparing import OPEN_QUESTION
from ledger.reason.draft import Because, Draft
from ledger.reason.happenings import custody_gaps, custody_overlaps
from ledger.reason.priors import USUAL_AGE_YEARS
from ledger.reason.states import REPLACED
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article, line_name, line_sentence, listing

LOOKS_AT_MOST = 12
# Kinds of reading that fit many a mark by chance, or date nothing: a mark that has no other was
# never meant to tell a date, and is not called unreadable.
FIT_BY_CHANCE = ("date code", "fact")
# States that an examination could change, the most open first.
WORTH_A_LOOK = ("cannot be told", "presumed first-fitted (untested)", "not examined")
REACH_ORDER = ("look", "open", "remove", "alter")
REACH_LOSES = {
    "look": "",
    "open": "what lies under it can be disturbed: record it as found first",
    "remove": "joints, dust shadows and screw seats can be lost: record them first",
    "alter": "evidence is destroyed for good",
}
EXPLAINING = ("replaced", "altered", "repaired", "added", "refitted", "removed")


def open_surprises(
    weighed: Weighed,
    readings: Mapping[str, tuple[MarkReading, ...]],
    positions: tuple[PositionFinding, ...],
) -> tuple[Surprise, ...]:
    """Everything unexpected, explained or not, in the order of the record."""
    draft = weighed.draft
    found = [
        *_suggestive_traces(draft),
        *_unreadable_marks(draft, readings),
        *_values_outside(draft),
        *_lost_lines(weighed),
        *_unrecorded_swaps(weighed, positions),
    ]
    for surprise in found:
        state = "open" if surprise.is_open else f"explained by {surprise.explained_by}"
        draft.finding(
            surprise.id,
            "surprise",
            Because(
                "open until explained", f"{surprise.sentence} ({state})", (f"line:{surprise.line}",)
            ),
        )
    return tuple(found)


def _suggestive_traces(draft: Draft) -> list[Surprise]:
    found: list[Surprise] = []
    works = draft.case.of(Work)
    for trace in draft.case.of(Trace):
        row = draft.packs.trace_kind(trace.line.trace)
        if row is None or not row.row.suggests:
            continue
        named = [w.id for w in works if trace.id in w.line.explains]
        there = [
            w.id
            for w in works
            if w.line.action in EXPLAINING and set(trace.line.positions) <= set(w.line.positions)
        ]
        by = next(iter((*named, *there)), None)
        sentence = (
            f"{line_sentence(trace, draft.anatomy.name)} It points to this: {row.row.suggests}."
        )
        found.append(Surprise(f"surprise.{trace.id}", sentence, trace.id, by is None, by))
    return found


def _unreadable_marks(
    draft: Draft, readings: Mapping[str, tuple[MarkReading, ...]]
) -> list[Surprise]:
    found: list[Surprise] = []
    for mark in draft.case.of(Mark):
        given = [
            reading for reading in readings.get(mark.id, ()) if reading.kind not in FIT_BY_CHANCE
        ]
        if not given or any(reading.is_used for reading in readings[mark.id]):
            continue
        reasons = listing(dict.fromkeys(reading.reason for reading in given if reading.is_plain))
        sentence = (
            f"{line_sentence(mark, draft.anatomy.name)} As it stands it gives no date"
            f"{f': {reasons}' if reasons else ''}. It has to be read again; no date is used meanwhile."
        )
        found.append(Surprise(f"surprise.{mark.id}", sentence, mark.id, is_open=True))
    return found


def _values_outside(draft: Draft) -> list[Surprise]:
    """Values outside a specification that has that for an open question, each line once."""
    found: dict[str, Surprise] = {}
    for name, finding in draft.findings.items():
        if name.startswith(OPEN_QUESTION):
            line = finding.premises[0].removeprefix("line:")
            work = draft.explained_by(line)
            by = work.id if work is not None else None
            surprise = Surprise(f"surprise.{name}", finding.sentence, line, by is None, by)
            found.setdefault(line, surprise)
    return list(found.values())


def _lost_lines(weighed: Weighed) -> list[Surprise]:
    """Lines that every leading account gives up: each has its own reason, which is not known."""
    found: list[Surprise] = []
    for name in weighed.ready.names:
        kind, _, line = name.partition(":")
        if kind != "sound" or not weighed.leading or not all(weighed.given_up(name)):
            continue
        recorded = weighed.draft.case.lines[line]
        sentence = (
            f"{line_sentence(recorded, weighed.draft.anatomy.name)} This cannot be squared with the "
            "rest; a slip of memory, of the pen or of the reading are among the reasons, and none "
            "is shown."
        )
        found.append(Surprise(f"surprise.{line}", sentence, line, is_open=True))
    return found


def _unrecorded_swaps(weighed: Weighed, positions: tuple[PositionFinding, ...]) -> list[Surprise]:
    found: list[Surprise] = []
    told: set[str] = set()
    recorded = {p for work in weighed.draft.case.of(Work) for p in work.line.positions}
    for position in positions:
        replaced = set(position.states) <= {*REPLACED, "altered in place"}
        event = position.fitting_event or position.position
        if (
            not position.states
            or not replaced
            or position.position in recorded
            or event in told
            or not position.lines
        ):
            continue
        told.add(event)
        sentence = (
            f"{article(weighed.draft.event_name(event))}: {position.label}, by what contradicts "
            "it; no record says when, by whom or why."
        )
        found.append(Surprise(f"surprise.{event}", sentence, position.lines[0], is_open=True))
    return found


def places_to_look(draft: Draft, positions: tuple[PositionFinding, ...]) -> tuple[Look, ...]:
    """Checks of the catalogue that bear on what is open, least invasive first."""
    found: list[tuple[tuple[int, int], Look]] = []
    for position in positions:
        row = draft.anatomy.view.find(position.position)
        urgency = next(
            (i for i, state in enumerate(WORTH_A_LOOK) if position.states == (state,)), None
        )
        if row is None or not row.checks or urgency is None:
            continue
        sentence = f"{article(position.name)} ({position.label}): {listing(row.checks)}."
        look = Look(position.position, row.examine, sentence, REACH_LOSES[row.examine])
        found.append(((urgency, REACH_ORDER.index(row.examine)), look))
    found.sort(key=lambda each: each[0])
    return tuple(look for _, look in found[:LOOKS_AT_MOST])


def open_questions(draft: Draft) -> tuple[str, ...]:
    """The questions recorded as open, what could not be read, gaps and overlaps in custody."""
    asked = [question.shown("question") for question in draft.case.of(Question)]
    unread = [
        line_sentence(line, draft.anatomy.name)
        for line in draft.case.of(NonValue)
        if line.line.value == "not legible"
    ]
    gaps = [
        f"Custody: nobody is recorded from {first} to {last}."
        for first, last in custody_gaps(draft)
    ]
    overlaps = [
        f"Custody: {first} and {second} are both recorded from {begins} to {ends}; whether they had "
        "it together, or a date is off, is not told."
        for first, second, begins, ends in custody_overlaps(draft)
    ]
    return (*asked, *unread, *gaps, *overlaps)


def made_by(maker: str, model: str) -> str:
    """Of which maker and model something is, behind "taken to be"; empty where neither is told.

    >>> made_by("Corbel", "Arrow"), made_by("Corbel", ""), made_by("", "Parlour")
    ('an Arrow by Corbel', 'by Corbel', 'a Parlour')
    """
    one = f"{'an' if model[:1].casefold() in tuple('aeiou') else 'a'} {model}" if model else ""
    return " ".join(text for text in (one, f"by {maker}" if maker else "") if text)


def taken_for_granted(weighed: Weighed, age: float | None) -> tuple[str, ...]:
    """What the conclusions take for granted without proof, the widest-reaching first."""
    draft = weighed.draft
    about = draft.case.instrument
    found: list[str] = []
    if about.maker or about.model:
        found.append(
            f"It is taken to be {made_by(about.maker, about.model)}: the references for such an "
            "instrument are applied to it because of that."
        )
    for event in dict.fromkeys(draft.anatomy.events.values()):
        names = listing(draft.anatomy.name(position) for position in event.positions)
        lines = draft.case.lines
        traces = listing(f"the {line_name(lines[x], draft.anatomy.name)}" for x in event.traces)
        found.append(
            f"The {names} are taken as fitted on one occasion, by {traces}; if that does not hold, "
            "each stands by itself."
        )
    found.append(f"Prior odds are those of practice (no source, starting values) for {_aged(age)}.")
    found.append(_mix_in_words(draft))
    if draft.case.of(Mark):
        found.append(
            "Weeks of date codes run Sunday to Saturday; where the first week of a year is "
            "uncertain, both ways of counting are allowed for."
        )
    found.append(
        "The chances rest on starting values of practice; asked in full, the report says how far "
        "each of them sways the conclusions."
    )
    return tuple(found)


def _aged(age: float | None) -> str:
    if age is None:
        return (
            f"an age of {USUAL_AGE_YEARS:.0f} years, which is a guess: nothing on record, or no dated "
            "examination, tells how old it is"
        )
    return f"an age of {age:.0f} years, counted from the earliest date on record to the latest examination"


def _mix_in_words(draft: Draft) -> str:
    """How replacements are taken to divide, and why so."""
    values = [draft.packs.practice(row).row.value for row in draft.mix]
    service, matching, transplant = (percent(value / sum(values)) for value in values)
    why = (
        "the sheet says that collectors buy and sell it, and then more are chosen to match"
        if draft.case.instrument.collected
        else "if collectors buy and sell it, which the sheet can say, more are chosen to match"
    )
    return (
        f"Of parts that were replaced, {service} are taken to be service parts of their time, "
        f"{matching} chosen to match and {transplant} moved over with a group from another "
        f"example; {why}."
    )
