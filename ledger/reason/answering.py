"""What is there to say to a challenge, line by line?

Question answered: for every challenge on record the claim it disputes, the observations with
their exhibits, the rules, the rival explanations, what falls if the challenger is right and what
stands all the same, what is conceded, what would change the answer, and what was answered.

Method: what the challenger has is supposed, the case is reasoned about again, and the two reports
are compared. What cannot be supposed, because it contradicts itself, is said with its conflict.

Cost: a further report for each challenge.

What it does not do: decide who is right, or say anything of motives.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from ledger.basis.phrases import phrase_in
from ledger.disputes import AnswerText, Dispute, ExhibitText, Observation, RuleText
from ledger.findings import LineText, Report
from ledger.models import (
    Answer,
    Challenge,
    Custody,
    Exhibit,
    Mark,
    NonValue,
    Question,
    RegisterSearch,
)
from ledger.reason.anatomy import positions_of
from ledger.reason.bearing import (
    bearing_places,
    comparisons,
    papers_naming_it,
    what_would_tell,
    works,
)
from ledger.reason.conceding import concessions
from ledger.reason.disputing import (
    LINE,
    REFERENCE,
    Chain,
    Matter,
    claims_of,
    conflicts_on,
    matter_of,
)
from ledger.reason.doubted_pictures import to_compare, told_with_pictures
from ledger.reason.draft import Draft
from ledger.reason.given import Given
from ledger.reason.rivals import rivals_of
from ledger.reason.rules import RULES
from ledger.reason.standing import Difference, difference
from ledger.reason.supposing import Supposing, in_words
from ledger.reason.surprises import REACH_LOSES
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article, line_name, line_sentence, listing
from ledger.record.case import WITHHELD_TEXT, Recorded
from ledger.references import Caution

NO_OBSERVATION = frozenset({"sources", "exhibits", "questions", "challenges", "answers"})
REACHES = {
    "look": "by looking",
    "open": "by opening it",
    "remove": "by taking parts off",
    "alter": "only by altering it",
}
SHIFTS_TOLD = 8
NOTHING_CHANGED = Difference((), (), (), is_dating_moved=False)


def answer_challenges(
    weighed: Weighed, report: Report, again: Callable[[Supposing], Report]
) -> tuple[Dispute, ...]:
    """What there is to say to each challenge of the case, in the order of the record.

    Args:
        weighed: what the report was drawn from.
        report: the report on the case as it is recorded.
        again: gives the report with something supposed.
    """
    return tuple(
        _answered(matter_of(weighed, report, challenge), again)
        for challenge in weighed.draft.case.of(Challenge)
    )


def with_members(draft: Draft, given: Given) -> Given:
    """What is given, of a group also of each of its parts, should nothing join them any more."""

    def wider(names: tuple[str, ...]) -> tuple[str, ...]:
        members = [
            f"first-fitted:{place}"
            for event in draft.anatomy.events.values()
            for place in event.positions
            if f"first-fitted:{event.id}" in names
        ]
        return tuple(dict.fromkeys((*names, *members)))

    return replace(given, holds=wider(given.holds), fails=wider(given.fails))


def _answered(matter: Matter, again: Callable[[Supposing], Report]) -> Dispute:
    report, challenge = matter.report, matter.challenge
    after = None if matter.what.is_nothing else again(matter.what)
    is_possible = after is not None and bool(after.accounts)
    changed = (
        difference(report, after, matter.places)
        if after is not None and is_possible
        else NOTHING_CHANGED
    )
    claims = claims_of(matter, is_dating_moved=changed.is_dating_moved)
    chain = Chain(report)
    conflicts = [each.id for each in conflicts_on(matter)]
    beside = [each.id for each in comparisons(matter)]
    named = (*(claim.finding for claim in claims if claim.finding), *conflicts, *beside)
    beneath = chain.beneath(named)
    answers = _answers(matter)
    return Dispute(
        id=challenge.id,
        by=challenge.shown("by"),
        date=challenge.shown("date"),
        says=challenge.shown("says"),
        instead=challenge.shown("instead"),
        sequence=challenge.sequence,
        hash=challenge.hash,
        exhibits=_exhibits(chain, challenge.line.exhibits),
        claims=claims,
        observations=_observations(matter, chain, beneath, answers),
        rules=_rules(chain, beneath),
        references=_references(matter, beneath),
        rivals=rivals_of(matter, after if is_possible else None),
        supposing=_supposed(matter),
        falls=(*changed.falls, *changed.conflicts),
        stands=changed.stands,
        impossible=_impossible(after) if after is not None and not is_possible else "",
        conceded=concessions(matter, beneath),
        would_change=tuple(dict.fromkeys(_would_change(matter))),
        unknown=matter.unknown,
        answers=answers,
        cautions=cautions_called_for(matter),
    )


def _impossible(after: Report) -> str:
    return next((each.sentence for each in after.findings if each.id == "impossible"), "")


def _supposed(matter: Matter) -> tuple[str, ...]:
    draft = matter.draft
    lines = {n: line_name(each, draft.anatomy.name) for n, each in draft.case.lines.items()}
    said = {each.id: each.sentence for each in matter.report.suppositions}
    hidden = "mark_reads" in matter.challenge.withheld or any(
        "text" in draft.case.lines[name].withheld for name, _ in matter.what.marks_read
    )
    alone = [name for name in matter.what.without_lines if name not in matter.along]
    found = in_words(replace(matter.what, without_lines=tuple(alone)), lines, said)
    found = (*found, *told_with_pictures(matter))
    if not hidden:
        return found
    shown = [each for each in found if not any(t in each for _, t in matter.what.marks_read)]
    return (*shown, f"A mark is read otherwise ({WITHHELD_TEXT}).")


# -- the chain ----------------------------------------------------------------------------------


def _observations(
    matter: Matter, chain: Chain, beneath: tuple[str, ...], answers: tuple[AnswerText, ...]
) -> tuple[Observation, ...]:
    """The lines beneath the claims and those concerned, in the order of the record."""
    wanted = {name.removeprefix(LINE) for name in beneath if name.startswith(LINE)}
    wanted |= {*matter.lines, *matter.along}
    wanted |= {name for answer in answers for name in answer.rests_on}
    wanted |= {each.id for each in works(matter)} | {each.id for each in papers_naming_it(matter)}
    wanted |= {name for each in matter.positions for name in each.lines}
    wanted |= {name for name, _ in matter.what.marks_read}
    wanted |= _unread_there(matter)
    wanted |= _searched_and_held(matter)
    return tuple(
        _observation(matter, chain, line)
        for line in matter.report.lines
        if line.id in wanted and line.section not in NO_OBSERVATION
    )


def _unread_there(matter: Matter) -> set[str]:
    return {
        each.id
        for each in matter.draft.case.of(NonValue)
        if set(each.line.positions) & set(matter.places)
    }


def _searched_and_held(matter: Matter) -> set[str]:
    """Where it is asked whose it is: all custody on record, and every search of a register."""
    lines = matter.draft.case.lines
    if not any(isinstance(lines[line].line, Custody) for line in matter.lines):
        return set()
    held = {each.id for each in matter.draft.case.of(Custody)}
    return held | {each.id for each in matter.draft.case.of(RegisterSearch)}


def _observation(matter: Matter, chain: Chain, line: LineText) -> Observation:
    source = chain.lines.get(line.source or "")
    names = line.exhibits or (source.exhibits if source is not None else ())
    if not line.exhibits:
        names = tuple(name for name in names if _shows(matter, name, line))
    return Observation(
        line=line.id,
        sentence=line.sentence,
        source=source.sentence if source is not None else "",
        sequence=line.sequence,
        hash=line.hash,
        exhibits=_exhibits(chain, names),
        is_doubted=line.id in (*matter.lines, *matter.along, matter.challenge.line.mark),
        weights=_weights(matter, line),
    )


def _weights(matter: Matter, line: LineText) -> tuple[str, ...]:
    """What the line is worth for the parts in dispute, by itself or else with what goes with it."""
    chances = matter.report.chances
    if chances is None:
        return ()
    parts = {part.finding for part in chances.parts if set(part.positions) & set(matter.places)}
    found = [each for each in chances.weights if line.id in each.lines and each.about in parts]
    alone = [each for each in found if each.lines == (line.id,)]
    return tuple(each.sentence.removeprefix(line.sentence).strip() for each in alone or found)


def _shows(matter: Matter, name: str, line: LineText) -> bool:
    """Whether a picture of a sitting is of a place that the line speaks of, or of none by name."""
    recorded = matter.draft.case.lines.get(name)
    if recorded is None or not isinstance(recorded.line, Exhibit):
        return False
    places = recorded.line.positions
    return not places or not line.positions or bool(set(places) & set(line.positions))


def _exhibits(chain: Chain, names: Iterable[str]) -> tuple[ExhibitText, ...]:
    found = (chain.lines.get(name) for name in dict.fromkeys(names))
    return tuple(
        ExhibitText(each.id, each.sentence, next(iter(each.exhibits), ""))
        for each in found
        if each is not None and each.section == "exhibits"
    )


def _rules(chain: Chain, beneath: tuple[str, ...]) -> tuple[RuleText, ...]:
    used = {chain.findings[name].rule for name in beneath if name in chain.findings}
    return tuple(RuleText(rule, RULES[rule]) for rule in RULES if rule in used)


def _references(matter: Matter, beneath: tuple[str, ...]) -> tuple[str, ...]:
    """The rows beneath the claims that this report holds, and those that are doubted."""
    names = [name.removeprefix(REFERENCE) for name in beneath if name.startswith(REFERENCE)]
    names += matter.challenge.line.references
    known = {row.id for row in matter.report.references}
    return tuple(name for name in dict.fromkeys(names) if name in known)


# -- what would change it -----------------------------------------------------------------------


def _would_change(matter: Matter) -> Iterator[str]:
    """What a premise carries, what can be looked at, what was not, what is asked."""
    yield from _shifts(matter)
    yield from to_compare(matter)
    yield from _to_examine(matter)
    yield from what_would_tell(matter)
    name = matter.draft.anatomy.name
    for each in matter.draft.case.of(NonValue):
        if each.line.value in ("not examined", "not legible") and _is_concerned(matter, each):
            yield f"To be looked at: {line_sentence(each, name)}"
    places = bearing_places(matter)
    for question in matter.draft.case.of(Question):
        if places.intersection(question.line.about):
            yield f"Open: {question.shown('question')}"
    for line in matter.lines:
        recorded = matter.draft.case.lines[line]
        if isinstance(recorded.line, Mark):
            yield f"A second reading, by somebody who has not been told the first: {line_name(recorded, name)}."


def _is_concerned(matter: Matter, each: Recorded[NonValue]) -> bool:
    return bool(set(each.line.positions) & set(matter.places))


def _shifts(matter: Matter) -> list[str]:
    """How far the ends move without a premise, those that are doubted first."""
    leading = next((each.id for each in matter.report.accounts if each.is_leading), "")
    shifts = [
        shift
        for dating in matter.report.datings
        if dating.account == leading and dating.event == "completed"
        for end in (dating.not_before, dating.not_after)
        for shift in end.shifts
    ]
    about = [shift for shift in shifts if _is_about(matter, shift.without)]
    return [shift.sentence for shift in about][:SHIFTS_TOLD]


def _is_about(matter: Matter, leaf: str) -> bool:
    if leaf in matter.leaves:
        return True
    recorded = matter.draft.case.lines.get(leaf.removeprefix(LINE))
    if recorded is None:
        return False
    return bool(set(positions_of(recorded)) & set(matter.places))


def _to_examine(matter: Matter) -> Iterator[str]:
    """What the catalogue says can be read or compared there, and what that would cost."""
    told: set[tuple[str, ...]] = set()
    for each in matter.positions:
        row = matter.draft.anatomy.view.find(each.position)
        if row is None or not row.checks or row.checks in told:
            continue
        told.add(row.checks)
        loses = REACH_LOSES[row.examine]
        warned = f"; {loses}" if loses else ""
        yield (
            f"To be looked at on the {each.name}, {REACHES[row.examine]}: "
            f"{listing(row.checks)}{warned}."
        )


# -- what was answered --------------------------------------------------------------------------


def _answers(matter: Matter) -> tuple[AnswerText, ...]:
    """The answers on record to this challenge, in the order of the record."""
    return tuple(
        AnswerText(
            id=each.id,
            by=each.shown("by"),
            date=each.shown("date"),
            says=each.shown("says"),
            concedes=_conceded(each),
            rests_on=each.line.lines,
            at_entry=each.line.at_entry if "at_entry" not in each.withheld else None,
            corrects=each.shown("corrects"),
            is_told=bool(each.line.told),
            sequence=each.sequence,
            hash=each.hash,
        )
        for each in matter.draft.case.of(Answer)
        if each.line.challenge == matter.challenge.id
    )


def _conceded(answer: Recorded[Answer]) -> tuple[str, ...]:
    if "concedes" in answer.withheld:
        return (article(WITHHELD_TEXT),)
    return answer.line.concedes


def cautions_called_for(matter: Matter) -> tuple[str, ...]:
    """The ids of the cautions whose words stand in the challenge or in a line that it names."""
    draft, challenge = matter.draft, matter.challenge
    said = [challenge.shown(name) for name in ("says", "instead") if name not in challenge.withheld]
    said += [line_sentence(draft.case.lines[line], draft.anatomy.name) for line in matter.lines]
    text = " | ".join(said)
    return tuple(
        row.row.id
        for row in draft.packs.applying(Caution, draft.case.instrument)
        if phrase_in(text, row.row.words) is not None
    )
