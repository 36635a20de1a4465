"""How well do stated chances agree with what was so: reliability, error, coverage, ranking."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, lgamma, log
from random import Random
from statistics import NormalDist
from typing import Any

import numpy as np

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.derive import derive
from ledger.reason.priors import fitments, suppositions
from ledger.reason.ranges import REGION, region
from ledger.reason.weighing import Scales, scales_of
from ledger.record.case import Case, Recorded
from ledger.references import PackFile

DECILES = 10
BAND = 0.99
DRAWS_OF_BAND = 1000


@dataclass(frozen=True, slots=True)
class Stated:
    """A chance that was stated, whether it was so, and of what kind of thing."""

    kind: str
    chance: float
    is_so: bool
    case: int


@dataclass(frozen=True, slots=True)
class Dated:
    """The true week in the posterior of weeks.

    ``level`` is the share of the chance that lies on weeks likelier than the true one, of the true
    week itself a share drawn by lot: evenly spread where the posterior is right. ``below`` is the
    share before it, likewise. ``is_within`` says whether the spans reported hold it.
    """

    level: float
    below: float
    is_within: bool
    weeks_reported: int


@dataclass(frozen=True, slots=True)
class Bin:
    """A tenth of the scale: the mean of what was stated, the share that was so, and two bands.

    ``low`` to ``high`` is the band of coins that know nothing of one another, ``low_by_case`` to
    ``high_by_case`` that of instruments whose parts stand or fall together; ``off_curve`` is how far
    off the latter lets a tenth be, so that all ten lie so near in 99 of 100 runs.
    """

    stated: float
    found: float
    low: float
    high: float
    low_by_case: float
    high_by_case: float
    off_curve: float
    count: int

    @property
    def is_within(self) -> bool:
        """Whether it lies in the wider of the two."""
        low, high = min(self.low, self.low_by_case), max(self.high, self.high_by_case)
        return low <= self.found <= high

    @property
    def is_on_curve(self) -> bool:
        return abs(self.found - self.stated) <= self.off_curve


def packs_with(own: dict[str, Any]) -> Packs:
    """The packs of the program and one of a trial."""
    return Packs.of((*built_in_packs(), PackFile.model_validate(own)))


def scales_for(sheet: dict[str, Any], packs: Packs) -> Scales | None:
    """What a sheet gives to be weighed; None where nothing in it has a date."""
    read = BenchSheet.model_validate(sheet)
    lines: dict[str, Recorded[Any]] = {}
    for section in SECTIONS:
        for line in getattr(read, section):
            lines[line.id] = Recorded(line, section, len(lines) + 2, f"{len(lines) + 2:064x}")
    derivation = derive(Case(read.instrument, len(lines) + 1, lines), packs)
    found = fitments(derivation.draft)
    supposed = suppositions(derivation.draft, found)
    return scales_of(derivation.draft, derivation.readings, supposed, found)


def weigh(specimen: Any, packs: Packs, seed: int) -> tuple[list[Stated], list[Dated]]:
    """What the weighing states of a specimen, each beside what was so."""
    scales = scales_for(specimen.sheet, packs)
    if scales is None:
        return [], []
    outcome, true = scales.on(), specimen.history
    stated = []
    for name in sorted(scales.evidence.sizes):
        known = name.replace("rows of trial from ", "")
        if known not in true.holding:
            continue
        chances = outcome.chances(name)
        is_way = name.startswith("way:")
        kind = "part" if is_way else name.partition(":")[0].partition(" ")[0]
        at = 0 if is_way else 1
        stated.append(Stated(kind, float(chances[at]), true.holding[known], seed))
    return stated, _dated(scales, outcome.weeks(), true.completed, Random(seed))  # noqa: S311


def _dated(scales: Scales, weeks: Any, completed: int, dice: Random) -> list[Dated]:
    at = (completed - scales.evidence.axis.first_day) // 7
    spans = region(weeks)
    reported = sum(last - first + 1 for first, last in spans)
    if not 0 <= at < len(weeks):
        return [Dated(1.0, float(at > 0), is_within=False, weeks_reported=reported)]
    by_lot = dice.random() * weeks[at]
    level = float(weeks[weeks > weeks[at]].sum() + by_lot)
    below = float(weeks[:at].sum() + by_lot)
    is_within = any(first <= at <= last for first, last in spans)
    return [Dated(level, below, is_within, reported)]


def bins_of(stated: Sequence[Stated], seed: int = 1) -> list[Bin]:
    """The reliability curve, with for each tenth the bands that right chances would give (99 of 100).

    That of sums of coins with just these chances, by lot; and, since the parts of one instrument go
    together, that of a mean over groups, from the squared sum of what each instrument has over what
    was stated (Liang and Zeger, "Longitudinal data analysis using generalized linear models",
    Biometrika 73, 1986), each by itself and for the curve as a whole (Šidák, "Rectangular confidence
    regions for the means of multivariate normal distributions", Journal of the American Statistical
    Association 62, 1967).
    """
    of_curve = 1 - BAND ** (1 / DECILES)
    dice = np.random.default_rng(seed)
    chances = np.array([each.chance for each in stated])
    is_so = np.array([each.is_so for each in stated])
    cases = np.array([each.case for each in stated])
    places = np.minimum((chances * DECILES).astype(int), DECILES - 1)
    found = []
    for tenth in range(DECILES):
        mine = places == tenth
        count = int(mine.sum())
        if not count:
            continue
        sums = np.array([(dice.random(count) < chances[mine]).mean() for _ in range(DRAWS_OF_BAND)])
        tail = (1 - BAND) / 2
        low, high = np.quantile(sums, [tail, 1 - tail])
        mean, share = float(chances[mine].mean()), float(is_so[mine].mean())
        by_case = np.bincount(cases[mine], is_so[mine] - chances[mine])
        error = float(np.sqrt((by_case**2).sum())) / count
        off, off_curve = (
            NormalDist().inv_cdf(1 - each / 2) * error for each in (2 * tail, of_curve)
        )
        bands = (float(low), float(high), mean - off, mean + off, off_curve)
        found.append(Bin(mean, share, *bands, count))
    return found


def calibration_error(bins: Iterable[Bin]) -> float:
    """The mean distance of stated and found over the tenths, by how many fell in each."""
    known = list(bins)
    return sum(b.count * abs(b.stated - b.found) for b in known) / sum(b.count for b in known)


def ranking(stated: Sequence[Stated]) -> float:
    """How often a part that was swapped ranks as likelier swapped than one that was not (AUC)."""
    swapped = np.sort([each.chance for each in stated if not each.is_so])
    first = np.array([each.chance for each in stated if each.is_so])
    below = np.searchsorted(swapped, first, side="left")
    upto = np.searchsorted(swapped, first, side="right")
    return float(((below + upto) / 2).sum() / (len(first) * len(swapped)))


def coverage(dated: Sequence[Dated], share: float = REGION) -> tuple[float, float]:
    """How often the truth lies in the likeliest weeks, and in the spans that are reported."""
    inside = sum(each.level < share for each in dated) / len(dated)
    return inside, sum(each.is_within for each in dated) / len(dated)


def band_of_share(share: float, count: int) -> tuple[float, float]:
    """Between which shares 99 of 100 draws of so many fall, where each is so with this chance."""
    sums = np.cumsum([_binomial(count, k, share) for k in range(count + 1)])
    tail = (1 - BAND) / 2
    low, high = np.searchsorted(sums, [tail, 1 - tail])
    return float(low) / count, float(high) / count


def _binomial(count: int, k: int, share: float) -> float:
    ways = lgamma(count + 1) - lgamma(k + 1) - lgamma(count - k + 1)
    return exp(ways + k * log(share) + (count - k) * log(1 - share))
