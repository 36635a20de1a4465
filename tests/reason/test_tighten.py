"""The tightening against a day-by-day search, and against published networks.

The search below works on single days: it tries them one after another, and looks ahead only by
striking out days that nothing on the other side of a relation fits. Its verdicts are those of
brute force.

Published values: Dechter, Meiri and Pearl, "Temporal constraint networks", Artificial
Intelligence 49 (1991) 61-95, figures quoted from memory, days standing for its minutes; that arc
consistency decides differences but does not leave only possible days: Jeavons and Cooper,
"Tractable constraints on ordered domains", Artificial Intelligence 79 (1995) 327-339 (the example
is our own, checked below by search).
"""

from __future__ import annotations

from functools import reduce
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.spans import EVER, NO_DAY, Span, Spans
from ledger.reason.network import Bound, Clash, Network, Relation
from ledger.reason.tighten import Tightener

MOMENTS = ("m0", "m1", "m2", "m3", "m4")
NAMES = ("s0", "s1", "s2", "s3")
LAST_DAY = 11
WIDEST_GAP = 4
# Four gaps in a row move an end by 16 days at most; an end beyond that is open.
REACH = WIDEST_GAP * (len(MOMENTS) - 1)
ASKED = range(-REACH - 2, LAST_DAY + REACH + 3)
WINDOW = range(ASKED.start - REACH - 2, ASKED.stop + REACH + 2)
WHOLE = (1 << len(WINDOW)) - 1


# -- the search -----------------------------------------------------------------------------------


def days_as_bits(spans):
    return sum(1 << i for i, day in enumerate(WINDOW) if day in spans)


def struck(domains, relations):
    """The days left when those without a fitting day on the other side of a relation are out."""
    left = dict(domains)
    is_done = False
    while not is_done and all(left.values()):
        is_done = True
        for one in relations:
            least = max(0, (left[one.earlier] & -left[one.earlier]).bit_length() - 1 + one.gap_days)
            later = (left[one.later] >> least) << least
            many = max(0, left[one.later].bit_length() - one.gap_days)
            earlier = left[one.earlier] & ((1 << many) - 1)
            if (earlier, later) != (left[one.earlier], left[one.later]):
                left[one.earlier], left[one.later] = earlier, later
                is_done = False
                break
    return left


def is_solvable(domains, relations):
    """Whether there is a day in the window for every moment; days are tried one by one."""
    left = struck(domains, relations)
    if not all(left.values()):
        return False
    open_ones = [at for at, days in left.items() if days & (days - 1)]
    if not open_ones:
        return all(
            left[one.earlier].bit_length() + one.gap_days <= left[one.later].bit_length()
            for one in relations
        )
    at = min(open_ones, key=lambda m: left[m].bit_count())
    days = left[at]
    while days:
        day = days & -days
        if is_solvable(left | {at: day}, relations):
            return True
        days ^= day
    return False


class Search:
    """Every question answered by trying days."""

    def __init__(self, network, held=frozenset()):
        self.held = set(held)
        in_force = [c for c in network.constraints() if set(c.suppositions) <= self.held]
        self.clashes = [c for c in in_force if isinstance(c, Clash)]
        self.relations = [c for c in in_force if isinstance(c, Relation)]
        self.domains = dict.fromkeys(network.moments(), WHOLE)
        for bound in in_force:
            if isinstance(bound, Bound):
                self.domains[bound.moment] &= days_as_bits(bound.spans)

    def holds(self, moment=None, spans=EVER):
        if self.clashes:
            return False
        domains = dict(self.domains)
        if moment is not None:
            domains[moment] &= days_as_bits(spans)
        return is_solvable(domains, self.relations)

    def possible(self, moment):
        return {day for day in ASKED if self.holds(moment, Spans.between(day, day))}

    def ends(self, moment):
        days = self.possible(moment)
        first, last = min(days), max(days)
        return (
            None if first == ASKED[0] else first,
            None if last == ASKED[-1] else last,
        )


def asked(spans):
    return {day for day in ASKED if day in spans}


# -- networks -------------------------------------------------------------------------------------


@st.composite
def unions_of_spans(draw):
    cuts = draw(st.lists(st.integers(0, LAST_DAY), min_size=1, max_size=6, unique=True))
    cuts.sort()
    open_low, open_high = draw(st.booleans()), draw(st.booleans())
    ends = [None] * open_low + cuts
    if len(ends) % 2:
        ends.append(None if open_high else ends[-1])
    return Spans.of(Span(first, last) for first, last in zip(ends[::2], ends[1::2], strict=True))


