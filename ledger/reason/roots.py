"""How are the weeks of several roots summed together?

Question answered: given the pieces of evidence of a case as tables, each on the weeks of one root or
on none, the weights of the weeks of the anchor, of each other root and of every choice.

Method: all is summed as of the anchor's weeks. A root other than the anchor has a date of its own,
which is the instrument's if the unions between them hold and any date if not: what only its own
pieces speak of is summed first, over all of its weeks, and comes to one table on the anchor's. What
is summed first follows from which pieces speak of what, and is worked out once for all terms.

Cost: that of :mod:`ledger.reason.factors`, for each root.

What it does not do: know what the tables mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, log

import numpy as np

from ledger.reason.factors import Factor, Held, Table, log_sum, normalised, placed
from ledger.reason.sums import Memo, Weighing

ANYWHERE = ""
# Weeks that together hold less are left out, where what may be lost by it stays below the latter.
LEFT_OUT, MOST_LOST = 1e-24, 1e-11
WORTH_CUTTING = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """A table by its name: the variables and the root that it speaks of; none where undated.

    Each is its own, by identity, so that plans are soon found again.
    """

    name: str
    variables: tuple[str, ...]
    root: str

    @property
    def is_dated(self) -> bool:
        """Whether it has to do with weeks."""
        return self.root != ANYWHERE


@dataclass(frozen=True, slots=True, eq=False)
class RootFirst:
    """A root that is summed before the anchor: its tables, and what it shares with the others."""

    root: str
    unions: tuple[str, ...]
    members: tuple[str, ...]
    scope: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of the table that it comes to."""
        return f"root {self.root}"


@dataclass(frozen=True, slots=True)
class Plan:
    """Which tables are summed together: those of the other roots first, the rest for the anchor."""

    first: tuple[RootFirst, ...]
    rest: tuple[str, ...]


def plan_of(
    spoken: Sequence[Spoken],
    anchor: str,
    unions: Mapping[str, tuple[str, ...]],
    keep: Sequence[str] = (),
) -> Plan:
    """What is summed together.

    Variables that only another root's tables have are summed out with it, but for those to ``keep``.

    Args:
        spoken: all tables.
        anchor: the root that all is counted from.
        unions: for each other root, the unions between it and the anchor.
        keep: variables that are asked for.
    """
    by_root: dict[str, list[Spoken]] = {}
    for each in spoken:
        by_root.setdefault(each.root, []).append(each)
    gathered = [*by_root.get(ANYWHERE, ()), *by_root.get(anchor, ())]
    others = sorted(root for root in by_root if root not in (ANYWHERE, anchor))
    first: list[RootFirst] = []
    for i, root in enumerate(others):
        own, between = by_root[root], unions[root]
        dated = [each for each in gathered if each.is_dated]
        dated += [each for other in others[i + 1 :] for each in by_root[other]]
        elsewhere = {v for each in dated for v in each.variables} | set(between)
        mine = {v for each in own for v in each.variables}
        local, gathered = _reached(mine - elsewhere, elsewhere, gathered)
        known = mine | {v for each in local for v in each.variables}
        touched = {v for each in gathered for v in each.variables} | elsewhere | set(keep)
        scope = tuple(sorted(known & touched))
        found = RootFirst(root, between, tuple(each.name for each in (*own, *local)), scope)
        first.append(found)
        left = (*between, *(name for name in scope if name not in between))
        gathered = [*gathered, Spoken(found.name, left, anchor if between else ANYWHERE)]
    return Plan(tuple(first), tuple(each.name for each in gathered))


def _reached(
    start: set[str], elsewhere: set[str], gathered: Iterable[Spoken]
) -> tuple[list[Spoken], list[Spoken]]:
    """The undated tables tied to these variables and to nobody else's, and the other tables."""
    left, local, known = list(gathered), [], set(start)
    has_moved = True
    while has_moved:
        has_moved = False
        for each in tuple(left):
            names = set(each.variables)
            if names & known and not names & elsewhere and not each.is_dated:
                left.remove(each)
                local.append(each)
                known |= names
                has_moved = True
    return local, left


