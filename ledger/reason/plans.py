"""Which tables of a case are summed together, and which first?

Question answered: for tables that each speak of some variables and of the weeks of one root, or of
none, what is summed for each root by itself before all else is summed for the anchor.

Method: the other roots one after another, in alphabetical order: all that is dated on the root, with
the undated tables that are tied to it and to nobody else. What it shares with the others is kept.

Cost: once for all terms, quadratic in the tables.

What it does not do: sum; that is :mod:`ledger.reason.roots`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

ANYWHERE = ""


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """A table by its name: the variables and the root that it speaks of; none where undated.

    Each is its own, by identity, so that plans are soon found again.
    """

    name: str
    variables: tuple[str, ...]
    root: str

    @property
    def is_dated(self) -> bool:
        """Whether it has to do with weeks."""
        return self.root != ANYWHERE


@dataclass(frozen=True, slots=True, eq=False)
class RootFirst:
    """A root that is summed before the anchor: its tables, and what it shares with the others."""

    root: str
    unions: tuple[str, ...]
    members: tuple[str, ...]
    scope: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of the table that it comes to."""
        return f"root {self.root}"


@dataclass(frozen=True, slots=True)
class Plan:
    """Which tables are summed together: those of the other roots first, the rest for the anchor."""

    first: tuple[RootFirst, ...]
    rest: tuple[str, ...]


def plan_of(
    spoken: Sequence[Spoken],
    anchor: str,
    unions: Mapping[str, tuple[str, ...]],
    keep: Sequence[str] = (),
) -> Plan:
    """What is summed together.

    Variables that only another root's tables have are summed out with it, but for those to ``keep``.

    Args:
        spoken: all tables.
        anchor: the root that all is counted from.
        unions: for each other root, the unions between it and the anchor.
        keep: variables that are asked for.
    """
    by_root: dict[str, list[Spoken]] = {}
    for each in spoken:
        by_root.setdefault(each.root, []).append(each)
    gathered = [*by_root.get(ANYWHERE, ()), *by_root.get(anchor, ())]
    others = sorted(root for root in by_root if root not in (ANYWHERE, anchor))
    first: list[RootFirst] = []
    for i, root in enumerate(others):
        own, between = by_root[root], unions[root]
        dated = [each for each in gathered if each.is_dated]
        dated += [each for other in others[i + 1 :] for each in by_root[other]]
        elsewhere = {v for each in dated for v in each.variables} | set(between)
        mine = {v for each in own for v in each.variables}
        local, gathered = _reached(mine - elsewhere, elsewhere, gathered)
        known = mine | {v for each in local for v in each.variables}
        touched = {v for each in gathered for v in each.variables} | elsewhere | set(keep)
        scope = tuple(sorted(known & touched))
        found = RootFirst(root, between, tuple(each.name for each in (*own, *local)), scope)
        first.append(found)
        left = (*between, *(name for name in scope if name not in between))
        # As if it were dated, though it is not where nothing joins the roots: it is for the anchor.
        gathered = [*gathered, Spoken(found.name, left, anchor)]
    return Plan(tuple(first), tuple(each.name for each in gathered))


def _reached(
    start: set[str], elsewhere: set[str], gathered: Iterable[Spoken]
) -> tuple[list[Spoken], list[Spoken]]:
    """The undated tables tied to these variables and to nobody else's, and the other tables."""
    left, local, known = list(gathered), [], set(start)
    has_moved = True
    while has_moved:
        has_moved = False
        for each in tuple(left):
            names = set(each.variables)
            if names & known and not names & elsewhere and not each.is_dated:
                left.remove(each)
                local.append(each)
                known |= names
                has_moved = True
    return local, left
