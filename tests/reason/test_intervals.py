"""Which relations between three spans of time can hold together, by the tightening.

Published: James F. Allen, "Maintaining knowledge about temporal intervals", Communications of the
ACM 26 (1983) 832-843, the composition of the thirteen relations. The table beside this file has all
169 cells; they are those of the listing in the qualreas package (MIT), compared cell by cell.
"""

from __future__ import annotations

import csv
from itertools import product
from pathlib import Path

import pytest

from ledger.reason.network import Network, Relation
from ledger.reason.tighten import Tightener

TABLE = Path(__file__).parent / "published" / "allen-composition.csv"

# Each relation of one span to another, by the order of their four ends: first and last day of the
# one (x, X) and of the other (y, Y). "<" is before, "=" the same day.
RELATIONS = {
    "b": "X<y",
    "bi": "Y<x",
    "m": "X=y",
    "mi": "Y=x",
    "o": "x<y y<X X<Y",
    "oi": "y<x x<Y Y<X",
    "s": "x=y X<Y",
    "si": "x=y Y<X",
    "d": "y<x X<Y",
    "di": "x<y Y<X",
    "f": "X=Y y<x",
    "fi": "X=Y x<y",
    "e": "x=y X=Y",
}


def cells():
    with TABLE.open(encoding="utf-8", newline="") as rows:
        return {
            (row["r1"], row["r2"]): frozenset(row["composition"].split())
            for row in csv.DictReader(rows)
        }


def order(one, other, relation):
    """The relation between two spans as differences between their ends."""
    ends = {"x": f"{one}:first", "X": f"{one}:last", "y": f"{other}:first", "Y": f"{other}:last"}
    for statement in RELATIONS[relation].split():
        left, how, right = statement
        yield ends[left], ends[right], int(how == "<")
        if how == "=":
            yield ends[right], ends[left], 0


def can_hold(*relations):
    """Whether spans A, B and C can stand so, each with its first day before its last."""
    found = [(f"{span}:first", f"{span}:last", 1) for span in "ABC"]
    for one, other, relation in relations:
        found += order(one, other, relation)
    network = Network(
        relations=[
            Relation(f"r{i}", earlier, later, gap, "", "", (), ())
            for i, (earlier, later, gap) in enumerate(found)
        ]
    )
    ready = Tightener(network)
    return ready.conflict_within(ready.everything) is None


@pytest.mark.parametrize("first", RELATIONS)
def test_the_relations_that_can_follow_from_two_are_the_published_ones(first):
    published = cells()
    for second in RELATIONS:
        possible = {
            third
            for third in RELATIONS
            if can_hold(("A", "B", first), ("B", "C", second), ("A", "C", third))
        }
        assert possible == published[first, second], (first, second)


def test_of_two_spans_exactly_one_relation_holds():
    for one, other in product(RELATIONS, repeat=2):
        assert can_hold(("A", "B", one), ("A", "B", other)) == (one == other)


def test_the_published_table_is_whole():
    published = cells()
    assert set(published) == set(product(RELATIONS, repeat=2))
    assert sum(map(len, published.values())) == 409
