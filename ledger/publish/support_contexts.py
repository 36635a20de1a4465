"""What the page of one finding is given: the finding, what it rests on and what it supposes."""

from __future__ import annotations

from typing import TypedDict

from ledger.publish.page_contexts import ExhibitShown, Said


class SupportItem(TypedDict):
    """A node of the list of support with what it rests on, down to the record.

    ``kind`` is finding, line, reference or unknown; what does not apply to the kind is empty.
    A finding unfolded higher up is told again with ``is_repeat`` and not unfolded twice;
    ``is_cut`` says that what is beneath stands on the finding's own page; ``is_decisive`` that
    the finding of the page, as it is said, needs it or something beneath it.
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
    is_decisive: bool


class SupposedShown(TypedDict):
    """A supposition under a finding: what must hold, how likely beforehand, and by what."""

    anchor: str
    sentence: str
    kind: str
    prior: str
    prior_from: str


class SupposedWords(TypedDict):
    """What the suppositions under a finding are to it, in words; ``none`` where there are none.

    ``beneath`` is said where no premise is named; ``is_needed`` tells whether it needs them.
    """

    heading: str
    hint: str
    none: str
    beneath: str
    is_needed: bool


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
    supposed_words: SupposedWords
    leads_to: list[Said]
    chain_svg: str
    chain_note: str
    decisive_svg: str
    is_without_decisive: bool
