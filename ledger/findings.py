"""What is concluded: the report and everything in it.

A report is plain data. Every statement in it is a finding with an id, a sentence and its
support, so that each can be unfolded down to ledger entries and rows of reference packs.

Premises name what they are by their first word: ``line:pot-code`` is a line of the case,
``reference:pack/row`` a row of a pack, anything else the id of another finding.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ledger.advice import Advice
from ledger.chances import Chances
from ledger.disputes import Dispute

FORMAT = "witnessmark report 1"

State = Literal[
    "first-fitted",
    "presumed first-fitted (untested)",
    "works-refitted",
    "period replacement",
    "service replacement",
    "modern replacement",
    "altered in place",
    "missing",
    "cannot be told",
    "not examined",
]

FindingKind = Literal[
    "reading",  # one way to read a mark
    "bound",  # not before / not after some moment, from one rule
    "relation",  # one moment does not come before another
    "comparison",  # a measure or feature held against a reference statement
    "date",  # an end of completed, dispatched or first sold
    "state",  # of a position
    "conflict",
    "account",
    "swap",
    "surprise",
    "identity",
    "chance",  # of a date or a part, all evidence weighed
    "dependency",  # a conclusion rests on something it should not rest on alone
]


@dataclass(frozen=True, slots=True)
class Order:
    """One moment comes at least ``gap_days`` before another; below nought, at most that late."""

    earlier: str
    later: str
    gap_days: int


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement, what it follows from, by which rule, and what must hold for it.

    A bound also says which moment it bounds (``completed:body``, ``made:pot.1``) and the spans
    of days it allows, None for an open end; a relation, which moments it orders.
    """

    id: str
    kind: FindingKind
    sentence: str
    rule: str
    premises: tuple[str, ...] = ()
    suppositions: tuple[str, ...] = ()
    moment: str | None = None
    days: tuple[tuple[str | None, str | None], ...] = ()
    orders: tuple[Order, ...] = ()


@dataclass(frozen=True, slots=True)
class SuppositionText:
    """Something that has to hold for a step to go through.

    ``kind`` is first-fitted, as-made, sound, holds or joined; ``subject`` is what it is about:
    a position, part, line, reference row, or two roots. ``is_presumed`` says whether an end of a
    date may rest on it: practice does not think it too unlikely.
    """

    id: str
    kind: str
    subject: str
    sentence: str
    prior: float
    prior_from: str
    is_presumed: bool = True


@dataclass(frozen=True, slots=True)
class Reading:
    """One candidate reading of a mark; ``days`` are the spans it would give, empty for none.

    ``standing`` says, where several readings are used, how this one stands to all the rest.
    """

    id: str
    line: str
    text: str
    reading: str
    reason: str
    source: str
    is_plain: bool
    is_used: bool
    days: tuple[tuple[str | None, str | None], ...] = ()
    standing: str = ""


@dataclass(frozen=True, slots=True)
class Shift:
    """How far an end moves when one premise is left out; ``date`` None: no bound is left."""

    without: str
    date: str | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Further:
    """Where an end would stand if something held that practice thinks likelier not to."""

    supposition: str
    date: str
    sentence: str


@dataclass(frozen=True, slots=True)
class End:
    """One end of an event under an account, always shown with its partner.

    It rests on no part or union that practice thinks likelier not to be the first; what those
    would add stands in ``further``.
    """

    side: Literal["not before", "not after"]
    date: str | None
    finding: str | None
    sentence: str
    suppositions: tuple[str, ...] = ()
    shifts: tuple[Shift, ...] = ()
    further: tuple[Further, ...] = ()


@dataclass(frozen=True, slots=True)
class EventDating:
    """Both ends of one event under one account; ``possible`` lists the spans between them."""

    event: Literal["completed", "dispatched", "first sold"]
    account: str
    not_before: End
    not_after: End
    possible: tuple[tuple[str | None, str | None], ...]


