"""Exact sums by elimination against the full table, a published network and another library.

The other library is pyAgrum (https://agrum.gitlab.io), an independent implementation in C++ of
inference in Bayesian networks; it is a tool for such inference and has nothing to do with the
trade.
"""

from __future__ import annotations

import warnings
from itertools import pairwise, product
from math import inf, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.reason import factors
from ledger.reason.factors import (
    Factor,
    TooTangled,
    log_sum,
    log_sums,
    normalised,
    placed,
)
from ledger.reason.sums import Weighing

with warnings.catch_warnings():
    # Its wrapper classes raise deprecations of the interpreter while they are being imported.
    warnings.simplefilter("ignore")
    import pyagrum as gum

CLOSE = 1e-12


# -- the full table ------------------------------------------------------------------------------


@st.composite
def problems(draw):
    """A few variables of two to four values, a short axis, and factors over up to three of them."""
    steps = draw(st.integers(1, 5))
    names = [f"v{i}" for i in range(draw(st.integers(1, 5)))]
    sizes = {name: draw(st.integers(2, 4)) for name in names}
    count = draw(st.integers(1, 7))
    dice = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    nothing = draw(st.sampled_from([0.0, 0.2, 0.5]))
    found = []
    for _ in range(count):
        scope = tuple(draw(st.permutations(names))[: draw(st.integers(0, min(3, len(names))))])
        length = steps if draw(st.booleans()) else 1
        weights = dice.uniform(0.01, 1.0, (*(sizes[name] for name in scope), length))
        weights[dice.uniform(size=weights.shape) < nothing] = 0.0
        found.append((scope, weights))
    return sizes, found, steps


def full_table(sizes, weights, steps):
    """Every state of every variable at every step, each multiplied out by itself."""
    names = sorted(sizes)
    table = np.empty((*(sizes[name] for name in names), steps))
    for state in product(*(range(sizes[name]) for name in names)):
        value = dict(zip(names, state, strict=True))
        for step in range(steps):
            weight = 1.0
            for scope, given_weights in weights:
                at = tuple(value[name] for name in scope)
                weight *= given_weights[(*at, step if given_weights.shape[-1] > 1 else 0)]
            table[(*state, step)] = weight
    return names, table


def weighing_of(sizes, weights, steps):
    with np.errstate(divide="ignore"):
        found = [Factor(scope, np.log(given_weights)) for scope, given_weights in weights]
    return Weighing(sizes, found, steps)


def summed(table, names, keep):
    """The table with everything summed out but ``keep`` and the date, axes in their order."""
    others = tuple(i for i, name in enumerate(names) if name not in keep)
    left = [name for name in names if name in keep]
    return np.transpose(table.sum(axis=others), (*(left.index(name) for name in keep), len(left)))


@settings(max_examples=120)
@given(problem=problems(), data=st.data())
def test_sums_over_any_scope_are_those_of_the_full_table(problem, data):
    sizes, weights, steps = problem
    names, table = full_table(*problem)
    scope = data.draw(st.permutations(names))[: data.draw(st.integers(0, min(3, len(names))))]
    found = np.exp(weighing_of(*problem).over(tuple(scope)))
    # Variables of which no factor speaks are in the table, and count once for each value.
    unspoken = [n for n in names if n not in scope and not any(n in s for s, _ in weights)]
    scale = np.prod([sizes[name] for name in unspoken])
    assert found.shape == (*(sizes[name] for name in scope), steps)
    np.testing.assert_allclose(found * scale, summed(table, names, scope), rtol=CLOSE, atol=0)


@settings(max_examples=120)
@given(problem=problems())
def test_shares_of_steps_and_values_are_those_of_the_full_table(problem):
    names, table = full_table(*problem)
    weighing = weighing_of(*problem)
    total = table.sum()
    expected = table.sum(axis=tuple(range(len(names))))
    expected = expected / total if total else np.zeros(problem[2])
    np.testing.assert_allclose(weighing.weights(), expected, rtol=CLOSE, atol=CLOSE)
    for i, name in enumerate(names):
        of_value = table.sum(axis=tuple(j for j in range(table.ndim) if j != i))
        if total:
            np.testing.assert_allclose(
                weighing.chances(name), of_value / total, rtol=CLOSE, atol=CLOSE
            )
        elif weighing.knows(name):
            assert not weighing.chances(name).any()


