"""Conflicts and the smallest sets to give up, against all subsets and against published circuits.

Published values: R. Reiter, "A theory of diagnosis from first principles", Artificial
Intelligence 32 (1987) 57-95 (the full adder; the collection of sets whose minimal hitting sets
are found; both from memory); J. de Kleer and B. C. Williams, "Diagnosing multiple faults",
Artificial Intelligence 32 (1987) 97-130 (two adders over three multipliers, from memory). The
conflicts of the circuits are not quoted but worked out below, by trying all values on every wire.
"""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Span, Spans
from ledger.reason.costs import bits_of
from ledger.reason.hitting import (
    Costs,
    Limits,
    account_at_once,
    minimal,
    minimal_conflict,
    minimal_hitting_sets,
    search,
)
from ledger.reason.network import Bound, Clash, Network, Supposition
from ledger.reason.reconcile import reconcile
from ledger.reason.tighten import Tightener


def clashes_of(families):
    return Network(
        clashes=[Clash(f"c{i}", "", "", (), tuple(sorted(f))) for i, f in enumerate(families)]
    )


def supposition(name, prior=0.9, group=None):
    return Supposition(name, "sound", name, name, prior, "for this test", group or name)


def even_costs(ready):
    return Costs(ready, {name: supposition(name) for name in ready.names})


def smallest(sets):
    found = {frozenset(one) for one in sets}
    return {one for one in found if not any(other < one for other in found)}


def named(ready, masks):
    return {frozenset(ready.named(mask)) for mask in masks}


def subsets_of(names):
    return [set(c) for n in range(len(names) + 1) for c in combinations(sorted(names), n)]


# -- hitting sets ---------------------------------------------------------------------------------

masks = st.lists(st.integers(1, 127), max_size=7)


@given(masks)
def test_hitting_sets_are_all_smallest_sets_that_meet_every_family(families):
    hitting = [m for m in range(1, 128) if all(m & family for family in families)]
    expected = {m for m in hitting if not any(o != m and o & m == o for o in hitting)}
    assert set(minimal_hitting_sets(families)) == (expected if families else set())


@given(masks.filter(len))
def test_the_hitting_sets_of_the_hitting_sets_are_the_smallest_of_the_families(families):
    assert set(minimal_hitting_sets(minimal_hitting_sets(families))) == set(minimal(families))


@given(st.integers(0, 1 << 40))
def test_the_bits_of_a_mask_make_it_up_lowest_first(mask):
    bits = list(bits_of(mask))
    assert sum(bits) == mask
    assert bits == sorted(bits)
    assert all(bit.bit_count() == 1 for bit in bits)


def test_the_published_collection_has_the_published_hitting_sets():
    families = [{2, 4, 5}, {1, 2, 3}, {1, 3, 5}, {2, 4, 6}, {2, 4}, {2, 3, 5}, {1, 6}]
    found = minimal_hitting_sets(sum(1 << n for n in family) for family in families)
    as_sets = {frozenset(n for n in range(1, 7) if mask >> n & 1) for mask in found}
    published = [{1, 2}, {1, 3, 4}, {1, 4, 5}, {2, 3, 6}, {2, 5, 6}, {3, 4, 6}]
    assert as_sets == {frozenset(one) for one in published}


# -- the search -----------------------------------------------------------------------------------

families_of_names = st.lists(
    st.sets(st.sampled_from("abcdefg"), min_size=1, max_size=4), min_size=1, max_size=7
)
priors = st.lists(st.sampled_from([0.05, 0.3, 0.5, 0.8, 0.9, 0.99]), min_size=7, max_size=7)
groups = st.lists(st.sampled_from(["one", "two", None]), min_size=7, max_size=7)


def drawn_costs(ready, given_priors, given_groups):
    named_priors = dict(zip("abcdefg", given_priors, strict=True))
    named_groups = dict(zip("abcdefg", given_groups, strict=True))
    return Costs(ready, {n: supposition(n, named_priors[n], named_groups[n]) for n in ready.names})


@given(families_of_names, priors, groups)
def test_the_search_finds_all_smallest_sets_to_give_up_whatever_they_cost(
    families, given_priors, given_groups
):
    ready = Tightener(clashes_of(families))
    conflicts = []
    costs = drawn_costs(ready, given_priors, given_groups)
    found = search(ready, costs, (0, 0), conflicts, Limits())
    expected = smallest(
        s for s in subsets_of(ready.names) if all(s & family for family in families)
    )
    assert found.is_complete
    assert named(ready, found.accounts) == expected
    assert len(found.accounts) == len(expected)
    assert named(ready, conflicts) <= smallest(families)


