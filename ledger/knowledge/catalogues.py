"""The positions of one kind of instrument, put together from the packs that describe it.

A catalogue is a forest: every position hangs from a parent down to a root, and unions join the
roots into a tree, so that there is one way at most from any position to any other. How often a
part is still the first one is told at a few ages; between them the log-odds run straight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import exp, log

from ledger.errors import Fault
from ledger.references import Catalogue, CataloguePosition, Prior, Union

LEAST_SHARE, GREATEST_SHARE = 0.01, 0.99


@dataclass(frozen=True, slots=True)
class PriorShare:
    """How often the part is still the first one at some age: a middle and its range."""

    low: float
    middle: float
    high: float


def prior_at(priors: Sequence[Prior], years: float) -> PriorShare:
    """The share at ``years`` of age, read off the ages that are given.

    Straight lines in log-odds between neighbouring ages, the first and the last line carried
    on beyond the ends, and everything kept within 0.01 to 0.99. One age alone holds for all.

    >>> young = Prior(years=30, low=0.7, middle=0.8, high=0.9)
    >>> old = Prior(years=50, low=0.4, middle=0.5, high=0.6)
    >>> round(prior_at([young, old], 50).middle, 3), round(prior_at([young, old], 40).middle, 3)
    (0.5, 0.667)
    """
    ordered = sorted(priors, key=lambda prior: prior.years)
    age = max(years, 0.0)
    left, right = ordered[0], ordered[0]
    for left, right in pairwise(ordered):  # noqa: B007 - the last pair also serves beyond it
        if age <= right.years:
            break
    middle = _between(left.middle, right.middle, left, right, age)
    low = _between(left.low, right.low, left, right, age)
    high = _between(left.high, right.high, left, right, age)
    return PriorShare(min(low, middle), middle, max(high, middle))


def _between(first: float, second: float, left: Prior, right: Prior, age: float) -> float:
    if right.years == left.years:
        return min(max(first, LEAST_SHARE), GREATEST_SHARE)
    start, end = log(first / (1 - first)), log(second / (1 - second))
    along = (age - left.years) / (right.years - left.years)
    odds = min(max(start + along * (end - start), -20.0), 20.0)
    return min(max(1 / (1 + exp(-odds)), LEAST_SHARE), GREATEST_SHARE)


@dataclass(frozen=True)
class CatalogueView:
    """The catalogue of one kind with everything the packs add to it.

    ``positions`` keeps the order of the packs; ``origins`` tells for each position which pack
    it is from.
    """

    kind: str
    name: str
    anchor: str
    positions: Mapping[str, CataloguePosition]
    unions: tuple[Union, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    origins: Mapping[str, str]
    # The same few positions are asked for thousands of times in every report.
    _known: dict[str, CataloguePosition | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def find(self, position: str) -> CataloguePosition | None:
        """The row for a position as written in a sheet, or None where there is none.

        A suffix (``pot.1``) is understood only where there can be several; a lone one of those
        may be written without.
        """
        if position not in self._known:
            self._known[position] = self._sought(position)
        return self._known[position]

    def _sought(self, position: str) -> CataloguePosition | None:
        row = self.positions.get(position)
        if row is not None:
            return row
        base, dot, _ = position.partition(".")
        row = self.positions.get(base)
        return row if dot and row is not None and row.many else None

    def names(self) -> tuple[str, ...]:
        """The ids of all positions, in order."""
        return tuple(self.positions)

    def roots(self) -> tuple[str, ...]:
        """The ids of the roots, in order."""
        return tuple(row.id for row in self.positions.values() if row.link == "root")

    def reference_of(self, position: str) -> str:
        """The full id, ``pack/kind``, of the catalogue that describes the position."""
        row = self.find(position)
        return f"{self.origins[row.id if row else self.anchor]}/{self.kind}"

    def parent_of(self, position: str) -> str | None:
        """What the position hangs from, as written in a sheet; None for a root.

        Where there are several of both, the suffix goes along: the parent of
        ``pickup-cover.neck`` is ``pickup.neck``.
        """
        row = self.find(position)
        if row is None or row.parent is None:
            return None
        _, dot, suffix = position.partition(".")
        parent = self.positions[row.parent]
        return f"{parent.id}.{suffix}" if dot and parent.many else parent.id

    def ancestors(self, position: str) -> tuple[str, ...]:
        """The parent, its parent and so on down to the root."""
        found: list[str] = []
        parent = self.parent_of(position)
        while parent is not None:
            found.append(parent)
            parent = self.parent_of(parent)
        return tuple(found)

    def root_of(self, position: str) -> str:
        """The root the position hangs from; a root is its own, an unknown one the anchor's."""
        if self.find(position) is None:
            return self.anchor
        return (position, *self.ancestors(position))[-1]

    def union_between(self, one: str, other: str) -> Union | None:
        """The union of two roots, in whichever order, or None."""
        wanted = {one, other}
        return next((union for union in self.unions if set(union.between) == wanted), None)

    def union_path(self, start: str, end: str) -> tuple[Union, ...] | None:
        """The unions to cross from one root to another; None where nothing joins them.

        The shortest way; of equals the one whose unions come first.
        """
        ways: dict[str, tuple[Union, ...]] = {start: ()}
        frontier = [start]
        while frontier and end not in ways:
            root = frontier.pop(0)
            for union in self.unions:
                if root in union.between:
                    beyond = union.between[1 - union.between.index(root)]
                    if beyond not in ways:
                        ways[beyond] = (*ways[root], union)
                        frontier.append(beyond)
        return ways.get(end)


