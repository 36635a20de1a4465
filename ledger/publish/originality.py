"""The scale of states of a position, in words for somebody who meets it for the first time.

A state is told for each position; there is no share of the whole.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, TypedDict

from ledger.publish.svg import anchor

MEANINGS: Final[Mapping[str, str]] = {
    "first-fitted": "It was there when the works finished the instrument, and evidence tried "
    "against that bears it out.",
    "presumed first-fitted (untested)": "Nothing speaks against it, and nothing that could have "
    "spoken against it has been tried.",
    "works-refitted": "The works themselves put it in, or worked it over, at a later time.",
    "period replacement": "A later part of the age and type of the first one. A matching date code "
    "says almost nothing against this.",
    "service replacement": "Put in during ordinary repair, of the time of the repair.",
    "modern replacement": "Put in long after the instrument was finished.",
    "altered in place": "The first part is there and has been changed.",
    "missing": "The position is empty.",
    "cannot be told": "The evidence leaves several states possible, or does not bear on them. This "
    "is an answer and no gap.",
    "not examined": "Nobody has looked, or nobody has written down that they did.",
}

NO_SUCH_PART: Final = "not applicable"
NONE_SUCH: Final = "By what is recorded, an instrument like this one has no such part."


class StateWords(TypedDict):
    """One state of a position, and what it says."""

    anchor: str
    label: str
    meaning: str


def state_words() -> list[StateWords]:
    """Every state with its meaning, in the order of the scale.

    >>> [each["label"] for each in state_words()][-2:]
    ['not examined', 'not applicable']
    """
    return [
        {"anchor": anchor("state", label), "label": label, "meaning": meaning}
        for label, meaning in {**MEANINGS, NO_SUCH_PART: NONE_SUCH}.items()
    ]


def meaning_of(states: tuple[str, ...], label: str) -> str:
    """What the label of a position says, for the states that it stands for.

    >>> meaning_of(("missing",), "missing")
    'The position is empty.'
    """
    known = [MEANINGS[state] for state in states if state in MEANINGS]
    if label == NO_SUCH_PART:
        return NONE_SUCH
    if label not in MEANINGS and len(known) > 1:
        return "One of these; which of them cannot be told from what is recorded."
    if label not in MEANINGS:
        return ""
    return MEANINGS[label]
