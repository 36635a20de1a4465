"""What is a mark with a date in it worth, by the week in which its part was fitted?

Question answered: for each mark, and for the marks on parts that were fitted as one, the chance of
them for each week of fitting, and for each way and week of completion.

Method: from made to fitted the lag is that of the class of component. Each glyph of a mark that can be
taken for another is misread as often as the row of practice for its legibility has it, each by
itself: so the mark says what it was read as, or was misread by one glyph, by the pairs of glyphs
taken for one another; where two or more were misread and a code came of it all the same, it says as
little as one that is wrong altogether. How often it is which only mixes tables that were made once.

Cost: a running sum along the axis for each mark and each way.

What it does not do: say in which way the part came there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from ledger.basis.spans import Spans
from ledger.knowledge.marks import MarkReading
from ledger.knowledge.slips import NO_SLIPS, slips_of
from ledger.models import Mark
from ledger.reason.dating import alternatives, place_of
from ledger.reason.evidence import Evidence, Terms, Value
from ledger.reason.factors import Table
from ledger.reason.likelihoods import by_ways, lag_chances, later_by
from ledger.record.case import Recorded

USUAL_LAG = "lag-component-median-weeks"
LONGEST_LAG_WEEKS = 780
# What an open mark that is wrong may say: a fact or the other.
OPEN_CODES = 2
# No chance of a mark is quite nothing: the tables of practice have exceptions.
LEAST_CHANCE = 1e-7


@dataclass(frozen=True, slots=True)
class DateMark:
    """A mark with the weeks that it means as read and as likely misread, and its values.

    ``misread`` has for each week how often a slip of one glyph of what was made then gives just this
    mark; ``glyphs`` of it can be taken for others, and two slips leave a code with the chance
    ``still_told``.
    """

    line: str
    as_read: Table
    misread: Table
    glyphs: int
    still_told: float
    is_open: bool
    codes: Value
    sound: Value
    glyph: Value
    lag: tuple[Value, Value, Value]
    known: dict[tuple[float, ...], tuple[Table, Table]] = field(default_factory=dict)

    def of_root(self, terms: Terms) -> Table:
        """For each week of completion, the chance of the mark on a root; one without the line."""
        return np.ones(1) if self.line in terms.without else self.by_week(terms)

    def by_week(self, terms: Terms) -> Table:
        """For each week in which the part may have been fitted, the chance of the mark."""
        return self.mixed(terms, self.told(terms))

    def on(self, terms: Terms) -> tuple[float, ...]:
        """What the terms make of the mark: equal where it weighs the same."""
        return (*self._shares(terms), *(terms.of(value) for value in self.lag))

    def told(self, terms: Terms) -> tuple[Table, Table]:
        """For each week of fitting, the chance of what it says as read and as likely misread."""
        values = tuple(terms.of(value) for value in self.lag)
        if values in self.known:
            return self.known[values]
        read = self._later(self.as_read, values)
        found = read, read if self.misread is self.as_read else self._later(self.misread, values)
        if not self.known:
            # The usual lags, that is: others are asked for once.
            self.known[values] = found
        return found

    def mixed(self, terms: Terms, told: tuple[Table, Table]) -> Table:
        """The chance of the mark, by the chances of what it says as read and as misread."""
        read, misread, wrong = self._shares(terms)
        found = told[0] * read
        found += told[1] * misread
        found += wrong
        return found

    def _later(self, code: Table, lag: tuple[float, ...]) -> Table:
        if self.is_open:
            found: Table = np.maximum.accumulate(code)
            return found
        return later_by(code, _lags(min(len(code), LONGEST_LAG_WEEKS), *lag))

    def _shares(self, terms: Terms) -> tuple[float, float, float]:
        """How often it is as read, misread by a glyph, and wrong and yet just this."""
        right, wrong = terms.soundness(self.line, self.sound)
        plain, slipped, lost = slip_shares(self.glyphs, terms.of(self.glyph))
        codes = OPEN_CODES if self.is_open else terms.of(self.codes)
        anything = wrong + right * lost * self.still_told
        return right * plain, right * slipped, anything / codes + LEAST_CHANCE


def slip_shares(glyphs: int, share: float) -> tuple[float, float, float]:
    """The chance that no glyph, a certain one and no other, and more than one of them is misread.

    >>> [round(each, 4) for each in slip_shares(4, 0.05)]
    [0.8145, 0.0429, 0.014]
    """
    if not glyphs:
        return 1.0, 0.0, 0.0
    others = (1 - share) ** (glyphs - 1)
    plain, slipped = others * (1 - share), others * share
    return plain, slipped, max(1 - plain - glyphs * slipped, 0.0)


@lru_cache(maxsize=64)
def _lags(weeks: int, median: float, sigma: float, old_share: float) -> Table:
    return lag_chances(weeks, median, sigma, old_share)


def date_marks(
    evidence: Evidence, members: Iterable[str], readings: Mapping[str, tuple[MarkReading, ...]]
) -> Iterator[DateMark]:
    """The marks on some places that date the making of their part."""
    draft = evidence.draft
    for recorded in draft.case.of(Mark):
        if place_of(recorded.line) not in members:
            continue
        for group in alternatives(recorded.id, readings.get(recorded.id, ())):
            if group[0][1].bears_on != "made" or any(not r.spans for _, r in group):
                continue
            yield _date_mark(evidence, recorded, [reading for _, reading in group])


def _date_mark(evidence: Evidence, recorded: Recorded[Mark], group: list[MarkReading]) -> DateMark:
    draft, axis = evidence.draft, evidence.axis
    days = Spans.of(span for reading in group for span in reading.spans)
    row = draft.anatomy.view.find(draft.anatomy.position_of(place_of(recorded.line)))
    is_open = days.latest is None
    slips = (
        NO_SLIPS
        if is_open
        else slips_of(recorded.line, row, draft.packs, draft.case.instrument, group[0].kind)
    )
    as_read = axis.share(days)
    misread = as_read
    if slips.glyphs:
        misread = np.zeros(axis.weeks)
        for share, each in slips.told:
            axis.add_share(misread, each, share)
    lag = getattr(row, "lag", None) or USUAL_LAG
    return DateMark(
        line=recorded.id,
        as_read=as_read,
        misread=misread,
        glyphs=slips.glyphs,
        still_told=slips.telling**2,
        is_open=is_open,
        # One reading alone is of a code that tells the decade.
        codes=evidence.practice(
            "codes-with-two-figures-of-year" if len(group) == 1 else "codes-with-one-figure-of-year"
        ),
        sound=evidence.soundness(recorded),
        glyph=evidence.practice(f"misreading-{recorded.line.legibility}"),
        lag=(
            evidence.practice(lag),
            evidence.practice("lag-component-sigma"),
            evidence.practice("lag-component-tail-share"),
        ),
    )


@dataclass(slots=True)
class MarksTogether:
    """The marks on parts that were fitted as one, and what they come to by ways."""

    marks: tuple[DateMark, ...]
    weeks: int
    known: dict[tuple[object, ...], tuple[Table, ...]] = field(default_factory=dict)
    met: set[tuple[object, ...]] = field(default_factory=set)

    def by_week(self, terms: Terms) -> Table:
        """The chance of all marks that are not left out, given the week of fitting."""
        found = np.ones(self.weeks)
        for mark in self.marks:
            if mark.line not in terms.without:
                found = found * mark.by_week(terms)
        return found

    def by_ways(self, terms: Terms, years: tuple[float, float]) -> Table:
        """The same for each way and week of completion.

        From the second terms with the same lags and spreads on, what a lone mark says as read and as
        misread is spread apart from one another: how often it is which then only mixes the two.
        """
        left = [mark for mark in self.marks if mark.line not in terms.without]
        if len(left) == 1:
            (mark,) = left
            apart = (mark.line, years, *(terms.of(value) for value in mark.lag))
            if apart not in self.known:
                if apart in self.met:
                    self.known[apart] = tuple(by_ways(each, years) for each in mark.told(terms))
                self.met.add(apart)
            if apart in self.known:
                read, misread = self.known[apart]
                return mark.mixed(terms, (read, misread))
        key = (years, *(mark.on(terms) for mark in left), *(mark.line for mark in left))
        if key in self.known:
            return self.known[key][0]
        found = by_ways(self.by_week(terms), years)
        if not self.known or key in self.met:
            self.known[key] = (found,)
        self.met.add(key)
        return found
