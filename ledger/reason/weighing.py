"""How likely is each week of completion, and each choice, given all that is recorded?

Question answered: the exact posterior of the week of completion, of the way in which every part or
fitting event came there, of every other supposition, and of the weeks of dispatch and first sale,
within the model of :mod:`ledger.reason.part_evidence` and :mod:`ledger.reason.told_evidence`;
and the same on other terms: without a line, with a line taken for right or wrong, with a starting
value moved, with a choice held.

Method: given the week of completion, fitting events are independent but for what they share:
reference rows, tellers, parents of integral parts. The pieces are summed exactly by variable
elimination with the date axis carried along (:mod:`ledger.reason.factors`). A root other than the
anchor has a date of its own, which is the instrument's if the unions between them hold and any
date if not: its pieces are summed first, over all of its weeks.

Cost: linear in the evidence and in the axis, but for what ties pieces together. On other terms
only what they touch is built and summed again.

What it does not do: sample, or weigh what nobody has put a chance to.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

import numpy as np

from ledger.knowledge.marks import MarkReading
from ledger.reason.draft import Draft
from ledger.reason.evidence import ANYWHERE, Evidence, Piece, Terms, gathering
from ledger.reason.factors import Factor, Memo, Table, Weighing, normalised, placed
from ledger.reason.network import Supposition
from ledger.reason.part_evidence import gather_parts
from ledger.reason.priors import Fitment
from ledger.reason.told_evidence import LATER_EVENTS, Chain, gather_told, tellings

CHAIN = "dispatch and sale"


@dataclass(slots=True)
class Scales:
    """The pieces of a case on their usual terms, and whatever is asked of them on others."""

    evidence: Evidence
    base: dict[str, Factor] = field(default_factory=dict)
    asked: dict[str, frozenset[str]] = field(default_factory=dict)
    built: dict[tuple[str, ...], Factor] = field(default_factory=dict)
    memo: Memo = field(default_factory=dict)
    merged: dict[tuple[str, frozenset[Factor], tuple[str, ...]], Inner] = field(
        default_factory=dict
    )

    @classmethod
    def of(cls, evidence: Evidence) -> Scales:
        """The pieces, each built once on the usual terms."""
        scales = cls(evidence)
        for piece in evidence.pieces:
            terms = Terms()
            scales.base[piece.name] = piece.factor(terms)
            scales.asked[piece.name] = frozenset(terms.asked)
        return scales

    def on(
        self, terms: Terms | None = None, held: Mapping[str, Sequence[int]] | None = None
    ) -> Outcome:
        """Everything, on these terms.

        Args:
            terms: None are the usual ones.
            held: for variables by name, the values that are allowed.
        """
        factors = dict(self.base)
        if terms is not None:
            for piece in self.evidence.pieces:
                if self._is_touched(piece, terms):
                    factors[piece.name] = self._built(piece, terms)
        for name, values in (held or {}).items():
            key = (name, *map(str, values))
            if key not in self.built:
                table = np.full((self.evidence.sizes[name], 1), -inf)
                table[list(values)] = 0.0
                self.built[key] = Factor((name,), table)
            factors[f"held {name}"] = self.built[key]
        return Outcome(self, factors, terms or Terms(), held or {})

    def _built(self, piece: Piece, terms: Terms) -> Factor:
        """The piece on these terms; what other lines are taken for does not matter to it."""
        if terms.moved:
            return piece.factor(terms)
        lines = [f"{line} {terms.taken.get(line)} {line in terms.without}" for line in piece.lines]
        key = (piece.name, *lines)
        if key not in self.built:
            self.built[key] = piece.factor(terms)
        return self.built[key]

    def _is_touched(self, piece: Piece, terms: Terms) -> bool:
        if terms.moved and not self.asked[piece.name].isdisjoint(terms.moved):
            return True
        return any(line in terms.without or line in terms.taken for line in piece.lines)

    def joined(self, factors: Mapping[str, Factor], keep: Sequence[str] = ()) -> Whole:
        """All factors as of the anchor's weeks, the other roots summed over theirs.

        Variables that only another root's evidence has are summed out, but for those to ``keep``.

        Raises:
            TooTangled: too much is tied together for an exact sum.
        """
        roots = {piece.name: piece.root for piece in self.evidence.pieces}
        by_root: dict[str, list[Factor]] = {}
        for name, factor in factors.items():
            root = roots.get(name, ANYWHERE) if factor.table.shape[-1] > 1 else ANYWHERE
            by_root.setdefault(root, []).append(factor)
        anchor = self.evidence.draft.anatomy.view.anchor
        gathered = [*by_root.get(ANYWHERE, ()), *by_root.get(anchor, ())]
        others = sorted(root for root in by_root if root not in (ANYWHERE, anchor))
        inner: list[Inner] = []
        for i, root in enumerate(others):
            dated = [f for f in gathered if f.table.shape[-1] > 1]
            dated += [f for other in others[i + 1 :] for f in by_root[other]]
            found, gathered = self._with_root(root, by_root[root], gathered, (dated, keep))
            inner.append(found)
        return Whole(self._over_weeks(gathered), tuple(gathered), tuple(inner), self)

    def _over_weeks(self, factors: Iterable[Factor]) -> Weighing:
        return Weighing(self.evidence.sizes, factors, self.evidence.axis.weeks, self.memo)

    def _with_root(
        self,
        root: str,
        own: list[Factor],
        gathered: list[Factor],
        others: tuple[list[Factor], Sequence[str]],
    ) -> tuple[Inner, list[Factor]]:
        """The root's own weighing, and the factors with what it says of the anchor's date.

        All of it counts if the roots belong together. If they do not, that root was completed at
        any time, and its evidence, summed over all weeks, says nothing of the instrument's date.
        """
        dated, keep = others
        unions = self._unions(root)
        elsewhere = {v for f in dated for v in f.variables} | set(unions)
        mine = {v for f in own for v in f.variables}
        local, rest = _reached(mine - elsewhere, elsewhere, gathered)
        known = mine | {v for f in local for v in f.variables}
        touched = {v for f in rest for v in f.variables} | elsewhere | set(keep)
        scope = tuple(sorted(known & touched))
        key = (root, frozenset((*own, *local)), scope)
        if key not in self.merged:
            weighing = self._over_weeks([*own, *local])
            factor = _across(unions, weighing.over(scope), scope)
            self.merged[key] = Inner(weighing, unions, scope, factor)
        return self.merged[key], [*rest, self.merged[key].factor]

    def _unions(self, root: str) -> tuple[str, ...]:
        anatomy = self.evidence.draft.anatomy
        path = anatomy.view.union_path(anatomy.view.anchor, root) or ()
        return tuple(anatomy.union_id(union) for union in path)


def _across(unions: tuple[str, ...], joint: Table, scope: tuple[str, ...]) -> Factor:
    """What a root says of the anchor's date, by whether the unions between them hold."""
    others = tuple(name for name in scope if name not in unions)
    weeks = joint.shape[-1]
    sizes = (*(joint.shape[scope.index(name)] for name in others), weeks)
    table = np.broadcast_to(
        placed(scope, joint, (*unions, *others)), (*(2 for _ in unions), *sizes)
    )
    top = table.max(axis=-1, keepdims=True)
    firm = np.where(np.isneginf(top), 0.0, top)
    with np.errstate(divide="ignore"):
        apart = np.log(np.exp(table - firm).mean(axis=-1, keepdims=True)) + firm
    if not unions:
        return Factor(others, apart)
    found = np.broadcast_to(apart, table.shape).copy()
    found[(1,) * len(unions)] = table[(1,) * len(unions)]
    return Factor((*unions, *others), found)


