"""Which parts are likely not to have left the works with the instrument?

Question answered: the parts, or parts fitted as one, that minimal accounts give up, likeliest
first, with how many accounts do and what practice thought of such a part beforehand.

Method: counted over all minimal accounts; those that lead come first.

Cost: linear in suppositions and doubts.

What it does not do: weigh; a part that no account gives up is named only if traces speak
against it.
"""

from __future__ import annotations

from ledger.findings import Swap
from ledger.reason.draft import Because
from ledger.reason.network import Supposition
from ledger.reason.weighed import Weighed, when_fitted
from ledger.reason.wording import article, counted, listing


def rank_swaps(weighed: Weighed) -> tuple[Swap, ...]:
    """Parts, or parts fitted as one, that some minimal account gives up, likeliest first.

    Ranked by how many leading and then how many minimal accounts give the part up, then by prior; only those given up
    by a leading account, or likelier replaced than not by their traces and age, are named.
    """
    found: list[tuple[Swap, str]] = []
    total = weighed.reconciliation.total
    for name, supposition in weighed.suppositions.items():
        if supposition.kind not in ("first-fitted", "joined") or name not in weighed.ready.bits:
            continue
        if supposition.subject.startswith("part/"):
            continue
        bit = weighed.ready.bits[name]
        giving = weighed.reconciliation.giving_up(bit)
        if not giving and supposition.prior >= 0.5:
            continue
        if not giving and not _has_traces_against(weighed, supposition.subject):
            continue
        found.append((_swap(weighed, supposition, giving, total), name))
    leads = {swap.subject: sum(weighed.given_up(supposition)) for swap, supposition in found}
    found.sort(
        key=lambda each: (
            -leads[each[0].subject],
            -each[0].accounts_giving_up,
            each[0].prior,
            each[0].subject,
        )
    )
    return tuple(swap for swap, _ in found)


def _has_traces_against(weighed: Weighed, subject: str) -> bool:
    fitment = weighed.fitments.get(subject)
    return fitment is not None and bool(fitment.lines_against)


def _swap(weighed: Weighed, supposition: Supposition, giving: int, total: int) -> Swap:
    draft = weighed.draft
    subject = supposition.subject
    positions = next(
        (e.positions for e in draft.anatomy.events.values() if e.id == subject),
        tuple(subject.split("+")),
    )
    what = (
        f"{listing(draft.anatomy.name(p) for p in positions)} not belonging together"
        if supposition.kind == "joined"
        else f"The {draft.event_name(subject)} not having left the works with the instrument"
    )
    accounts = counted(total, "minimal account")
    leads = sum(weighed.given_up(supposition.id))
    is_what = "belonging together" if supposition.kind == "joined" else "being the first"
    sentence = (
        f"{article(what)}: given up by {giving:,} of {accounts} ({leads} of "
        f"{len(weighed.leading)} leading). Before all else is weighed, its chance of {is_what} is put "
        f"at {supposition.prior:.2f} ({supposition.prior_from})."
    )
    if leads and supposition.kind == "first-fitted":
        sentence = " ".join((sentence, *when_fitted(weighed, positions[0])))
    name = draft.finding(
        f"swap.{subject}", "swap", Because("minimal account", sentence, (), (supposition.id,))
    )
    return Swap(subject, positions, sentence, giving, total, supposition.prior, name)
