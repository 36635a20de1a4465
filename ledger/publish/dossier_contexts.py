"""What the templates of a dossier are given, every key told.

As on the pages of the site: values are plain data, and names that end in ``svg`` hold markup made
by the drawings, in which all text is escaped already.
"""

from __future__ import annotations

from typing import TypedDict

from ledger.publish.challenge_contexts import ChallengeShown
from ledger.publish.page_contexts import LineShown, SharedSections
from ledger.publish.support_contexts import SupportItem


class ObservedTold(TypedDict):
    """What was recorded of a position; ``figures`` are the numbers of the exhibits that show it."""

    sentence: str
    entry: int
    anchor: str
    figures: list[int]


class PositionTold(TypedDict):
    """A row of the schedule of positions.

    ``as_number`` is the first row with the very same reasons, 0 where that is this one;
    ``has_entry`` says whether anything at all is on record of it.
    """

    number: int
    anchor: str
    name: str
    link: str
    label: str
    marker_svg: str
    observed: list[ObservedTold]
    reasons: list[str]
    as_number: int
    fitted_with: list[int]
    made: str
    is_examined: bool


class StateTold(TypedDict):
    """A state that occurs: what it means, and how many positions are in it."""

    label: str
    marker_svg: str
    meaning: str
    count: int


class ExhibitTold(TypedDict):
    """An exhibit by its number; ``source`` is its picture as a data URL, empty where none is shown."""

    number: int
    anchor: str
    caption: str
    sha256: str
    masks: int
    source: str
    kept_back: str
    entries: list[int]


class LineTold(LineShown):
    """A line of the record with the numbers of its exhibits, and whether it is proved."""

    figures: list[int]
    source_entry: int
    is_proved: bool


class LineGroup(TypedDict):
    """Lines of one kind under a heading."""

    heading: str
    lines: list[LineTold]


class RowTold(TypedDict):
    """A row of a pack that the report drew on."""

    name: str
    sentence: str
    source: str
    confidence: str
    examples: str
    is_practice: bool
    is_proved: bool


class SupportTold(TypedDict):
    """A statement with everything beneath it."""

    heading: str
    item: SupportItem


class SigningTold(TypedDict):
    """What of the dossier is signed."""

    size: int
    signed_at: str
    key: str
    root: str
    proved: int
    unproved: list[int]
    is_whole: bool


class ChancesTold(TypedDict):
    """The weighing in its own sentences; ``note`` says what it rests on, or why there is none."""

    note: str
    dates: list[str]
    parts: list[str]
    doubtful: list[str]
    more_doubtful: int
    weights: list[str]
    sways: list[str]


class RivalTold(TypedDict):
    """A rival explanation, and how likely it is where that was weighed."""

    sentence: str
    note: str
    chance: str
    grants: bool
    is_leading: bool


class AnsweredTold(TypedDict):
    """A challenge with what only a dossier tells of it."""

    shown: ChallengeShown
    rules: list[str]
    rivals: list[RivalTold]
    observed: list[ObservedTold]
    doubted: list[int]
    then: list[tuple[int, list[str]]]


class ReportTold(SharedSections):
    """What is told of the report, most of it as on the pages of the site.

    ``packs`` are those that something was taken from; ``more_packs`` counts the others.
    """

    packs: list[str]
    more_packs: int
    conclusion: list[str]
    identity: list[str]
    dependencies: list[str]
    questions: list[str]
    taken_for_granted: list[str]


class DossierPage(ReportTold):
    """Everything that a dossier of any purpose may draw on."""

    purpose: str
    title: str
    made_at: str
    by: str
    as_of_sequence: int
    as_of_hash: str
    as_of_time: str
    signing: SigningTold | None
    lines: list[LineTold]
    sources: list[LineTold]
    works: list[LineTold]
    parts_kept: list[LineTold]
    nothing_read: list[LineTold]
    searches: list[LineTold]
    groups: list[LineGroup]
    positions: list[PositionTold]
    unexamined: list[str]
    states: list[StateTold]
    exhibits: list[ExhibitTold]
    references: list[RowTold]
    practices: list[RowTold]
    chances: ChancesTold
    supports: list[SupportTold]
    answered: AnsweredTold | None
    parts_svg: str
    bounds_svg: str
    events_svgs: list[str]
    anchors: frozenset[str]