def _reached(
    start: set[str], elsewhere: set[str], gathered: Iterable[Factor]
) -> tuple[list[Factor], list[Factor]]:
    """The undated factors tied to these variables and to nobody else's, and the other factors."""
    left, local, known = list(gathered), [], set(start)
    has_moved = True
    while has_moved:
        has_moved = False
        for factor in tuple(left):
            names = set(factor.variables)
            if names & known and not names & elsewhere and factor.table.shape[-1] == 1:
                left.remove(factor)
                local.append(factor)
                known |= names
                has_moved = True
    return local, left


@dataclass(frozen=True, slots=True)
class Inner:
    """A root other than the anchor, over its own weeks, and what it says of the anchor's."""

    weighing: Weighing
    unions: tuple[str, ...]
    scope: tuple[str, ...]
    factor: Factor

    def weights(self, outside: Weighing) -> tuple[tuple[str, ...], Table]:
        """The chance of each state of what is shared and each week of this root's completion.

        Args:
            outside: everything but this root.
        """
        names = (*self.unions, *(name for name in self.scope if name not in self.unions))
        rest = outside.over(names)
        own = placed(self.scope, self.weighing.over(self.scope), names)
        top = rest.max(axis=-1, keepdims=True)
        firm = np.where(np.isneginf(top), 0.0, top)
        with np.errstate(divide="ignore"):
            mean = np.log(np.exp(rest - firm).mean(axis=-1, keepdims=True)) + firm
        found = np.broadcast_to(mean, rest.shape).copy()
        if self.unions:
            together = (1,) * len(self.unions)
            found[together] = rest[together]
        return names, normalised(found + own)


