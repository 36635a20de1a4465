"""The network as the rules leave it: what it speaks of, in a fixed order."""

from __future__ import annotations

from ledger.basis.spans import Spans
from ledger.reason.network import Bound, Clash, Network, Relation

BOUND = Bound("b", "made", Spans.between(1, 2), "", "", (), ("t", "s"))
RELATION = Relation("r", "made", "completed", 0, "", "", (), ("f",))
CLASH = Clash("c", "", "", (), ("s", "e"))


def test_constraints_come_as_bounds_then_relations_then_clashes():
    network = Network(clashes=[CLASH], relations=[RELATION], bounds=[BOUND])
    assert network.constraints() == (BOUND, RELATION, CLASH)


def test_moments_and_suppositions_are_named_once_in_alphabetical_order():
    network = Network([BOUND, BOUND], [RELATION], [CLASH])
    assert network.moments() == ("completed", "made")
    assert network.suppositions() == ("e", "f", "s", "t")


def test_an_empty_network_speaks_of_nothing():
    network = Network()
    assert (network.constraints(), network.moments(), network.suppositions()) == ((), (), ())
