"""How are the weeks of several roots summed together?

Question answered: given the pieces of evidence of a case as tables, each on the weeks of one root or
on none, the weights of the weeks of the anchor, of each other root and of every choice.

Method: all is summed as of the anchor's weeks. A root other than the anchor has a date of its own,
which is the instrument's if the unions between them hold and any date if not: what only its own
pieces speak of is summed first, over all of its weeks, and comes to one table on the anchor's
(:mod:`ledger.reason.plans`). Other terms are weighed by what is not as usual on them, and over those
weeks alone that can matter: what the others may hold is bounded by how far any state can have gained.
Many terms are weighed at once (:mod:`ledger.reason.turns`): each root's sums on all of them, and then
the anchor's with what the roots come to.

Cost: that of :mod:`ledger.reason.factors`, for each root.

What it does not do: know what the tables mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import prod

import numpy as np

from ledger.reason.factors import LEAST_LOG, Factor, Held, Table, placed, shares_of
from ledger.reason.other_roots import (
    LEAST_SHARE,
    VALUE,
    Inner,
    given_across,
    said_across,
    shares_by_week,
)
from ledger.reason.plans import Plan, RootFirst, Spoken, plan_of
from ledger.reason.sums import Memo, Weighing
from ledger.reason.turns import TURN, Turns
from ledger.reason.windows import Window


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
            logs = weighing.over(first.scope, within)
            factor = said_across(first.unions, logs, first.scope)
            self.summed[key] = Inner(first, own, weighing, logs, factor)
        return self.summed[key]


@dataclass(frozen=True, slots=True)
class Readings:
    """What there is to say on each of many terms, a row for each.

    ``chances`` has a column for each of ``names``, ``weeks`` one for each of the anchor's.
    """

    names: tuple[str, ...]
    chances: Table
    weeks: Table
    log_totals: Table

    @classmethod
    def one_after_another(cls, given: Sequence[Readings]) -> Readings:
        """The rows of readings of the same names as one."""
        if len(given) == 1:
            return given[0]
        tables = zip(*((each.chances, each.weeks, each.log_totals) for each in given), strict=True)
        return cls(given[0].names, *(np.concatenate(each) for each in tables))

    def replace_rows(self, rows: Sequence[int], given: Readings) -> None:
        """Some rows become those of other readings of the same names."""
        order = [given.names.index(name) for name in self.names]
        self.chances[rows] = given.chances[:, order]
        self.weeks[rows], self.log_totals[rows] = given.weeks, given.log_totals


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
    _known: dict[str, tuple[Table, Table]] = field(init=False, default_factory=dict)
    _outside: dict[str, Weighing] = field(init=False, default_factory=dict)

    def log_total(self) -> float:
        """The logarithm of the weight of everything that is counted."""
        return self.main.log_total(self.held)

    def weights(self) -> Table:
        """The chance of each of the anchor's weeks; nothing outside of the window."""
        return self._over_all_weeks(self.main.weights())

    def _over_all_weeks(self, weights: Table) -> Table:
        if self.window is None:
            return weights
        found = np.zeros((*weights.shape[:-1], self.joiner.weeks))
        found[..., self.window.first : self.window.end] = weights
        return found

    def chances(self, name: str) -> Table:
        """The chance of each value of a variable."""
        if self._root_of(name) is None:
            return self.main.chances(name)
        found: Table = self.given_week(name) @ self.main.weights()
        return found

    def given_week(self, name: str) -> Table:
        """The chance of each value of a variable that is known, given the anchor's week.

        Of length 1 along the weeks where it does not depend on them.
        """
        root = self._root_of(name)
        if root is None:
            return self.main.given(name)
        given = root.weighing.given(name, root.scope)
        states, own = self._known_of(root)
        names, table = given_across(root.unions, root.scope, own, given, self._at)
        joint = placed(root.shared, states, names) * table
        others = tuple(i for i, each in enumerate(names) if each != VALUE)
        found: Table = joint.sum(axis=others)
        return found

    def _known_of(self, root: Inner) -> tuple[Table, Table]:
        """The chance of each state of what a root shares given the anchor's week.

        And of each of the root's own weeks given that state, by its own tables.
        """
        name = root.first.root
        if name not in self._known:
            logs = self.main.over(root.shared)
            states = shares_of(logs.reshape(-1, logs.shape[-1])).reshape(logs.shape)
            self._known[name] = states, shares_by_week(root.logs)
        return self._known[name]

    def chances_of(self, values: Mapping[str, int]) -> dict[str, float]:
        """The chance of one value of each of some variables, by name."""
        found = self.main.chances_of(values)
        for name in values:
            if name not in found:
                found[name] = float(self.chances(name)[values[name]])
        return found

    def cut(self, changes: Mapping[Factor, Factor]) -> dict[Factor, Factor]:
        """The changes over no more weeks than matter to them."""
        rest = set(self.factors)
        return {
            old: self.joiner.seen(new, self.window, is_kept=False) if old in rest else new
            for old, new in changes.items()
        }

    def seen(self, factor: Factor) -> Factor:
        """A table over the weeks that are summed over."""
        return self.joiner.seen(factor, self.window)

    def on_turns(
        self, changes: Sequence[Mapping[Factor, Factor]], values: Mapping[str, int]
    ) -> Readings:
        """What there is to say with some tables in the place of others, turn by turn.

        Args:
            changes: for each turn the new tables by the old ones, as :meth:`cut` gives them.
            values: for variables by name, the value whose chance is asked for.
        """
        now = [dict(changed) for changed in changes]
        roots = [self._root_on_turns(root, now) for root in self.inner]
        turns = Turns(
            self.main,
            [{self.seen(old): new for old, new in changed.items()} for changed in now],
            values,
        )
        known, chances = turns.chances()
        names, columns = list(known), [*chances.T]
        for at, root in enumerate(self.inner):
            own = [name for name in values if self._root_of(name) is root]
            if own:
                names += own
                columns += self._chances_on_turns(root, (turns, *roots[at]), own, values)
        for name in values:
            if name not in names:
                names.append(name)
                columns.append(np.full(len(changes), 1 / self.joiner.sizes[name]))
        found = np.stack(columns, axis=1) if columns else np.zeros((len(changes), 0))
        weeks = self._over_all_weeks(turns.weights())
        return Readings(tuple(names), found, weeks, turns.log_totals())

    def _root_on_turns(
        self, root: Inner, changes: Sequence[dict[Factor, Factor]]
    ) -> tuple[list[int], Turns, Table]:
        """The turns that touch a root, its own sums on them, and these by the state of its scope.

        What it says of the anchor's date on them is added to the ``changes``.
        """
        at = [t for t, changed in enumerate(changes) if not changed.keys().isdisjoint(root.own)]
        turns = Turns(root.weighing, [changes[t] for t in at])
        logs = turns.over(root.scope)
        if at:
            factor = said_across(root.unions, logs, (*root.scope, TURN))
            is_in_main = root.factor in self.factors
            for i, turn in enumerate(at):
                new = Factor(root.factor.variables, factor.table[..., i, :])
                seen = self.joiner.seen(new, self.window, is_kept=False) if is_in_main else new
                changes[turn][root.factor] = seen
        return at, turns, logs

    def _chances_on_turns(
        self,
        root: Inner,
        sums: tuple[Turns, list[int], Turns, Table],
        own: Sequence[str],
        values: Mapping[str, int],
    ) -> list[Table]:
        """For each of a root's own choices, the chance of one value on each turn."""
        turns, at, inner, logs = sums
        joint = turns.over(root.shared)
        others = tuple(i for i in range(joint.ndim) if i != joint.ndim - 2)
        joint = joint - np.maximum(joint.max(axis=others, keepdims=True), LEAST_LOG)
        np.exp(joint, out=joint)
        joint /= np.maximum(joint.sum(axis=others, keepdims=True), LEAST_SHARE)
        own_weeks, on_turns = self._known_of(root)[1], shares_by_week(logs)
        scope, found = (*root.scope, TURN), list[Table]()
        for name in own:
            one = slice(values[name], values[name] + 1)
            usual = root.weighing.given(name, root.scope)[one]
            names, table = given_across(root.unions, root.scope, own_weeks, usual, self._at)
            axis = names.index(VALUE)
            given = np.broadcast_to(table.squeeze(axis)[..., None, :], joint.shape)
            if at:
                given = given.copy()
                now = inner.given(name, root.scope, one)
                table = given_across(root.unions, scope, on_turns, now, self._at)[1]
                given[..., at, :] = table.squeeze(axis)
            found.append(np.einsum("stw,stw->t", _by_turn(joint), _by_turn(given)))
        return found

    @property
    def _at(self) -> slice:
        """The anchor's weeks that are summed over."""
        return slice(None) if self.window is None else slice(self.window.first, self.window.end)

    def _root_of(self, name: str) -> Inner | None:
        """The one of the other roots that alone speaks of a variable."""
        if self.main.knows(name):
            return None
        return next((root for root in self.inner if root.weighing.knows(name)), None)

    def outside(self, root: Inner) -> Weighing:
        """Everything but one of the other roots."""
        name = root.first.root
        if name not in self._outside:
            nothing = self.joiner.saying_nothing(root.factor.variables)
            self._outside[name] = self.main.replacing({self.in_main[root.factor]: nothing})
        return self._outside[name]


def _by_turn(table: Table) -> Table:
    """Flattened states, turns and weeks."""
    return table.reshape(prod(table.shape[:-2]), *table.shape[-2:])
