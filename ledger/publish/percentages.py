"""A chance in words, never rounded to certainty."""

from __future__ import annotations

GAP = "\N{NO-BREAK SPACE}"
NEARLY_ALL, NEARLY_NONE = 0.9995, 0.0005


def percent(chance: float) -> str:
    r"""The chance for a reader; its sign never stands on a line of its own.

    >>> percent(0.861), percent(0.99995), percent(0.00002), percent(0.012)
    ('86\xa0%', 'over 99.9\xa0%', 'under 0.1\xa0%', '1.2\xa0%')
    """
    if chance > NEARLY_ALL:
        return f"over 99.9{GAP}%"
    if chance < NEARLY_NONE:
        return f"under 0.1{GAP}%"
    digits = 0 if 0.05 <= chance <= 0.95 else 1
    return f"{100 * chance:.{digits}f}{GAP}%"


def percent_range(low: float, high: float) -> str:
    r"""A range of chances; one figure where both ends are told alike.

    >>> percent_range(0.2, 0.5), percent_range(0.0, 0.0001)
    ('20\xa0% to 50\xa0%', 'under 0.1\xa0%')
    """
    ends = dict.fromkeys((percent(low), percent(high)))
    return " to ".join(ends)