@dataclass(slots=True)
class Whole:
    """All evidence as of the anchor's weeks, and each other root as of its own."""

    main: Weighing
    factors: tuple[Factor, ...]
    inner: tuple[Inner, ...]
    scales: Scales
    _weights: dict[int, tuple[tuple[str, ...], Table]] = field(default_factory=dict)

    def chances(self, name: str) -> Table:
        """The chance of each value of a variable."""
        for i, root in enumerate(self.inner):
            if not self.main.knows(name) and root.weighing.knows(name):
                if i not in self._weights:
                    rest = (f for f in self.factors if f is not root.factor)
                    outside = Weighing(self.main.sizes, rest, self.main.steps, self.scales.memo)
                    self._weights[i] = root.weights(outside)
                return root.weighing.expected(name, *self._weights[i])
        return self.main.chances(name)


@dataclass(slots=True)
class Outcome:
    """Everything weighed on some terms."""

    scales: Scales
    factors: Mapping[str, Factor]
    terms: Terms
    held: Mapping[str, Sequence[int]]
    _whole: Whole | None = None

    def _joined(self) -> Whole:
        if self._whole is None:
            self._whole = self.scales.joined(self.factors)
        return self._whole

    def moved(self, value: str, end: float) -> Outcome:
        """The same with one starting value at an end of its range."""
        terms = Terms({**self.terms.moved, value: end}, self.terms.without, self.terms.taken)
        return self.scales.on(terms, self.held)

    def weeks(self) -> Table:
        """The chance of each week of completion; all zeros where nothing explains the evidence."""
        return self._joined().main.weights()

    def log_total(self) -> float:
        """The logarithm of the weight of everything, to be set against that of other terms."""
        return self._joined().main.log_total()

    def chances(self, name: str) -> Table:
        """The chance of each value of a variable."""
        return self._joined().chances(name)

    def later(self) -> dict[str, Table]:
        """The chance of each week of dispatch and of first sale."""
        evidence = self.scales.evidence
        told = tuple(each for each in tellings(evidence) if each.moment in LATER_EVENTS)
        chain = Chain.of(evidence, told)
        rest = {name: each for name, each in self.factors.items() if name != CHAIN}
        logs = self.scales.joined(rest, chain.tellers).main.over(chain.tellers)
        weights = np.exp(logs - max(float(logs.max()), -1e300))
        found = chain.later(self.terms, weights)
        return {event: table / max(float(table.sum()), 1e-300) for event, table in found.items()}

    def is_possible(self) -> bool:
        """Whether anything explains all of the evidence."""
        return bool(self.weeks().any())


def scales_of(
    draft: Draft,
    readings: Mapping[str, tuple[MarkReading, ...]],
    suppositions: Mapping[str, Supposition],
    fitments: Mapping[str, Fitment],
) -> Scales | None:
    """The evidence of a case, ready to be weighed; None where nothing in it has a date."""
    evidence = gathering(draft, suppositions, fitments)
    if evidence is None:
        return None
    gather_parts(evidence, readings)
    gather_told(evidence, readings)
    anatomy = draft.anatomy
    for root in sorted({piece.root for piece in evidence.pieces} - {ANYWHERE}):
        for union in anatomy.view.union_path(anatomy.view.anchor, root) or ():
            name = anatomy.union_id(union)
            draft.joined(name, *union.between)
            evidence.holds(name)
    return Scales.of(evidence)
