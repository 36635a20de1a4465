"""How far does the chance of each part move with what practice says of its own place?

Question answered: for the way of each part and fitting event, the chance of the first with its own
prior at the low and the high end of the range that practice states.

Method: what a prior goes into is most often tables of that way alone, so that in each week each way
counts for so much more or less as these tables say on the other terms, and each week for what its
ways then come to; no other table changes, so nothing is summed anew (the sensitivity function of a
single table: Castillo, Gutiérrez and Hadi, "Sensitivity analysis in discrete Bayesian networks", IEEE
Transactions on Systems, Man, and Cybernetics A 27, 1997). Ways that hang from another, that only
another root knows, or whose prior goes into a table of something else as well are weighed anew.

Cost: two tables over the weeks that matter for each part; two turns of one weighing for some.

What it does not do: move the prior of anything else.
"""

from __future__ import annotations

from collections.abc import Mapping

from ledger.reason.evidence import Terms, Value
from ledger.reason.likelihoods import FIRST
from ledger.reason.plans import ANYWHERE
from ledger.reason.weighing import Outcome

Range = tuple[float, float]


def over_own_priors(outcome: Outcome) -> dict[str, Range]:
    """For the way of each part, the chance of the first with its prior at the ends of its range."""
    evidence = outcome.scales.evidence
    priors = {
        name: evidence.values[name.replace("way:", "prior of first-fitted:", 1)]
        for name in sorted(evidence.sizes)
        if name.startswith("way:")
    }
    alone = {name for name, prior in priors.items() if _is_alone(outcome, name, prior)}
    found: dict[str, Range] = {}
    for name in sorted(alone):
        prior = priors[name]
        low, high = outcome.chances_moved(name, prior.id, (prior.low, prior.high))[
            :, FIRST
        ].tolist()
        found[name] = low, high
    return found | _weighed_anew(
        outcome, {name: prior for name, prior in priors.items() if name not in alone}
    )


def _is_alone(outcome: Outcome, name: str, prior: Value) -> bool:
    """Whether the prior goes into tables of the way alone, on the anchor's weeks or none."""
    roots = (ANYWHERE, outcome.scales.evidence.draft.anatomy.view.anchor)
    return outcome.is_of_anchor(name) and all(
        piece.variables == (name,) and piece.root in roots
        for piece in outcome.scales.asking(prior.id)
    )


def _weighed_anew(outcome: Outcome, priors: Mapping[str, Value]) -> dict[str, Range]:
    """The same for ways whose tables are tied to others."""
    ways = dict.fromkeys(priors, FIRST)
    ends = [Terms(moved={p.id: end}) for p in priors.values() for end in (p.low, p.high)]
    found = outcome.on_each(ends, ways)
    at = {name: column for column, name in enumerate(found.names)}
    return {
        name: (float(found.chances[2 * i, at[name]]), float(found.chances[2 * i + 1, at[name]]))
        for i, name in enumerate(ways)
    }
