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
    """One end of an event: ``words`` always say something, also that nothing is known."""

    side: str
    words: str
    date: str
    is_open: bool
    statement: Said
    suppositions: list[str]
    moves: list[str]


class DatingShown(TypedDict):
    """Both ends of an event under one account, and the runs of days between them."""

    account: str
    account_href: str
    not_before: EndShown
    not_after: EndShown
    possible: list[str]


class EventShown(TypedDict):
    """One event with its dating under each leading account."""

    event: str
    datings: list[DatingShown]


class CautionShown(TypedDict):
    """A caution; ``anchor`` is its id in the page, ``about`` all that it concerns there."""

    id: str
    anchor: str
    name: str
    about: str
    says: str
    defer_to: str


class PositionShown(TypedDict):
    """A row of the table of positions, numbered as on the part map."""

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
    fitting_event: str
    made: str
    lines: list[Said]
    cautions: list[CautionShown]


class KeyShown(TypedDict):
    """One entry of the key of shapes."""

    name: str
    marker_svg: str


class ChainShown(TypedDict):
    """One of the chains that clash, from what was seen to what follows."""

    title: str
    steps: list[Said]


class ConflictShown(TypedDict):
    """A conflict with its chains side by side."""

    anchor: str
    title: str
    href: str
    sentence: str
    suppositions: list[str]
    chains: list[ChainShown]


class AccountShown(TypedDict):
    """One way to read the evidence and what it gives up."""

    anchor: str
    title: str
    href: str
    sentence: str
    gives_up: list[str]
    is_leading: bool
    odds_note: str


class SwapShown(TypedDict):
    """A part likely not to have left the works with the instrument."""

    sentence: str
    href: str
    accounts: str
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
    reason: str
    source: str
    is_plain: bool
    is_used: bool
    days: list[str]


class MarkShown(TypedDict):
    """A mark as it stands and every candidate reading of it."""

    text: str
    title: str
    line_href: str
    readings: list[ReadingShown]


class LookShown(TypedDict):
    """Something that has not been looked at.

    ``cautions`` are those to be told in full here, ``cautions_again`` those told at a look before.
    """

    position: str
    href: str
    reach: str
    sentence: str
    loses: str
    cautions: list[CautionShown]
    cautions_again: list[CautionShown]


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


class InstrumentPage(TypedDict):
    """``instrument.html``: everything that follows from the record of one instrument."""

    page_title: str
    name: str
    instrument: str
    href: str
    kind_name: str
    maker: str
    model: str
    is_invented: bool
    sequence: int
    conclusion: list[Said]
    identity: list[Said]
    events: list[EventShown]
    bounds_svg: str
    bounds_narrow_svg: str
    parts_svg: str
    key: list[KeyShown]
    positions: list[PositionShown]
    conflicts: list[ConflictShown]
    accounts: list[AccountShown]
    completeness: str
    swaps: list[SwapShown]
    open_surprises: list[SurpriseShown]
    explained_surprises: list[SurpriseShown]
    questions: list[Said]
    marks: list[MarkShown]
    events_svg: str
    events_narrow_svg: str
    looks: list[LookShown]
    works: list[LineShown]
    taken_for_granted: list[Said]
    dependencies: list[Said]
    cautions: list[CautionShown]
    lines: list[LineShown]
    packs: list[PackShown]


class SupportItem(TypedDict):
    """A node of the list of support with what it rests on, down to the record.

    ``kind`` is finding, line, reference or unknown; what does not apply to the kind is empty.
    A finding unfolded higher up is told again with ``is_repeat`` and not unfolded twice;
    ``is_cut`` says that what is beneath stands on the finding's own page.
    """

    kind: str
    word: str
    sentence: str
    href: str
    anchor: str
    is_repeat: bool
    is_cut: bool
    rule: str
    suppositions: list[str]
    beneath: list[SupportItem]
    entry: int
    short_hash: str
    exhibits: list[ExhibitShown]
    source: str
    confidence: str
    examples: str
    is_practice: bool


class SupposedShown(TypedDict):
    """A supposition under a finding: what must hold, how likely beforehand, and by what."""

    anchor: str
    sentence: str
    kind: str
    prior: str
    prior_from: str


class FindingPage(TypedDict):
    """``finding.html``: one finding and everything beneath it."""

    page_title: str
    name: str
    instrument_href: str
    is_invented: bool
    kind: str
    sentence: str
    rule: str
    unfolded: SupportItem
    suppositions: list[SupposedShown]
    leads_to: list[Said]
    chain_svg: str
    chain_note: str


class InstrumentCard(TypedDict):
    """One instrument on the front page."""

    name: str
    href: str
    kind_name: str
    about: str
    is_invented: bool
    conclusion: list[str]
    completed: list[str]
    open_count: int
    conflict_count: int


class FrontPage(TypedDict):
    """``front.html``: all instruments of the site."""

    page_title: str
    instruments: list[InstrumentCard]
    is_invented: bool
