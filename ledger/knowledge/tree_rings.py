"""The last growth ring of a belly or back: a bound from below, and never one from above.

Question answered: not before when was wood with this last ring used. The tree stood in the year
of its last ring, so the part was made in the year after it or later. How much later is told from
practice, and bounds nothing: outer rings are cut away, and wood is seasoned and kept.
"""

from __future__ import annotations

import re

from ledger.basis.edtf import DateUnreadable, read_date
from ledger.basis.spans import NO_DAY, Spans, calendar_date, day_number
from ledger.knowledge.readings import MarkReading
from ledger.references import Practice

TREE_RING_SCHEME = "tree-rings"
_YEAR = re.compile(r"(?<![\d.,])(?:1[0-9]|20)\d\d(?![\d.,]\d|\d)")
_IS_OF_RINGS = re.compile(r"\b(?:growth |tree |end |last |outer)*rings?\b|\bdendro", re.IGNORECASE)


def speaks_of_rings(text: str) -> bool:
    """Whether the words are about growth rings and name a year."""
    return _IS_OF_RINGS.search(text) is not None and _YEAR.search(text) is not None


def tree_ring_reading(text: str, reads: str | None, practice: Practice | None) -> MarkReading:
    """The bound from the last ring: that of ``reads``, or the latest year named in the text.

    ``practice`` is the row on the years between last ring and use. A ``reads`` with an open end
    is taken for the bound itself.
    """
    earliest, told = _bound(text, reads)
    if earliest is None:
        reading, reason = "last ring not told", "No year of a last ring can be read in the mark."
    else:
        reading = f"not before {calendar_date(earliest)[0]}"
        reason = (
            f"{told} The part is not older; there is no upper bound at all. Of several series of "
            "rings the latest governs."
        )
        if practice is not None:
            reason += (
                f" By practice the wood was used about {practice.value:g} {practice.unit} after "
                f"its last ring (one in ten within {practice.low:g}, one in ten after more than "
                f"{practice.high:g}): told here, and no bound."
            )
    return MarkReading(
        reading=reading,
        reason=reason,
        source="a tree adds one ring a year while it stands: common practice, no source",
        reference="",
        spans=NO_DAY if earliest is None else Spans.between(earliest, None),
        bears_on="made",
        is_plain=True,
        is_used=earliest is not None,
        kind="written",
    )


def _bound(text: str, reads: str | None) -> tuple[int | None, str]:
    if reads is not None:
        try:
            spans = read_date(reads).spans
        except DateUnreadable:
            return None, ""
        if spans.latest is None:
            return spans.earliest, f"The record gives the bound itself, {reads}."
        year = calendar_date(spans.latest)[0]
    else:
        years = [int(found) for found in _YEAR.findall(text)]
        if not years:
            return None, ""
        year = max(years)
    return day_number(year + 1), f"The last ring is of {year}, so the tree stood in that year."
