"""How are the weeks of several roots summed together?

Question answered: given the pieces of evidence of a case as tables, each on the weeks of one root or
on none, the weights of the weeks of the anchor, of each other root and of every choice.

Method: all is summed as of the anchor's weeks. A root other than the anchor has a date of its own,
which is the instrument's if the unions between them hold and any date if not: what only its own
pieces speak of is summed first, over all of its weeks, and comes to one table on the anchor's
(:mod:`ledger.reason.plans`). Other terms are weighed by what is not as usual on them, and over those
weeks alone that can matter: what the others may hold is bounded by how far any state can have gained.

Cost: that of :mod:`ledger.reason.factors`, for each root.

What it does not do: know what the tables mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf, log

import numpy as np

from ledger.reason.factors import Factor, Held, Table, normalised, placed
from ledger.reason.plans import Plan, RootFirst, Spoken, plan_of
from ledger.reason.sums import Memo, Weighing
from ledger.reason.windows import Joint, Shared, Window


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
    ) -> Whole:
        """All tables as of the anchor's weeks, the other roots summed over theirs.

        Args:
            factors: the tables.
            keep: variables that are asked for.

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
            inner.append(self._inner(first, own, {}))
            tables[first.name] = inner[-1].factor
        rest = tuple(tables[name] for name in plan.rest)
        in_main = {each.factor: each.factor for each in inner}
        return Whole(self._over_weeks(rest), rest, tuple(inner), self, in_main)

    def _over_weeks(self, factors: Iterable[Factor]) -> Weighing:
        """The sums of tables over the weeks of one root."""
        return Weighing(self.sizes, factors, self.weeks, self.memo)

    def within(self, whole: Whole, window: Window) -> Whole:
        """The same over the weeks of the window, which is the same whenever this is asked."""
        main = whole.main.within(window.first, window.end, lambda each: self.seen(each, window))
        in_main = {each.factor: self.seen(each.factor, window) for each in whole.inner}
        return replace(whole, main=main, in_main=in_main, window=window)

    def seen(self, factor: Factor, window: Window | None, *, is_kept: bool = True) -> Factor:
        """The table over the weeks of the window, always the same one if it is kept."""
        if window is None or factor.table.shape[-1] == 1:
            return factor
        if not is_kept:
            return window.cut(factor)
        if factor not in self.cuts:
            self.cuts[factor] = window.cut(factor)
        return self.cuts[factor]

    def saying_nothing(self, variables: tuple[str, ...]) -> Factor:
        """The table of the variables that changes nothing, always the same one."""
        if variables not in self.silent:
            shape = (*(self.sizes[name] for name in variables), 1)
            self.silent[variables] = Factor(variables, np.zeros(shape))
        return self.silent[variables]

    def replaced(
        self,
        whole: Whole,
        changes: Mapping[Factor, Factor],
        held: Held | None = None,
        *,
        is_kept: bool = True,
    ) -> Whole:
        """The same with some tables in the place of others.

        Args:
            whole: the sums of the tables as they were.
            changes: the new tables by the old ones, of the same variables.
            held: for variables by name, the values that are counted by :meth:`Whole.log_total`.
            is_kept: whether what is summed of the new tables is remembered.
        """
        changed, inner = dict(changes), []
        for root in whole.inner:
            own = tuple(changed.get(factor, factor) for factor in root.own)
            found = self._inner(root.first, own, held or {})
            if found.factor is not root.factor:
                changed[root.factor] = found.factor
            inner.append(found)
        rest = tuple(changed.get(factor, factor) for factor in whole.factors)
        in_main = {
            old: self.seen(new, whole.window, is_kept=is_kept)
            for old, new in zip(whole.factors, rest, strict=True)
            if old is not new
        }
        seen = {self.seen(old, whole.window): new for old, new in in_main.items()}
        main = whole.main.replacing(seen, is_kept=is_kept)
        of_roots = {
            now.factor: in_main.get(before.factor, whole.in_main[before.factor])
            for before, now in zip(whole.inner, inner, strict=True)
        }
        return Whole(main, rest, tuple(inner), self, of_roots, held or {}, whole.window)

    def _inner(self, first: RootFirst, own: tuple[Factor, ...], held: Held) -> Inner:
        """The root's own sums, and what they say of the anchor's date.

        All of it counts if the roots belong together. If they do not, that root was completed at
        any time, and its evidence, summed over all weeks, says nothing of the instrument's date.
        """
        spoken = {name for factor in own for name in factor.variables}
        within = {n: values for n, values in held.items() if n in spoken and n not in first.scope}
        key = (first, frozenset(own), tuple((n, *within[n]) for n in sorted(within)))
        if key not in self.summed:
            weighing = self._over_weeks(own)
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


@dataclass(slots=True)
class Whole:
    """All evidence as of the anchor's weeks, and each other root as of its own.

    ``in_main`` are the tables of the other roots as ``main`` has them.
    """

    main: Weighing
    factors: tuple[Factor, ...]
    inner: tuple[Inner, ...]
    joiner: Joiner
    in_main: Mapping[Factor, Factor]
    held: Held = field(default_factory=dict)
    window: Window | None = None
    _weights: dict[int, Shared] = field(init=False, default_factory=dict)

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
        by_week = self._weights_of(inner).by_week(self.inner[inner].weighing, name)
        found: Table = by_week.sum(axis=-1)
        return found

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
        at = self._root_of(names[0])
        if at is None:
            return None
        root, shared = self.inner[at].weighing, self._weights_of(at)
        own = tuple(name for name in names if name not in shared.names)
        if not all(root.knows(name) for name in own):
            return None
        return shared.with_own(root, own, self.log_total())

    def _root_of(self, name: str) -> int | None:
        """Which of the other roots alone speaks of a variable."""
        if self.main.knows(name):
            return None
        return next((i for i, root in enumerate(self.inner) if root.weighing.knows(name)), None)

    def outside(self, root: Inner) -> Weighing:
        """Everything but one of the other roots."""
        nothing = self.joiner.saying_nothing(root.factor.variables)
        return self.main.replacing({self.in_main[root.factor]: nothing})

    def _weights_of(self, inner: int) -> Shared:
        if inner not in self._weights:
            root = self.inner[inner]
            outside = self.outside(root)
            self._weights[inner] = Shared.of(*root.weights(outside, self.window))
        return self._weights[inner]
