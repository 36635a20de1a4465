"""Costs of sets of suppositions against sums taken anew, and the cheapest of a product against all.

That a sum of floats can be exact and rounded once: J. Shewchuk, "Adaptive precision floating-point
arithmetic", Discrete and Computational Geometry 18 (1997), as ``math.fsum`` does it.
"""

from __future__ import annotations

from itertools import product
from math import fsum, inf, log

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.reason.costs import FURTHER_COST, LEAST_COST, Costs, bits_of, places_of
from ledger.reason.network import Clash, Network, Supposition
from ledger.reason.tighten import Tightener

NAMES = tuple("abcdefgh")
EVERY = (1 << len(NAMES)) - 1
masks = st.integers(0, EVERY)
priors = st.lists(
    st.one_of(st.sampled_from([0.05, 0.5, 0.8, 0.99]), st.floats(0.01, 0.99)),
    min_size=len(NAMES),
    max_size=len(NAMES),
)
groups = st.lists(st.sampled_from(["one", "two", ""]), min_size=len(NAMES), max_size=len(NAMES))


def costs_of(given_priors, given_groups):
    ready = Tightener(Network(clashes=[Clash("c", "", "", (), NAMES)]))
    found = {
        name: Supposition(name, "sound", name, name, prior, "this test", group or name)
        for name, prior, group in zip(NAMES, given_priors, given_groups, strict=True)
    }
    return Costs(ready, found)


def summed(mask, given_priors, given_groups, least):
    """The cost as floats, group by group."""
    dearest = {}
    for i in range(len(NAMES)):
        if mask >> i & 1:
            cost = max(log(given_priors[i] / (1 - given_priors[i])), least)
            group = given_groups[i] or NAMES[i]
            dearest[group] = max(cost, dearest.get(group, -inf))
    return fsum(dearest.values()) + FURTHER_COST * (mask.bit_count() - len(dearest))


@given(priors, groups, masks)
def test_a_cost_is_the_sum_of_the_dearest_of_each_group(given_priors, given_groups, mask):
    costs = costs_of(given_priors, given_groups)
    assert costs.of(mask) == summed(mask, given_priors, given_groups, -inf)
    assert costs.to_search(mask) == summed(mask, given_priors, given_groups, LEAST_COST)


@given(priors, groups, masks)
def test_one_after_another_they_come_to_the_same(given_priors, given_groups, mask):
    costs = costs_of(given_priors, given_groups)
    bill, so_far = (0, 0), 0
    for bit in bits_of(mask):
        bill = costs.and_one_more(bill, so_far, bit)
        so_far |= bit
    assert costs.sum_of(bill) == costs.to_search(mask)


@settings(max_examples=150)
@given(
    priors,
    groups,
    masks,
    st.lists(st.lists(masks, min_size=1, max_size=4), max_size=3),
)
def test_the_cheapest_of_a_product_are_those_of_all_of_it(
    given_priors, given_groups, given_up, families
):
    costs = costs_of(given_priors, given_groups)
    every = set()
    for way in product(*families):
        joined = given_up
        for mask in way:
            joined |= mask
        every.add(joined)
    fresh = costs_of(given_priors, given_groups)
    in_order = sorted(every, key=lambda mask: (fresh.of(mask), mask))
    assert costs.cheapest_joined(given_up, families, 1_000) == in_order
    assert [costs.of(mask) for mask in in_order] == [fresh.of(mask) for mask in in_order]


def test_no_more_are_kept_than_asked_for():
    costs = costs_of([0.9, 0.8] * 4, [""] * len(NAMES))
    assert costs.cheapest_joined(0, [[0b1, 0b10], [0b100, 0b1000]], 2) == [0b1010, 0b110]


@given(masks)
def test_places_are_those_of_the_bits(mask):
    assert [1 << place for place in places_of(mask)] == list(bits_of(mask))
