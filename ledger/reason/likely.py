"""What does the weighing of a whole case come to?

Question answered: the accounts in the order of their exact chance, and the chances of dates, parts
and suppositions.

Method: the pieces of evidence are gathered once (:mod:`ledger.reason.weighing`) and asked by each.

Cost: that of what is asked. What more is asked of the same pieces is passed in, so that a usual
report neither pays for it nor imports it: see :mod:`ledger.reason.in_full`.

What it does not do: hide that a case is too tangled, or that nothing in it has a date; it says so
in place of chances.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ledger.advice import Advice
from ledger.chances import Chances
from ledger.reason.derive import Derivation
from ledger.reason.draft import Draft
from ledger.reason.factors import TooTangled
from ledger.reason.posteriors import given_on, ranked_accounts, tell_chances
from ledger.reason.weighed import Weighed
from ledger.reason.weighing import Outcome, Scales, scales_of


@dataclass(frozen=True, slots=True)
class Likely:
    """What the weighing gives: all that is told, the chances of accounts, what to examine next."""

    told: Chances
    of_accounts: tuple[float, ...] = ()
    advice: tuple[Advice, ...] = ()


More = Callable[[Draft, Scales, Outcome, Chances], tuple[Chances, tuple[Advice, ...]]]


def weigh_all(
    derivation: Derivation, weighed: Weighed, more: More | None = None
) -> tuple[Weighed, Likely]:
    """The accounts in the order of their exact chances, those chances, and all others.

    Where there are chances to be told, ``more`` may add to them before anything rests on them.
    """
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
        if more is not None and chances.is_possible:
            chances, advice = more(draft, scales, outcome, chances)
        parts = {part.event: part for part in chances.parts}
        return replace(ranked, parts=parts), Likely(chances, of_accounts, advice)
    except TooTangled as error:
        return weighed, Likely(Chances(f"Too tangled to be weighed exactly: {error}."))
