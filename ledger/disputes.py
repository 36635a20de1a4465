"""What is concluded of a challenge: the claim, its chain, the rivals, what is conceded.

Plain data in the form in which an answer is given: claim challenged, observations with their
exhibits, rules, rival explanations weighed, what falls and what stands if the challenger is
right, what is conceded, what would change the answer. Version and date are those of the report,
the entry of the challenge, and the answers on record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

RivalKind = Literal["account", "kind of part", "reading"]


@dataclass(frozen=True, slots=True)
class ExhibitText:
    """A file with its SHA-256, which is empty where the file's line is not in the report."""

    id: str
    caption: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Observation:
    """A line that the disputed claims rest on, or that bears on them, with what shows it.

    ``weights`` say what it is worth for the parts in dispute, where the report was asked for that.
    """

    line: str
    sentence: str
    source: str
    sequence: int
    hash: str
    exhibits: tuple[ExhibitText, ...] = ()
    is_doubted: bool = False
    weights: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Claim:
    """A statement of the report that is disputed; ``finding`` unfolds it, empty for a bare line."""

    finding: str
    sentence: str


@dataclass(frozen=True, slots=True)
class RuleText:
    """A rule by which the claims follow."""

    id: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Rival:
    """One way to explain what was seen.

    ``grants`` says whether it grants the challenger what is doubted; ``chance`` is its chance by
    the exact weighing, None where there is none.
    """

    kind: RivalKind
    sentence: str
    note: str
    grants: bool = False
    is_leading: bool = False
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class AnswerText:
    """An answer on record; with ``corrects`` it is an erratum.

    ``at_entry`` is the last entry that it was written from, None where that is not said.
    """

    id: str
    by: str
    date: str
    says: str
    concedes: tuple[str, ...]
    rests_on: tuple[str, ...]
    at_entry: int | None
    corrects: str
    is_told: bool
    sequence: int
    hash: str


@dataclass(frozen=True, slots=True)
class Dispute:
    """A challenge on record and all that the record and the report have to say to it.

    ``supposing`` says what was supposed to see what falls if the challenger is right; where that
    cannot be, ``impossible`` says why. ``unknown`` lists what the challenge names that this
    report does not hold, ``cautions`` the ids of those that its words call for.
    """

    id: str
    by: str
    date: str
    says: str
    instead: str
    sequence: int
    hash: str
    exhibits: tuple[ExhibitText, ...]
    claims: tuple[Claim, ...]
    observations: tuple[Observation, ...]
    rules: tuple[RuleText, ...]
    references: tuple[str, ...]
    rivals: tuple[Rival, ...]
    supposing: tuple[str, ...]
    falls: tuple[str, ...]
    stands: tuple[str, ...]
    impossible: str
    conceded: tuple[str, ...]
    would_change: tuple[str, ...]
    unknown: tuple[str, ...]
    answers: tuple[AnswerText, ...]
    cautions: tuple[str, ...]
