"""Where the nodes of a chain of support stand: a layered layout of our own.

The method is that of Sugiyama, Tagawa and Toda (1981) in its plainest form: each node gets a
column, an edge that spans several columns gets a dummy node in each between, and the order in a
column follows the mean place of the neighbours, swept to and fro while crossings fall. The
cost is a few sweeps of the edges. The same input gives the same layout: nothing is drawn by lot
and ties keep the order given. It does not look for the least number of crossings.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

SWEEPS = 12
EXHIBIT, LINE, REFERENCE, READING, SUPPOSITION, STEP, FINDING = range(7)
STAGES: Mapping[str, int] = {
    "exhibit": EXHIBIT,
    "line": LINE,
    "reference": REFERENCE,
    "reading": READING,
    "supposition": SUPPOSITION,
    "bound": STEP,
    "relation": STEP,
    "comparison": STEP,
}
# Exhibits, lines, references and suppositions keep columns of their own; what follows from
# them goes on to the next column for what is derived.
NEXT_DERIVED: Mapping[int, int] = {
    EXHIBIT: READING,
    LINE: READING,
    REFERENCE: READING,
    READING: READING,
    SUPPOSITION: STEP,
    STEP: STEP,
    FINDING: FINDING,
}

Edge = tuple[str, str]
Key = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Layers:
    """Columns of node ids from left to right; ``paths`` gives the ids an edge runs through.

    Ids of dummy nodes are tuples' texts that no node has; they are the keys of ``dummies``.
    """

    columns: tuple[tuple[str, ...], ...]
    stages: tuple[int, ...]
    paths: Mapping[Edge, tuple[str, ...]]
    dummies: frozenset[str]


def layers(kinds: Mapping[str, str], edges: Iterable[Edge]) -> Layers:
    """The nodes in columns, ordered so that few edges cross.

    ``kinds`` gives each node's kind in the order in which nodes are told; edges that name an
    unknown node, or would close a circle, are left out.
    """
    sound = _without_circles(kinds, edges)
    keys = _keys(kinds, sound)
    found = sorted(set(keys.values()))
    column_of = {node: found.index(key) for node, key in keys.items()}
    columns: list[list[str]] = [[] for _ in found]
    for node in kinds:
        columns[column_of[node]].append(node)
    paths: dict[Edge, tuple[str, ...]] = {}
    dummies: list[str] = []
    for start, end in sound:
        between = []
        for column in range(column_of[start] + 1, column_of[end]):
            dummy = f"\0{start}\0{end}\0{column}"
            columns[column].append(dummy)
            between.append(dummy)
        dummies += between
        paths[start, end] = (start, *between, end)
    links = [pair for path in paths.values() for pair in itertools.pairwise(path)]
    ordered = _ordered(columns, links)
    return Layers(
        tuple(map(tuple, ordered)), tuple(key[0] for key in found), paths, frozenset(dummies)
    )


def _without_circles(kinds: Mapping[str, str], edges: Iterable[Edge]) -> list[Edge]:
    """The edges in order, but for those that lead back to where they come from."""
    kept: list[Edge] = []
    following: dict[str, list[str]] = {}
    for start, end in dict.fromkeys(edges):
        if start in kinds and end in kinds and not _reaches(end, start, following):
            kept.append((start, end))
            following.setdefault(start, []).append(end)
    return kept


def _reaches(start: str, goal: str, following: Mapping[str, list[str]]) -> bool:
    seen, waiting = {start}, [start]
    while waiting:
        node = waiting.pop()
        if node == goal:
            return True
        fresh = [each for each in following.get(node, ()) if each not in seen]
        seen.update(fresh)
        waiting += fresh
    return False


def _keys(kinds: Mapping[str, str], edges: Sequence[Edge]) -> dict[str, Key]:
    """The stage of each node and its depth within the stage: together its column."""
    before: dict[str, list[str]] = {node: [] for node in kinds}
    for start, end in edges:
        before[end].append(start)
    keys: dict[str, Key] = {}
    waiting = list(kinds)
    while waiting:
        node = waiting[-1]
        missing = [each for each in before[node] if each not in keys]
        if node in keys or not missing:
            waiting.pop()
            keys[node] = _key(STAGES.get(kinds[node], FINDING), [keys[n] for n in before[node]])
        else:
            waiting += missing
    return keys


def _key(own: int, before: Sequence[Key]) -> Key:
    stage = max((own, *(_following(key[0], own) for key in before)))
    depths = [depth for found, depth in before if found == stage]
    return stage, 1 + max(depths) if depths else 0


def _following(stage: int, own: int) -> int:
    """The least stage that something after ``stage`` can have."""
    return stage if stage < own else NEXT_DERIVED[stage]


def _ordered(columns: list[list[str]], links: Sequence[Edge]) -> list[list[str]]:
    """The columns in the best order that the sweeps come past."""
    before: dict[str, list[str]] = {}
    after: dict[str, list[str]] = {}
    for start, end in links:
        after.setdefault(start, []).append(end)
        before.setdefault(end, []).append(start)
    current = [list(column) for column in columns]
    best, fewest = current, crossings(current, links)
    for sweep in range(SWEEPS):
        if fewest == 0:
            break
        is_rightward = sweep % 2 == 0
        current = _swept(current, before if is_rightward else after, is_rightward=is_rightward)
        count = crossings(current, links)
        if count < fewest:
            best, fewest = current, count
    return best


def _swept(
    columns: list[list[str]], neighbours: Mapping[str, list[str]], *, is_rightward: bool
) -> list[list[str]]:
    """Each column in turn put in the order of the mean place of its neighbours."""
    swept = [list(column) for column in columns]
    indexes = range(1, len(swept)) if is_rightward else range(len(swept) - 2, -1, -1)
    for index in indexes:
        beside = swept[index - 1 if is_rightward else index + 1]
        place = {node: at for at, node in enumerate(beside)}
        own = {node: float(at) for at, node in enumerate(swept[index])}
        for node in swept[index]:
            near = [place[each] for each in neighbours.get(node, ()) if each in place]
            if near:
                own[node] = sum(near) / len(near)
        swept[index].sort(key=lambda node: own[node])
    return swept


def crossings(columns: Sequence[Sequence[str]], links: Iterable[Edge]) -> int:
    """How many pairs of edges between neighbouring columns cross.

    >>> crossings([["a", "b"], ["c", "d"]], [("a", "d"), ("b", "c")])
    1
    """
    at = {node: (c, r) for c, column in enumerate(columns) for r, node in enumerate(column)}
    by_column: dict[int, list[tuple[int, int]]] = {}
    for start, end in links:
        by_column.setdefault(at[start][0], []).append((at[start][1], at[end][1]))
    count = 0
    for pairs in by_column.values():
        for index, (a, b) in enumerate(pairs):
            count += sum(1 for c, d in pairs[index + 1 :] if (a - c) * (b - d) < 0)
    return count