# -- sums ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Window:
    """The weeks of the anchor that hold all but next to nothing of the chance on the usual terms.

    ``log_total`` is the logarithm of the weight of everything, ``lost`` the share outside.
    """

    first: int
    end: int
    log_total: float
    lost: float

    @classmethod
    def of(cls, weighing: Weighing) -> Window | None:
        """The window of what was weighed; None where it would leave out few weeks, or nothing is."""
        weights = weighing.weights()
        if not weights.any():
            return None
        first = int(np.searchsorted(np.cumsum(weights), LEFT_OUT))
        end = len(weights) - int(np.searchsorted(np.cumsum(weights[::-1]), LEFT_OUT))
        if end - first > WORTH_CUTTING * len(weights):
            return None
        lost = float(weights[:first].sum() + weights[end:].sum())
        return cls(first, end, weighing.log_total(), lost)

    def is_enough(self, log_total: float, excess: float) -> bool:
        """Whether the weeks outside are next to nothing on other terms as well.

        Args:
            log_total: of the weight of the weeks inside, on those terms.
            excess: the greatest logarithm by which any state outside can have gained weight.
        """
        if self.lost == 0 or excess == -inf:
            return excess < inf
        return log(self.lost) + excess + self.log_total - log_total < log(MOST_LOST)


@dataclass(slots=True)
class Joiner:
    """The sums of a case, each remembered for whatever leaves its tables as they are."""

    sizes: Mapping[str, int]
    weeks: int
    anchor: str
    unions: Mapping[str, tuple[str, ...]]
    memo: Memo = field(default_factory=dict)
    plans: dict[tuple[tuple[Spoken, ...], tuple[str, ...]], Plan] = field(default_factory=dict)
    summed: dict[tuple[RootFirst, frozenset[Factor], tuple[object, ...]], Inner] = field(
        default_factory=dict
    )
    cuts: dict[Factor, Factor] = field(default_factory=dict)
    silent: dict[tuple[str, ...], Factor] = field(default_factory=dict)

    def joined(
        self,
        factors: Mapping[Spoken, Factor],
        keep: Sequence[str] = (),
        held: Held | None = None,
        window: Window | None = None,
    ) -> Whole:
        """All tables as of the anchor's weeks, the other roots summed over theirs.

        Args:
            factors: the tables.
            keep: variables that are asked for.
            held: for variables by name, the values that are counted by :meth:`Whole.log_total`.
            window: the weeks of the anchor that are counted; always the same, where there is one.

        Raises:
            TooTangled: too much is tied together for an exact sum.
        """
        key = (tuple(factors), tuple(keep))
        if key not in self.plans:
            self.plans[key] = plan_of(key[0], self.anchor, self.unions, key[1])
        plan = self.plans[key]
        tables = {each.name: factor for each, factor in factors.items()}
        inner: list[Inner] = []
        for first in plan.first:
            own = tuple(tables[name] for name in first.members)
            inner.append(self._inner(first, own, held or {}))
            tables[first.name] = inner[-1].factor
        rest = tuple(tables[name] for name in plan.rest)
        return Whole(self.over_weeks(rest, window), rest, tuple(inner), self, held or {}, window)

    def over_weeks(self, factors: Iterable[Factor], window: Window | None = None) -> Weighing:
        """The sums of tables over the weeks of one root, or over those of the window."""
        seen = [self.seen(factor, window) for factor in factors]
        weeks = self.weeks if window is None else window.end - window.first
        return Weighing(self.sizes, seen, weeks, self.memo)

    def seen(self, factor: Factor, window: Window | None) -> Factor:
        """The table over the weeks of the window, always the same one."""
        if window is None or factor.table.shape[-1] == 1:
            return factor
        if factor not in self.cuts:
            table = np.ascontiguousarray(factor.table[..., window.first : window.end])
            self.cuts[factor] = Factor(factor.variables, table)
        return self.cuts[factor]

    def saying_nothing(self, variables: tuple[str, ...]) -> Factor:
        """The table of the variables that changes nothing, always the same one."""
        if variables not in self.silent:
            shape = (*(self.sizes[name] for name in variables), 1)
            self.silent[variables] = Factor(variables, np.zeros(shape))
        return self.silent[variables]

    def replaced(
        self, whole: Whole, changes: Mapping[Factor, Factor], held: Held | None = None
    ) -> Whole:
        """The same with some tables in the place of others, and with what is held."""
        changed, inner = dict(changes), []
        for root in whole.inner:
            own = tuple(changed.get(factor, factor) for factor in root.own)
            found = self._inner(root.first, own, held or {})
            if found.factor is not root.factor:
                changed[root.factor] = found.factor
            inner.append(found)
        rest = tuple(changed.get(factor, factor) for factor in whole.factors)
        pairs = zip(whole.factors, rest, strict=True)
        main = whole.main.replacing(
            {
                self.seen(old, whole.window): self.seen(new, whole.window)
                for old, new in pairs
                if old is not new
            }
        )
        return Whole(main, rest, tuple(inner), self, held or {}, whole.window)

    def _inner(self, first: RootFirst, own: tuple[Factor, ...], held: Held) -> Inner:
        """The root's own sums, and what they say of the anchor's date.

        All of it counts if the roots belong together. If they do not, that root was completed at
        any time, and its evidence, summed over all weeks, says nothing of the instrument's date.
        """
        spoken = {name for factor in own for name in factor.variables}
        within = {n: values for n, values in held.items() if n in spoken and n not in first.scope}
        key = (first, frozenset(own), tuple((n, *within[n]) for n in sorted(within)))
        if key not in self.summed:
            weighing = self.over_weeks(own)
            joint = weighing.over(first.scope, within)
            factor = _across(first.unions, joint, first.scope)
            self.summed[key] = Inner(first, own, weighing, first.scope, factor)
        return self.summed[key]


