"""What does a dated work on the instrument say of the weeks of completion?

Question answered: how much less likely every week after the work is made by its record.

Method: what a work was done to had been completed by then, if the record is right; if it is wrong it
says nothing. The works that one teller or one paper records are one doubt: the earliest governs.
A work after which no other line puts the root is at odds with nothing and is not weighed, since how
far the weeks that are weighed reach beyond it must not decide how good its record is.

Cost: one row of weeks for each teller and root.

What it does not do: speak of works that put in a part; those say so of the part and of the week in
one, in :mod:`ledger.reason.part_evidence`.
"""

from __future__ import annotations

import numpy as np

from ledger.basis.spans import Spans
from ledger.reason.evidence import Evidence, Terms
from ledger.reason.factors import Table

RULE = "worked on after completion"
LEAST_CHANCE = 1e-12
Limit = tuple[str, Table]


def gather_works(evidence: Evidence) -> None:
    """Take, for every teller of works and every root, that it was completed by the earliest."""
    draft = evidence.draft
    done = {bound.moment: bound.spans for bound in draft.network.bounds}
    begun = _latest_beginnings(evidence)
    found: dict[tuple[str, str], list[tuple[int, str, Spans]]] = {}
    for relation in draft.network.relations:
        spans = done.get(relation.later)
        if relation.rule != RULE or spans is None or spans.latest is None:
            continue
        line = relation.premises[0].removeprefix("line:")
        root = relation.earlier.partition(":")[2]
        if begun.get(root, spans.latest) <= spans.latest:
            continue
        teller = evidence.teller(draft.case.lines[line])
        found.setdefault((teller, root), []).append((spans.latest, line, spans))
    for (_, root), works in found.items():
        limits = [(line, evidence.axis.not_after(spans)) for _, line, spans in sorted(works)]
        _add(evidence, root, limits)


def _latest_beginnings(evidence: Evidence) -> dict[str, int]:
    """For each root the latest day before which some line has it, or a part of it, not yet begun."""
    draft = evidence.draft
    found: dict[str, int] = {}
    for bound in draft.network.bounds:
        kind, _, place = bound.moment.partition(":")
        if kind in ("made", "completed") and bound.spans.earliest is not None:
            root = draft.anatomy.root_of(place)
            found[root] = max(found.get(root, bound.spans.earliest), bound.spans.earliest)
    return found


def _add(evidence: Evidence, root: str, limits: list[Limit]) -> None:
    lines = tuple(line for line, _ in limits)
    value = evidence.soundness(evidence.draft.case.lines[lines[0]])

    def build(terms: Terms) -> Table:
        kept = [(line, limit) for line, limit in limits if line not in terms.without]
        if not kept:
            return np.ones(1)
        right, wrong = terms.of(value), 1 - terms.of(value)
        taken = [terms.taken[line] for line, _ in kept if line in terms.taken]
        if taken:
            # One teller: a work that is given up takes the others with it.
            right, wrong = (right, 0.0) if all(taken) else (0.0, wrong)
        # The earliest stands first, and what it leaves no later one takes away.
        found: Table = right * (kept[0][1] + LEAST_CHANCE) + wrong
        return found

    evidence.add(f"worked on {lines[0]} {root}", root, (), build, lines)
