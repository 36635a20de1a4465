"""What has been reconciled, and what it says of any moment over the leading accounts.

Question answered: under the leading accounts, what is taken to hold, what is given up, and
between which days does a moment lie?

Method: the tightened network asked once for each leading account.

Cost: two passes for each leading account and question.

What it does not do: decide a state; see :mod:`ledger.reason.states`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ledger.basis.spans import iso_date
from ledger.chances import PartChance
from ledger.reason.draft import Draft
from ledger.reason.network import Supposition
from ledger.reason.priors import Fitment
from ledger.reason.reconcile import Reconciliation
from ledger.reason.tighten import Tightener


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the states are decided on: the draft, the ready network, accounts and traces."""

    draft: Draft
    ready: Tightener
    reconciliation: Reconciliation
    leading: tuple[int, ...]
    suppositions: Mapping[str, Supposition]
    fitments: Mapping[str, Fitment]
    improbable: int
    parts: Mapping[str, PartChance] = field(default_factory=dict)
    chances: Mapping[str, float] = field(default_factory=dict)

    def presumed(self, account: int) -> int:
        """What is taken to hold under an account: nothing that practice thinks likelier not."""
        return self.ready.everything & ~account & ~self.improbable

    def given_up(self, name: str) -> tuple[bool, ...]:
        """For each leading account, whether it gives the supposition up; given not to hold, all do."""
        if name in self.draft.given.fails:
            return (True,) * len(self.leading)
        bit = self.ready.bits.get(name, 0)
        return tuple(bool(account & bit) for account in self.leading)

    def supposed_not(self, *names: str) -> str:
        """That one of them is supposed not to hold, in words; empty where none is."""
        is_given = any(name in self.draft.given.fails for name in names)
        return "That it is not the first is supposed here, not shown." if is_given else ""


def span_over_leading(weighed: Weighed, moment: str) -> tuple[int | None, int | None]:
    """The earliest and latest day of a moment over all leading accounts; None is open."""
    all_kept = [weighed.presumed(account) for account in weighed.leading]
    firsts = [weighed.ready.earliest(moment, kept) for kept in all_kept]
    lasts = [weighed.ready.latest(moment, kept) for kept in all_kept]
    low = None if None in firsts else min((d for d in firsts if d is not None), default=None)
    high = None if None in lasts else max((d for d in lasts if d is not None), default=None)
    return low, high


def when_fitted(weighed: Weighed, position: str) -> list[str]:
    """Between which days the part was fitted, over all leading accounts, if anything says.

    A part that is not the first was fitted after that which it is on had been completed.
    """
    anatomy = weighed.draft.anatomy
    low, high = span_over_leading(weighed, anatomy.fitted(position))
    if all(weighed.given_up(f"first-fitted:{anatomy.event_of(position)}")):
        completed, _ = span_over_leading(weighed, anatomy.completed(position))
        low = max((day for day in (low, completed) if day is not None), default=None)
    if low is None and high is None:
        return []
    begins = "no lower bound known" if low is None else f"not before {iso_date(low)}"
    ends = "no upper bound known" if high is None else f"not after {iso_date(high)}"
    return [f"Fitted {begins}; {ends}."]
