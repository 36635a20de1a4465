"""Sums that are kept, cut or only partly taken again, against the same sums taken from nothing."""

from __future__ import annotations

from itertools import product
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.reason import groups
from ledger.reason.factors import Factor, log_sum
from ledger.reason.sums import Weighing

CLOSE = 1e-12


@st.composite
def problems(draw):
    """Variables of two or three values tied in a few groups, and factors with nothings in them."""
    steps = draw(st.integers(2, 6))
    names = [f"v{i}" for i in range(draw(st.integers(1, 5)))]
    sizes = {name: draw(st.integers(2, 3)) for name in names}
    dice = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    nothing = draw(st.sampled_from([0.0, 0.0, 0.3]))
    found = []
    for _ in range(draw(st.integers(1, 7))):
        scope = tuple(draw(st.permutations(names))[: draw(st.integers(0, min(3, len(names))))])
        length = steps if draw(st.booleans()) else 1
        found.append(_drawn(dice, scope, sizes, length, nothing))
    return sizes, found, steps, dice, nothing


def _drawn(dice, scope, sizes, length, nothing):
    weights = dice.uniform(0.01, 1.0, (*(sizes[name] for name in scope), length))
    weights[dice.uniform(size=weights.shape) < nothing] = 0.0
    with np.errstate(divide="ignore"):
        return Factor(scope, np.log(weights))


def assert_same(one, other, sizes):
    np.testing.assert_allclose(np.exp(one.over(())), np.exp(other.over(())), rtol=1e-10, atol=0)
    np.testing.assert_allclose(one.weights(), other.weights(), rtol=0, atol=CLOSE)
    known = {name: 0 for name in sizes if other.knows(name)}
    found = one.chances_of(known)
    assert found.keys() == known.keys()
    for name in sizes:
        np.testing.assert_allclose(one.chances(name), other.chances(name), rtol=0, atol=CLOSE)
        if name in known:
            assert found[name] == pytest.approx(other.chances(name)[0], abs=CLOSE)


@settings(max_examples=80)
@given(problem=problems(), data=st.data())
def test_factors_that_are_replaced_give_the_sums_of_the_new_ones(problem, data):
    sizes, factors, steps, dice, nothing = problem
    at = data.draw(st.sets(st.sampled_from(range(len(factors)))))
    changes = {factors[i]: _drawn(dice, factors[i].variables, sizes, steps, nothing) for i in at}
    usual = Weighing(sizes, factors, steps)
    usual.chances_of(dict.fromkeys(sizes, 0))
    fresh = [changes.get(factor, factor) for factor in factors]
    found = usual.replacing(changes, is_kept=data.draw(st.booleans()))
    assert_same(found, Weighing(sizes, fresh, steps), sizes)
    assert_same(usual, Weighing(sizes, factors, steps), sizes)


@settings(max_examples=60)
@given(problem=problems(), at_once=st.sampled_from([1, 32]), data=st.data())
def test_some_of_the_steps_give_the_sums_of_those_alone(problem, at_once, data):
    sizes, factors, steps, _, _ = problem
    first = data.draw(st.integers(0, steps - 1))
    end = data.draw(st.integers(first + 1, steps))

    def seen(factor):
        dated = factor.table.shape[-1] > 1
        return Factor(factor.variables, factor.table[..., first:end]) if dated else factor

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(groups, "STATES_AT_ONCE", at_once)
        whole = Weighing(sizes, factors, steps)
        whole.over(())
        fresh = Weighing(sizes, [seen(factor) for factor in factors], end - first)
        assert_same(whole.within(first, end, seen), fresh, sizes)


@settings(max_examples=60)
@given(problem=problems())
def test_chances_going_back_are_those_of_summing_in_one_go(problem):
    sizes, factors, steps, _, _ = problem
    found = []
    for at_once in (0, 10_000):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(groups, "STATES_AT_ONCE", at_once)
            weighing = Weighing(sizes, factors, steps)
            found.append([weighing.over(()), *(weighing.chances(name) for name in sizes)])
    for one, other in zip(*found, strict=True):
        np.testing.assert_allclose(np.exp(one), np.exp(other), rtol=1e-10, atol=CLOSE)


@settings(max_examples=80)
@given(problem=problems(), data=st.data())
def test_what_is_held_counts_just_those_values(problem, data):
    sizes, factors, steps, _, _ = problem
    held = {
        name: tuple(sorted(data.draw(st.sets(st.sampled_from(range(sizes[name])), min_size=1))))
        for name in data.draw(st.sets(st.sampled_from(sorted(sizes))))
    }
    weighing = Weighing(sizes, factors, steps)
    spoken = tuple(name for name in sizes if weighing.knows(name))
    joint = weighing.over(spoken)
    kept = [held.get(name, range(sizes[name])) for name in spoken]
    expected = log_sum(np.array([joint[state] for state in product(*kept)]))
    found = weighing.log_total(held)
    assert found == (expected if expected == -inf else pytest.approx(expected, abs=1e-10))
