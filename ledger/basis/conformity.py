"""How likely is a measured thing to be within limits, and what does passing tell?

From JCGM 106:2012, "Evaluation of measurement data: The role of measurement uncertainty in
conformity assessment": the probability that a thing conforms, given its measurement, with the
doubt taken as normal or as a bound; acceptance limits set inside the tolerance limits by a guard
band. The standard's worked examples are reproduced in the tests.

What passing tells about where a thing comes from is another matter: it is the ratio of how
often the two kinds of thing pass. A test that nearly everything passes has a ratio near 1 and
tells nothing, however well the thing passes it; failing it may still tell much.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, inf, sqrt
from statistics import NormalDist

TELLS_NOTHING_BELOW = 1.25


def conformance_probability(
    value: float, uncertainty: float, low: float | None = None, high: float | None = None
) -> float:
    """The probability that the thing measured is within the limits; None is no limit.

    ``uncertainty`` is the standard uncertainty and the doubt is normal.

    Raises:
        ValueError: the uncertainty is negative or the limits are reversed.

    >>> round(conformance_probability(-5.47, 0.05, high=-5.40), 2)
    0.92
    """
    _refuse_impossible(uncertainty, low, high)
    if uncertainty == 0:
        return float(_is_within(value, low, high))
    short = 0.0 if low is None else _tail((value - low) / uncertainty)
    over = 0.0 if high is None else _tail((high - value) / uncertainty)
    return min(1.0, max(0.0, 1.0 - short - over))


def conformance_within_bound(
    value: float, half_width: float, low: float | None = None, high: float | None = None
) -> float:
    """The same where all that is known is that the value is off by ``half_width`` at most.

    Every amount within the bound is then as likely as any other.

    Raises:
        ValueError: the bound is negative or the limits are reversed.

    >>> conformance_within_bound(44.0, 0.1, 43.4, 44.0)
    0.5
    """
    _refuse_impossible(half_width, low, high)
    if half_width == 0:
        return float(_is_within(value, low, high))
    # Counted in half-widths from the value, so that what is far above the doubt stays exact.
    bottom = -1.0 if low is None else max(-1.0, (low - value) / half_width)
    top = 1.0 if high is None else min(1.0, (high - value) / half_width)
    return min(1.0, max(0.0, (top - bottom) / 2))


def acceptance_limits(
    low: float | None, high: float | None, guard: float
) -> tuple[float | None, float | None]:
    """The limits drawn in by a guard band: what is measured within them is accepted.

    A negative guard band sets them outside, for rejecting only what surely does not conform.

    Raises:
        ValueError: nothing is left between the limits.
    """
    inner = (None if low is None else low + guard, None if high is None else high - guard)
    if inner[0] is not None and inner[1] is not None and inner[1] < inner[0]:
        raise ValueError("the guard bands leave nothing between the limits")
    return inner


def least_reading_beyond(limit: float, relative_uncertainty: float, probability: float) -> float:
    """The least reading that shows a limit exceeded with at least that probability.

    The standard uncertainty grows with the reading, as for an instrument good to a percentage.

    Raises:
        ValueError: no reading, however high, shows it with that probability.

    >>> round(least_reading_beyond(100, 0.02, 0.999))
    107
    """
    left = 1 - relative_uncertainty * NormalDist().inv_cdf(probability)
    if left <= 0:
        raise ValueError("so uncertain an instrument cannot show it")
    return limit / left


@dataclass(frozen=True, slots=True)
class Passing:
    """How often two kinds of part pass a test, as shares of each.

    ``first_fitted`` is the share of parts that left the works with the instrument,
    ``replacements`` that of replacements.
    """

    first_fitted: float
    replacements: float

    def __post_init__(self) -> None:
        for share in (self.first_fitted, self.replacements):
            if not 0 < share < 1:
                raise ValueError(f"a share of {share} is not between 0 and 1")

    @property
    def ratio_of_passing(self) -> float:
        """How many times likelier a first-fitted part passes than a replacement."""
        return self.first_fitted / self.replacements

    @property
    def ratio_of_failing(self) -> float:
        """How many times likelier a first-fitted part fails than a replacement."""
        return (1 - self.first_fitted) / (1 - self.replacements)

    @property
    def tells_nothing(self) -> bool:
        """Whether passing bears neither for nor against."""
        ratio = self.ratio_of_passing
        return 1 / TELLS_NOTHING_BELOW < ratio < TELLS_NOTHING_BELOW

    def in_words(self) -> str:
        """What passing tells, in a sentence.

        >>> Passing(0.98, 0.95).in_words()
        'Of replacements 95 in 100 pass as well: that it passes is 1.03 times as likely for a \
part of the works as for a replacement, which tells nothing.'
        """
        ratio = self.ratio_of_passing
        told = "which tells nothing" if self.tells_nothing else "and no more than that"
        return (
            f"Of replacements {self.replacements * 100:.0f} in 100 pass as well: that it passes is "
            f"{ratio:.3g} times as likely for a part of the works as for a replacement, {told}."
        )


def _tail(steps: float) -> float:
    """The share of a normal distribution that lies more than so many deviations above it."""
    return erfc(steps / sqrt(2)) / 2


def _is_within(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)


def _refuse_impossible(doubt: float, low: float | None, high: float | None) -> None:
    if doubt < 0 or doubt == inf:
        raise ValueError("an uncertainty is a finite amount and not negative")
    if low is not None and high is not None and high < low:
        raise ValueError("the limits are reversed")