def supposed(most):
    return st.lists(st.sampled_from(NAMES), max_size=most, unique=True).map(tuple)


@st.composite
def networks(draw):
    moments = MOMENTS[: draw(st.integers(3, 5))]
    bounds = draw(
        st.lists(st.tuples(st.sampled_from(moments), unions_of_spans(), supposed(2)), max_size=6)
    )
    pairs = [(one, other) for one in moments for other in moments if one != other]
    gaps = st.integers(-WIDEST_GAP, WIDEST_GAP)
    relations = draw(
        st.lists(st.tuples(st.sampled_from(pairs), gaps, supposed(1)), min_size=1, max_size=8)
    )
    clashes = draw(st.lists(supposed(3).filter(len), max_size=1))
    return Network(
        [bound(f"b{i}", moment, spans, *on) for i, (moment, spans, on) in enumerate(bounds)],
        [relation(f"r{i}", *pair, gap, *on) for i, (pair, gap, on) in enumerate(relations)],
        [Clash(f"c{i}", "", "", (), on) for i, on in enumerate(clashes)],
    )


def bound(name, moment, spans, *suppositions):
    return Bound(name, moment, spans, "", "", (), suppositions)


def relation(name, earlier, later, gap, *suppositions):
    return Relation(name, earlier, later, gap, "", "", (), suppositions)


def only(network, indices):
    """The network with nothing but those constraints, each without its suppositions."""
    kept = [c for i, c in enumerate(network.constraints()) if i in set(indices)]
    return Network(
        [bound(c.id, c.moment, c.spans) for c in kept if isinstance(c, Bound)],
        [relation(c.id, c.earlier, c.later, c.gap_days) for c in kept if isinstance(c, Relation)],
        [Clash(c.id, "", "", (), ()) for c in kept if isinstance(c, Clash)],
    )


def subsets(ready):
    for chosen in product((False, True), repeat=len(ready.names)):
        names = [name for name, is_in in zip(ready.names, chosen, strict=True) if is_in]
        yield names, ready.mask(names)


def largest_that_holds(network, ready):
    """The suppositions of a largest set that can hold, found by search; None if there is none."""
    for names, _ in sorted(subsets(ready), key=lambda pair: (-len(pair[0]), pair[0])):
        if Search(network, names).holds():
            return names
    return None


# -- against the search ---------------------------------------------------------------------------


@settings(max_examples=120, deadline=None)
@given(networks())
def test_a_set_of_suppositions_is_a_conflict_exactly_if_no_days_fit_it(network):
    ready = Tightener(network)
    for names, kept in subsets(ready):
        conflict = ready.conflict_within(kept)
        assert (conflict is None) == Search(network, names).holds()
        if conflict is not None:
            assert conflict & ~kept == 0
            assert not Search(network, ready.named(conflict)).holds()


@settings(max_examples=100, deadline=None)
@given(networks())
def test_the_ends_and_the_days_between_are_exactly_those_found_by_search(network):
    ready = Tightener(network)
    names = largest_that_holds(network, ready)
    if names is None:
        return
    kept, search = ready.mask(names), Search(network, names)
    for moment in ready.moments:
        found = (ready.earliest(moment, kept), ready.latest(moment, kept))
        assert found == search.ends(moment)
        assert asked(ready.possible(kept, moment)) == search.possible(moment)


@settings(max_examples=120, deadline=None)
@given(networks())
def test_the_steps_to_an_end_hold_it_by_themselves(network):
    ready = Tightener(network)
    names = largest_that_holds(network, ready)
    if names is None:
        return
    kept = ready.mask(names)
    for at, moment in enumerate(ready.moments):
        for side, found in enumerate((ready.lows(kept), ready.highs(kept))):
            end = (ready.earliest, ready.latest)[side](moment, kept)
            steps = ready.steps_to(found, moment)
            if end is None:
                assert steps == ()
                continue
            assert len(set(steps)) == len(steps)
            constraints = network.constraints()
            for i in steps:
                assert ready.mask(constraints[i].suppositions) & ~found.masks[at] == 0
            alone = only(network, steps)
            assert Search(alone).ends(moment)[side] == end
            assert (ready.earliest, ready.latest)[side](moment, found.masks[at]) == end


