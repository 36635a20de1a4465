"""All minimal conflicts and accounts against all subsets, however the doubts hang together.

Whether one set of suppositions can hold is asked of the tightening, which has its own tests
against days tried one by one; everything above that is tried out here for every subset.

That the accounts are the minimal hitting sets of the conflicts and the conflicts those of the
accounts: R. Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32
(1987) 57-95.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Span, Spans
from ledger.reason import independence
from ledger.reason import reconcile as reconciling
from ledger.reason.hitting import Costs, Limits, minimal, minimal_hitting_sets
from ledger.reason.independence import Independence, doubts_apart
from ledger.reason.network import Bound, Clash, Network, Relation, Supposition
from ledger.reason.reconcile import reconcile, spelt_out
from ledger.reason.tighten import Tightener

NAMES = tuple("abcdefgh")
HINGES = ("body", "neck")


def bound(name, moment, first, last, *suppositions):
    return Bound(name, moment, Spans.between(first, last), "", "", (), suppositions)


def relation(name, earlier, later, gap, *suppositions):
    return Relation(name, earlier, later, gap, "", "", (), suppositions)


def clash(name, *suppositions):
    return Clash(name, "", "", (), suppositions)


# -- networks -------------------------------------------------------------------------------------

days = st.one_of(st.none(), st.integers(0, 12))
names = st.sampled_from(NAMES)
some_names = st.lists(names, min_size=1, max_size=3, unique=True).map(tuple)
one_or_none = st.one_of(st.just(()), names.map(lambda name: (name,)))


@st.composite
def spans(draw):
    parts = []
    for _ in range(draw(st.integers(1, 2))):
        first, last = draw(days), draw(days)
        if first is not None and last is not None and last < first:
            first, last = last, first
        parts.append(Span(first, last))
    return Spans.of(parts)


@st.composite
def networks(draw):
    """Parts with days of their own, tied to one or two completions; hubs; clashes of their own."""
    found = Network()
    for part in range(draw(st.integers(1, 4))):
        moment = f"part {part}"
        for i in range(draw(st.integers(0, 3))):
            on = draw(some_names)
            found.bounds.append(Bound(f"{moment}.{i}", moment, draw(spans()), "", "", (), on))
        hinge = draw(st.sampled_from(HINGES))
        for i, pair in enumerate(((moment, hinge), (hinge, moment))):
            if draw(st.booleans()):
                gap = draw(st.integers(-3, 3))
                found.relations.append(
                    relation(f"{moment} to {hinge} {i}", *pair, gap, *draw(one_or_none))
                )
    for i in range(draw(st.integers(0, 3))):
        hinge, on = draw(st.sampled_from(HINGES)), draw(some_names)
        found.bounds.append(Bound(f"{hinge}.{i}", hinge, draw(spans()), "", "", (), on))
    for i in range(draw(st.integers(0, 2))):
        found.relations.append(relation(f"union {i}", *HINGES[:: 1 - 2 * i], 0, *draw(some_names)))
    for i in range(draw(st.integers(0, 3))):
        found.clashes.append(clash(f"clash {i}", *draw(some_names)))
    return found


@st.composite
def hubs(draw):
    """One supposition that stands against several parts, each with suppositions of its own."""
    found = Network(bounds=[bound("hub", "body", None, 5, "a")])
    own = iter(NAMES[1:])
    for part in range(draw(st.integers(2, 4))):
        on = tuple(
            name for name in (next(own, ""), draw(st.sampled_from(["", next(own, "")]))) if name
        )
        found.bounds.append(
            bound(f"made {part}", f"part {part}", draw(st.integers(4, 9)), None, *on)
        )
        found.relations.append(
            relation(f"fitted {part}", f"part {part}", "body", draw(st.integers(0, 2)))
        )
    for i in range(draw(st.integers(0, 2))):
        found.clashes.append(clash(f"clash {i}", *draw(some_names)))
    return found


prior = st.sampled_from([0.05, 0.4, 0.5, 0.8, 0.95])
weights = st.lists(
    st.tuples(prior, st.sampled_from(["", "", "one", "two"])),
    min_size=len(NAMES),
    max_size=len(NAMES),
)


def costs_of(ready, given_weights=()):
    weights_of = dict(
        zip(NAMES, given_weights, strict=bool(given_weights) or None) if given_weights else ()
    )
    found = {}
    for name in ready.names:
        chance, group = weights_of.get(name, (0.9, ""))
        found[name] = Supposition(name, "sound", name, name, chance, "this test", group or name)
    return Costs(ready, found)


# -- all subsets ----------------------------------------------------------------------------------


def all_subsets(ready):
    """All minimal conflicts and accounts, by asking of every subset whether it can hold."""
    everything = range(ready.everything + 1)
    clashing = {mask for mask in everything if ready.conflict_within(mask) is not None}
    accounts = [mask for mask in everything if ready.everything & ~mask not in clashing]
    return set(minimal(clashing)), set(minimal(accounts))


def check_against_all_subsets(ready, costs, hinges):
    conflicts, accounts = all_subsets(ready)
    found = reconcile(ready, costs, hinges)
    assert found.is_complete
    assert set(found.conflicts) == conflicts
    assert len(found.conflicts) == len(conflicts)
    listed = [mask for branch in found.branches for mask in spelt_out(branch)]
    assert sorted(listed) == sorted(accounts)
    assert set(found.accounts) == accounts
    assert found.total == len(accounts)
    for bit in ready.bits.values():
        assert found.giving_up(bit) == sum(bool(mask & bit) for mask in accounts)
    assert list(found.costs) == [costs.of(mask) for mask in found.accounts]
    assert list(found.accounts) == sorted(accounts, key=lambda m: (costs.of(m), m))
    return found


hinged = st.sampled_from([(), ("body",), HINGES, ("body", "neck", "unheard of")])


@settings(max_examples=150, deadline=None)
@given(networks(), weights, hinged)
def test_conflicts_and_accounts_are_those_of_all_subsets(network, given_weights, hinges):
    ready = Tightener(network)
    check_against_all_subsets(ready, costs_of(ready, given_weights), hinges)


@settings(max_examples=150, deadline=None)
@given(st.one_of(networks(), hubs()), weights, hinged, st.integers(1, 3))
def test_branching_changes_nothing_of_what_is_found(network, given_weights, hinges, few):
    ready = Tightener(network)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reconciling, "FEW_ACCOUNTS", few)
        check_against_all_subsets(ready, costs_of(ready, given_weights), hinges)


@settings(max_examples=150, deadline=None)
@given(networks(), weights, st.integers(0, 2))
def test_doubts_too_many_to_try_together_are_searched_as_one(network, given_weights, at_most):
    ready = Tightener(network)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(independence, "COMBINATIONS_AT_MOST", at_most)
        check_against_all_subsets(ready, costs_of(ready, given_weights), HINGES)


@settings(max_examples=100, deadline=None)
@given(networks())
def test_conflicts_and_accounts_are_the_hitting_sets_of_one_another(network):
    ready = Tightener(network)
    found = reconcile(ready, costs_of(ready), HINGES)
    assume(found.conflicts and found.total)
    assert set(minimal_hitting_sets(found.conflicts)) == set(found.accounts)
    assert set(minimal_hitting_sets(found.accounts)) == set(found.conflicts)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(networks(), hubs()),
    weights,
    hinged,
    st.builds(Limits, st.integers(1, 4), st.sampled_from([1, 2, 3, 5, 4000])),
)
def test_within_tight_limits_what_is_listed_is_true_and_what_is_missing_is_said(
    network, given_weights, hinges, limits
):
    ready = Tightener(network)
    conflicts, accounts = all_subsets(ready)
    found = reconcile(ready, costs_of(ready, given_weights), hinges, limits)
    assert set(found.conflicts) <= conflicts
    assert set(found.accounts) <= accounts
    assert len(found.accounts) <= limits.accounts
    for bit in ready.bits.values():
        assert 0 <= found.giving_up(bit) <= found.total
    if found.is_complete:
        assert set(found.conflicts) == conflicts
        listed = [mask for branch in found.branches for mask in spelt_out(branch)]
        assert sorted(listed) == sorted(accounts)


@settings(max_examples=60, deadline=None)
@given(networks(), weights)
def test_the_same_is_found_each_time_and_in_the_same_order(network, given_weights):
    once, again = (
        reconcile(ready, costs_of(ready, given_weights), HINGES)
        for ready in (Tightener(network), Tightener(network))
    )
    assert once == again


# -- shapes of their own --------------------------------------------------------------------------


def independent_doubts(many):
    """Parts that each disagree with themselves, all fitted before one completion."""
    network = Network()
    for part in range(many):
        moment = f"part {part}"
        network.bounds.append(bound(f"{moment}.0", moment, 5, 6, f"read {part}"))
        network.bounds.append(bound(f"{moment}.1", moment, 8, 9, f"told {part}"))
        network.relations.append(relation(f"{moment} fitted", moment, "body", 0))
    return network


def test_independent_doubts_are_kept_as_a_product():
    ready = Tightener(independent_doubts(10))
    found = reconcile(ready, costs_of(ready), ("body",))
    assert (found.total, len(found.conflicts), found.is_complete) == (2**10, 10, True)
    (branch,) = found.branches
    assert sorted(len(doubt.accounts) for doubt in branch.doubts) == [2] * 10
    assert all(found.giving_up(bit) == 2**9 for bit in ready.bits.values())
    assert len(found.accounts) == Limits().accounts


def test_without_a_hinge_named_the_same_doubts_are_one():
    ready = Tightener(independent_doubts(3))
    found = reconcile(ready, costs_of(ready))
    assert [len(branch.doubts) for branch in found.branches] == [1]
    assert found.total == 8


def meeting_at_a_hinge():
    """Two doubts, each settled in two ways, of which two cannot be together at the completion."""
    return Network(
        [
            bound("early", "one", 1, 2, "a"),
            bound("late", "one", 8, 9, "b"),
            bound("short", "two", 1, 3, "c"),
            bound("long", "two", 8, 12, "d"),
        ],
        [
            relation("one before", "one", "body", 0),
            relation("two after", "body", "two", 0),
        ],
    )


def test_accounts_that_meet_badly_at_the_hinge_are_not_multiplied():
    ready = Tightener(meeting_at_a_hinge())
    found = check_against_all_subsets(ready, costs_of(ready), ("body",))
    late_then_short = ready.mask("bc")
    assert late_then_short in found.conflicts
    assert found.total == 3


def test_doubts_that_meet_badly_are_seen_not_to_be_independent():
    ready = Tightener(meeting_at_a_hinge())
    conflicts = [ready.mask("ab"), ready.mask("cd")]
    assert doubts_apart(ready, conflicts, ("body",)) == [ready.mask("ab"), ready.mask("cd")]
    assert doubts_apart(ready, conflicts, ()) == [ready.mask("abcd")]
    ways = [
        independence.Doubt(ready.mask(pair), tuple(ready.mask(name) for name in pair))
        for pair in ("ab", "cd")
    ]
    assert Independence(ready, ready.mask("ad"), ways, ("body",)).clash() == ready.mask("bc")


def days_that_no_probe_meets():
    """Two doubts possible together on days that lie neither at an end nor in the middle."""
    body = Spans.of([Span(0, 0), Span(2, 2), Span(10, 10), Span(20, 20)])
    first = Spans.of([Span(0, 0), Span(2, 2)])
    other = Spans.of([Span(2, 2), Span(20, 20)])
    network = Network([Bound("body", "body", body, "", "", (), ())])
    for part, (own, letters) in enumerate(((first, "ab"), (other, "cd"))):
        moment = f"part {part}"
        network.bounds.append(bound(f"{moment} rival", moment, 50, 60, letters[0]))
        network.bounds.append(Bound(moment, moment, own, "", "", (), (letters[1],)))
        network.relations.append(relation(f"{moment} to", moment, "body", 0, letters[1]))
        network.relations.append(relation(f"{moment} from", "body", moment, 0, letters[1]))
    return network


def test_days_that_no_probe_meets_do_not_lose_an_account():
    ready = Tightener(days_that_no_probe_meets())
    check_against_all_subsets(ready, costs_of(ready), ("body",))


def test_one_witness_against_everything_is_branched_on():
    network = Network([bound("told", "body", None, 3, "told")])
    for part in range(7):
        moment = f"part {part}"
        network.bounds.append(bound(moment, moment, 9, None, f"read {part}"))
        network.relations.append(relation(f"{moment} fitted", moment, "body", 0, f"first {part}"))
    ready = Tightener(network)
    found = reconcile(ready, costs_of(ready), ("body",))
    hub = ready.mask(["told"])
    assert [branch.given_up for branch in found.branches] == [0, hub]
    assert [branch.total for branch in found.branches] == [2**7, 1]
    assert [len(branch.doubts) for branch in found.branches] == [7, 0]
    assert found.giving_up(hub) == 1
    assert found.is_complete
    assert len(found.conflicts) == 7
    assert set(found.accounts) == {hub} | set(spelt_out(found.branches[0]))


def costing(ready, chances):
    """Costs by the chance that each holds: what likely holds is dear to give up."""
    return Costs(
        ready,
        {n: Supposition(n, "sound", n, n, chances[n], "this test", n) for n in ready.names},
    )


# Either both of b and c are wrong, or all of f, g and h. The second is met first and, until then,
# every conflict seems to rest on b, with nothing against c.
TWO_WITNESSES = Network(clashes=[clash(one + other, one, other) for one in "bc" for other in "fgh"])
CHANCES = {"b": 0.95, "c": 0.95, "f": 0.6, "g": 0.6, "h": 0.6}


@pytest.mark.parametrize(("at_most", "is_complete"), [(2_000, True), (0, False)])
def test_an_account_that_gives_up_more_than_it_need_is_left_out_after_branching(
    monkeypatch, at_most, is_complete
):
    monkeypatch.setattr(reconciling, "FEW_ACCOUNTS", 1)
    monkeypatch.setattr(reconciling, "SPELT_OUT_AT_MOST", at_most)
    ready = Tightener(TWO_WITNESSES)
    found = reconcile(ready, costing(ready, CHANCES))
    assert set(found.accounts) == {ready.mask("bc"), ready.mask("fgh")}
    assert found.is_complete == is_complete
    assert found.total == 2
    assert len(found.conflicts) == 6


def test_a_search_that_stops_does_not_multiply_what_it_has_not_proved_independent():
    # As meeting badly at the hinge, each doubt with a third, dearer way that the limit cuts off.
    network = meeting_at_a_hinge()
    _, late, _, long = network.bounds
    network.bounds = [
        bound("early", "one", 1, 2, "a", "x"),
        late,
        bound("short", "two", 1, 3, "c", "y"),
        long,
    ]
    ready = Tightener(network)
    chances = {"a": 0.7, "b": 0.6, "c": 0.6, "d": 0.7, "x": 0.9, "y": 0.9}
    found = reconcile(ready, costing(ready, chances), ("body",), Limits(2))
    assert not found.is_complete
    assert ready.mask("ad") not in all_subsets(ready)[1]
    assert set(found.accounts) <= all_subsets(ready)[1]
    assert found.accounts[0] == ready.mask("bc")
    assert found.total == len(found.accounts)


@settings(max_examples=60, deadline=None)
@given(networks(), weights)
def test_doubts_that_nothing_shows_to_be_independent_are_searched_as_one(network, given_weights):
    ready = Tightener(network)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Independence, "clash", lambda _: 0)
        check_against_all_subsets(ready, costs_of(ready, given_weights), HINGES)


@settings(max_examples=100, deadline=None)
@given(st.one_of(networks(), hubs()), weights, hinged, st.integers(0, 24))
def test_what_is_found_with_few_divisions_is_true_and_never_nothing(
    network, given_weights, hinges, divisions
):
    ready = Tightener(network)
    conflicts, accounts = all_subsets(ready)
    limits = Limits(divisions=divisions)
    found = reconcile(ready, costs_of(ready, given_weights), hinges, limits)
    assert set(found.accounts) <= accounts
    assert bool(found.accounts) == bool(accounts)
    assert set(found.conflicts) <= conflicts
    if found.is_complete:
        assert (set(found.accounts), set(found.conflicts)) == (accounts, conflicts)


def test_without_any_conflict_there_is_one_account_and_it_gives_up_nothing():
    ready = Tightener(Network([bound("b", "body", 1, 2, "a")]))
    found = reconcile(ready, costs_of(ready), ("body",))
    assert (found.conflicts, found.accounts, found.costs) == ((), (0,), (0.0,))
    assert (found.total, found.giving_up(1), found.is_complete) == (1, 0, True)


def test_where_nothing_given_up_would_help_there_is_no_account():
    ready = Tightener(
        Network([bound("b", "body", 1, 2), bound("c", "body", 4, 5), bound("d", "body", 1, 2, "a")])
    )
    found = reconcile(ready, costs_of(ready), ("body",))
    assert (found.conflicts, found.accounts, found.total) == ((0,), (), 0)
    assert found.is_complete