@given(families_of_names, priors, groups)
def test_the_search_meets_the_cheapest_first(families, given_priors, given_groups):
    ready = Tightener(clashes_of(families))
    costs = drawn_costs(ready, given_priors, given_groups)
    found = search(ready, costs, (0, 0), [], Limits())
    to_search = [costs.to_search(mask) for mask in found.accounts]
    assert to_search == sorted(to_search)


@given(families_of_names, st.sets(st.sampled_from("abcdefg")), st.sets(st.sampled_from("abcdefg")))
def test_what_is_given_up_or_insisted_on_is_taken_as_given(families, given_up, insisted_on):
    given_up -= insisted_on
    ready = Tightener(clashes_of(families))
    both = (ready.mask(given_up), ready.mask(insisted_on))
    found = search(ready, even_costs(ready), both, [], Limits())
    free = set(ready.names) - given_up - insisted_on
    expected = smallest(
        s for s in subsets_of(free) if all((s | given_up) & family for family in families)
    )
    assert named(ready, found.accounts) == expected


@given(families_of_names, st.integers(1, 3), st.integers(1, 4))
def test_a_search_that_stops_early_says_so_and_gives_true_ones(families, accounts, questions):
    ready = Tightener(clashes_of(families))
    found = search(ready, even_costs(ready), (0, 0), [], Limits(accounts, questions))
    expected = smallest(
        s for s in subsets_of(ready.names) if all(s & family for family in families)
    )
    assert named(ready, found.accounts) <= expected
    assert found.is_complete == (named(ready, found.accounts) == expected)


@given(families_of_names, priors, groups, st.integers(0, 6))
def test_a_search_that_may_divide_only_so_often_says_so(
    families, given_priors, given_groups, divisions
):
    ready = Tightener(clashes_of(families))
    costs = drawn_costs(ready, given_priors, given_groups)
    found = search(ready, costs, (0, 0), [], Limits(divisions=divisions))
    expected = search(ready, costs, (0, 0), [], Limits()).accounts
    assert found.divisions <= divisions
    assert found.accounts == expected[: len(found.accounts)]
    # It may have met the last one without having seen that it is the last.
    assert found.accounts == expected or not found.is_complete
    enough = search(ready, costs, (0, 0), [], Limits(divisions=1_000))
    assert enough.is_complete
    assert enough.accounts == expected


@given(families_of_names, priors, groups, st.sets(st.sampled_from("abcdefg")))
def test_one_account_is_found_at_once_or_there_is_none(
    families, given_priors, given_groups, insisted_on
):
    ready = Tightener(clashes_of(families))
    costs = drawn_costs(ready, given_priors, given_groups)
    given_masks, conflicts = (0, ready.mask(insisted_on)), []
    found = account_at_once(ready, costs, given_masks, conflicts)
    every = search(ready, costs, given_masks, [], Limits()).accounts
    assert (found in every) if every else found is None
    assert named(ready, conflicts) <= smallest(families)


@given(families_of_names)
def test_a_conflict_made_minimal_cannot_spare_anything(families):
    ready = Tightener(clashes_of(families))
    found = minimal_conflict(ready, ready.everything)
    assert frozenset(ready.named(found)) in smallest(families)
    accounts = minimal_hitting_sets(ready.mask(family) for family in families)
    assert minimal_conflict(ready, ready.everything & ~accounts[0]) is None


def test_a_conflict_that_shrinks_by_more_than_one_is_followed():
    # Without s the clash of t, u and v is not met first, but t alone is enough.
    wide, narrow = Spans.between(1, 5), Spans.between(9, 9)
    network = Network(
        bounds=[Bound("b", "x", wide, "", "", (), ("t",)), Bound("n", "x", narrow, "", "", (), ())],
        clashes=[Clash("c", "", "", (), ("s", "t", "u", "v"))],
    )
    ready = Tightener(network)
    assert ready.named(minimal_conflict(ready, ready.everything)) == ("t",)


