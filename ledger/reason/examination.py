"""What can be examined that has not been, and with which chances for what it would show?

Question answered: none by itself; this is the form in which an examination that could be made
waits to be weighed, with what the record says was done already.

Method: an examination has outcomes, each with its chance for every state of a few choices and
every week of completion of one root. Their chances add up to one for every state, so that having
it in mind changes nothing until it is made.

Cost: that of the tables.

What it does not do: weigh them; that is :mod:`ledger.reason.prospects`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from ledger.advice import Reach
from ledger.models import Feature, Mark, NonValue, Work
from ledger.reason.anatomy import positions_of
from ledger.reason.contradicting import says_absent
from ledger.reason.draft import Draft
from ledger.reason.evidence import Evidence
from ledger.reason.factors import Factor, Table
from ledger.reason.stretches import YearRun
from ledger.reason.weighing import Outcome
from ledger.record.case import Recorded
from ledger.references import CataloguePosition

REACHES: Final[tuple[Reach, ...]] = ("look", "open", "remove", "alter")
REACH_LOSES: Final[Mapping[Reach, str]] = {
    "look": "",
    "open": "what lies under it can be disturbed: record it as found first",
    "remove": "joints, dust shadows and screw seats can be lost: record them first",
    "alter": "evidence is destroyed for good: it is not proposed, only named",
}
# What a reason for leaving something says of how far one would have had to go, the farthest first;
# each is the beginning of a word.
LEFT_FOR: Final[tuple[tuple[Reach, str], ...]] = (
    ("alter", "harm|destr|cut|break|scrap|sand|drill|damag"),
    ("remove", "lift|tak\\w+ (?:it |them )?(?:off|out)|com\\w+ off|remov|unsolder|unglu|unscrew"),
    ("open", "open"),
)
UNREAD = "it cannot be read"


@dataclass(frozen=True, slots=True)
class Examination:
    """One examination: its outcomes in words, and their chances.

    ``table`` has the outcomes first, then one axis for each of ``variables``, the date last, of
    length 1 where it does not count. ``told`` says for each outcome in which of ``words`` it is
    told to a reader; of those that ``years`` has runs for, neighbours can be told together, after
    ``says``. ``about`` are the choices whose states a reader asks for. Of examinations with the
    same ``counts_with`` only one counts, as they are one piece of evidence.
    """

    id: str
    positions: tuple[str, ...]
    reach: Reach
    what: str
    root: str
    variables: tuple[str, ...]
    table: Table
    words: tuple[str, ...]
    told: tuple[int, ...]
    about: tuple[str, ...] = ()
    years: tuple[YearRun, ...] = ()
    says: str = ""
    is_to_be_had: bool = True
    left_because: str = ""
    rows: tuple[str, ...] = ()
    counts_with: str = ""


@dataclass(slots=True)
class Ready:
    """A case on which examinations are thought out: a copy that can be written on.

    Choices that nobody has weighed yet get their priors here and not in the case's own evidence.
    """

    outcome: Outcome
    evidence: Evidence
    used: frozenset[str]
    seen: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, outcome: Outcome) -> Ready:
        """A copy of what was weighed."""
        own = outcome.scales.evidence
        draft = replace(
            own.draft, doubts=dict(own.draft.doubts), findings={}, rows=dict(own.draft.rows)
        )
        evidence = replace(
            own,
            draft=draft,
            pieces=list(own.pieces),
            sizes=dict(own.sizes),
            values=dict(own.values),
            events=dict(own.events),
            priors=dict(own.priors),
            rows={name: list(each) for name, each in own.rows.items()},
        )
        used = frozenset(line for piece in own.pieces for line in piece.lines)
        ready = cls(outcome, evidence, used)
        for recorded in draft.case.lines.values():
            for position in positions_of(recorded):
                ready.seen.setdefault(position, []).append(recorded.id)
        return ready

    @property
    def draft(self) -> Draft:
        """The copy of the draft."""
        return self.evidence.draft

    def factors(self) -> dict[str, Factor]:
        """The factors of the outcome, and the priors of the choices that are new."""
        known = len(self.outcome.scales.evidence.pieces)
        new = self.evidence.pieces[known:]
        return {
            **self.outcome.factors,
            **{piece.name: piece.factor(self.outcome.terms) for piece in new},
        }

    def practice(self, name: str) -> float:
        """A starting value of practice, on the terms of the outcome."""
        return self.outcome.terms.of(self.evidence.practice(name))

    # -- what was done already ------------------------------------------------------------------

    def open_events(self) -> list[tuple[str, tuple[str, ...]]]:
        """The fitting events and lone positions, without those where nothing is to be seen."""
        return [
            (event, open_members)
            for event, members in self.evidence.events.items()
            if (
                open_members := tuple(
                    place
                    for place in members
                    if not place.startswith("part/")
                    and self.row_of(place) is not None
                    and not self._is_empty(place)
                )
            )
        ]

    def row_of(self, place: str) -> CataloguePosition | None:
        """The catalogue's row of a place."""
        return self.draft.anatomy.view.find(place)

    def _is_empty(self, place: str) -> bool:
        return any(
            (
                (isinstance(line, NonValue) and line.value == "not applicable")
                or (isinstance(line, Feature) and says_absent(line))
                or (isinstance(line, Work) and line.action == "removed")
            )
            for line in self._lines(place)
        )

    def _lines(self, place: str) -> list[object]:
        return [self.draft.case.lines[name].line for name in self.seen.get(place, ())]

    def has_dated_mark(self, place: str) -> bool:
        """Whether a mark on it was read that gives days, or was searched for in vain."""
        if any(mark.line.position == place for mark in self.dated_marks()):
            return True
        return any(
            isinstance(line, NonValue) and line.value == "searched, not found" and is_of_mark(line)
            for line in self._lines(place)
        )

    def dated_marks(self) -> list[Recorded[Mark]]:
        """The marks that were read and give days that are weighed."""
        return [mark for mark in self.draft.case.of(Mark) if mark.id in self.used]

    def left_because(self, place: str) -> str:
        """Why it was not examined, as the record gives it; nothing where that is withheld."""
        found = (
            recorded.line.why
            for recorded in self.draft.case.of(NonValue)
            if place in recorded.line.positions
            and recorded.line.value == "not examined"
            and "why" not in recorded.withheld
        )
        return next(found, "")

    def is_reworked(self, members: Iterable[str]) -> bool:
        """Whether a work with a date is recorded that put one of the parts in."""
        return any(
            isinstance(line, Work)
            and line.date is not None
            and line.action in ("replaced", "added")
            for place in members
            for line in self._lines(place)
        )

    def reach(self, places: Iterable[str]) -> Reach:
        """How far one has to go to see all of the places.

        The catalogue says how far that is as a rule; where somebody left it for what would have
        had to come off, it is at least that far on this instrument.
        """
        named = tuple(places)
        rows = [row for place in named if (row := self.row_of(place)) is not None]
        reaches: list[Reach] = [row.examine for row in rows]
        reaches += [self._reach_as_left(place) for place in named]
        return max(reaches, key=REACHES.index, default="look")

    def _reach_as_left(self, place: str) -> Reach:
        """How far one would have had to go there, by the reason that it was left for."""
        reasons = [
            line.why.casefold()
            for line in self._lines(place)
            if isinstance(line, NonValue) and line.value == "not examined"
        ]
        return next(
            (
                reach
                for reach, words in LEFT_FOR
                if any(re.search(rf"\b(?:{words})", reason) for reason in reasons)
            ),
            "look",
        )

    def names(self, places: Iterable[str]) -> str:
        """The plain names of the places."""
        found = [self.draft.anatomy.name(place) for place in places]
        return found[0] if len(found) == 1 else f"{', '.join(found[:-1])} and {found[-1]}"


MARK_WORDS: Final = (
    "code",
    "mark",
    "date",
    "stamp",
    "number",
    "letter",
    "label",
    "chart",
    "pencil",
)


def is_of_mark(line: NonValue) -> bool:
    """Whether what was looked for is a mark, by its words."""
    return any(word in line.what.casefold() for word in MARK_WORDS)
