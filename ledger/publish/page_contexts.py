"""What the templates are given: one type a page, every key told.

Values are plain data. Names that end in ``svg`` hold markup made by the drawings, in which all
text is escaped already; everything else is text for the template to escape.
"""

from __future__ import annotations

from typing import TypedDict


class Said(TypedDict):
    """A sentence and where its support is unfolded; ``href`` is empty where there is none."""

    sentence: str
    href: str


class EndShown(TypedDict):
    """One end of an event: ``words`` always say something, also that nothing is known.

    ``further`` tells what an improbable part would add; ``follows`` from what the end merely
    follows, empty where it says more; ``under`` the accounts that share it.
    """

    side: str
    words: str
    date: str
    is_open: bool
    statement: Said
    suppositions: list[str]
    moves: list[str]
    further: list[str]
    follows: str
    under: str


class PossibleShown(TypedDict):
    """Several runs of days between two ends, and the accounts under which they are possible."""

    under: str
    spans: list[str]


class EventShown(TypedDict):
    """One event with its ends on either side; no end where there is no dating at all.

    ``is_short``: no end says more than that it is open or follows from an earlier event.
    """

    event: str
    lower: list[EndShown]
    upper: list[EndShown]
    is_short: bool
    possible: list[PossibleShown]


class CautionShown(TypedDict):
    """A caution; ``anchor`` is its id in the page.

    ``about`` names the first few things that it concerns there, ``about_more`` counts the rest.
    """

    id: str
    anchor: str
    name: str
    about: str
    about_more: int
    says: str
    defer_to: str


class PositionShown(TypedDict):
    """A row of the table of positions, numbered as on the part map.

    ``as_number`` is the first row with the very same reasons, 0 where that is this one;
    ``fitted_with`` the numbers of all that were fitted on the same occasion.
    """

    number: int
    anchor: str
    name: str
    is_examined: bool
    parent: str
    link: str
    label: str
    states: list[str]
    marker_svg: str
    reasons: list[Said]
    finding_href: str
    as_number: int
    as_anchor: str
    fitted_with: list[int]
    made: str
    lines: list[Said]
    cautions: list[CautionShown]


class KeyShown(TypedDict):
    """One entry of the key of shapes."""

    name: str
    marker_svg: str


class ChainShown(TypedDict):
    """One of the chains that clash: what it says, and the relations that link its steps."""

    title: str
    steps: list[Said]
    links: list[Said]


class ConflictShown(TypedDict):
    """A conflict: the chains that are its own and those suppositions of which one must give way."""

    anchor: str
    title: str
    href: str
    suppositions: list[str]
    chains: list[ChainShown]


class ConflictGroupShown(TypedDict):
    """Conflicts with one statement: ``against`` and what all of them suppose is told once.

    A conflict that shares its statement with no other stands alone, with ``against`` None.
    """

    against: ChainShown | None
    suppositions: list[str]
    conflicts: list[ConflictShown]


class RecordShown(Said):
    """What is recorded of a change, with its id in the page."""

    anchor: str


class ChangedShown(TypedDict):
    """A part that by some record is not the first."""

    subject: str
    records: list[RecordShown]


class AccountShown(TypedDict):
    """One way to read the evidence, by what it differs from what all leading ones give up.

    ``keeps`` is what the leading ones give up and this one does not; ``brief`` is one line.
    """

    anchor: str
    title: str
    href: str
    besides: list[str]
    keeps: list[str]
    brief: str
    is_leading: bool
    odds_note: str
    chance: str


class AccountsShown(TypedDict):
    """All accounts: what the leading ones share, then each, the unlikelier the shorter."""

    common: list[str]
    leading: list[AccountShown]
    next: list[AccountShown]
    rest: list[AccountShown]


class SwapShown(TypedDict):
    """A part, or several as one, likely not to have left the works with the instrument."""

    name: str
    is_several: bool
    sentence: str
    href: str
    accounts_giving_up: str
    accounts_total: str
    prior: str


class SurpriseShown(TypedDict):
    """Something seen; ``explained_by`` is None while it is open."""

    sentence: str
    line_href: str
    is_open: bool
    explained_by: Said | None


class ReadingShown(TypedDict):
    """One candidate reading of a mark."""

    reading: str
    is_plain: bool
    days: list[str]


class StandingShown(TypedDict):
    """Readings that stand alike to all the rest of the evidence; ``standing`` may be empty."""

    standing: str
    is_used: bool
    readings: list[ReadingShown]


class ReasonShown(TypedDict):
    """Why a mark may be read so; ``readings`` is empty where it goes for all of them."""

    readings: str
    reason: str
    source: str


class MarkShown(TypedDict):
    """A mark as it stands and every candidate reading of it, used or not."""

    text: str
    title: str
    line_href: str
    count: int
    standings: list[StandingShown]
    reasons: list[ReasonShown]


class LookShown(TypedDict):
    """Something that has not been looked at; its cautions are told in full once on the page."""

    position: str
    href: str
    reach: str
    sentence: str
    loses: str
    cautions: list[CautionShown]


class ExhibitShown(TypedDict):
    """A picture or other file of the record."""

    href: str
    thumbnail: str
    says: str


class LineShown(TypedDict):
    """A line of the record with its place in the ledger."""

    anchor: str
    section: str
    title: str
    sentence: str
    source: Said | None
    entry: int
    short_hash: str
    hash: str
    exhibits: list[ExhibitShown]


class PackShown(TypedDict):
    """A pack the report drew on."""

    title: str
    version: str
    is_invented: bool


class AdviceTold(TypedDict):
    """An examination that would tell something, with what it may show and what it costs."""

    sentence: str
    loses: str
    cautions: list[CautionShown]
    outcomes: list[str]
    bears_on_date: bool


class SharedSections(TypedDict):
    """What a page of the site and a dossier tell alike of one instrument.

    ``advice`` is what to examine next, the first of it; ``more_advice`` counts the rest.
    """

    name: str
    kind_name: str
    maker: str
    model: str
    is_invented: bool
    events: list[EventShown]
    conflict_groups: list[ConflictGroupShown]
    recorded_changes: list[ChangedShown]
    accounts: AccountsShown
    completeness: str
    swaps: list[SwapShown]
    open_surprises: list[SurpriseShown]
    explained_surprises: list[SurpriseShown]
    marks: list[MarkShown]
    looks: list[LookShown]
    advice: list[AdviceTold]
    more_advice: int
    cautions: list[CautionShown]


class InstrumentPage(SharedSections):
    """``instrument.html``: everything that follows from the record of one instrument."""

    page_title: str
    instrument: str
    href: str
    sequence: int
    conclusion: list[Said]
    identity: list[Said]
    bounds_svg: str
    bounds_narrow_svg: str
    parts_svg: str
    key: list[KeyShown]
    positions: list[PositionShown]
    questions: list[Said]
    events_svg: str
    events_narrow_svg: str
    works: list[LineShown]
    taken_for_granted: list[Said]
    dependencies: list[Said]
    lines: list[LineShown]
    packs: list[PackShown]


class InstrumentCard(TypedDict):
    """One instrument on the front page."""

    name: str
    href: str
    kind_name: str
    about: str
    is_invented: bool
    conclusion: list[str]
    completed: list[str]
    likely: str
    open_count: int
    conflict_count: int


class FrontPage(TypedDict):
    """``front.html``: all instruments of the site."""

    page_title: str
    instruments: list[InstrumentCard]
    is_invented: bool
