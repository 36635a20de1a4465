"""Which pieces of evidence bear on the date and on the parts, and what is each one worth?

Question answered: none by itself; this is the form in which the evidence of a case waits to be
weighed. A piece is a table of chances over some choices and the week of completion of one root; it
can be built again with lines left out, with a line taken for right or wrong, or with a starting
value of practice moved within its stated range.

Method: every number that a table is made of is asked for by the name of its row, and the piece
remembers which it asked for, so that moving a row builds again only what rests on it. How often a
part is still the first one depends on the age, and so on the week of completion that is weighed.

Cost: that of building the tables.

What it does not do: sum them; that is :mod:`ledger.reason.weighing`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import log
from typing import Any

import numpy as np

from ledger.reason.dating import DAYS_A_YEAR
from ledger.reason.draft import Doubt, Draft
from ledger.reason.factors import Factor, Table
from ledger.reason.likelihoods import DAYS_A_WEEK, WAYS, Axis, log_odds
from ledger.reason.network import Supposition
from ledger.reason.plans import ANYWHERE
from ledger.reason.priors import (
    Fitment,
    age_in_years,
    first_days,
    latest_look,
    part_shares,
    shares_by_year,
)
from ledger.record.case import Recorded

MARGIN = "axis-margin-years"
LEAST_WEEKS = 104


@dataclass(frozen=True, slots=True)
class Value:
    """A starting value with the range that practice states for it; ``id`` is its row or prior."""

    id: str
    middle: float
    low: float
    high: float


@dataclass(slots=True)
class Terms:
    """On what terms the pieces are built.

    ``moved`` gives other values than the middle ones, ``without`` leaves lines out, ``taken``
    takes a line for right (True) or wrong (False). ``asked`` collects the values asked for.
    """

    moved: Mapping[str, float] = field(default_factory=dict)
    without: frozenset[str] = frozenset()
    taken: Mapping[str, bool] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)

    def of(self, value: Value) -> float:
        """The value on these terms."""
        self.asked.add(value.id)
        return self.moved.get(value.id, value.middle)

    def soundness(self, line: str, value: Value) -> tuple[float, float]:
        """The weights of the line's being right and wrong."""
        right = self.of(value)
        return (
            0.0 if self.taken.get(line) is False else right,
            0.0 if self.taken.get(line) is True else 1 - right,
        )


@dataclass(frozen=True, slots=True)
class AgedShare:
    """How often a part is the first one, by the age that each week of completion would give it.

    ``value`` is the share at the age that the report tells; ``shift`` is what each week's share
    has over it, in log-odds, one figure for all where the age does not matter.
    """

    value: Value
    shift: Table
    _known: dict[float, Table] = field(default_factory=dict, compare=False)
    _logs: dict[float, tuple[Table, Table]] = field(default_factory=dict, compare=False)

    def of(self, terms: Terms) -> Table:
        """The share for each week on these terms."""
        value = terms.of(self.value)
        if value not in self._known:
            self._known[value] = 1 / (1 + np.exp(-log_odds(value) - self.shift))
        return self._known[value]

    def logs(self, terms: Terms) -> tuple[Table, Table]:
        """The logarithms of the share for each week and of what is left."""
        value = terms.of(self.value)
        if value not in self._logs:
            odds = log_odds(value) + self.shift
            share: Table = -np.log1p(np.exp(-odds))
            self._logs[value] = share, share - odds
        return self._logs[value]


