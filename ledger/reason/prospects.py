"""How far would each examination move the date and the states of the parts?

Question answered: for an examination with its foreseen outcomes, the joint chance of outcome and
week of completion, and of outcome and the state of every part, and from these the bits that it is
expected to take from each.

Method: an examination bears on a few choices and on the weeks of one root. Their joint chances
given all evidence are had once for all examinations of that place; an outcome then multiplies them.
Whatever else is tied to those choices is had jointly with them; the rest hangs on the date alone.
A root other than the anchor keeps its own weeks, which are the instrument's as far as the unions
between them hold. Exact but for weeks that together hold less than a hundred-millionth.

Cost: the sums for each place once, and products of outcomes with weeks for each examination.

What it does not do: choose; that is :mod:`ledger.reason.advising`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ledger.reason.evidence import Piece
from ledger.reason.examination import Examination, Ready
from ledger.reason.factors import Factor, Table, normalised, placed
from ledger.reason.information import bits_of, expected_bits
from ledger.reason.other_roots import Inner
from ledger.reason.plans import ANYWHERE
from ledger.reason.roots import Whole
from ledger.reason.sums import Weighing
from ledger.reason.weighing import Scales

LEFT_OUT = 1e-8
NO_BITS = 1e-8
OUTCOME = "outcome"
STATE_KINDS = ("way", "joined", "as-made")


@dataclass(frozen=True, slots=True)
class Prospect:
    """What an examination is foreseen to do, outcome by outcome.

    ``dates`` has the chance of each outcome and kept week; ``states`` of each outcome and state,
    by choice, for the choices it moves most directly.
    """

    date_bits: float
    state_bits: float
    dates: Table
    states: Mapping[str, Table]

    @property
    def chances(self) -> Table:
        """The chance of each outcome."""
        found: Table = self.dates.sum(axis=1)
        return found


@dataclass(frozen=True, slots=True)
class _Place:
    """The choices that examinations of one place bear on, jointly with the weeks of its root.

    ``own`` is over all states of ``names``, flattened, and the weeks of the root. ``apart`` is the
    chance of each of the anchor's kept weeks in states in which the root is not joined to it.
    """

    names: tuple[str, ...]
    sizes: tuple[int, ...]
    own: Table
    is_joined: NDArray[np.bool_]
    apart: Table | None = None
    inner: Inner | None = None
    root: str = ANYWHERE


@dataclass(frozen=True, slots=True)
class _Tied:
    """Choices of one size, tied to some of a place's, ``beside``, and given by those and the weeks.

    ``given`` has a row for each value of each, and the states and weeks flattened; the weeks are
    those of the place's own root if ``is_own``, and else the anchor's kept ones.
    """

    names: tuple[str, ...]
    given: Table
    beside: tuple[int, ...]
    is_own: bool


@dataclass(slots=True)
class Prospects:
    """Everything weighed, as examinations that could be made need it."""

    scales: Scales
    factors: Mapping[str, Factor]
    whole: Whole
    weeks: Table
    kept: NDArray[np.intp]
    ties: Mapping[str, int]
    dated: frozenset[int]
    inner: Mapping[str, Inner]
    groups: Mapping[str, int]
    _places: dict[tuple[str, tuple[str, ...]], _Place] = field(default_factory=dict)
    _tied: dict[tuple[str, tuple[str, ...]], list[_Tied]] = field(default_factory=dict)
    _by_date: list[tuple[tuple[str, ...], Table]] | None = None

    @classmethod
    def of(cls, ready: Ready, roots: Iterable[str]) -> Prospects:
        """What was weighed, with the choices that examinations on these ``roots`` need besides."""
        known, anchor = ready.outcome.scales, ready.draft.anatomy.view.anchor
        factors = ready.factors()
        by_root = {piece.name: piece.root for piece in ready.evidence.pieces}
        dated_on = {
            by_root.get(name, ANYWHERE) for name, f in factors.items() if f.table.shape[-1] > 1
        }
        for root in sorted(set(roots) - {anchor, ANYWHERE} - dated_on):
            # A root of which nothing is dated yet, with a date of its own all the same.
            name, steps = f"weeks of {root}", ready.evidence.axis.weeks
            ready.evidence.pieces.append(Piece(name, root, (), (), lambda _: np.ones(1)))
            factors[name] = Factor((), np.zeros(steps))
            by_root[name] = root
        scales = Scales(ready.evidence, factors, memo=known.memo, built=known.built)
        whole = scales.joined(factors)
        weeks = whole.main.weights()
        order = np.argsort(-weeks, kind="stable")
        count = int(np.searchsorted(np.cumsum(weeks[order]), 1 - LEFT_OUT)) + 1
        ties, dated = _ties(scales, factors, by_root)
        inner = {root.first.root: root for root in whole.inner}
        groups = _together((set(f.variables), False) for f in (*factors.values(), *whole.factors))
        return cls(
            scales, factors, whole, weeks, np.sort(order[:count]), ties, dated, inner, groups[0]
        )

    @property
    def states(self) -> tuple[str, ...]:
        """The choices that are states of parts and roots, in alphabetical order."""
        sizes = self.scales.evidence.sizes
        return tuple(sorted(n for n in sizes if n.partition(":")[0] in STATE_KINDS))

    def prospect(self, examination: Examination) -> Prospect:
        """What the examination is foreseen to do."""
        place = self._place(examination)
        told = placed((OUTCOME, *examination.variables), examination.table, (OUTCOME, *place.names))
        count = len(told)
        flat = np.broadcast_to(told, (count, *place.sizes, told.shape[-1])).reshape(
            count, -1, told.shape[-1]
        )
        if place.inner is None:
            joint = (flat if flat.shape[-1] == 1 else flat[..., self.kept]) * place.own
            by_state = joint.sum(axis=-1)
            moved = joint
        else:
            joint = flat * place.own
            by_state = joint.sum(axis=-1)
            moved = self._across(place, joint, by_state)
        dates = moved.sum(axis=1)
        states = {
            name: _only(by_state[..., None], place.sizes, (i,))[..., 0]
            for i, name in enumerate(place.names)
            if name in self.states
        }
        bits = sum(expected_bits(table) for table in states.values())
        bits += self._others(examination, place, (joint, moved, dates), states)
        return Prospect(expected_bits(dates), bits, dates, states)

    def state_after(self, prospect: Prospect, name: str) -> Table:
        """The chance of each outcome and value of a choice, whatever it hangs on."""
        if name in prospect.states:
            return prospect.states[name]
        for names, given in self._given_date():
            if name in names:
                found: Table = prospect.dates @ given[names.index(name)].T
                return found
        chances = self.whole.chances(name)
        return np.outer(prospect.chances, chances)

    def _across(self, place: _Place, joint: Table, by_state: Table) -> Table:
        """Outcomes, states and the anchor's kept weeks, from those of another root."""
        apart = np.zeros((1, 1)) if place.apart is None else place.apart
        found: Table = by_state[..., None] * apart
        found[:, place.is_joined] = joint[:, place.is_joined][..., self.kept]
        return found

    # -- the choices and weeks of a place -------------------------------------------------------

    def _place(self, examination: Examination) -> _Place:
        root = examination.root
        anchor = self.scales.evidence.draft.anatomy.view.anchor
        is_here = root in (anchor, ANYWHERE)
        key = (anchor if is_here else root, tuple(sorted(examination.variables)))
        if key not in self._places:
            build = self._at_anchor if is_here else self._at_root
            self._places[key] = build(key[0], key[1])
        return self._places[key]

    def _at_anchor(self, _: str, names: tuple[str, ...]) -> _Place:
        sizes = tuple(self.scales.evidence.sizes[name] for name in names)
        logs = self._knowing(names).over(names)[..., self.kept]
        own = normalised(logs).reshape(-1, len(self.kept))
        return _Place(names, sizes, own, np.ones(len(own), dtype=bool))

    def _at_root(self, root: str, names: tuple[str, ...]) -> _Place:
        inner = self.inner[root]
        others = {*inner.scope, *names}.difference(inner.unions)
        found = (*inner.unions, *sorted(others))
        rest = self.whole.outside(inner).over(found)
        weights = inner.weights(rest, found)
        sizes = tuple(self.scales.evidence.sizes[name] for name in found)
        joined = np.zeros(sizes, dtype=bool)
        if inner.unions:
            joined[tuple(1 if name in inner.unions else slice(None) for name in found)] = True
        logs = rest[..., self.kept].reshape(-1, len(self.kept))
        top = logs.max(axis=1, keepdims=True)
        apart = np.exp(logs - np.where(np.isneginf(top), 0.0, top))
        apart /= np.maximum(apart.sum(axis=1, keepdims=True), 1e-300)
        own = weights.reshape(-1, weights.shape[-1])
        return _Place(found, sizes, own, joined.reshape(-1), apart, inner, root)

    def _knowing(self, names: Sequence[str]) -> Weighing:
        """Everything over the anchor's weeks, with these choices not summed out."""
        if all(self.whole.main.knows(name) for name in names):
            return self.whole.main
        return self.scales.joined(self.factors, names).main

    # -- all other states -----------------------------------------------------------------------

    def _others(
        self,
        examination: Examination,
        place: _Place,
        tables: tuple[Table, Table, Table],
        states: dict[str, Table],
    ) -> float:
        """The bits of all states but the place's own; those tied to it are added to ``states``."""
        joint, moved, dates = tables
        near = {self.ties[name] for name in place.names if name in self.ties}
        if place.inner is not None:
            near.add(self.ties[f"weeks of {examination.root}"])
        bits = 0.0
        for tied in self._beside(place, near):
            table = _only(joint if tied.is_own else moved, place.sizes, tied.beside)
            found = table.reshape(len(table), -1) @ tied.given.T
            found = found.reshape(len(table), len(tied.names), -1)
            states.update((name, found[:, i]) for i, name in enumerate(tied.names))
            bits += float(bits_of(found.swapaxes(0, 1)).sum())
        if expected_bits(dates) < NO_BITS:
            # Nothing that hangs on the date alone can be told more of than the date itself.
            return bits
        for names, given in self._given_date():
            at = [i for i, name in enumerate(names) if self.ties[name] not in near]
            found = (dates @ given.reshape(-1, given.shape[-1]).T).reshape(
                len(dates), len(names), -1
            )
            bits += float(bits_of(found[:, at].swapaxes(0, 1)).sum())
        return bits

    def _beside(self, place: _Place, near: set[int]) -> list[_Tied]:
        """The other choices tied to a place, those that are given by the same taken together."""
        key = (place.root, place.names)
        if key not in self._tied:
            sizes = self.scales.evidence.sizes
            alike: dict[tuple[tuple[int, ...], bool, int], list[str]] = {}
            for name in self.states:
                if name not in place.names and self.ties.get(name) in near:
                    beside = tuple(
                        i
                        for i, each in enumerate(place.names)
                        if self.groups[each] == self.groups[name]
                    )
                    is_own = place.inner is None or place.inner.weighing.knows(name)
                    alike.setdefault((beside, is_own, sizes[name]), []).append(name)
            self._tied[key] = [
                _Tied(
                    tuple(names),
                    np.concatenate([self._given(place, name, beside) for name in names]),
                    beside,
                    is_own,
                )
                for (beside, is_own, _), names in alike.items()
            ]
        return self._tied[key]

    def _given(self, place: _Place, name: str, beside: tuple[int, ...]) -> Table:
        """The chance of each value of a choice, given states of some of the place's, and weeks.

        The weeks are those of the place's own root if it knows the choice; states and weeks are
        flattened to one axis.
        """
        inner, scope = place.inner, tuple(place.names[i] for i in beside)
        if inner is not None and inner.weighing.knows(name):
            return _flat(inner.weighing.given(name, scope), self.scales, scope, len(self.weeks))
        if not scope:
            found = self.whole.given_week(name)
        else:
            found = self._knowing((name, *(scope if inner is None else ()))).given(name, scope)
        if found.shape[-1] > 1:
            found = found[..., self.kept]
        return _flat(found, self.scales, scope, len(self.kept))

    def _given_date(self) -> list[tuple[tuple[str, ...], Table]]:
        """The chance of each value of the dated choices, given the anchor's kept week."""
        if self._by_date is None:
            sizes = self.scales.evidence.sizes
            dated = [n for n in self.states if self.ties.get(n) in self.dated]
            self._by_date = []
            for size in sorted({sizes[name] for name in dated}):
                names = tuple(name for name in dated if sizes[name] == size)
                found = np.zeros((len(names), size, len(self.weeks)))
                for i, name in enumerate(names):
                    found[i] = self.whole.given_week(name)
                self._by_date.append((names, found[..., self.kept]))
        return self._by_date


