"""How is an answer to a challenge put into words?

Question answered: the sections of an answer in their fixed order: the claim challenged, the
observations with their exhibits, the rules used, the rivals weighed, what falls and what stands
if the challenger is right, what is conceded, what would change the answer, what was answered, and
as of which version.

Method: the report's own sentences; nothing is added but where they come from.

Cost: none to speak of.

What it does not do: argue.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ledger.basis.percentages import percent
from ledger.disputes import AnswerText, Dispute, ExhibitText, Observation, Rival
from ledger.findings import Report
from ledger.record.case import WITHHELD_TEXT

SHORT_HASH = 12
NO_CLAIM = "This report holds nothing of what the challenge names."
NO_RIVAL = (
    "There is one way to read what is recorded, and nothing on record sets another beside it."
)
NOTHING_FALLS = "Nothing that this report says."
NOT_SUPPOSED = (
    "What the challenger has against it is nothing that could be supposed otherwise here."
)


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what stands under it."""

    heading: str
    items: tuple[str, ...]


def sections_of(
    report: Report, dispute: Dispute, then: Mapping[int, tuple[str, ...]] | None = None
) -> tuple[Section, ...]:
    """The answer, section by section; those that have nothing to say are left out.

    Args:
        report: the report that holds the dispute.
        dispute: the challenge and what there is to say to it.
        then: for the entry that an answer was written from, what the claims were by then.
    """
    found = (
        Section("The challenge", _challenge(dispute)),
        Section("Claim challenged", _claims(report, dispute)),
        Section("Cautions", _cautions(report, dispute)),
        Section("What was observed", tuple(_observed(each) for each in dispute.observations)),
        Section("By which rules", tuple(f"{rule.id}: {rule.sentence}" for rule in dispute.rules)),
        Section("Held against", _references(report, dispute)),
        Section("Rival explanations", tuple(map(_rival, dispute.rivals)) or (NO_RIVAL,)),
        Section("If the challenger is right", _supposed(dispute)),
        Section("What falls then", _falls(dispute)),
        Section("What stands all the same", dispute.stands),
        Section("Conceded", _conceded(dispute)),
        Section("What would change this answer", dispute.would_change),
        Section("Not in this report", dispute.unknown),
        Section("Answered", tuple(text for each in dispute.answers for text in _answer(each))),
        Section("As of", _version(report, dispute, then or {})),
    )
    return tuple(section for section in found if section.items)


def _challenge(dispute: Dispute) -> tuple[str, ...]:
    name = "somebody whose name is withheld" if dispute.by == WITHHELD_TEXT else dispute.by
    by = f", by {name}" if name else ""
    when = f" ({dispute.date})" if dispute.date else ""
    said = [f"“{dispute.says}”{by}{when}; entry {dispute.sequence} ({_short(dispute.hash)})."]
    if dispute.instead:
        said.append(f"They say instead: “{dispute.instead}”")
    said += [_exhibit(each) for each in dispute.exhibits]
    return tuple(said)


def _claims(report: Report, dispute: Dispute) -> tuple[str, ...]:
    said = tuple(
        f"{claim.sentence} [{report.instrument}/{claim.finding}]"
        if claim.finding
        else claim.sentence
        for claim in dispute.claims
    )
    return said or (NO_CLAIM,)


def _cautions(report: Report, dispute: Dispute) -> tuple[str, ...]:
    return tuple(
        f"{each.says} First comes: {each.defer_to}."
        for each in report.cautions
        if each.id in dispute.cautions
    )


def _observed(each: Observation) -> str:
    doubted = " This is doubted." if each.is_doubted else ""
    source = f" {each.source}" if each.source else ""
    shown = "; ".join(_exhibit(exhibit) for exhibit in each.exhibits)
    exhibits = f" Shown in: {shown}." if shown else ""
    weights = "".join(f" {weight}" for weight in each.weights)
    where = f"[{each.line}; entry {each.sequence} ({_short(each.hash)})]"
    return f"{each.sentence}{source}{exhibits}{doubted}{weights} {where}"


def _exhibit(each: ExhibitText) -> str:
    digest = f" (SHA-256 {each.sha256})" if each.sha256 else ""
    return f"“{each.caption.rstrip('.')}”{digest}"


def _short(digest: str) -> str:
    return digest[:SHORT_HASH]


def _references(report: Report, dispute: Dispute) -> tuple[str, ...]:
    return tuple(
        f"{row.sentence} [{row.id}; {row.source}; confidence {row.confidence}"
        f"{f', n={row.n}' if row.n is not None else ''}]"
        for row in report.references
        if row.id in dispute.references
    )


def _rival(each: Rival) -> str:
    side = "As the challenger has it: " if each.grants else ""
    notes = [each.note.rstrip(".")] if each.note else []
    if each.kind == "account" and each.is_leading:
        notes.insert(0, "leading")
    if each.chance is not None and each.kind != "account":  # an account's note has it
        notes.insert(0, f"chance {percent(each.chance)}, all evidence weighed")
    told = f" ({'; '.join(notes)})" if notes else ""
    return f"{side}{each.sentence}{told}"


def _supposed(dispute: Dispute) -> tuple[str, ...]:
    if dispute.impossible:
        return (*dispute.supposing, dispute.impossible)
    return dispute.supposing or (NOT_SUPPOSED,)


def _falls(dispute: Dispute) -> tuple[str, ...]:
    if dispute.impossible or not dispute.supposing:
        return ()
    return dispute.falls or (NOTHING_FALLS,)


def _conceded(dispute: Dispute) -> tuple[str, ...]:
    """What an answer on record concedes, then what the report does."""
    on_record = (text for each in dispute.answers for text in each.concedes)
    return tuple(dict.fromkeys((*on_record, *dispute.conceded)))


def _answer(each: AnswerText) -> Iterable[str]:
    by = f", {each.by}" if each.by else ""
    rests = f" It rests on {', '.join(each.rests_on)}." if each.rests_on else ""
    yield (f"“{each.says}” ({each.date}{by}; entry {each.sequence}, {_short(each.hash)}).{rests}")
    if each.corrects:
        told = "Those concerned were told." if each.is_told else "Who was told is not on record."
        yield f"Erratum of {each.date}. Withdrawn: “{each.corrects}” {told}"


def _version(
    report: Report, dispute: Dispute, then: Mapping[int, tuple[str, ...]]
) -> tuple[str, ...]:
    packs = ", ".join(f"{pack.id} {pack.version}" for pack in report.packs)
    said = [
        f"Entry {report.sequence} of the ledger; challenged in entry {dispute.sequence}.",
        f"Packs: {packs}.",
    ]
    for entry, claims in then.items():
        said += [
            f"After entry {entry}, from which an answer was written, it read: {text}"
            for text in claims
        ]
    return tuple(said)