@settings(max_examples=80)
@given(problem=problems())
def test_the_total_is_that_of_the_full_table(problem):
    sizes, weights, _ = problem
    names, table = full_table(*problem)
    unspoken = [name for name in names if not any(name in scope for scope, _ in weights)]
    total = table.sum() / np.prod([sizes[name] for name in unspoken])
    found = weighing_of(*problem).log_total()
    if total == 0:
        assert found == -inf
    else:
        assert found == pytest.approx(log(total), rel=CLOSE, abs=1e-11)


@settings(max_examples=60)
@given(problem=problems(), data=st.data())
def test_what_was_summed_before_is_not_mistaken_for_something_else(problem, data):
    sizes, weights, steps = problem
    memo = {}
    with np.errstate(divide="ignore"):
        pool = [Factor(scope, np.log(given_weights)) for scope, given_weights in weights]
    for _ in range(4):
        chosen = data.draw(st.lists(st.sampled_from(pool), unique_by=id, min_size=1))
        fresh = Weighing(sizes, chosen, steps)
        again = Weighing(sizes, chosen, steps, memo)
        for name in sizes:
            np.testing.assert_allclose(again.chances(name), fresh.chances(name), atol=CLOSE)
        np.testing.assert_allclose(again.over(()), fresh.over(()), atol=1e-10)


@settings(max_examples=60)
@given(problem=problems())
def test_the_order_in_which_factors_come_moves_nothing_but_rounding(problem):
    sizes, weights, steps = problem
    there = weighing_of(*problem)
    back = weighing_of(sizes, weights[::-1], steps)
    for name in sizes:
        np.testing.assert_allclose(there.chances(name), back.chances(name), rtol=CLOSE, atol=CLOSE)


# -- small things --------------------------------------------------------------------------------


def test_a_variable_of_which_nothing_speaks_is_even():
    weighing = Weighing({"a": 2, "b": 4}, [Factor(("a",), np.log([[0.2], [0.8]]))], 3)
    assert weighing.chances("b").tolist() == [0.25] * 4
    assert not weighing.knows("b")


def test_logarithms_far_below_what_a_number_holds_are_summed_all_the_same():
    deep = Factor(("a",), np.array([[-5000.0], [-5000.0 + log(3)]]))
    weighing = Weighing({"a": 2}, [deep], 1)
    np.testing.assert_allclose(weighing.chances("a"), [0.25, 0.75], rtol=1e-12)
    assert weighing.log_total() == pytest.approx(-5000 + log(4))


def test_nothing_summed_is_nothing_and_never_not_a_number():
    impossible = np.full((3, 2), -inf)
    assert np.isneginf(log_sums(impossible)).all()
    assert log_sum(impossible) == -inf
    assert not normalised(impossible).any()


def test_evidence_that_nothing_explains_leaves_no_chance_anywhere():
    one = Factor(("a",), np.array([[0.0], [-inf]]))
    other = Factor(("a",), np.array([[-inf], [0.0]]))
    weighing = Weighing({"a": 2}, [one, other], 4)
    assert weighing.log_total() == -inf
    assert not weighing.weights().any()
    assert not weighing.chances("a").any()


def test_a_table_is_turned_to_the_order_of_the_scope():
    table = np.arange(6.0).reshape(2, 3, 1)
    found = placed(("a", "b"), table, ("b", "c", "a"))
    assert found.shape == (3, 1, 2, 1)
    assert found[2, 0, 1, 0] == table[1, 2, 0]


def test_what_is_too_tangled_is_refused_with_its_size(monkeypatch):
    monkeypatch.setattr(factors, "CELLS_AT_MOST", 1000)
    names = [f"v{i}" for i in range(6)]
    sizes = dict.fromkeys(names, 4)
    pairs = [(a, b) for a in names for b in names if a < b]
    ties = [Factor(pair, np.zeros((4, 4, 1))) for pair in pairs]
    with pytest.raises(TooTangled) as told:
        Weighing(sizes, ties, 10).over(())
    assert told.value.cells == 4**6
    assert set(told.value.variables) == set(names)
    assert "4,096 cells" in str(told.value)
    assert "6 choices" in str(told.value)


