"""Carry the doubt of what was measured into what is worked out from it.

From JCGM 100:2008, "Evaluation of measurement data: Guide to the expression of uncertainty in
measurement" (GUM): sample statistics (4.2), a bound taken as a rectangular distribution (4.3.7),
the law of propagation with correlations (5.2.2), the straight line by least squares (example
H.3) and effective degrees of freedom (G.4). Clause numbers are from memory; the worked examples
H.1 to H.3 are reproduced in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import fsum, sqrt


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line through points, by least squares: intercept and slope with their doubt.

    ``scatter`` is the standard deviation of the points about the line.
    """

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    correlation: float
    scatter: float

    def at(self, x: float) -> tuple[float, float]:
        """The height of the line at ``x`` and its standard uncertainty."""
        height = self.intercept + self.slope * x
        doubt = combined_uncertainty(
            (1.0, x),
            (self.intercept_uncertainty, self.slope_uncertainty),
            {(0, 1): self.correlation},
        )
        return height, doubt


def mean(values: Sequence[float]) -> float:
    """The mean of the values.

    Raises:
        ValueError: there is none.
    """
    if not values:
        raise ValueError("the mean of no values")
    return fsum(values) / len(values)


def mean_uncertainty(values: Sequence[float]) -> float:
    """The standard uncertainty of the mean: the spread of repeated readings over root n.

    Raises:
        ValueError: fewer than two values.
    """
    return sqrt(_covariance(values, values) / len(values))


def correlation(one: Sequence[float], other: Sequence[float]) -> float:
    """How far two sets of readings taken together go up and down together, from -1 to 1.

    Raises:
        ValueError: fewer than two pairs, or one of the sets does not vary.
    """
    spread = _covariance(one, one) * _covariance(other, other)
    if spread <= 0:
        raise ValueError("readings that do not vary have no correlation")
    return _covariance(one, other) / sqrt(spread)


def _covariance(one: Sequence[float], other: Sequence[float]) -> float:
    if len(one) < 2 or len(one) != len(other):
        raise ValueError("two readings or more of each, and as many of one as of the other")
    middle, middle_of_other = mean(one), mean(other)
    products = ((a - middle) * (b - middle_of_other) for a, b in zip(one, other, strict=True))
    return fsum(products) / (len(one) - 1)


def uncertainty_of_bound(half_width: float) -> float:
    """The standard uncertainty of a value that is known to lie within a bound, and no more.

    >>> round(uncertainty_of_bound(0.1), 4)
    0.0577
    """
    return half_width / sqrt(3)


def combined_uncertainty(
    sensitivities: Sequence[float],
    uncertainties: Sequence[float],
    correlations: Mapping[tuple[int, int], float] | None = None,
) -> float:
    """The combined standard uncertainty of a result.

    Args:
        sensitivities: by how much the result moves for a unit of each input.
        uncertainties: the standard uncertainty of each input.
        correlations: of two inputs, named by their places with the lower first; else none.

    >>> combined_uncertainty((1, 1), (3, 4))
    5.0
    """
    parts = [c * u for c, u in zip(sensitivities, uncertainties, strict=True)]
    known = correlations or {}
    crossed = fsum(
        2 * parts[i] * parts[j] * known.get((i, j), 0.0)
        for i, j in combinations(range(len(parts)), 2)
    )
    return sqrt(max(0.0, fsum(part * part for part in parts) + crossed))


def effective_degrees_of_freedom(parts: Sequence[float], degrees: Sequence[float]) -> float:
    """The degrees of freedom of a combined uncertainty (formula of Welch and Satterthwaite).

    Args:
        parts: what each input brings to the combined standard uncertainty, uncorrelated.
        degrees: the degrees of freedom of each.
    """
    whole = combined_uncertainty([1.0] * len(parts), parts)
    below = fsum(part**4 / degree for part, degree in zip(parts, degrees, strict=True))
    return whole**4 / below if below else float("inf")


def line_through(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """The straight line by least squares, each point of equal weight.

    Raises:
        ValueError: fewer than three points, or all at one ``x``.
    """
    count = len(xs)
    if count < 3 or count != len(ys):
        raise ValueError("a line with its doubt takes three points or more")
    middle = mean(xs)
    spread = fsum((x - middle) ** 2 for x in xs)
    if spread <= 0:
        raise ValueError("points at one place give no line")
    level = mean(ys)
    slope = fsum((x - middle) * (y - level) for x, y in zip(xs, ys, strict=True)) / spread
    intercept = level - slope * middle
    rest = fsum((y - intercept - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    scatter = sqrt(rest / (count - 2))
    squares = fsum(x * x for x in xs)
    return Line(
        intercept,
        slope,
        scatter * sqrt(squares / (count * spread)),
        scatter / sqrt(spread),
        -fsum(xs) / sqrt(count * squares),
        scatter,
    )