@dataclass(frozen=True, slots=True)
class PositionFinding:
    """The state of one position, with reasons; several states where it cannot be narrowed."""

    position: str
    name: str
    parent: str | None
    link: str
    assembly: str | None
    states: tuple[State, ...]
    label: str
    reasons: tuple[str, ...]
    finding: str
    fitting_event: str | None = None
    place: tuple[int, int] | None = None
    made: tuple[str | None, str | None] | None = None
    lines: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """A way down from a statement: the findings in order, from what was seen to what follows."""

    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Conflict:
    """A minimal set of suppositions that cannot all hold, with the chains that clash.

    ``is_recorded_change`` marks those in which a record of a work, or a dated sighting, stands
    against nothing but the presumption that a part is the first.
    """

    id: str
    sentence: str
    suppositions: tuple[str, ...]
    chains: tuple[Chain, ...]
    is_recorded_change: bool = False


@dataclass(frozen=True, slots=True)
class Account:
    """A minimal set of suppositions to give up so that the rest can all hold."""

    id: str
    sentence: str
    gives_up: tuple[str, ...]
    is_leading: bool
    odds_note: str
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class Swap:
    """A part, or parts fitted as one, likely not to have left the works with the instrument."""

    subject: str
    positions: tuple[str, ...]
    sentence: str
    accounts_giving_up: int
    accounts_total: int
    prior: float
    finding: str


@dataclass(frozen=True, slots=True)
class Surprise:
    """Something seen that nothing recorded explains, or that something now does."""

    id: str
    sentence: str
    line: str
    is_open: bool
    explained_by: str | None = None


@dataclass(frozen=True, slots=True)
class TimelineItem:
    """One thing on the instrument's time axis; None is an open end."""

    id: str
    lane: Literal[
        "made",
        "completed",
        "dispatched",
        "first sold",
        "work",
        "custody",
        "sighting",
        "paper",
        "testimony",
    ]
    label: str
    begins: str | None
    ends: str | None
    is_contested: bool = False
    finding: str | None = None


@dataclass(frozen=True, slots=True)
class LineText:
    """A line of the case as it may be shown, with its place in the ledger."""

    id: str
    section: str
    title: str
    sentence: str
    source: str | None
    sequence: int
    hash: str
    exhibits: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReferenceText:
    """A row of a pack that the report used."""

    id: str
    section: str
    sentence: str
    source: str
    confidence: str
    n: int | None
    is_practice: bool


@dataclass(frozen=True, slots=True)
class Look:
    """Something that has not been looked at and bears on what is open; not ranked by gain."""

    position: str
    reach: str
    sentence: str
    loses: str = ""


@dataclass(frozen=True, slots=True)
class CautionText:
    """A caution shown beside what it concerns."""

    id: str
    about: str
    says: str
    defer_to: str


@dataclass(frozen=True, slots=True)
class PackUsed:
    """A pack the report drew on."""

    id: str
    title: str
    version: str
    invented: bool


@dataclass(frozen=True, slots=True)
class Report:
    """All that follows from a case and the packs, as far as it can be relied on.

    ``supposing`` says what was supposed for the sake of argument; it is empty in a report on the
    case as it is recorded.
    """

    format: str
    instrument: str
    name: str
    kind: str
    kind_name: str
    maker: str
    model: str
    invented: bool
    sequence: int
    packs: tuple[PackUsed, ...]
    conclusion: tuple[str, ...]
    identity: tuple[str, ...]
    datings: tuple[EventDating, ...]
    positions: tuple[PositionFinding, ...]
    readings: tuple[Reading, ...]
    conflicts: tuple[Conflict, ...]
    accounts: tuple[Account, ...]
    completeness: str
    swaps: tuple[Swap, ...]
    surprises: tuple[Surprise, ...]
    questions: tuple[str, ...]
    looks: tuple[Look, ...]
    taken_for_granted: tuple[str, ...]
    timeline: tuple[TimelineItem, ...]
    cautions: tuple[CautionText, ...]
    suppositions: tuple[SuppositionText, ...]
    findings: tuple[Finding, ...]
    lines: tuple[LineText, ...]
    references: tuple[ReferenceText, ...]
    challenges: tuple[Dispute, ...] = ()
    supposing: tuple[str, ...] = ()
    chances: Chances | None = None
    advice: tuple[Advice, ...] = ()
