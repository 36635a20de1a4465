"""What observations are expected to tell, against enumeration and a published circuit."""

from __future__ import annotations

from itertools import combinations
from math import log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.reason.information import bits_of, entropy_bits, expected_bits, next_measurement

COMPONENTS = ("M1", "M2", "M3", "A1", "A2")
VALUES = 16


@st.composite
def joints(draw):
    shape = (draw(st.integers(1, 4)), draw(st.integers(1, 5)))
    cells = st.one_of(st.just(0.0), st.floats(1e-3, 1.0))
    table = np.array([[draw(cells) for _ in range(shape[1])] for _ in range(shape[0])])
    return table if table.sum() > 0 else table + 1.0


@given(joints())
def test_what_is_expected_is_the_mean_of_what_each_outcome_takes_away(joint):
    joint = joint / joint.sum()
    before = -sum(p * log2(p) for p in joint.sum(axis=0) if p > 0)
    after = 0.0
    for row in joint:
        if row.sum() > 0:
            given_outcome = row / row.sum()
            after -= row.sum() * sum(p * log2(p) for p in given_outcome if p > 0)
    assert expected_bits(joint) == pytest.approx(max(before - after, 0), abs=1e-12)
    assert bits_of(joint[None])[0] == pytest.approx(expected_bits(joint), abs=1e-12)


@given(joints())
def test_no_outcome_is_expected_to_tell_more_than_there_is_to_learn(joint):
    assert -1e-12 <= expected_bits(joint) <= entropy_bits(joint.sum(axis=0)) + 1e-12


@given(joints())
def test_putting_outcomes_together_never_tells_more(joint):
    together = joint.sum(axis=0, keepdims=True)
    assert expected_bits(together) <= expected_bits(joint) + 1e-12
    assert expected_bits(together) == pytest.approx(0, abs=1e-12)


def _predicted(failed, outputs):
    """X, Y and Z of the circuit with these components out of order; None where it cannot be.

    F = X + Y and G = Y + Z are seen; X, Y and Z are 6 each where their multipliers work.
    """
    known = {"X": 6 if "M1" not in failed else None}
    known["Y"] = 6 if "M2" not in failed else None
    known["Z"] = 6 if "M3" not in failed else None
    sums = [("A1", "X", "Y", outputs[0]), ("A2", "Y", "Z", outputs[1])]
    for _ in range(3):
        for adder, one, other, total in sums:
            if adder in failed:
                continue
            for a, b in ((one, other), (other, one)):
                if known[a] is None:
                    continue
                if known[b] is None:
                    known[b] = total - known[a]
                elif known[a] + known[b] != total:
                    return None
    return known


def _circuit(outputs, fails=0.01):
    """The chance of each diagnosis, and of each value of X, Y and Z given each diagnosis."""
    every = [set(c) for n in range(len(COMPONENTS) + 1) for c in combinations(COMPONENTS, n)]
    standing = [(d, found) for d in every if (found := _predicted(d, outputs)) is not None]
    weights = np.array(
        [fails ** len(d) * (1 - fails) ** (len(COMPONENTS) - len(d)) for d, _ in standing]
    )
    tables = {
        point: np.stack(
            [
                np.full(VALUES, 1 / VALUES)
                if found[point] is None
                else np.eye(VALUES)[found[point]]
                for _, found in standing
            ],
            axis=1,
        )
        for point in ("X", "Y", "Z")
    }
    return [d for d, _ in standing], weights / weights.sum(), tables


def test_the_polybox_has_its_published_diagnoses_and_is_next_measured_at_x():
    """de Kleer and Williams 1987 (Artificial Intelligence 32): F = 10, G = 12 seen, 12 expected.

    The minimal diagnoses are published; that X, which tells the two single faults apart, is the
    point to measure next is as we remember the paper, and is what the arithmetic says.
    """
    diagnoses, weights, tables = _circuit((10, 12))
    minimal = [d for d in diagnoses if not any(other < d for other in diagnoses)]
    assert {frozenset(d) for d in minimal} == {
        frozenset({"M1"}),
        frozenset({"A1"}),
        frozenset({"M2", "M3"}),
        frozenset({"M2", "A2"}),
    }
    ranked = next_measurement(weights, tables)
    assert next(name for name, _ in ranked) == "X"
    assert dict(ranked)["X"] < entropy_bits(weights) - 0.9
    assert dict(ranked)["Y"] > entropy_bits(weights) - 0.2
    assert dict(ranked)["Z"] > entropy_bits(weights) - 0.2


def test_the_ranking_is_that_of_enumeration_over_every_outcome():
    diagnoses, weights, tables = _circuit((10, 12))
    for name, left in next_measurement(weights, tables):
        expected = 0.0
        for value in range(VALUES):
            joint = [w * tables[name][value, i] for i, w in enumerate(weights)]
            total = sum(joint)
            expected -= sum(p * log2(p / total) for p in joint if p > 0)
        assert left == pytest.approx(expected, abs=1e-12), (name, len(diagnoses))
