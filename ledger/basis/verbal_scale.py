"""Words for a likelihood ratio.

The scale of verbal equivalents that the ENFSI Guideline for Evaluative Reporting in Forensic Science
(version 3.0, 2015, guidance note 4) offers as an example; the bounds are from memory, and the
guideline leaves it to each laboratory to define and justify its own. Here: a bound that two steps
share belongs to the stronger, and a ratio below two supports neither side.
"""

from __future__ import annotations

from typing import Final

SCALE: Final = (
    (1_000_000.0, "extremely strong"),
    (10_000.0, "very strong"),
    (1_000.0, "strong"),
    (100.0, "moderately strong"),
    (10.0, "moderate"),
    (2.0, "weak"),
)
NEITHER: Final = "no support either way"


def strength(ratio: float) -> str:
    """The step of the scale for a ratio, without saying for which side.

    >>> strength(3.35), strength(1 / 3.35), strength(1.4), strength(1000)
    ('weak', 'weak', 'no support either way', 'strong')
    """
    turned = ratio if ratio >= 1 else 1 / max(ratio, 1e-300)
    return next((words for least, words in SCALE if turned >= least), NEITHER)


def support(ratio: float) -> str:
    """The ratio in words, saying for which side it speaks.

    >>> support(42), support(0.01)
    ('moderate support for it', 'moderately strong support against it')
    """
    words = strength(ratio)
    if words == NEITHER:
        return words
    return f"{words} support {'for' if ratio >= 1 else 'against'} it"