@settings(max_examples=80, deadline=None)
@given(networks())
def test_the_chains_that_clash_cannot_all_hold(network):
    ready = Tightener(network)
    for _, kept in subsets(ready):
        conflict = ready.conflict_within(kept)
        if conflict is None:
            assert ready.clashing_chains(kept) == ((), ())
            continue
        first, second = ready.clashing_chains(conflict)
        assert first
        assert not Search(only(network, (*first, *second))).holds()
        constraints = network.constraints()
        assert all(
            ready.mask(constraints[i].suppositions) & ~conflict == 0 for i in (*first, *second)
        )


@settings(max_examples=80, deadline=None)
@given(networks(), st.sampled_from(MOMENTS[:3]), unions_of_spans())
def test_holding_a_moment_within_days_is_judged_as_by_search(network, moment, spans):
    ready = Tightener(network)
    for names, kept in subsets(ready):
        conflict = ready.conflict_with(kept, moment, spans)
        assert conflict == ready.conflict_held(kept, ((moment, spans),) * (moment in ready.moments))
        search = Search(network, names)
        is_known = moment in ready.moments
        assert (conflict is None) == (search.holds(moment, spans) if is_known else search.holds())
        if conflict is not None and is_known:
            assert not Search(network, ready.named(conflict)).holds(moment, spans)


@settings(max_examples=60, deadline=None)
@given(networks(), st.data())
def test_leaving_constraints_out_is_as_if_they_were_not_there(network, data):
    ready = Tightener(network)
    names = largest_that_holds(network, ready)
    if names is None:
        return
    kept, constraints = ready.mask(names), (*network.bounds, *network.relations)
    numbers = range(len(constraints))
    left_out = data.draw(st.sets(st.sampled_from(numbers), max_size=3))
    in_force = [
        i for i in numbers if i not in left_out and set(constraints[i].suppositions) <= set(names)
    ]
    search = Search(only(network, in_force))
    for moment in ready.moments:
        first, last = (
            ready.earliest(moment, kept, left_out),
            ready.latest(moment, kept, left_out),
        )
        if moment in search.domains:
            assert (first, last) == search.ends(moment)
        else:
            assert (first, last) == (None, None)


# -- cases of their own ---------------------------------------------------------------------------


def test_the_first_bound_on_a_circle_of_days_is_among_the_steps():
    # Two moments on one day: the first pushes the second over its gap, which pushes the first.
    ready = Tightener(
        Network(
            [
                bound("from five", "x", Spans.between(5, None)),
                bound("one, two or from eight", "y", Spans.of([Span(1, 2), Span(8, 20)])),
            ],
            [relation("xy", "x", "y", 0), relation("yx", "y", "x", 0)],
        )
    )
    assert ready.earliest("x", 0) == 8
    assert set(ready.steps_to(ready.lows(0), "x")) == {0, 1, 2, 3}


@pytest.mark.parametrize(
    "bounds", [[], [bound("b", "x", Spans.between(1, None))]], ids=["open", "from a day on"]
)
def test_on_a_circle_that_no_days_fit_no_day_is_possible(bounds):
    circle = [relation("xy", "x", "y", 1, "s"), relation("yx", "y", "x", 0)]
    ready = Tightener(Network(bounds, circle))
    assert ready.conflict_within(1) == 1
    assert ready.possible(1, "x") == NO_DAY
    assert ready.clashing_chains(1) == ((len(bounds), len(bounds) + 1), ())


def test_of_a_moment_that_nothing_speaks_of_every_day_is_possible():
    ready = Tightener(Network([bound("b", "x", Spans.between(1, 2))]))
    assert ready.possible(0, "elsewhere") == EVER
    assert (ready.earliest("elsewhere", 0), ready.latest("elsewhere", 0)) == (None, None)
    assert ready.steps_to(ready.lows(0), "elsewhere") == ()
    assert ready.conflict_with(0, "elsewhere", NO_DAY) is None


def test_where_too_many_gaps_would_have_to_be_decided_it_is_said():
    gappy = Spans.of(Span(day, day) for day in range(0, 20, 2))
    network = Network(
        [bound("x", "x", gappy), bound("y", "y", gappy)], [relation("xy", "x", "y", 0)]
    )
    ready = Tightener(network)
    assert ready.possible(0, "y", most_branches=5) is None
    assert ready.possible(0, "y") == gappy


def test_spans_of_one_moment_that_exclude_one_another_are_the_two_chains():
    network = Network(
        [bound("a", "x", Spans.between(1, 2), "s"), bound("b", "x", Spans.between(4, 5), "t")]
    )
    ready = Tightener(network)
    assert ready.named(ready.conflict_within(3)) == ("s", "t")
    assert ready.clashing_chains(3) == ((0,), (1,))


