"""Which starting values of practice, and which strengths of traces, can be reckoned with at all?

Question answered: what of a pack no reasoning could make use of: a share of more than the whole, a
wait of no time where its logarithm is taken, a ratio below nothing.

Method: each unit has its limits. A row that takes the place of another is held to the unit of the
one that was there first, since that is what it is reckoned in.

Cost: linear in rows.

What it does not do: say whether a value is a good one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import inf
from typing import Final

from ledger.basis.yamltext import Path
from ledger.references import PackFile, Practice

# Path in the file, what is found there, what is expected, what to do.
Refusal = tuple[Path, str, str, str]


@dataclass(frozen=True, slots=True)
class Limits:
    """The values from ``low`` to ``high`` that a unit can have.

    With ``has_low`` the low end itself is one of them, with ``has_high`` the high end.
    """

    low: float
    high: float
    has_low: bool = False
    has_high: bool = True

    def take(self, value: float) -> bool:
        """Whether the value is within them; what is no number is not."""
        above = value >= self.low if self.has_low else value > self.low
        below = value <= self.high if self.has_high else value < self.high
        return above and below

    def in_words(self, unit: str) -> str:
        """What is expected."""
        first = f"{'at least' if self.has_low else 'more than'} {self.low:g}"
        last = f"{'at most' if self.has_high else 'less than'} {self.high:g}"
        return f"{first} and {last} ({unit})"


_SHARE: Final = Limits(0, 1, has_high=False)
_WEEKS: Final = Limits(0, 5_200)
BY_UNIT: Final[Mapping[str, Limits]] = {
    "share": _SHARE,
    "share of glyphs": _SHARE,
    "share of the figure": _SHARE,
    "days": Limits(0, 36_500),
    "weeks": _WEEKS,
    "years": Limits(0, 100),
    "codes": Limits(1, 1e9, has_low=True),
    "to one": Limits(1, 1e6, has_low=True),
    "of the natural logarithm": Limits(0, 10),
    "kelvin": Limits(0, 100),
    "degrees Celsius": Limits(-50, 60, has_low=True),
    "mm": Limits(0, 100),
}
RATIO: Final = Limits(1e-6, 1e6, has_low=True)
# Labels can have been dated to the day, and things sold in the week in which they were done.
MAY_BE_NONE: Final = frozenset(
    {
        "label-allowance",
        "number-allowance",
        "paper-allowance",
        "lag-completed-to-dispatched-weeks",
        "lag-dispatched-to-sold-weeks",
    }
)
_LAG: Final = "weeks"
_SHARE_ADVICE: Final = (
    "Nothing is certain here, and nothing is ruled out for good: say a small share such as 0.001, "
    "or a large one such as 0.999"
)
_ADVICE: Final = "See whether the figure or its unit is mistyped"
_RATIO_ADVICE: Final = (
    "Say how many times likelier the trace is on a first part, the lower end first: more than 1 "
    "speaks for it, less than 1 against it"
)


def units_of(packs: Iterable[PackFile]) -> dict[str, str]:
    """The unit in which each row of practice is reckoned: that of the first pack that has it.

    What a catalogue names as a lag is reckoned in weeks, whatever its own pack calls that.
    """
    found: dict[str, str] = {}
    for pack in packs:
        for row in pack.practices:
            found.setdefault(row.id, row.unit)
        for catalogue in pack.catalogues:
            for position in catalogue.positions:
                if position.lag is not None and found.get(position.lag) not in BY_UNIT:
                    found[position.lag] = _LAG
    return found


def refusals(pack: PackFile, units: Mapping[str, str]) -> Iterator[Refusal]:
    """Every starting value and strength of a pack that cannot be reckoned with.

    Args:
        pack: the pack.
        units: of each row of practice the unit in which it is reckoned.
    """
    for at, row in enumerate(pack.practices):
        unit = units.get(row.id, row.unit)
        limits = limits_of(row.id, unit)
        if limits is not None:
            yield from _of_practice(row, at, limits, unit)
    for at, kind in enumerate(pack.trace_kinds):
        for name in ("against_service", "against_matching"):
            low, high = getattr(kind, name)
            if not (RATIO.take(low) and RATIO.take(high) and low <= high):
                expected = f"two ratios, each {RATIO.in_words('to one')}, the lower first"
                yield ("trace_kinds", at, name), f"{low:g}, {high:g}", expected, _RATIO_ADVICE


def other_units(pack: PackFile, units: Mapping[str, str]) -> Iterator[Refusal]:
    """Every row of practice that takes the place of one in another unit."""
    for at, row in enumerate(pack.practices):
        unit = units.get(row.id, row.unit)
        if unit != row.unit:
            found = f"the unit {row.unit!r}"
            advice = f"What the program calls {row.id} it reckons in that: turn the figures into it"
            yield ("practices", at, "unit"), found, repr(unit), advice


def limits_of(row_id: str, unit: str) -> Limits | None:
    """The limits of a row of practice in that unit; None where nothing is known of the unit."""
    limits = BY_UNIT.get(unit)
    if limits is not None and row_id in MAY_BE_NONE:
        return Limits(limits.low, limits.high, has_low=True)
    return limits


def _of_practice(row: Practice, at: int, limits: Limits, unit: str) -> Iterator[Refusal]:
    for name in ("low", "value", "high"):
        value = getattr(row, name)
        if not limits.take(value):
            advice = _SHARE_ADVICE if limits.high == 1 else _ADVICE
            found = f"{value:g} for {row.id}" if abs(value) < inf else f"{value} for {row.id}"
            yield ("practices", at, name), found, limits.in_words(unit), advice