@dataclass(frozen=True, slots=True)
class WayPrior:
    """How often a part is the first one, and else of which kind its replacement is."""

    first: AgedShare
    mix: tuple[Value, ...]

    def of(self, terms: Terms) -> Table:
        """For each way and week, its share."""
        chance = self.first.of(terms)
        return np.stack([chance, *((1 - chance) * share for share in self._shares(terms))])

    def logs(self, terms: Terms) -> Table:
        """The logarithms of the same."""
        chance, rest = self.first.logs(terms)
        found = np.empty((len(WAYS), len(chance)))
        found[0] = chance
        for way, share in enumerate(self._shares(terms), 1):
            np.add(rest, log(share), out=found[way])
        return found

    def of_integral(self, terms: Terms) -> Table:
        """For each way of the parent, each way of an integral part, and each week, its share.

        Such a part came with its parent: it is the first only if the parent is, and else came as
        the parent did, but for what was renewed on it since.
        """
        prior = self.of(terms)
        table = np.zeros((len(WAYS), *prior.shape))
        table[0] = prior
        table[1:, 1:] = prior[1:]
        table[range(1, len(WAYS)), range(1, len(WAYS))] += prior[0]
        return table

    def _shares(self, terms: Terms) -> list[float]:
        shares = [terms.of(each) for each in self.mix]
        return [share / sum(shares) for share in shares]


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of evidence, or a prior: ``build`` gives chances, dates last.

    ``lines`` are the lines of the case that it rests on. ``logs`` gives the logarithms of the same,
    where they are to be had more easily.
    """

    name: str
    root: str
    variables: tuple[str, ...]
    lines: tuple[str, ...]
    build: Callable[[Terms], Table]
    logs: Callable[[Terms], Table] | None = None

    @property
    def is_of_odds(self) -> bool:
        """Whether it is a prior of ways, so that its value is the odds of the first of them."""
        return self.logs is not None

    def factor(self, terms: Terms) -> Factor:
        """The piece as a table of logarithms."""
        if self.logs is not None:
            return Factor(self.variables, self.logs(terms))
        with np.errstate(divide="ignore"):
            return Factor(self.variables, np.log(self.build(terms)))


@dataclass(slots=True)
class Evidence:
    """All pieces of a case, gathered one after another."""

    draft: Draft
    suppositions: Mapping[str, Supposition]
    fitments: Mapping[str, Fitment]
    axis: Axis
    age: float
    pieces: list[Piece] = field(default_factory=list)
    sizes: dict[str, int] = field(default_factory=dict)
    values: dict[str, Value] = field(default_factory=dict)
    events: dict[str, tuple[str, ...]] = field(default_factory=dict)
    priors: dict[str, Value] = field(default_factory=dict)
    rows: dict[str, list[str]] = field(default_factory=dict)
    ages: Table | None = None
    by_age: dict[tuple[float, ...], Table] = field(default_factory=dict)
    dated_roots: frozenset[str] = frozenset()

    def practice(self, name: str) -> Value:
        """A starting value of practice, which the report then lists among its rows."""
        if name not in self.values:
            row = self.draft.packs.practice(name)
            self.draft.rows[row.id] = row
            self.values[name] = Value(name, row.row.value, row.row.low, row.row.high)
        return self.values[name]

    def soundness(self, recorded: Recorded[Any]) -> Value:
        """How often a line of its kind is right."""
        return self.practice(self.draft.soundness_row(recorded))

    def add(
        self,
        name: str,
        root: str,
        variables: tuple[str, ...],
        build: Callable[[Terms], Table],
        lines: tuple[str, ...] = (),
    ) -> None:
        """Take a piece."""
        self.pieces.append(Piece(name, root, variables, lines, build))

    def holds(self, name: str, value: Value | None = None) -> str:
        """A supposition that holds (1) or not (0), as a variable with its prior.

        Rows of one source are one doubt and one variable; its name is returned.
        """
        name, supposition = self.doubted_as(name), name
        if name not in self.sizes:
            self.sizes[name] = 2
            prior = value or self._prior_of(supposition)
            if supposition.startswith("holds:"):
                self.rows.setdefault(name, []).append(supposition)
            self.priors[name] = prior
            self.add(
                f"prior of {name}",
                ANYWHERE,
                (name,),
                lambda terms: np.array([[1 - terms.of(prior)], [terms.of(prior)]]),
            )
        elif supposition in self.draft.doubts and supposition not in self.rows.get(name, [name]):
            self.rows[name].append(supposition)
        return name

    def teller(self, recorded: Recorded[Any]) -> str:
        """The variable of a line's being right: that of its teller or paper, or its own."""
        group = self.draft.doubted_with(recorded)
        return group if group.startswith("source:") else f"sound:{recorded.id}"

    def doubted_as(self, supposition: str) -> str:
        """The variable of a supposition: that of all rows of its source, or its own."""
        doubt = self.draft.doubts.get(supposition)
        row = self.draft.rows.get(doubt.subject) if doubt is not None else None
        if row is None or supposition != f"holds:{row.id}":
            return supposition
        return f"rows of {row.pack.pack} from {row.row.source}"

    def _prior_of(self, name: str) -> Value:
        doubt = self.draft.doubts[name]
        if doubt.practice is not None:
            return self.practice(doubt.practice)
        return self.part_prior(doubt)

    def part_prior(self, doubt: Doubt) -> Value:
        """The share for a part or a union, by its own name; for an unaltered root, that of practice."""
        if doubt.kind == "as-made":
            return self.practice("unaltered-root")
        name = f"prior of {doubt.id}"
        if name not in self.values:
            share, _ = part_shares(self.draft, doubt, self.age)
            self.values[name] = Value(name, share.middle, share.low, share.high)
        return self.values[name]

    def way(self, event: str) -> str:
        """The way in which a fitting event came there, as a variable with its prior."""
        name = f"way:{event}"
        if name in self.sizes:
            return name
        self.sizes[name] = len(WAYS)
        members = self.members_of(event)
        prior = WayPrior(self.first_share(event), self.mix())
        parent = self.parent_event(members[0])
        variables = (name,) if parent is None else (self.way(parent), name)
        is_dated = len(prior.first.shift) > 1
        self.pieces.append(
            Piece(
                f"prior of {name}",
                self.draft.anatomy.root_of(members[0]) if is_dated else ANYWHERE,
                variables,
                (),
                prior.of if parent is None else prior.of_integral,
                prior.logs if parent is None else None,
            )
        )
        return name

    def mix(self) -> tuple[Value, ...]:
        """How replacements divide: service, chosen to match, moved over with a group."""
        return tuple(self.practice(row) for row in self.draft.mix)

    def first_share(self, event: str) -> AgedShare:
        """How often a fitting event is the first one, by weeks where its root has a date."""
        doubt = Doubt(f"first-fitted:{event}", "first-fitted", event, "", None, "")
        value = self.part_prior(doubt)
        by_year = shares_by_year(self.draft, event)
        root = self.draft.anatomy.root_of(self.members_of(event)[0])
        if self.ages is None or root not in self.dated_roots or min(by_year) == max(by_year):
            return AgedShare(value, np.zeros(1))
        if by_year not in self.by_age:
            shares = np.array(by_year)
            odds = np.log(shares / (1 - shares))
            self.by_age[by_year] = np.interp(self.ages, np.arange(len(shares)), odds)
        return AgedShare(value, self.by_age[by_year] - log_odds(value.middle))

    def members_of(self, event: str) -> tuple[str, ...]:
        """The places of a fitting event; the event's own where it is a place of none.

        A coil of which nobody says to which of several pickups it belongs hangs from a pickup that
        is none of those on record.
        """
        return self.events.get(event, (event,))

    def parent_event(self, place: str) -> str | None:
        """The fitting event of the parent of an integral part, unless that is a root."""
        anatomy = self.draft.anatomy
        parent = anatomy.view.parent_of(anatomy.position_of(place))
        if not anatomy.is_integral(place) or parent is None or anatomy.is_root(parent):
            return None
        return anatomy.event_of(parent)


