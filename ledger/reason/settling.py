"""What is the least that has to be examined to settle a named question?

Question answered: for the question of the date (to within a year) or of one position (was its part
the first, or not), the set of examinations that settles it with the chance asked for and goes no
further than it must: what can be looked at before what has to be opened, opened before taken off.

Method: examinations are taken one after another, of the least invasive class that still helps the
one after which the least uncertainty is expected to be left, until the question is settled often
enough; then each that is not needed is dropped. Where there are few enough of them, every cheaper
set is gone through as well, so that the answer is the cheapest there is among them. A set is weighed
exactly: the outcomes of all its examinations jointly with what is asked, everything else summed
out. Of each the outcomes are first put together into a few that lose the least.

Cost: one weighing for each set that is tried.

What it does not do: propose what alters the instrument, or what cannot be had at will.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from ledger.advice import Proposal, Reach
from ledger.basis.percentages import percent
from ledger.reason.advising import Survey, state_in_words
from ledger.reason.evidence import Piece
from ledger.reason.examination import REACH_LOSES, REACHES, Examination
from ledger.reason.factors import Factor, Table, normalised
from ledger.reason.information import bits_of, expected_bits
from ledger.reason.likelihoods import FIRST
from ledger.reason.prospects import Prospects
from ledger.reason.wording import article, listing

DATE = "date"
COSTS: Final[dict[Reach, int]] = {"look": 1, "open": 4, "remove": 16, "alter": 1000}
SETTLED, WANTED = 0.95, 0.8
WEEKS_IN_YEAR = 52
OUTCOMES_AT_MOST = 5
TRIED_AT_MOST, TOGETHER_AT_MOST = 7, 3
LEAST_BITS = 0.005


@dataclass(frozen=True, slots=True)
class _Candidate:
    """An examination with few outcomes, as a variable of its own."""

    examination: Examination
    factor: Factor
    cost: int
    bits: float


@dataclass(slots=True)
class _Trial:
    """The sets that were tried, with the chance that each settles it and the bits it takes."""

    prospects: Prospects
    asked: str
    candidates: tuple[_Candidate, ...]
    is_whole: bool = True
    known: dict[tuple[int, ...], tuple[float, float]] = field(default_factory=dict)

    def chance(self, chosen: Sequence[int]) -> float:
        """The chance that the examinations settle it."""
        return self._weighed(tuple(sorted(chosen)))[0]

    def bits(self, chosen: Sequence[int]) -> float:
        """How many bits they are expected to take from what is asked."""
        return self._weighed(tuple(sorted(chosen)))[1]

    def cost(self, chosen: Sequence[int]) -> int:
        """How far one has to go for them, added up."""
        return sum(self.candidates[i].cost for i in chosen)

    def may_join(self, chosen: Sequence[int]) -> bool:
        """Whether no two of them are one piece of evidence."""
        once = [each for i in chosen if (each := self.candidates[i].examination.counts_with)]
        return len(once) == len(set(once))

    def _weighed(self, chosen: tuple[int, ...]) -> tuple[float, float]:
        if chosen not in self.known:
            joint = self._joint(chosen)
            self.known[chosen] = (settled_share(joint, self.asked), expected_bits(joint))
        return self.known[chosen]

    def _joint(self, chosen: tuple[int, ...]) -> Table:
        """The chance of each combination of outcomes and each state of what is asked."""
        prospects, scales = self.prospects, self.prospects.scales
        factors = dict(prospects.factors)
        names = tuple(self.candidates[i].factor.variables[0] for i in chosen)
        for i in chosen:
            factors[self.candidates[i].factor.variables[0]] = self.candidates[i].factor
        keep = names if self.asked == DATE else (*names, self.asked)
        table = normalised(scales.joined(factors, keep).main.over(keep))
        if self.asked != DATE:
            table = table.sum(axis=-1)
        return table.reshape(-1, table.shape[-1])


def settled_share(joint: Table, asked: str) -> float:
    """The chance of the outcomes after which the question is settled.

    A date is settled where one year holds nearly all of the chance; a way where it is nearly sure
    that the part is the first, or that it is not; another choice likewise.

    >>> settled_share(np.array([[0.5, 0.0], [0.25, 0.25]]), "joined:a+b")
    0.5
    """
    totals = joint.sum(axis=1)
    if asked == DATE:
        upto = np.pad(np.cumsum(joint, axis=1), ((0, 0), (1, 0)))
        span = min(WEEKS_IN_YEAR, joint.shape[1])
        best = (upto[:, span:] - upto[:, :-span]).max(axis=1)
    else:
        holds = joint[:, FIRST if asked.startswith("way:") else 1]
        best = np.maximum(holds, totals - holds)
    return float(totals[best >= SETTLED * totals].sum())


def settle(made: Survey, asked: str, wanted: float = WANTED) -> Proposal:
    """The least that settles what is ``asked``: the date, or a choice by its name.

    Args:
        made: all examinations with what each is foreseen to do.
        asked: ``date``, or a choice such as ``way:harness`` or ``joined:body+neck``.
        wanted: how likely the examinations have to settle it.
    """
    trial = _trial(made, asked)
    chosen = _cheapest(trial, _one_by_one(trial, wanted), wanted)
    chance = trial.chance(chosen)
    would = chance >= wanted
    return Proposal(
        question=asked,
        examinations=tuple(trial.candidates[i].examination.id.replace(" ", ".") for i in chosen),
        chance=round(chance, 4),
        chance_now=round(trial.chance(()), 4),
        would_settle=would,
        is_cheapest=would and trial.is_whole,
        tried=len(trial.candidates),
        sentence=_in_words(made, trial, chosen, wanted),
    )


def _trial(made: Survey, asked: str) -> _Trial:
    """The examinations that tell most of what is asked, each as a variable of its own."""
    found: list[tuple[float, Examination, Table]] = []
    for examination, prospect in made.found:
        if not examination.is_to_be_had or examination.reach == "alter":
            continue
        joint = prospect.dates if asked == DATE else made.prospects.state_after(prospect, asked)
        bits = expected_bits(joint)
        if bits >= LEAST_BITS:
            found.append((bits, examination, joint))
    found.sort(key=lambda each: (-round(each[0], 9), each[1].id))
    kept = found[:TRIED_AT_MOST]
    candidates = tuple(_candidate(made.prospects, *each) for each in kept)
    return _Trial(made.prospects, asked, candidates, is_whole=len(kept) == len(found))


def _candidate(
    prospects: Prospects, bits: float, examination: Examination, joint: Table
) -> _Candidate:
    """The examination with its outcomes put together, known to the scales by a name of its own."""
    table = np.stack([examination.table[list(at)].sum(axis=0) for at in put_together(joint)])
    name = f"outcome of {examination.id}"
    with np.errstate(divide="ignore"):
        factor = Factor((name, *examination.variables), np.log(np.maximum(table, 0.0)))
    evidence = prospects.scales.evidence
    if name not in evidence.sizes:
        evidence.pieces.append(Piece(name, examination.root, factor.variables, (), lambda _: table))
    evidence.sizes[name] = len(table)
    return _Candidate(examination, factor, COSTS[examination.reach], bits)


def put_together(joint: Table, most: int = OUTCOMES_AT_MOST) -> tuple[tuple[int, ...], ...]:
    """Outcomes in a few groups of neighbours, each time joining those that lose the fewest bits.

    >>> put_together(np.array([[0.2, 0.0], [0.3, 0.0], [0.0, 0.5]]), 2)
    ((0, 1), (2,))
    """
    rows = [np.asarray(row) for row in joint]
    groups: list[tuple[int, ...]] = [(i,) for i in range(len(rows))]
    while len(rows) > most:
        pairs = np.stack([np.stack(each) for each in pairwise(rows)])
        lost = bits_of(pairs) * pairs.sum(axis=(1, 2))
        at = int(np.argmin(np.round(lost, 12)))
        rows[at : at + 2] = [rows[at] + rows[at + 1]]
        groups[at : at + 2] = [groups[at] + groups[at + 1]]
    return tuple(groups)


def _one_by_one(trial: _Trial, wanted: float) -> tuple[int, ...]:
    """Examinations taken one after another, the least invasive class first, none without need."""
    chosen: tuple[int, ...] = ()
    for reach in REACHES:
        while trial.chance(chosen) < wanted and len(chosen) < TOGETHER_AT_MOST:
            left = [
                i
                for i, each in enumerate(trial.candidates)
                if i not in chosen
                and each.examination.reach == reach
                and trial.may_join((*chosen, i))
            ]
            best = max(left, key=lambda i: (round(trial.bits((*chosen, i)), 9), -i), default=None)
            if best is None or trial.bits((*chosen, best)) - trial.bits(chosen) < LEAST_BITS:
                break
            chosen = (*chosen, best)
    for i in sorted(chosen, key=lambda i: -trial.candidates[i].cost):
        rest = tuple(each for each in chosen if each != i)
        if trial.chance(chosen) >= wanted and trial.chance(rest) >= wanted:
            chosen = rest
    return chosen


def _cheapest(trial: _Trial, chosen: tuple[int, ...], wanted: float) -> tuple[int, ...]:
    """The cheapest set of all that settles it; where none does, the one that most often does."""
    every = [each for each in _sets(len(trial.candidates)) if trial.may_join(each)]
    every.sort(key=lambda each: (trial.cost(each), each))
    if trial.chance(chosen) >= wanted:
        cheaper = [each for each in every if trial.cost(each) < trial.cost(chosen)]
        return next((each for each in cheaper if trial.chance(each) >= wanted), chosen)
    found = next((each for each in every if trial.chance(each) >= wanted), None)
    if found is not None:
        return found
    best = max(round(trial.chance(each), 6) for each in every)
    often = [each for each in every if round(trial.chance(each), 6) == best]
    if best > 0:
        return often[0]
    return max(often, key=lambda each: (round(trial.bits(each), 6), -trial.cost(each)))


def _sets(count: int) -> Iterator[tuple[int, ...]]:
    for size in range(TOGETHER_AT_MOST + 1):
        yield from combinations(range(count), size)


def _in_words(made: Survey, trial: _Trial, chosen: tuple[int, ...], wanted: float) -> str:
    asked = (
        "the date to within a year"
        if trial.asked == DATE
        else f"whether {state_in_words(made, trial.asked)}"
    )
    chance, now = trial.chance(chosen), trial.chance(())
    if now >= wanted:
        return f"{_as_it_stands(made, trial)}: no examination is needed to settle it."
    if not chosen:
        return f"Nothing known here that could be examined would help to settle {asked}."
    taken = sorted((trial.candidates[i] for i in chosen), key=lambda each: each.cost)
    what = listing(each.examination.what for each in taken)
    lost = REACH_LOSES[taken[-1].examination.reach]
    loses = f" {article(lost)}." if lost else ""
    if chance == 0:
        bits = trial.bits(chosen)
        return (
            f"Nothing known here would settle {asked}; most is to be learnt of it, {bits:.2f} bits, "
            f"by this: {what}.{loses}"
        )
    if chance < wanted:
        return (
            f"Nothing known here would settle {asked} in {percent(wanted)} of the ways it may turn "
            f"out; what most often does, in {100 * chance:.1f} %: {what}.{loses}"
        )
    proof = (
        f"no cheaper choice of the {len(trial.candidates)} examinations that bear on it does"
        if trial.is_whole
        else f"no cheaper choice of the {len(trial.candidates)} that tell most of it does; others "
        "were not gone through"
    )
    done = f"Foreseen to do it in {100 * chance:.1f} % of the ways it may turn out; {proof}."
    return f"To settle {asked}: {what}. {done}{loses}"


def _as_it_stands(made: Survey, trial: _Trial) -> str:
    """What is settled already, in words."""
    if trial.asked == DATE:
        return f"One year holds more than {percent(SETTLED)} of the chance of the date already"
    holds = FIRST if trial.asked.startswith("way:") else 1
    chance = float(trial.prospects.whole.chances(trial.asked)[holds])
    return f"{article(state_in_words(made, trial.asked))} with a chance of {percent(chance)}"
