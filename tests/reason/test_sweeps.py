"""Ends found in the order of the moments, against ends found from a queue, and against the closure.

That the least values that differences leave are unique, so that the order does not matter:
D. Dechter, I. Meiri and J. Pearl, "Temporal constraint networks", Artificial Intelligence 49
(1991), section 2 (from memory); with gaps in the domains: P. Jeavons and M. Cooper, "Tractable
constraints on ordered domains", Artificial Intelligence 79 (1995) (from memory).
"""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Span, Spans
from ledger.reason.domains import OPEN_LOW, Arc, backwards, held_within
from ledger.reason.sweeps import Domains, Side, order_of

MANY = 6
moments = st.integers(0, MANY - 1)
few_bits = st.integers(0, 7)


@st.composite
def runs(draw):
    cuts = sorted(draw(st.sets(st.integers(0, 20), min_size=2, max_size=6)))
    ends = [None if draw(st.booleans()) else cuts[0], *cuts[1:]]
    if len(ends) % 2:
        ends.append(None if draw(st.booleans()) else cuts[-1])
    return Spans.of(Span(first, last) for first, last in zip(ends[::2], ends[1::2], strict=True))


bounds = st.lists(st.tuples(moments, few_bits, runs()), max_size=6)
# No gap is above nothing, so that no circle of relations lets ends move on for ever.
links = st.lists(st.tuples(moments, moments, st.integers(-4, 0), few_bits), max_size=10)


def sides(given_bounds, given_links):
    at = [[] for _ in range(MANY)]
    for i, (moment, mask, spans) in enumerate(given_bounds):
        at[moment].append((i, mask, spans))
    arcs = [Arc(*link, len(given_bounds) + i) for i, link in enumerate(given_links)]
    domains, order = Domains(at), order_of(MANY, arcs)
    turned = [Arc(arc.target, arc.source, *arc[2:]) for arc in arcs]
    return (
        domains,
        Side(domains, arcs, order, is_low=True),
        Side(domains, turned, order.backwards(), is_low=False),
    )


@settings(max_examples=150, deadline=None)
@given(bounds, links, few_bits, st.sets(st.integers(0, 15), max_size=3))
def test_ends_alone_are_those_found_with_their_reasons(given_bounds, given_links, kept, left_out):
    _, low, high = sides(given_bounds, given_links)
    without = frozenset(left_out)
    for side, sign in ((low, 1), (high, -1)):
        ends, passed = side.ends(kept, without), side.tightened(kept, without)
        assert (ends is None) == (passed.conflict is not None)
        if ends is not None:
            assert [sign * end for end in ends] == passed.ends


@settings(max_examples=100, deadline=None)
@given(bounds, links, few_bits)
def test_the_ends_are_the_least_that_bounds_and_relations_leave(given_bounds, given_links, kept):
    domains, low, _ = sides(given_bounds, given_links)
    ends = low.ends(kept)
    assume(ends is not None)
    days = domains.all(kept, frozenset(), (), is_low=True)
    in_force = [link for link in given_links if not link[3] & ~kept]
    for at, end in enumerate(ends):
        pushed = [ends[a] + gap for a, b, gap, _ in in_force if b == at and ends[a] != OPEN_LOW]
        firsts = [
            max(first, least)
            for first, last in zip(days[at].firsts, days[at].lasts, strict=True)
            for least in (max(pushed, default=OPEN_LOW),)
            if last >= least
        ]
        assert end >= min(firsts)


@settings(max_examples=100, deadline=None)
@given(bounds, links, few_bits, moments, runs())
def test_narrowing_one_moment_is_as_if_it_had_been_held_from_the_start(
    given_bounds, given_links, kept, at, spans
):
    _, low, high = sides(given_bounds, given_links)
    for side in (low, high):
        before = side.settled(kept)
        if before is None:
            continue
        whole = before.domains[at]
        domain = (
            held_within(whole, spans)
            if side is low
            else backwards(held_within(backwards(whole), spans))
        )
        narrowed = side.narrowed(before, kept, at, domain)
        assert (None if narrowed is None else narrowed.ends) == side.ends(kept, held=((at, spans),))


@given(links)
def test_the_order_holds_every_moment_once_and_follows_the_relations(given_links):
    arcs = [Arc(*link, i) for i, link in enumerate(given_links)]
    order = order_of(MANY, arcs)
    whole = [*order.first, *order.circling, *order.last]
    assert sorted(whole) == list(range(MANY))
    place = {at: i for i, at in enumerate(whole)}
    circling = set(order.circling)
    for arc in arcs:
        if not {arc.source, arc.target} <= circling:
            assert place[arc.source] < place[arc.target]