def test_the_size_that_is_told_counts_the_date_axis(monkeypatch):
    monkeypatch.setattr(factors, "CELLS_AT_MOST", 1000)
    tie = Factor(("a", "b"), np.zeros((8, 8, 20)))
    with pytest.raises(TooTangled) as told:
        Weighing({"a": 8, "b": 8}, [tie], 20).over(())
    assert told.value.cells == 8 * 8 * 20


def test_a_long_chain_of_choices_is_not_too_tangled():
    names = [f"v{i:03}" for i in range(120)]
    ties = [Factor(pair, np.log([[[0.9], [0.1]], [[0.2], [0.8]]])) for pair in pairwise(names)]
    start = Factor((names[0],), np.log([[1.0], [1e-300]]))
    found = Weighing(dict.fromkeys(names, 2), [start, *ties], 3).chances(names[-1])
    # The long run of a chain with these two ways of going over: 2/3 and 1/3.
    np.testing.assert_allclose(found, [2 / 3, 1 / 3], rtol=1e-9)


# -- a published network -------------------------------------------------------------------------

# Lauritzen and Spiegelhalter, "Local computations with probabilities on graphical structures and
# their application to expert systems", Journal of the Royal Statistical Society B 50 (1988),
# 157-224, the example of section 2: a visit, smoking, tuberculosis, lung cancer, bronchitis,
# either of the first two, X-ray, dyspnoea. Value 1 is yes.
YES = 1


def of_one(share):
    return [[1 - share], [share]]


def given_one(without, with_it):
    return [of_one(without), of_one(with_it)]


def dyspnoea_network(**seen):
    either = np.zeros((2, 2, 2, 1))
    for tuberculosis, cancer in product((0, 1), repeat=2):
        either[tuberculosis, cancer, int(tuberculosis or cancer)] = 1
    breath = [[of_one(0.1), of_one(0.8)], [of_one(0.7), of_one(0.9)]]
    tables = {
        ("visit",): of_one(0.01),
        ("smoking",): of_one(0.5),
        ("visit", "tuberculosis"): given_one(0.01, 0.05),
        ("smoking", "cancer"): given_one(0.01, 0.10),
        ("smoking", "bronchitis"): given_one(0.3, 0.6),
        ("tuberculosis", "cancer", "either"): either,
        ("either", "x-ray"): given_one(0.05, 0.98),
        ("either", "bronchitis", "dyspnoea"): breath,
    }
    for name, value in seen.items():
        tables[name.replace("_", "-"), ""] = value
    with np.errstate(divide="ignore"):
        found = [
            Factor((scope[0],), np.log(np.eye(2)[table][:, None]))
            if scope[-1] == ""
            else Factor(scope, np.log(np.array(table, dtype=float)))
            for scope, table in tables.items()
        ]
    names = {name for scope in tables for name in scope if name}
    return Weighing(dict.fromkeys(names, 2), found, 1)


@pytest.mark.parametrize(
    ("name", "chance"),
    [
        ("tuberculosis", 0.0104),
        ("cancer", 0.055),
        ("bronchitis", 0.45),
        ("either", 0.064828),
        ("x-ray", 0.11029004),
        ("dyspnoea", 0.4359706),
    ],
    ids=str,
)
def test_the_network_of_1988_has_its_chances_before_anything_is_seen(name, chance):
    assert dyspnoea_network().chances(name)[YES] == pytest.approx(chance, abs=5e-9)


POSTERIORS = [
    (
        {"visit": 1, "dyspnoea": 1},
        {"tuberculosis": 0.0878, "cancer": 0.0995, "bronchitis": 0.8114, "either": 0.1823},
    ),
    (
        {"visit": 1, "smoking": 0, "dyspnoea": 1},
        {"tuberculosis": 0.1128, "cancer": 0.0226, "bronchitis": 0.7179},
    ),
    (
        {"visit": 1, "dyspnoea": 1, "x_ray": 1},
        {"tuberculosis": 0.3917, "cancer": 0.4443, "bronchitis": 0.6288, "either": 0.8138},
    ),
    ({"x_ray": 1}, {"tuberculosis": 0.0924, "cancer": 0.4887, "bronchitis": 0.5063}),
]


