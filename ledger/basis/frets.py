"""Where frets stand: which scale length and which rule do measured distances fit?

Two rules. In twelve-tone equal temperament a fret leaves 2**(-1/12) of the length before it, so
the twelfth stands at half. In the older rule of eighteen it leaves 17/18 (Vincenzo Galilei,
"Dialogo della musica antica et della moderna", Florence 1581; from memory), so the twelfth stands
0.36 % of the scale length short of half.

Method: distances from the nut are in proportion to the scale length, which is fitted by least
squares with each distance weighted by its doubt. A fret is then held against the scale that the
other frets give; where one does not fit, the worst is set aside and the rest fitted again, so
that one fret put in elsewhere does not spoil the verdict on its neighbours. A doubt is the
outermost that a distance may be off; its standard uncertainty is that over root three
(JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import fsum, log2, sqrt
from typing import Final

from ledger.basis.uncertainty import uncertainty_of_bound

EQUAL, EIGHTEEN = "twelve-tone equal temperament", "rule of eighteen"
RULES: Final[dict[str, Callable[[int], float]]] = {
    EQUAL: lambda fret: 1 - 2 ** (-fret / 12),
    EIGHTEEN: lambda fret: 1 - (17 / 18) ** fret,
}
MOST_FRETS: Final = 48
FEWEST_FRETS: Final = 3  # with two, either fits whatever the rule
COVERAGE: Final = 3.0  # many frets are tested at once: of 24 that fit, 0.06 are taken for misfits


@dataclass(frozen=True, slots=True)
class FretVerdict:
    """One fret against a rule: how far it stands from its place, towards the bridge if positive.

    ``cents`` is what that does to the pitch, sharp if positive; ``doubt_mm`` is the standard
    uncertainty of ``residual_mm``.
    """

    fret: int
    measured_mm: float
    rule_mm: float
    residual_mm: float
    doubt_mm: float
    cents: float
    fits: bool


@dataclass(frozen=True, slots=True)
class FretFit:
    """The scale length that fits a rule best, and the verdict for every fret.

    ``misfit`` is the sum over all frets of the squared residual over its squared uncertainty
    (chi-squared), and ``typical_mm`` the root mean square of the residuals, both with no fret
    set aside.
    """

    rule: str
    scale_mm: float
    scale_doubt_mm: float
    misfit: float
    typical_mm: float
    frets: tuple[FretVerdict, ...]

    @property
    def fits(self) -> bool:
        """Whether every fret fits."""
        return all(verdict.fits for verdict in self.frets)


@dataclass(frozen=True, slots=True)
class FretComparison:
    """Both rules fitted, the better first, and by how much it is better."""

    better: FretFit
    other: FretFit

    @property
    def log10_ratio(self) -> float:
        """The base-ten logarithm of how many times likelier the distances are by the better rule."""
        return (self.other.misfit - self.better.misfit) / 2 / 2.302585092994046

    @property
    def can_tell(self) -> bool:
        """Whether the distances tell the rules apart: ten to one or more, and one of them fits."""
        return self.log10_ratio >= 1 and (self.better.fits or not self.other.fits)


def fret_distance(scale: float, fret: int, rule: str = EQUAL) -> float:
    """The distance from nut to fret by a rule, in the unit of the scale length.

    Raises:
        ValueError: there is no such fret or rule.

    >>> round(fret_distance(650, 12), 3), round(fret_distance(650, 12, EIGHTEEN), 3)
    (325.0, 322.636)
    """
    if rule not in RULES or not 0 <= fret <= MOST_FRETS:
        raise ValueError(f"no fret {fret} by the rule {rule!r}")
    return scale * RULES[rule](fret)


def cents_sharp(scale: float, rule_distance: float, distance: float) -> float:
    """By how many cents a fret sounds sharp of its place; 1200 cents are an octave.

    Raises:
        ValueError: a distance reaches to the bridge.
    """
    if not max(rule_distance, distance) < scale:
        raise ValueError("a fret stands before the bridge")
    return 1200 * log2((scale - rule_distance) / (scale - distance))


def compare_frets(distances_mm: Mapping[int, tuple[float, float]]) -> FretComparison:
    """Both rules fitted to the distances from nut to fret.

    Args:
        distances_mm: by the number of the fret, its distance and the outermost it may be off.

    Raises:
        ValueError: fewer than three frets, a doubt of nothing, or a distance of nothing.
    """
    one, other = (fit_frets(distances_mm, rule) for rule in RULES)
    return FretComparison(one, other) if one.misfit <= other.misfit else FretComparison(other, one)


def fit_frets(distances_mm: Mapping[int, tuple[float, float]], rule: str = EQUAL) -> FretFit:
    """The scale length that fits the distances best by a rule, and the verdict for every fret.

    Raises:
        ValueError: fewer than three frets, a doubt of nothing, or a distance of nothing.
    """
    points = _points(distances_mm, rule)
    whole_scale, _ = _scale(points)
    gaps = [(point.distance - whole_scale * point.share, point.doubt) for point in points]
    kept, verdicts = _without_misfits(points)
    scale, doubt = _scale(kept)
    return FretFit(
        rule,
        scale,
        doubt,
        fsum((gap / doubt) ** 2 for gap, doubt in gaps),
        sqrt(fsum(gap * gap for gap, _ in gaps) / len(gaps)),
        verdicts,
    )


@dataclass(frozen=True, slots=True)
class _Point:
    """A measured fret: the share of the scale it should stand at, its distance and its doubt."""

    fret: int
    share: float
    distance: float
    doubt: float


def _points(distances_mm: Mapping[int, tuple[float, float]], rule: str) -> list[_Point]:
    if rule not in RULES:
        raise ValueError(f"no rule {rule!r}")
    if len(distances_mm) < FEWEST_FRETS:
        raise ValueError(f"{FEWEST_FRETS} frets or more")
    points = []
    for fret, (distance, half_width) in sorted(distances_mm.items()):
        if not 1 <= fret <= MOST_FRETS or distance <= 0 or half_width <= 0:
            raise ValueError(f"fret {fret} at {distance} mm, off by {half_width} mm at most")
        doubt = uncertainty_of_bound(half_width)
        points.append(_Point(fret, RULES[rule](fret), distance, doubt))
    return points


def _scale(points: list[_Point]) -> tuple[float, float]:
    """The scale length of least squares, weighted, and its standard uncertainty."""
    weight = fsum((point.share / point.doubt) ** 2 for point in points)
    moment = fsum(point.share * point.distance / point.doubt**2 for point in points)
    return moment / weight, 1 / sqrt(weight)


def _without_misfits(points: list[_Point]) -> tuple[list[_Point], tuple[FretVerdict, ...]]:
    """The frets that fit one another, and the verdict for all; at least a bare few are kept."""
    kept = list(points)
    while True:
        judged = {point.fret: _judge(point, kept) for point in points}
        worst = max(kept, key=lambda p: abs(judged[p.fret].residual_mm) / judged[p.fret].doubt_mm)
        if judged[worst.fret].fits or len(kept) <= FEWEST_FRETS:
            return kept, tuple(judged.values())
        kept.remove(worst)


def _judge(point: _Point, kept: list[_Point]) -> FretVerdict:
    """The fret against the scale that the others give."""
    scale, doubt = _scale([other for other in kept if other.fret != point.fret])
    place = scale * point.share
    residual = point.distance - place
    whole = sqrt(point.doubt**2 + (point.share * doubt) ** 2)
    cents = cents_sharp(scale, place, point.distance) if point.distance < scale else float("inf")
    fits = abs(residual) <= COVERAGE * whole
    return FretVerdict(point.fret, point.distance, place, residual, whole, cents, fits)