def axis_of(draft: Draft) -> Axis | None:
    """The weeks in which the instrument may have been completed; None without any date.

    From some years before the earliest date on record to the latest examination, and to where every
    date on record has begun; without an examination, to some years after the latest date.
    """
    spans = [bound.spans for bound in draft.network.bounds]
    begun = [s.latest if s.earliest is None else s.earliest for s in spans]
    ended = [s.earliest if s.latest is None else s.latest for s in spans]
    days = [day for day in begun if day is not None]
    if not days:
        return None
    row = draft.packs.practice(MARGIN)
    draft.rows[row.id] = row
    margin = round(row.row.value * DAYS_A_YEAR)
    first = min(first_days(draft) or days) - margin
    look = latest_look(draft)
    if look is None:
        last = max(day for day in ended if day is not None) + margin
    else:
        last = max(look, *days)
    return Axis(first, max(-(-(last + 1 - first) // DAYS_A_WEEK), LEAST_WEEKS))


def gathering(
    draft: Draft, suppositions: Mapping[str, Supposition], fitments: Mapping[str, Fitment]
) -> Evidence | None:
    """Nothing gathered yet, on the axis of the case; None where nothing has a date."""
    axis = axis_of(draft)
    if axis is None:
        return None
    anatomy = draft.anatomy
    look = latest_look(draft)
    days = axis.first_day + DAYS_A_WEEK * np.arange(axis.weeks)
    evidence = Evidence(
        draft,
        suppositions,
        fitments,
        axis,
        age_in_years(draft),
        ages=None if look is None else np.maximum(look - days, 0) / DAYS_A_YEAR,
        dated_roots=frozenset(
            (
                anatomy.view.anchor,
                *(
                    anatomy.root_of(bound.moment.partition(":")[2])
                    for bound in draft.network.bounds
                    if bound.moment.startswith(("made:", "completed:"))
                ),
            )
        ),
    )
    places = [*anatomy.positions, *(f"part/{name}" for name in anatomy.removed)]
    by_event: dict[str, list[str]] = {}
    for place in places:
        by_event.setdefault(anatomy.event_of(place), []).append(place)
    for event in anatomy.events.values():
        by_event.setdefault(event.id, list(event.positions))
    evidence.events = {name: tuple(members) for name, members in by_event.items()}
    return evidence
