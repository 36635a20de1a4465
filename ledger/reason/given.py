"""What is taken as given for the sake of argument, whatever the evidence says?

Question answered: how a network of constraints looks once some suppositions are settled.

Method: a supposition that is given to hold is struck from the conditions of every constraint, so
that no account can give it up; one that is given not to hold takes with it every constraint that
depends on it, so that nothing rests on it. What is left is reconciled as usual.

Cost: linear in constraints.

What it does not do: decide whether what is given can be; the reasoner says so where it cannot.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

from ledger.reason.network import Bound, Clash, Network, Relation

C = TypeVar("C", Bound, Relation, Clash)


@dataclass(frozen=True, slots=True)
class Given:
    """Suppositions that are taken to hold, and not to; readings of marks that are taken.

    A reading is named as its finding is: ``reading.pot-code.2``.
    """

    holds: tuple[str, ...] = ()
    fails: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()


NOTHING_GIVEN = Given()


def settled(network: Network, given: Given) -> Network:
    """The network with what is given struck out of it; the same one where nothing is.

    >>> clash = Clash("c", "", "", (), ("first-fitted:jack", "sound:work"))
    >>> settled(Network(clashes=[clash]), Given(holds=("sound:work",))).clashes[0].suppositions
    ('first-fitted:jack',)
    >>> settled(Network(clashes=[clash]), Given(fails=("sound:work",))).clashes
    []
    """
    if not (given.holds or given.fails):
        return network
    holds, fails = frozenset(given.holds), frozenset(given.fails)
    return Network(
        _settled(network.bounds, holds, fails),
        _settled(network.relations, holds, fails),
        _settled(network.clashes, holds, fails),
    )


def _settled(constraints: Iterable[C], holds: frozenset[str], fails: frozenset[str]) -> list[C]:
    return [
        replace(each, suppositions=tuple(s for s in each.suppositions if s not in holds))
        for each in constraints
        if not fails.intersection(each.suppositions)
    ]
