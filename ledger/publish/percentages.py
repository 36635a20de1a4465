"""A chance as a page tells it: its sign never stands on a line of its own."""

from __future__ import annotations

from ledger.basis import percentages

GAP = "\N{NO-BREAK SPACE}"


def percent(chance: float) -> str:
    r"""The chance for a reader.

    >>> percent(0.861)
    '86\xa0%'
    """
    return percentages.percent(chance, GAP)


def percent_range(low: float, high: float) -> str:
    r"""A range of chances; one figure where both ends are told alike.

    >>> percent_range(0.2, 0.5)
    '20\xa0% to 50\xa0%'
    """
    return percentages.percent_range(low, high, GAP)
