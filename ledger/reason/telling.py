"""How are conflicts and accounts told?

Question answered: for every minimal conflict the two chains that clash and a sentence that says
how; for every minimal account what it gives up, in words, and how it stands to the best.

Method: the chains are those on which the tightening failed. Suppositions that one fitting event
or one teller shares are already one supposition, so that an account names events, not parts.

Cost: one tightening for each conflict.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log

from ledger.basis.percentages import percent
from ledger.findings import Account, Chain, Conflict
from ledger.models import Sighting, Work
from ledger.reason.draft import Because, Draft
from ledger.reason.reconcile import Reconciliation
from ledger.reason.tighten import Tightener
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article, counted

ACCOUNTS_TOLD = 60
LIKE_THE_FIRST = 1.05
# Steps of a chain that the statements around them imply.
SAID_BY_THE_REST = ("stock is used up", "made before fitted", "fitted on one occasion")
CONFLICTS_TOLD = 60


def leading_accounts(draft: Draft, found: Reconciliation) -> tuple[int, ...]:
    """The accounts whose prior odds are within practice's band of the best."""
    if not found.accounts:
        return ()
    row = draft.packs.practice("leading-account-band")
    draft.rows[row.id] = row
    reach = found.costs[0] + log(row.row.value) + 1e-9
    return tuple(
        account for account, cost in zip(found.accounts, found.costs, strict=True) if cost <= reach
    )


def tell_conflicts(draft: Draft, ready: Tightener, found: Reconciliation) -> tuple[Conflict, ...]:
    """Every minimal conflict, smallest first, with its chains."""
    constraints = draft.network.constraints()
    told: list[Conflict] = []
    for i, mask in enumerate(found.conflicts[:CONFLICTS_TOLD], 1):
        names = ready.named(mask)
        first, second = (
            [constraints[index].id for index in chain] for chain in ready.clashing_chains(mask)
        )
        chains = [Chain("What leads one way", tuple(dict.fromkeys(first)))]
        if second:
            chains.append(Chain("What stands against it", tuple(dict.fromkeys(second))))
        sentence = _clash_sentence(draft, chains, names)
        steps = tuple(dict.fromkeys(step for chain in chains for step in chain.steps))
        name = draft.finding(
            f"conflict.{i}", "conflict", Because("minimal conflict", sentence, steps, names)
        )
        told.append(
            Conflict(name, sentence, names, tuple(chains), is_recorded_change(draft, names))
        )
    return tuple(told)


def is_recorded_change(draft: Draft, names: Sequence[str]) -> bool:
    """Whether a record stands against the mere presumption that a part is the first."""
    kinds = {draft.doubts[name].kind: draft.doubts[name].subject for name in names}
    if len(names) != 2 or "sound" not in kinds:
        return False
    presumed = set(kinds) - {"sound"}
    line = draft.case.lines[kinds["sound"]].line
    return presumed <= {"first-fitted", "as-made", "joined"} and isinstance(line, Work | Sighting)


def _clash_sentence(draft: Draft, chains: Sequence[Chain], names: tuple[str, ...]) -> str:
    """What clashes, from the statements on the chains that carry evidence, and what must give."""
    said = [
        " ".join(
            dict.fromkeys(
                draft.findings[step].sentence
                for step in chain.steps
                if draft.findings[step].premises
                and draft.findings[step].rule not in SAID_BY_THE_REST
            )
        )
        for chain in chains
    ]
    against = " But: ".join(text for text in said if text)
    doubts = [draft.doubts[name].sentence.rstrip(".") for name in names]
    if len(doubts) == 1:
        return f"{against} So it cannot be that {doubts[0]}."
    return f"{against} These cannot all be: that {'; that '.join(doubts)}."


def tell_accounts(weighed: Weighed, chances: tuple[float, ...]) -> tuple[Account, ...]:
    """The accounts, the leading ones first and marked.

    Args:
        weighed: with the accounts in their order.
        chances: of the first so many, all evidence weighed; the others follow by prior odds.
    """
    draft, ready, found, leading = (
        weighed.draft,
        weighed.ready,
        weighed.reconciliation,
        weighed.leading,
    )
    told: list[Account] = []
    least = min(found.costs, default=0.0)
    for i, (mask, cost) in enumerate(zip(found.accounts, found.costs, strict=True), 1):
        if i > ACCOUNTS_TOLD and mask not in leading:
            break
        names = ready.named(mask)
        sentence = _account_sentence(draft, names)
        chance = chances[i - 1] if i <= len(chances) else None
        note = (
            _odds_note(i, exp(min(cost - least, 20.0)))
            if chance is None
            else f"chance {percent(chance)} among the {counted(len(chances), 'account')} weighed"
        )
        name = draft.finding(
            f"account.{i}", "account", Because("minimal account", sentence, (), names)
        )
        told.append(Account(name, sentence, names, mask in leading, note, chance))
    return tuple(told)


def in_common(weighed: Weighed) -> str:
    """What every leading account gives up, and in what they differ; empty where only one leads."""
    leading = weighed.leading
    if len(leading) < 2:
        return ""
    shared, union = leading[0], 0
    for mask in leading:
        shared, union = shared & mask, union | mask
    named, doubts = weighed.ready.named, weighed.draft.doubts
    said: list[str] = []
    if shared:
        given = "; ".join(f"that {doubts[name].sentence.rstrip('.')}" for name in named(shared))
        said.append(f"Each of the {len(leading)} leading accounts gives up {given}.")
    apart = "; or that ".join(doubts[name].sentence.rstrip(".") for name in named(union & ~shared))
    said.append(f"They differ in whether they give up that {apart}.")
    return " ".join(said)


def _account_sentence(draft: Draft, names: tuple[str, ...]) -> str:
    if not names:
        return "Nothing need be given up: all that is recorded can hold together."
    given = [f"that {draft.doubts[name].sentence.rstrip('.')}" for name in names]
    return f"Give up {'; '.join(given)}. All the rest can then hold."


def _odds_note(rank: int, ratio: float) -> str:
    """How an account stands to the likeliest by prior odds."""
    if rank == 1:
        return "the likeliest by the odds of practice"
    if ratio < LIKE_THE_FIRST:
        return "as likely as the first by the odds of practice"
    return f"one to {ratio:.3g} against the first by the odds of practice"


def completeness(found: Reconciliation, told: int, conflicts: int) -> str:
    """What was listed and what was left out, by which order."""
    shown = f"; the {told} likeliest are listed" if found.total > told else ""
    clashes = len(found.conflicts) - conflicts
    cut = f"; the {conflicts} smallest are listed" if clashes > 0 else ""
    if found.is_complete:
        return article(
            f"{counted(len(found.conflicts), 'minimal conflict')}{cut} and "
            f"{counted(found.total, 'minimal account')}, which are all there are{shown}."
        )
    return article(
        f"{counted(len(found.conflicts), 'minimal conflict')}{cut} and the "
        f"{found.total} likeliest minimal accounts were found{shown}; the search was "
        "stopped there, so that less likely accounts, and conflicts that only they would show, "
        "are left out."
    )
