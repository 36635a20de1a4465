"""How likely is each week of completion, and each choice, given all that is recorded?

Question answered: the exact posterior of the week of completion, of the way in which every part or
fitting event came there, of every other supposition, and of the weeks of dispatch and first sale,
within the model of :mod:`ledger.reason.part_evidence` and :mod:`ledger.reason.told_evidence`;
and the same on other terms: without a line, with a line taken for right or wrong, with a starting
value moved, with a choice held.

Method: given the week of completion, fitting events are independent but for what they share:
reference rows, tellers, parents of integral parts. The pieces are summed exactly by variable
elimination with the date axis carried along (:mod:`ledger.reason.factors`), roots other than the
anchor each over its own weeks (:mod:`ledger.reason.roots`).

Cost: linear in the evidence and in the axis, but for what ties pieces together. On other terms
only what they touch is built and summed again, for many of them at once.

What it does not do: sample, or weigh what nobody has put a chance to.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

import numpy as np

from ledger.knowledge.marks import MarkReading
from ledger.reason.draft import Draft
from ledger.reason.evidence import Evidence, Piece, Terms, gathering
from ledger.reason.factors import LEAST_LOG, Factor, Held, Table
from ledger.reason.network import Supposition
from ledger.reason.part_evidence import gather_parts
from ledger.reason.plans import ANYWHERE, Spoken
from ledger.reason.priors import Fitment
from ledger.reason.roots import Joiner, Readings, Whole
from ledger.reason.sums import Memo
from ledger.reason.tellings import LATER_EVENTS, Chain, tellings
from ledger.reason.told_evidence import gather_told
from ledger.reason.windows import Window

CHAIN = "dispatch and sale"
# New tables of so many cells together are weighed at once.
CELLS_AT_ONCE = 1 << 22


@dataclass(slots=True)
class Scales:
    """The pieces of a case on their usual terms, and whatever is asked of them on others."""

    evidence: Evidence
    base: dict[str, Factor] = field(default_factory=dict)
    asked: dict[str, frozenset[str]] = field(default_factory=dict)
    built: dict[tuple[str, ...], Factor] = field(default_factory=dict)
    memo: Memo = field(default_factory=dict)
    joiner: Joiner = field(init=False)
    _by_value: dict[str, list[Piece]] = field(default_factory=dict)
    _by_line: dict[str, list[Piece]] = field(default_factory=dict)
    _spoken: dict[tuple[str, bool], Spoken] = field(default_factory=dict)
    _sums: list[Whole] = field(default_factory=list)

    def __post_init__(self) -> None:
        anatomy, evidence = self.evidence.draft.anatomy, self.evidence
        view = anatomy.view
        unions = {
            root: tuple(
                anatomy.union_id(union) for union in view.union_path(view.anchor, root) or ()
            )
            for root in view.roots()
        }
        self.joiner = Joiner(evidence.sizes, evidence.axis.weeks, view.anchor, unions, self.memo)

    @classmethod
    def of(cls, evidence: Evidence) -> Scales:
        """The pieces, each built once on the usual terms."""
        scales = cls(evidence)
        for piece in evidence.pieces:
            terms = Terms()
            scales.base[piece.name] = piece.factor(terms)
            scales.asked[piece.name] = frozenset(terms.asked)
            for value in terms.asked:
                scales._by_value.setdefault(value, []).append(piece)
            for line in piece.lines:
                scales._by_line.setdefault(line, []).append(piece)
        return scales

    def on(self, terms: Terms | None = None, held: Held | None = None) -> Outcome:
        """Everything, on these terms.

        Args:
            terms: None are the usual ones.
            held: for variables by name, the values that are allowed.
        """
        factors = dict(self.base)
        if terms is not None:
            for piece in self.touched(terms):
                factors[piece.name] = self._built(piece, terms)
        for name, values in (held or {}).items():
            key = (name, *map(str, values))
            if key not in self.built:
                table = np.full((self.evidence.sizes[name], 1), -inf)
                table[list(values)] = 0.0
                self.built[key] = Factor((name,), table)
            factors[f"held {name}"] = self.built[key]
        return Outcome(self, factors, terms or Terms(), held or {})

    def log_total(self, terms: Terms, held: Held) -> float:
        """The logarithm of the weight of everything on these terms, with some values held.

        As :meth:`Outcome.log_total`, for when nothing else is asked: what is held is then no table.
        """
        return self.whole(self.on(terms), held).log_total()

    def whole(self, outcome: Outcome, held: Held | None = None) -> Whole:
        """All factors summed, over as few weeks as will do: see :class:`Window`."""
        factors, usual = outcome.factors, self._usual_sums()
        if len(factors) != len(self.base):
            return self.joined(factors)
        changes = outcome.changes_of(self.base)
        if not changes and not held:
            return usual
        # Starting values are moved once, lines are left out alone and together with others.
        is_kept = not outcome.terms.moved
        found = self.joiner.replaced(usual, changes, held, is_kept=is_kept)
        window = usual.window
        if window is None or window.is_enough(found.log_total(), self.excess(changes)):
            return found
        return self.joiner.replaced(self._sums[0], changes, held, is_kept=is_kept)

    def over_all_weeks(self, outcome: Outcome) -> Whole:
        """The same over all weeks, where nothing is held."""
        self._usual_sums()
        return self.joiner.replaced(self._sums[0], outcome.changes_of(self.base))

    def _usual_sums(self) -> Whole:
        """The sums on the usual terms, over the window where there is one."""
        if not self._sums:
            full = self.joined(self.base)
            window = Window.of(full.main)
            self._sums += [full, full if window is None else self.joiner.within(full, window)]
        return self._sums[1]

    @staticmethod
    def excess(changes: Mapping[Factor, Factor]) -> float:
        """The greatest logarithm by which any state can weigh more than on the usual terms."""
        excess = 0.0
        for usual, factor in changes.items():
            with np.errstate(invalid="ignore"):
                top = float((factor.table - usual.table).max())
            if np.isnan(top):  # where nothing can be on either terms
                top = float((factor.table - np.maximum(usual.table, LEAST_LOG)).max())
            excess += top
        return excess

    def asking(self, value: str) -> Sequence[Piece]:
        """The pieces that a starting value goes into."""
        return self._by_value.get(value, ())

    def touched(self, terms: Terms) -> Iterable[Piece]:
        """The pieces that are not as usual on these terms."""
        found: dict[str, Piece] = {}
        for value in terms.moved:
            found.update((piece.name, piece) for piece in self.asking(value))
        for line in sorted(terms.without | terms.taken.keys()):
            found.update((piece.name, piece) for piece in self._by_line.get(line, ()))
        return found.values()

    def _built(self, piece: Piece, terms: Terms) -> Factor:
        """The piece on these terms; what other lines are taken for does not matter to it."""
        if terms.moved:
            return piece.factor(terms)
        lines = [f"{line} {terms.taken.get(line)} {line in terms.without}" for line in piece.lines]
        key = (piece.name, *lines)
        if key not in self.built:
            self.built[key] = piece.factor(terms)
        return self.built[key]

    def joined(self, factors: Mapping[str, Factor], keep: Sequence[str] = ()) -> Whole:
        """All factors as of the anchor's weeks, the other roots summed over theirs.

        Variables that only another root's evidence has are summed out, but for those to ``keep``.

        Raises:
            TooTangled: too much is tied together for an exact sum.
        """
        return self.joiner.joined(self._named(factors), keep)

    def _named(self, factors: Mapping[str, Factor]) -> dict[Spoken, Factor]:
        """The factors with what each speaks of."""
        found: dict[Spoken, Factor] = {}
        roots: dict[str, str] | None = None
        for name, factor in factors.items():
            # A table that is dated on the usual terms is taken as dated on all.
            is_dated = self.base.get(name, factor).table.shape[-1] > 1 or factor.table.shape[-1] > 1
            spoken = self._spoken.get((name, is_dated))
            if spoken is None:
                if roots is None:
                    roots = {piece.name: piece.root for piece in self.evidence.pieces}
                root = (roots.get(name) or self.joiner.anchor) if is_dated else ANYWHERE
                spoken = Spoken(name, factor.variables, root)
                self._spoken[name, is_dated] = spoken
            found[spoken] = factor
        return found


@dataclass(slots=True)
class Outcome:
    """Everything weighed on some terms."""

    scales: Scales
    factors: Mapping[str, Factor]
    terms: Terms
    held: Held
    _whole: Whole | None = None

    def _joined(self) -> Whole:
        if self._whole is None:
            self._whole = self.scales.whole(self)
        return self._whole

    def on_each(self, turns: Iterable[Terms], values: Mapping[str, int]) -> Readings:
        """The weeks, and the chance of one value of some variables, on each of many other terms.

        Args:
            turns: what is to be otherwise than in this outcome, turn by turn.
            values: for variables by name, the value whose chance is asked for.
        """
        whole, found = self._joined(), list[Readings]()
        some: list[tuple[Terms, dict[Factor, Factor], float]] = []
        cells = 0
        for each in turns:
            now = self.scales.on(self._with(each), self.held)
            gained = (
                0.0
                if whole.window is None
                else self.scales.excess(now.changes_of(self.scales.base))
            )
            changes = whole.cut(now.changes_of(self.factors))
            some.append((now.terms, changes, gained))
            cells += sum(factor.table.size for factor in changes.values())
            if cells > CELLS_AT_ONCE:
                found.append(self._on_some(some, values))
                some, cells = [], 0
        if some or not found:
            found.append(self._on_some(some, values))
        return Readings.one_after_another(found)

    def _on_some(
        self, turns: Sequence[tuple[Terms, dict[Factor, Factor], float]], values: Mapping[str, int]
    ) -> Readings:
        """The same for the changes of so many terms, each with the most that a state can gain."""
        whole = self._joined()
        found = whole.on_turns([changes for _, changes, _ in turns], values)
        if whole.window is None:
            return found
        beyond = [
            i
            for i, (_, _, gained) in enumerate(turns)
            if not whole.window.is_enough(float(found.log_totals[i]), gained)
        ]
        if beyond:
            others = (self.scales.on(turns[i][0], self.held) for i in beyond)
            changes = [each.changes_of(self.factors) for each in others]
            anew = self.scales.over_all_weeks(self).on_turns(changes, values)
            found.replace_rows(beyond, anew)
        return found

    def is_of_anchor(self, name: str) -> bool:
        """Whether the variable is summed with the anchor's weeks, not within another root alone."""
        return self._joined().main.knows(name)

    def chances_moved(self, name: str, value: str, ends: Sequence[float]) -> Table:
        """The chances of a variable of the anchor with a starting value moved, a row for each end.

        Args:
            name: the variable.
            value: what goes into tables of this variable alone, of the anchor's weeks or none; in each
                week the values of the variable then weigh so much more or less.
            ends: where it is moved to.
        """
        whole = self._joined()
        given, weights = whole.main.given(name), whole.main.weights()
        found = np.empty((len(ends), self.scales.evidence.sizes[name]))
        for row, end in enumerate(ends):
            terms = self._with(Terms(moved={value: end}))
            changes = {
                self.factors[piece.name]: piece.factor(terms) for piece in self.scales.asking(value)
            }
            moved = given
            for old, new in whole.cut(changes).items():
                with np.errstate(invalid="ignore"):  # where nothing can be on either terms
                    gained = np.nan_to_num(new.table - whole.seen(old).table, nan=0.0)
                moved = moved * np.exp(gained)
            shares = (moved * weights).sum(axis=-1)
            found[row] = shares / shares.sum()
        return found

    def _with(self, more: Terms) -> Terms:
        now = self.terms
        return Terms(
            {**now.moved, **more.moved}, now.without | more.without, {**now.taken, **more.taken}
        )

    def changes_of(self, usual: Mapping[str, Factor]) -> dict[Factor, Factor]:
        """The tables that are not as usual, by those in whose place they stand."""
        return {
            before: factor
            for before, factor in zip(usual.values(), self.factors.values(), strict=True)
            if before is not factor
        }

    def weeks(self) -> Table:
        """The chance of each week of completion; all zeros where nothing explains the evidence."""
        return self._joined().weights()

    def log_total(self) -> float:
        """The logarithm of the weight of everything, to be set against that of other terms."""
        return self._joined().log_total()

    def chances(self, name: str) -> Table:
        """The chance of each value of a variable."""
        return self._joined().chances(name)

    def chances_of(self, values: Mapping[str, int]) -> dict[str, float]:
        """The chance of one value of each of some variables, by name."""
        return self._joined().chances_of(values)

    def later(self) -> dict[str, Table]:
        """The chance of each week of dispatch and of first sale."""
        evidence = self.scales.evidence
        told = tuple(each for each in tellings(evidence) if each.moment in LATER_EVENTS)
        chain = Chain.of(evidence, told)
        if chain.variables:
            rest = {name: each for name, each in self.factors.items() if name != CHAIN}
            logs = self.scales.joined(rest, chain.variables).main.over(chain.variables)
            weights = np.exp(logs - max(float(logs.max()), -1e300))
        else:
            weights = self.weeks()
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