@settings(max_examples=60)
@given(priors, groups, st.integers(0, 127), st.integers(0, 127))
def test_a_larger_set_is_never_cheaper_to_search(given_priors, given_groups, one, other):
    ready = Tightener(clashes_of(["abcdefg"]))
    costs = drawn_costs(ready, given_priors, given_groups)
    assert costs.to_search(one) <= costs.to_search(one | other)


def test_several_of_one_group_cost_little_more_than_the_dearest():
    ready = Tightener(clashes_of(["abc"]))
    of = {
        "a": supposition("a", 0.9, "g"),
        "b": supposition("b", 0.8, "g"),
        "c": supposition("c", 0.9),
    }
    costs = Costs(ready, of)
    one, both, apart = (costs.of(ready.mask(names)) for names in ("a", "ab", "ac"))
    assert one == pytest.approx(2.1972, abs=1e-4)  # log 9
    assert one < both < one + 0.1
    assert apart == pytest.approx(2 * one)


# -- published circuits ---------------------------------------------------------------------------


def conflicts_of_circuit(gates, given_values, values):
    """Smallest sets of gates that cannot all work, by trying every value on every wire."""
    wires = sorted({wire for _, ins, out in gates.values() for wire in (*ins, out)})
    free = [wire for wire in wires if wire not in given_values]
    working = set()
    for chosen in product(values, repeat=len(free)):
        on = given_values | dict(zip(free, chosen, strict=True))
        works = frozenset(
            name for name, (of, ins, out) in gates.items() if of(*(on[i] for i in ins)) == on[out]
        )
        working.add(works)
    return smallest(s for s in subsets_of(gates) if not any(s <= works for works in working))


def both(one, other):
    return one & other


def either(one, other):
    return one | other


def one_only(one, other):
    return one ^ other


FULL_ADDER = {
    "X1": (one_only, ("in1", "in2"), "half"),
    "X2": (one_only, ("half", "carry in"), "sum"),
    "A1": (both, ("in1", "in2"), "both"),
    "A2": (both, ("half", "carry in"), "carried"),
    "O1": (either, ("both", "carried"), "carry"),
}


def times(one, other):
    return one * other


def plus(one, other):
    return one + other


POLYBOX = {
    "M1": (times, "AC", "X"),
    "M2": (times, "BD", "Y"),
    "M3": (times, "CE", "Z"),
    "A1": (plus, "XY", "F"),
    "A2": (plus, "YZ", "G"),
}
CIRCUITS = {
    "full adder": (
        FULL_ADDER,
        {"in1": 1, "in2": 0, "carry in": 1, "sum": 1, "carry": 0},
        (0, 1),
        [{"X1", "X2"}, {"X1", "A2", "O1"}],
        [{"X1"}, {"X2", "O1"}, {"X2", "A2"}],
    ),
    "polybox": (
        POLYBOX,
        {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3, "F": 10, "G": 12},
        range(14),
        [{"M1", "M2", "A1"}, {"M1", "M3", "A1", "A2"}],
        [{"M1"}, {"A1"}, {"M2", "M3"}, {"M2", "A2"}],
    ),
}


@pytest.mark.parametrize("name", CIRCUITS)
def test_the_published_circuits_have_the_published_conflicts_and_diagnoses(name):
    gates, given_values, values, conflicts, diagnoses = CIRCUITS[name]
    worked_out = conflicts_of_circuit(gates, given_values, values)
    assert worked_out == {frozenset(one) for one in conflicts}
    ready = Tightener(clashes_of(worked_out))
    found = reconcile(ready, even_costs(ready))
    assert named(ready, found.conflicts) == {frozenset(one) for one in conflicts}
    assert named(ready, found.accounts) == {frozenset(one) for one in diagnoses}
    assert found.is_complete
    assert named(ready, found.accounts[:1]) <= {
        frozenset(one) for one in diagnoses if len(one) == 1
    }


def test_a_wire_held_at_two_values_is_a_conflict_of_the_gates_that_say_so():
    # The sum wire of the adder, each value standing for a day: 0 by the gates, 1 as seen.
    network = Network(
        bounds=[
            Bound("by the gates", "sum", Spans.of([Span(0, 0)]), "", "", (), ("X1", "X2")),
            Bound("as seen", "sum", Spans.of([Span(1, 1)]), "", "", (), ()),
        ]
    )
    ready = Tightener(network)
    assert named(ready, reconcile(ready, even_costs(ready)).accounts) == {
        frozenset({"X1"}),
        frozenset({"X2"}),
    }
