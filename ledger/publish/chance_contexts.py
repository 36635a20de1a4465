"""What the templates are given of chances, weights and the history of the record."""

from __future__ import annotations

from typing import TypedDict

from ledger.publish.challenge_contexts import DisputedPage
from ledger.publish.page_contexts import Said


class PartChanceShown(TypedDict):
    """A part, or parts fitted as one, with its chance as a bar and in words.

    ``as_position`` is the anchor of the position where the same is told already, empty where it is not.
    ``ways`` tells, of a part that is likelier not the first, the likeliest ways of replacing it.
    """

    name: str
    href: str
    chance: str
    range: str
    verdict: str
    ways: str
    as_position: str
    bar_svg: str


class WeightShown(TypedDict):
    """One piece of evidence: ``ratio`` and ``words`` say what it is worth."""

    lines: list[Said]
    is_together: bool
    ratio: str
    words: str
    without: str
    is_for: bool


class WeightGroupShown(TypedDict):
    """All that bears on one statement."""

    about: Said
    weights: list[WeightShown]


class SupposedChanceShown(TypedDict):
    """Something else that has to hold, with its chance."""

    sentence: str
    range: str


class ChancesShown(TypedDict):
    """The weighing; ``headline`` is the one sentence that stands with the conclusion."""

    note: str
    is_possible: bool
    headline: Said
    dates: list[Said]
    parts: list[PartChanceShown]
    suppositions: list[SupposedChanceShown]
    weights: list[WeightGroupShown]
    weights_count: int
    sways: list[Said]


class RecordingShown(TypedDict):
    """What was recorded at one time; the latest comes first."""

    date: str
    on: str
    sentence: str
    is_compared: bool
    changes: list[str]


class WeighedPage(DisputedPage):
    """``instrument.html`` with chances and the history of its record.

    ``part_chances`` are those of positions, by their anchors in the page; ``chances`` is None
    where nothing has been weighed.
    """

    chances: ChancesShown | None
    part_chances: dict[str, PartChanceShown]
    recordings: list[RecordingShown]
