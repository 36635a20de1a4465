"""What the template is given of challenges and their answers, beside the rest of the page."""

from __future__ import annotations

from typing import TypedDict

from ledger.publish.page_contexts import CautionShown, ExhibitShown, InstrumentPage, Said


class ObservedShown(TypedDict):
    """A line that bears on a challenge; ``shown_in`` names files with the beginning of their hash."""

    statement: Said
    source: str
    is_doubted: bool
    weights: list[str]
    entry: int
    short_hash: str
    exhibits: list[ExhibitShown]
    shown_in: list[str]


class RivalShown(TypedDict):
    """One way to explain what was seen; ``grants``: as the challenger has it."""

    sentence: str
    note: str
    grants: bool
    is_leading: bool


class AnswerShown(TypedDict):
    """An answer on record; ``corrects`` is empty where it withdraws nothing."""

    anchor: str
    says: str
    by: str
    date: str
    entry: int
    rests_on: list[Said]
    corrects: str
    is_told: bool


class ChallengeShown(TypedDict):
    """A challenge and all there is to say to it, in the order of an answer.

    ``by`` is empty where the name is withheld or not known; ``conceded`` begins with what the
    answers on record concede.
    """

    anchor: str
    says: str
    instead: str
    by: str
    date: str
    entry: int
    short_hash: str
    claims: list[Said]
    observations: list[ObservedShown]
    rules: list[str]
    references: list[Said]
    rivals: list[RivalShown]
    supposing: list[str]
    impossible: str
    falls: list[str]
    stands: list[str]
    conceded: list[str]
    would_change: list[str]
    unknown: list[str]
    cautions: list[CautionShown]
    answers: list[AnswerShown]


class DisputedPage(InstrumentPage):
    """``instrument.html`` with its challenges."""

    challenges: list[ChallengeShown]