def catalogue_view(kind: str, given: Sequence[tuple[str, Catalogue]]) -> CatalogueView:
    """The catalogue of ``kind`` put together from (pack, catalogue) in order.

    The one that does not extend comes first; a later position with the same id replaces the
    earlier one, a later union of the same two roots likewise.
    """
    ordered = sorted(given, key=lambda pair: pair[1].extends)
    positions: dict[str, CataloguePosition] = {}
    origins: dict[str, str] = {}
    unions: dict[frozenset[str], Union] = {}
    anchor = ""
    for pack, catalogue in ordered:
        for row in catalogue.positions:
            positions[row.id], origins[row.id] = row, pack
        unions.update({frozenset(union.between): union for union in catalogue.unions})
        anchor = catalogue.anchor or anchor
    first_root = next((row.id for row in positions.values() if row.link == "root"), "")
    return CatalogueView(
        kind=kind,
        name=ordered[0][1].name,
        anchor=anchor or first_root,
        positions=positions,
        unions=tuple(unions.values()),
        cautions=tuple(dict.fromkeys(c for _, catalogue in ordered for c in catalogue.cautions)),
        sources=tuple(catalogue.source for _, catalogue in ordered),
        origins=origins,
    )


def catalogue_faults(view: CatalogueView, cautions: frozenset[str]) -> list[Fault]:
    """Everything that keeps the parts of a catalogue from fitting together."""
    faults = [
        _fault(view, row.id, f"parent: {row.parent}", "the id of a position of this catalogue")
        for row in view.positions.values()
        if row.parent is not None and row.parent not in view.positions
    ]
    if not faults:
        faults += [
            _fault(view, row.id, "a circle of parents", "a way down to a root")
            for row in view.positions.values()
            if _is_in_circle(view, row)
        ]
    roots = view.roots()
    if view.anchor not in roots:
        found = repr(view.anchor) if view.anchor else "no root"
        faults.append(_fault(view, view.anchor, f"anchor: {found}", "the id of a root"))
    faults += [
        _fault(view, root, f"a union with {root!r}", f"a root: {', '.join(roots)}")
        for union in view.unions
        for root in union.between
        if root not in roots
    ]
    faults += [
        _fault(view, union.between[0], "a union with itself", "two different roots")
        for union in view.unions
        if union.between[0] == union.between[1]
    ]
    asked = [("", name) for name in view.cautions]
    asked += [(row.id, name) for row in view.positions.values() for name in row.cautions]
    faults += [
        _fault(view, where, f"the caution {name!r}", "the id of a caution of a pack")
        for where, name in asked
        if name not in cautions
    ]
    return faults


def _is_in_circle(view: CatalogueView, row: CataloguePosition) -> bool:
    seen: set[str] = set()
    at: CataloguePosition | None = row
    while at is not None and at.id not in seen:
        seen.add(at.id)
        at = view.positions[at.parent] if at.parent is not None else None
    return at is not None


def _fault(view: CatalogueView, position: str, found: str, expected: str) -> Fault:
    pack = view.origins.get(position) or next(iter(view.origins.values()), view.kind)
    path = f"catalogues.{view.kind}.{position}" if position else f"catalogues.{view.kind}"
    return Fault(pack, 0, 0, path, found, expected)
