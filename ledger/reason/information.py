"""How much is an observation expected to tell of what it bears on?

Question answered: from the joint chances of outcomes and states, the uncertainty that is expected
to go, in bits; and which of several observations leaves the least.

Method: Shannon's entropy; what an observation is expected to take from it is the mutual
information of the two (Lindley, "On a measure of the information provided by an experiment",
Annals of Mathematical Statistics 27, 1956). The observation that leaves the least expected entropy
is the next to make (de Kleer and Williams, "Diagnosing multiple faults", Artificial Intelligence
32, 1987, whose circuit is among the tests).

Cost: linear in the table.

What it does not do: say what an observation costs, or what it may destroy.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ledger.reason.factors import Table


def entropy_bits(chances: Table) -> float:
    """The uncertainty in bits of states with these chances, which need not add up to one.

    >>> entropy_bits(np.array([0.5, 0.5])), entropy_bits(np.array([1.0, 0.0]))
    (1.0, 0.0)
    """
    total = float(chances.sum())
    positive = chances[chances > 0]
    if total <= 0:
        return 0.0
    return float(np.log2(total) - (positive * np.log2(positive)).sum() / total)


def expected_bits(joint: Table) -> float:
    """How many bits of the states' uncertainty the outcome is expected to take away.

    Args:
        joint: the chance of each outcome (first axis) and state (second axis).

    >>> expected_bits(np.array([[0.5, 0.0], [0.0, 0.5]]))
    1.0
    >>> expected_bits(np.array([[0.25, 0.25], [0.25, 0.25]]))
    0.0
    """
    return float(bits_of(joint[None])[0])


def bits_of(joint: Table) -> Table:
    """The same for many tables at once: one for each entry of the first axis."""
    total = joint.sum(axis=(1, 2))
    sums = (_plain(joint).sum(axis=(1, 2)), _plain(joint.sum(axis=2)).sum(axis=1))
    alone = _plain(joint.sum(axis=1)).sum(axis=1)
    found: Table = (sums[0] - sums[1] - alone + _plain(total)) / np.maximum(total, 1e-300)
    return np.maximum(found, 0.0)


def _plain(table: Table) -> Table:
    """Each number times its logarithm to base two, nought for nought."""
    found: Table = table * np.log2(np.maximum(table, 1e-300))
    return found


def next_measurement(
    weights: Table, foreseen: Mapping[str, Table]
) -> tuple[tuple[str, float], ...]:
    """Every measurement with the entropy that it is expected to leave, the least first.

    Args:
        weights: the chance of each diagnosis.
        foreseen: for each measurement the chance of each outcome (first axis), given each
            diagnosis (second axis).

    >>> tells = np.array([[1.0, 0.0], [0.0, 1.0]])
    >>> next_measurement(np.array([0.5, 0.5]), {"a": np.full((2, 2), 0.5), "b": tells})
    (('b', 0.0), ('a', 1.0))
    """
    now = entropy_bits(weights)
    left = {name: now - expected_bits(table * weights) for name, table in foreseen.items()}
    return tuple(sorted(left.items(), key=lambda each: (round(each[1], 12), each[0])))
