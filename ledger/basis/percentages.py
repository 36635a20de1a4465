"""A chance in words, never rounded to certainty."""

from __future__ import annotations

NEARLY_ALL, NEARLY_NONE = 0.9995, 0.0005


def percent(chance: float, gap: str = " ") -> str:
    """A chance for a reader; ``gap`` stands before its sign.

    >>> percent(0.861), percent(0.99995), percent(0.00002), percent(0.012)
    ('86 %', 'over 99.9 %', 'under 0.1 %', '1.2 %')
    """
    if chance > NEARLY_ALL:
        return f"over 99.9{gap}%"
    if chance < NEARLY_NONE:
        return f"under 0.1{gap}%"
    digits = 0 if 0.05 <= chance <= 0.95 else 1
    return f"{100 * chance:.{digits}f}{gap}%"


def percent_range(low: float, high: float, gap: str = " ") -> str:
    """A range of chances; one figure where both ends are told alike.

    >>> percent_range(0.2, 0.5), percent_range(0.0, 0.0001)
    ('20 % to 50 %', 'under 0.1 %')
    """
    return " to ".join(dict.fromkeys((percent(low, gap), percent(high, gap))))