def _flat(given: Table, scales: Scales, scope: tuple[str, ...], weeks: int) -> Table:
    """Chances given states and weeks, over all of these, as one axis."""
    shape = (len(given), *(scales.evidence.sizes[each] for each in scope), weeks)
    return np.broadcast_to(given, shape).reshape(len(given), -1)


def _only(table: Table, sizes: tuple[int, ...], kept: tuple[int, ...]) -> Table:
    """Outcomes, the flattened states of some of the choices, and weeks; the others summed out."""
    whole = table.reshape(len(table), *sizes, table.shape[-1])
    others = tuple(i + 1 for i in range(len(sizes)) if i not in kept)
    found: Table = whole.sum(axis=others).reshape(len(table), -1, table.shape[-1])
    return found


def _ties(
    scales: Scales, factors: Mapping[str, Factor], by_root: Mapping[str, str]
) -> tuple[dict[str, int], frozenset[int]]:
    """Which choices are tied together but for the anchor's date, and which have to do with it.

    All that is dated on another root is tied by that root's own weeks.
    """
    anatomy = scales.evidence.draft.anatomy
    anchor = anatomy.view.anchor

    def tied() -> Iterator[tuple[set[str], bool]]:
        for name, factor in factors.items():
            members, is_dated = set(factor.variables), factor.table.shape[-1] > 1
            root = by_root.get(name, ANYWHERE) if is_dated else ANYWHERE
            if root not in (anchor, ANYWHERE):
                path = anatomy.view.union_path(anchor, root) or ()
                members |= {f"weeks of {root}", *(anatomy.union_id(union) for union in path)}
            yield members, is_dated

    return _together(tied())


def _together(
    given: Iterable[tuple[set[str], bool]],
) -> tuple[dict[str, int], frozenset[int]]:
    """The number of the group of each name, names given together being in one; the marked groups."""
    number: dict[str, int] = {}
    members: dict[int, set[str]] = {}
    marked: set[int] = set()
    for i, (names, is_marked) in enumerate(given):
        met = {number[name] for name in names if name in number}
        joined = set(names).union(*(members.pop(other) for other in met))
        if joined:
            members[i] = joined
            number.update(dict.fromkeys(joined, i))
        if is_marked or not met.isdisjoint(marked):
            marked.add(i)
    return number, frozenset(marked)
