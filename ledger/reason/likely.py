"""What does the weighing of a whole case come to?

Question answered: the accounts in the order of their exact chance, the chances of dates, parts and
suppositions and, in full, the worth of every line and what to examine next.

Method: the pieces of evidence are gathered once (:mod:`ledger.reason.weighing`) and asked by each.

Cost: that of what is asked.

What it does not do: hide that a case is too tangled, or that nothing in it has a date; it says so
in place of chances.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ledger.advice import Advice
from ledger.chances import Chances
from ledger.reason.advising import advise
from ledger.reason.derive import Derivation
from ledger.reason.factors import TooTangled
from ledger.reason.leaving_out import with_weights
from ledger.reason.posteriors import given_on, ranked_accounts, tell_chances
from ledger.reason.weighed import Weighed
from ledger.reason.weighing import scales_of


@dataclass(frozen=True, slots=True)
class Likely:
    """What the weighing gives: all that is told, the chances of accounts, what to examine next."""

    told: Chances
    of_accounts: tuple[float, ...] = ()
    advice: tuple[Advice, ...] = ()


def weigh_all(derivation: Derivation, weighed: Weighed, *, is_full: bool) -> tuple[Weighed, Likely]:
    """The accounts in the order of their exact chances, those chances, and all others."""
    draft = derivation.draft
    try:
        scales = scales_of(draft, derivation.readings, weighed.suppositions, weighed.fitments)
        if scales is None:
            return weighed, Likely(
                Chances("Nothing recorded has a date: there is nothing to weigh.")
            )
        outcome = given_on(scales, draft.given)
        if not weighed.leading:
            return weighed, Likely(tell_chances(scales, outcome))
        ranked, of_accounts = ranked_accounts(scales, weighed)
        chances = tell_chances(scales, outcome)
        advice: tuple[Advice, ...] = ()
        if is_full and chances.is_possible:
            chances = with_weights(scales, chances)
            advice = advise(scales, outcome, draft)
        parts = {part.event: part for part in chances.parts}
        return replace(ranked, parts=parts), Likely(chances, of_accounts, advice)
    except TooTangled as error:
        return weighed, Likely(Chances(f"Too tangled to be weighed exactly: {error}."))
