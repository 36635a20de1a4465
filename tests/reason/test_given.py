"""What is given is struck out of a network: held against asking the whole network."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Spans
from ledger.reason.given import NOTHING_GIVEN, Given, settled
from ledger.reason.network import Bound, Clash, Network, Relation
from ledger.reason.tighten import Tightener

NAMES = ("a", "b", "c", "d")
MOMENTS = ("x", "y", "z")
named = st.lists(st.sampled_from(NAMES), max_size=2, unique=True).map(tuple)
clashing = st.lists(st.sampled_from(NAMES), min_size=1, max_size=2, unique=True).map(tuple)
days = st.tuples(st.integers(0, 9), st.integers(0, 9)).map(sorted)


@st.composite
def networks(draw):
    bounds = [
        Bound(f"bound.{i}", draw(st.sampled_from(MOMENTS)), Spans.between(*span), "", "", (), names)
        for i, (span, names) in enumerate(draw(st.lists(st.tuples(days, named), max_size=4)))
    ]
    pairs = st.permutations(MOMENTS).map(lambda found: found[:2])
    relations = [
        Relation(f"relation.{i}", *pair, gap, "", "", (), names)
        for i, (pair, gap, names) in enumerate(
            draw(st.lists(st.tuples(pairs, st.integers(0, 2), named), max_size=4))
        )
    ]
    clashes = [
        Clash(f"clash.{i}", "", "", (), names)
        for i, names in enumerate(draw(st.lists(clashing, max_size=2)))
    ]
    return Network(bounds, relations, clashes)


@settings(max_examples=120, deadline=None)
@given(network=networks(), holds=named, fails=named, kept=named)
def test_what_can_hold_with_something_given_is_what_can_hold_together_with_it(
    network, holds, fails, kept
):
    fails = tuple(name for name in fails if name not in holds)
    whole, struck = Tightener(network), Tightener(settled(network, Given(holds, fails)))
    together = whole.mask(set(holds) | set(kept) - set(fails))
    assert (struck.conflict_within(struck.mask(kept)) is None) == (
        whole.conflict_within(together) is None
    )


@settings(max_examples=60, deadline=None)
@given(network=networks(), holds=named, fails=named)
def test_no_account_can_give_up_what_is_given(network, holds, fails):
    names = settled(network, Given(holds, fails)).suppositions()
    assert not set(names) & {*holds, *fails}


def test_where_nothing_is_given_the_network_is_the_same():
    network = Network()
    assert settled(network, NOTHING_GIVEN) is network
    assert settled(network, Given(readings=("reading.mark.1",))) is network