@pytest.mark.parametrize(
    ("seen", "posteriors"),
    POSTERIORS,
    ids=["visit and dyspnoea", "and no smoking", "and an x-ray", "an x-ray alone"],
)
def test_the_network_of_1988_has_its_posteriors(seen, posteriors):
    network = dyspnoea_network(**seen)
    found = {name: round(float(network.chances(name)[YES]), 4) for name in posteriors}
    assert found == posteriors


def test_the_network_of_1988_has_the_chance_of_what_was_seen():
    total = np.exp(dyspnoea_network(visit=1, dyspnoea=1).log_total())
    assert total == pytest.approx(0.00450138, abs=5e-9)


# -- another library -----------------------------------------------------------------------------

NETWORKS = 200
BATCH = 25


def random_case(seed):
    """A network as cases give them: shared yes-or-no doubts, ways of parts, one date axis.

    Returns the sizes, the conditional tables as (parents, child, table) and the axis: prior first.
    """
    dice = np.random.default_rng(seed)
    steps = int(dice.integers(20, 120))
    doubts = [f"doubt{i}" for i in range(dice.integers(3, 9))]
    ways = [f"way{i}" for i in range(dice.integers(4, 15))]
    sizes = {**dict.fromkeys(doubts, 2), **dict.fromkeys(ways, 4), "date": steps}
    tables = [((), name, dice.dirichlet(np.ones(sizes[name]))) for name in doubts]
    for i, name in enumerate(ways):
        parent = (str(dice.choice(ways[:i])),) if i and dice.uniform() < 0.25 else ()
        shape = tuple(sizes[each] for each in parent)
        tables.append((parent, name, dice.dirichlet(np.ones(4), size=shape)))
    tables.append(((), "date", np.full(steps, 1 / steps)))
    for i, name in enumerate([*ways, *doubts]):
        seen = f"seen{i}"
        sizes[seen] = 2
        others = dice.choice(doubts, size=dice.integers(0, 2), replace=False).tolist()
        parents = tuple(dict.fromkeys(["date", name, *others]))
        shape = tuple(sizes[each] for each in parents)
        chance = dice.beta(0.3, 2.0, size=shape) + 1e-6
        tables.append((parents, seen, np.stack([1 - chance, chance], axis=-1)))
    return sizes, tables, steps


def by_elimination(sizes, tables, steps):
    """Our own weighing of the case, all that was to be seen having been seen."""
    found = []
    for parents, child, table in tables:
        if child == "date":
            continue
        if child.startswith("seen"):
            rest = tuple(name for name in parents if name != "date")
            found.append(Factor(rest, np.log(np.moveaxis(table[..., 1], 0, -1))))
        else:
            found.append(Factor((*parents, child), np.log(table)[..., None]))
    return Weighing(sizes, found, steps)


def by_pyagrum(sizes, tables):
    network = gum.BayesNet()
    for name, size in sizes.items():
        network.add(gum.LabelizedVariable(name, name, size))
    for parents, child, table in tables:
        for parent in parents:
            network.addArc(parent, child)
        order = network.cpt(child).names
        # The names are from the last axis to the first in the array's own order.
        axes = [(*parents, child).index(name) for name in reversed(order)]
        network.cpt(child).fillWith(np.transpose(table, axes).reshape(-1).tolist())
    engine = gum.LazyPropagation(network)
    engine.setEvidence({name: 1 for name in sizes if name.startswith("seen")})
    engine.makeInference()
    return engine


@pytest.mark.parametrize(
    "first", range(0, NETWORKS, BATCH), ids=lambda first: f"{first} to {first + BATCH - 1}"
)
def test_random_networks_of_realistic_size_have_the_posteriors_of_another_library(first):
    for seed in range(first, first + BATCH):
        sizes, tables, steps = random_case(seed)
        ours, theirs = by_elimination(sizes, tables, steps), by_pyagrum(sizes, tables)
        weeks = theirs.posterior("date").toarray()
        np.testing.assert_allclose(ours.weights(), weeks, rtol=0, atol=1e-9)
        for name in sizes:
            if name != "date" and not name.startswith("seen"):
                theirs_of_it = theirs.posterior(name).toarray()
                np.testing.assert_allclose(ours.chances(name), theirs_of_it, rtol=0, atol=1e-9)
