"""The cheapest sets that meet all conflicts, against all subsets, while conflicts become known.

That the minimal hitting sets of conflicts are what is to be tried: R. Reiter, "A theory of diagnosis
from first principles", Artificial Intelligence 32 (1987) 57-95.
"""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.reason.candidates import Candidates
from ledger.reason.costs import Costs
from ledger.reason.hitting import minimal
from ledger.reason.network import Clash, Network, Supposition
from ledger.reason.tighten import Tightener

NAMES = tuple("abcdefg")
EVERY = range(1 << len(NAMES))
MANY = 10_000
conflicts = st.lists(st.integers(1, len(EVERY) - 1), min_size=1, max_size=8)
weights = st.lists(
    st.tuples(st.sampled_from([0.05, 0.5, 0.8, 0.95]), st.sampled_from(["one", "two", ""])),
    min_size=len(NAMES),
    max_size=len(NAMES),
)


def costs_of(given_weights):
    ready = Tightener(Network(clashes=[Clash("c", "", "", (), NAMES)]))
    found = {
        name: Supposition(name, "sound", name, name, prior, "this test", group or name)
        for name, (prior, group) in zip(NAMES, given_weights, strict=True)
    }
    return Costs(ready, found)


def in_order(costs, known):
    """The minimal sets that meet every known conflict, cheapest first, by trying all sets."""
    meeting = minimal(mask for mask in EVERY if all(mask & each for each in known))
    return sorted(meeting, key=lambda mask: (costs.to_search(mask), mask))


@settings(max_examples=150, deadline=None)
@given(weights, conflicts)
def test_they_come_in_the_order_of_their_costs_and_none_is_left_out(given_weights, given_conflicts):
    costs = costs_of(given_weights)
    candidates = Candidates(costs)
    for conflict in given_conflicts:
        candidates.add(conflict)
    found = []
    while (mask := candidates.cheapest(MANY)) is not None:
        found.append(mask)
        candidates.settle()
    assert found == in_order(costs, given_conflicts)
    assert candidates.are_all()


@settings(max_examples=150, deadline=None)
@given(weights, conflicts)
def test_a_conflict_that_becomes_known_late_is_met_all_the_same(given_weights, given_conflicts):
    costs = costs_of(given_weights)
    candidates, known, left, settled = Candidates(costs), [], list(given_conflicts), []
    while (mask := candidates.cheapest(MANY)) is not None:
        assert mask == next(each for each in in_order(costs, known) if each not in settled)
        unmet = next((each for each in left if not each & mask), None)
        if unmet is None:
            settled.append(mask)
            candidates.settle()
        else:
            known.append(unmet)
            candidates.add(unmet)
    assert settled == in_order(costs, given_conflicts)


def test_a_conflict_of_nothing_leaves_no_candidate():
    candidates = Candidates(costs_of([(0.9, "")] * len(NAMES)))
    candidates.add(0)
    assert candidates.cheapest(MANY) is None
    assert candidates.are_all()


def test_after_so_many_divisions_it_stops_and_says_that_something_is_left():
    candidates = Candidates(costs_of([(0.9, "")] * len(NAMES)))
    for conflict in (0b11, 0b1100, 0b110000):
        candidates.add(conflict)
    assert candidates.cheapest(2) is None
    assert not candidates.are_all()
    assert candidates.cheapest(MANY) is not None