# -- published networks ---------------------------------------------------------------------------


def within(name, earlier, later, least, most):
    return [
        relation(f"{name} at least", earlier, later, least),
        relation(f"{name} at most", later, earlier, -most),
    ]


JOHN = {"car": within("drives", "x1", "x2", 30, 40), "bus": [relation("bus", "x1", "x2", 60)]}
FRED = {
    "car": within("drives too", "x3", "x4", 20, 30),
    "carpool": within("carpool", "x3", "x4", 40, 50),
}


def morning(john, fred):
    """John and Fred go to work: their example, with X0 = 0."""
    return Network(
        [bound("seven o'clock", "x0", Spans.between(0, 0))],
        [
            *within("John leaves", "x0", "x1", 10, 20),
            *JOHN[john],
            *FRED[fred],
            *within("Fred arrives", "x0", "x4", 60, 70),
            *within("John arrives after Fred leaves", "x3", "x2", 10, 20),
        ],
    )


def ends_of(network):
    ready = Tightener(network)
    return {m: (ready.earliest(m, 0), ready.latest(m, 0)) for m in ready.moments if m != "x0"}


def test_the_published_morning_has_the_published_ends():
    found = ends_of(morning("car", "carpool"))
    assert found == {"x1": (10, 20), "x2": (40, 50), "x3": (20, 30), "x4": (60, 70)}


def test_the_published_minimal_network_is_found_from_every_moment():
    published = [
        [0, 20, 50, 30, 70],
        [-10, 0, 40, 20, 60],
        [-40, -30, 0, -10, 30],
        [-20, -10, 20, 0, 50],
        [-60, -50, -20, -40, 0],
    ]
    network = morning("car", "carpool")
    for i, row in enumerate(published):
        origin = [bound("origin", f"x{i}", Spans.between(0, 0))]
        ready = Tightener(Network(origin, network.relations))
        assert [ready.latest(f"x{j}", 0) for j in range(5)] == row


@pytest.mark.parametrize(
    ("john", "fred", "ends"),
    [
        ("car", "car", {"x1": (10, 20), "x2": (40, 60), "x3": (30, 50), "x4": (60, 70)}),
        ("bus", "car", {"x1": (10, 10), "x2": (70, 70), "x3": (50, 50), "x4": (70, 70)}),
    ],
    ids=["both by car", "bus and car, at single minutes only"],
)
def test_the_other_ways_to_work_have_the_ends_that_follow(john, fred, ends):
    assert ends_of(morning(john, fred)) == ends


def test_bus_and_carpool_cannot_both_be():
    assert Tightener(morning("bus", "carpool")).conflict_within(0) == 0


def test_arc_consistency_leaves_a_day_that_is_not_possible_and_the_search_of_gaps_drops_it():
    def days(*given):
        return Spans.of(Span(day, day) for day in given)

    network = Network(
        [
            bound("0", "x0", days(9, 10, 11)),
            bound("1", "x1", days(5, 6, 8)),
            bound("2", "x2", days(5, 8)),
        ],
        [
            *within("01", "x0", "x1", -4, -3),
            *within("02", "x0", "x2", -4, -2),
            *within("12", "x1", "x2", -1, 0),
        ],
    )
    ready = Tightener(network)
    assert (ready.earliest("x0", 0), ready.latest("x0", 0)) == (9, 11)
    assert ready.possible(0, "x0") == days(9, 11)
    given_days = {"x0": (9, 10, 11), "x1": (5, 6, 8), "x2": (5, 8)}
    live = {
        x0
        for x0, x1, x2 in product(*given_days.values())
        if -4 <= x1 - x0 <= -3 and -4 <= x2 - x0 <= -2 and -1 <= x2 - x1 <= 0
    }
    assert live == {9, 11}


def test_the_relations_of_a_conflict_through_five_moments_are_all_named():
    chain = [relation(f"r{i}", f"m{i}", f"m{i + 1}", 2, f"s{i}") for i in range(4)]
    network = Network(
        [
            bound("late", "m0", Spans.between(5, None), "late"),
            bound("early", "m4", Spans.between(None, 12), "early"),
        ],
        chain,
    )
    ready = Tightener(network)
    assert ready.conflict_within(ready.everything) == ready.everything
    first, second = ready.clashing_chains(ready.everything)
    assert reduce(int.__or__, (1 << i for i in (*first, *second))) == 0b111111