def _across(unions: tuple[str, ...], joint: Table, scope: tuple[str, ...]) -> Factor:
    """What a root says of the anchor's date, by whether the unions between them hold."""
    others = tuple(name for name in scope if name not in unions)
    weeks = joint.shape[-1]
    sizes = (*(joint.shape[scope.index(name)] for name in others), weeks)
    table = np.broadcast_to(
        placed(scope, joint, (*unions, *others)), (*(2 for _ in unions), *sizes)
    )
    apart = _mean(table)
    if not unions:
        return Factor(others, apart)
    found = np.broadcast_to(apart, table.shape).copy()
    found[(1,) * len(unions)] = table[(1,) * len(unions)]
    return Factor((*unions, *others), found)


def _mean(logs: Table) -> Table:
    """The logarithm of the mean weight over the weeks, as an axis of one."""
    top = logs.max(axis=-1, keepdims=True)
    firm = np.where(np.isneginf(top), 0.0, top)
    with np.errstate(divide="ignore"):
        found: Table = np.log(np.exp(logs - firm).mean(axis=-1, keepdims=True)) + firm
    return found


@dataclass(frozen=True, slots=True)
class Inner:
    """A root other than the anchor, over its own weeks, and what it says of the anchor's.

    ``own`` are the tables that were summed for it.
    """

    first: RootFirst
    own: tuple[Factor, ...]
    weighing: Weighing
    scope: tuple[str, ...]
    factor: Factor

    @property
    def unions(self) -> tuple[str, ...]:
        """The unions between it and the anchor."""
        return self.first.unions

    def weights(
        self, outside: Weighing, window: Window | None = None
    ) -> tuple[tuple[str, ...], Table]:
        """The chance of each state of what is shared and each week of this root's completion.

        Args:
            outside: everything but this root.
            window: the weeks of the anchor that ``outside`` has, where those are not all.
        """
        names = (*self.unions, *(name for name in self.scope if name not in self.unions))
        rest = outside.over(names)
        own = placed(self.scope, self.weighing.over(self.scope), names)
        weeks = own.shape[-1]
        apart = _mean(rest) + log(rest.shape[-1] / weeks)
        found = np.broadcast_to(apart, (*rest.shape[:-1], weeks)).copy()
        if self.unions:
            together = found[(1,) * len(self.unions)]
            together[...] = -inf
            at = slice(None) if window is None else slice(window.first, window.end)
            together[..., at] = rest[(1,) * len(self.unions)]
        return names, normalised(found + own)


