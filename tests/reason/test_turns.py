"""Sums on many terms at once, against the same sums taken one after another."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.reason import groups, turns
from ledger.reason.factors import Factor
from ledger.reason.sums import Weighing
from ledger.reason.turns import Turns

CLOSE = 1e-12


def drawn(dice, scope, sizes, length, nothing):
    weights = dice.uniform(0.01, 1.0, (*(sizes[name] for name in scope), length))
    weights[dice.uniform(size=weights.shape) < nothing] = 0.0
    with np.errstate(divide="ignore"):
        return Factor(scope, np.log(weights))


@st.composite
def problems(draw):
    """Variables tied in a few groups, factors with nothings in them, and other ones turn by turn."""
    steps = draw(st.integers(2, 5))
    names = [f"v{i}" for i in range(draw(st.integers(1, 6)))]
    sizes = {name: draw(st.integers(2, 3)) for name in names}
    dice = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    nothing = draw(st.sampled_from([0.0, 0.0, 0.3]))
    factors = []
    for _ in range(draw(st.integers(1, 8))):
        scope = tuple(draw(st.permutations(names))[: draw(st.integers(0, min(3, len(names))))])
        factors.append(drawn(dice, scope, sizes, draw(st.sampled_from([1, steps])), nothing))
    changes = [
        {
            factors[i]: drawn(
                dice, factors[i].variables, sizes, min(len(factors[i].table.T), steps), nothing
            )
            for i in draw(st.sets(st.sampled_from(range(len(factors)))))
        }
        for _ in range(draw(st.integers(1, 5)))
    ]
    return sizes, factors, steps, changes


@settings(max_examples=150)
@given(problem=problems(), at_once=st.sampled_from([1, 32]), data=st.data())
def test_all_turns_at_once_are_the_turns_one_after_another(problem, at_once, data):
    sizes, factors, steps, changes = problem
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(groups, "STATES_AT_ONCE", at_once)
        patch.setattr(turns, "CELLS_AT_ONCE", data.draw(st.sampled_from([1, 60, 1 << 18])))
        usual = Weighing(sizes, factors, steps)
        spoken = sorted(name for name in sizes if usual.knows(name))
        values = {name: sizes[name] - 1 for name in spoken}
        found = Turns(usual, changes, values)
        fresh = [
            Weighing(sizes, [changed.get(each, each) for each in factors], steps)
            for changed in changes
        ]
        names, chances = found.chances()
        assert set(names) == set(spoken)
        scope = tuple(data.draw(st.permutations(sorted(sizes)))[:2])
        within, weights, logs = found.over(scope), found.weights(), found.log_totals()
        for turn, alone in enumerate(fresh):
            np.testing.assert_allclose(weights[turn], alone.weights(), rtol=0, atol=CLOSE)
            np.testing.assert_allclose(np.exp(logs[turn]), np.exp(alone.log_total()), atol=CLOSE)
            np.testing.assert_allclose(
                np.exp(within[..., turn, :]), np.exp(alone.over(scope)), rtol=1e-10, atol=CLOSE
            )
            for column, name in enumerate(names):
                expected = alone.chances(name)[values[name]]
                assert chances[turn, column] == pytest.approx(expected, abs=CLOSE)


@settings(max_examples=80)
@given(problem=problems(), data=st.data())
def test_chances_given_others_are_those_of_each_turn(problem, data):
    sizes, factors, steps, changes = problem
    usual = Weighing(sizes, factors, steps)
    spoken = sorted(name for name in sizes if usual.knows(name))
    if not spoken:
        return
    name, *others = data.draw(st.permutations(spoken))
    scope = tuple(others[: data.draw(st.integers(0, 2))])
    values = slice(0, data.draw(st.integers(1, sizes[name])))
    found = Turns(usual, changes).given(name, scope, values)
    for turn, changed in enumerate(changes):
        alone = Weighing(sizes, [changed.get(each, each) for each in factors], steps)
        expected = alone.given(name, scope)[values]
        at = min(turn, found.shape[-2] - 1)
        shape = (*(sizes[each] for each in scope), steps)
        np.testing.assert_allclose(
            *(
                np.broadcast_to(each, (values.stop, *shape))
                for each in (found[..., at, :], expected)
            ),
            rtol=0,
            atol=CLOSE,
        )