@dataclass(frozen=True, slots=True)
class Shared:
    """The chance of each state of some variables and each week of a root, from ``first`` on.

    Weeks that hold next to nothing are left out at both ends.
    """

    names: tuple[str, ...]
    table: Table
    first: int

    @classmethod
    def of(cls, names: tuple[str, ...], whole: Table) -> Shared:
        """What is worth keeping of the weeks."""
        by_week = whole.reshape(-1, whole.shape[-1]).sum(axis=0)
        at = np.flatnonzero(by_week > LEFT_OUT)
        if not len(at):
            return cls(names, whole, 0)
        first, end = int(at[0]), int(at[-1]) + 1
        return cls(names, whole[..., first:end], first)

    def by_week(self, weighing: Weighing, name: str) -> Table:
        """The chance of each value of a variable that the root alone knows, and each kept week."""
        return weighing.expected_by_week(name, self.names, self.table, self.first)


@dataclass(slots=True)
class Whole:
    """All evidence as of the anchor's weeks, and each other root as of its own."""

    main: Weighing
    factors: tuple[Factor, ...]
    inner: tuple[Inner, ...]
    joiner: Joiner
    held: Held = field(default_factory=dict)
    window: Window | None = None
    _weights: dict[int, Shared] = field(default_factory=dict)

    def log_total(self) -> float:
        """The logarithm of the weight of everything that is counted."""
        return self.main.log_total(self.held)

    def weights(self) -> Table:
        """The chance of each of the anchor's weeks; nothing outside of the window."""
        if self.window is None:
            return self.main.weights()
        found = np.zeros(self.joiner.weeks)
        found[self.window.first : self.window.end] = self.main.weights()
        return found

    def chances(self, name: str) -> Table:
        """The chance of each value of a variable."""
        inner = self._root_of(name)
        if inner is None:
            return self.main.chances(name)
        return self._weights_of(inner).by_week(self.inner[inner].weighing, name).sum(axis=-1)

    def chances_of(self, values: Mapping[str, int]) -> dict[str, float]:
        """The chance of one value of each of some variables, by name."""
        found = self.main.chances_of(values)
        for name in values:
            if name not in found:
                found[name] = float(self.chances(name)[values[name]])
        return found

    def known_jointly(self, names: tuple[str, ...]) -> Joint | None:
        """The weights of the states of some variables and the weeks of their root.

        None where it takes more than looking them up.
        """
        if all(self.main.knows(name) for name in names):
            return Joint(names, self.main.over(names), self.window)
        inner = self._root_of(names[0])
        if inner is None or len(names) > 1:
            return None
        shared = self._weights_of(inner)
        found = shared.by_week(self.inner[inner].weighing, names[0])
        with np.errstate(divide="ignore"):
            logs = np.log(found) + self.log_total()
        end = shared.first + found.shape[-1]
        lost = LEFT_OUT * self.joiner.weeks
        return Joint(names, logs, Window(shared.first, end, self.log_total(), lost))

    def _root_of(self, name: str) -> int | None:
        """Which of the other roots alone speaks of a variable."""
        if self.main.knows(name):
            return None
        return next((i for i, root in enumerate(self.inner) if root.weighing.knows(name)), None)

    def outside(self, root: Inner) -> Weighing:
        """Everything but one of the other roots."""
        seen = self.joiner.seen(root.factor, self.window)
        return self.main.replacing({seen: self.joiner.saying_nothing(root.factor.variables)})

    def _weights_of(self, inner: int) -> Shared:
        if inner not in self._weights:
            root = self.inner[inner]
            outside = self.outside(root)
            self._weights[inner] = Shared.of(*root.weights(outside, self.window))
        return self._weights[inner]


@dataclass(frozen=True, slots=True)
class Joint:
    """The logarithms of the weights of the states of some variables and the weeks of a root."""

    names: tuple[str, ...]
    logs: Table
    window: Window | None

    def with_tables(self, changed: Iterable[tuple[Factor, Factor]]) -> Table | None:
        """The chances of the first variable with some tables in the place of others.

        None where that cannot be told from these weights.
        """
        logs, excess = self.logs, 0.0
        for old, new in changed:
            with np.errstate(invalid="ignore"):
                gained = new.table - old.table
            gained = np.where(np.isnan(gained), 0.0, gained)  # what can be on neither terms
            top = float(gained.max())
            if top == inf:
                return None
            excess += top
            if self.window is not None and gained.shape[-1] > 1:
                gained = gained[..., self.window.first : self.window.end]
            logs = logs + placed(old.variables, gained, self.names)
        if self.window is not None and not self.window.is_enough(log_sum(logs), excess):
            return None
        return normalised(logs).reshape(len(logs), -1).sum(axis=1)
