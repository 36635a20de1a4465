"""The sections of an instrument's page on what cannot all hold: conflicts, accounts, swaps.

What many of them share is told once: a statement that several conflicts stand against, and
what every leading account gives up. Long sentences are cut here and whole on their own page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.publish.evidence import LINE, Evidence
from ledger.publish.page_contexts import (
    AccountShown,
    AccountsShown,
    ChainShown,
    ChangedShown,
    ConflictGroupShown,
    ConflictShown,
    Said,
    SwapShown,
)
from ledger.publish.percentages import percent
from ledger.publish.shortening import shortened
from ledger.publish.svg import anchor

BRIEF_GLYPHS, ITEM_GLYPHS = 150, 110
ACCOUNTS_AFTER_LEADING = 3
FIRST_OF_A_PART = ("first-fitted:", "as-made:")


def conflict_groups(evidence: Evidence) -> list[ConflictGroupShown]:
    """The conflicts that are more than recorded changes, those against one statement together."""
    grouped: dict[tuple[str, ...], list[tuple[int, Mapping[str, Any]]]] = {}
    for place, conflict in enumerate(evidence.report["conflicts"], start=1):
        if not conflict["is_recorded_change"]:
            against = conflict["chains"][-1]["steps"] if len(conflict["chains"]) > 1 else ()
            key = tuple(against) or (conflict["id"],)
            grouped.setdefault(key, []).append((place, conflict))
    return [_group(evidence, members) for members in grouped.values()]


def _group(
    evidence: Evidence, members: Sequence[tuple[int, Mapping[str, Any]]]
) -> ConflictGroupShown:
    is_several = len(members) > 1
    needed = [set(conflict["suppositions"]) for _, conflict in members]
    shared = set.intersection(*needed) if is_several else set()
    first = members[0][1]
    return {
        "against": _chain(evidence, first["chains"][-1]) if is_several else None,
        "suppositions": _supposed(evidence, (s for s in first["suppositions"] if s in shared)),
        "conflicts": [
            _conflict(evidence, place, conflict, is_several=is_several, shared=shared)
            for place, conflict in members
        ],
    }


def _conflict(
    evidence: Evidence,
    place: int,
    conflict: Mapping[str, Any],
    *,
    is_several: bool,
    shared: set[str],
) -> ConflictShown:
    chains = conflict["chains"][:-1] if is_several else conflict["chains"]
    own = (each for each in conflict["suppositions"] if each not in shared)
    return {
        "anchor": anchor("conflict", conflict["id"]),
        "title": f"Conflict {place}",
        "href": evidence.href_of(conflict["id"]),
        "suppositions": _supposed(evidence, own),
        "chains": [_chain(evidence, chain) for chain in chains],
    }


def _chain(evidence: Evidence, chain: Mapping[str, Any]) -> ChainShown:
    """What a chain says of the record first; the relations in between stand apart."""
    told = [step for step in chain["steps"] if not _is_relation(evidence, step)]
    between = [step for step in chain["steps"] if _is_relation(evidence, step)] if told else []
    return {
        "title": chain["title"],
        "steps": _short(evidence, told or chain["steps"]),
        "links": _short(evidence, between),
    }


def _is_relation(evidence: Evidence, step: str) -> bool:
    found = evidence.findings.get(step)
    return found is not None and found["kind"] == "relation"


def _short(evidence: Evidence, told: Iterable[str]) -> list[Said]:
    statements = (evidence.statement(each) for each in told)
    return [{"sentence": shortened(each.sentence), "href": each.href} for each in statements]


def _supposed(evidence: Evidence, told: Iterable[str]) -> list[str]:
    return [shortened(evidence.statement(each).sentence) for each in told]


def recorded_changes(evidence: Evidence) -> list[ChangedShown]:
    """What a record or a dated sighting says of parts that are not the first, part by part."""
    changed: dict[str, list[tuple[str, Said]]] = {}
    for conflict in evidence.report["conflicts"]:
        if conflict["is_recorded_change"]:
            subject, sentence = _change(evidence, conflict)
            told: Said = {"sentence": sentence, "href": evidence.href_of(conflict["id"])}
            changed.setdefault(subject, []).append((anchor("conflict", conflict["id"]), told))
    return [
        {
            "subject": subject,
            "records": [{"anchor": name, **told} for name, told in records],
        }
        for subject, records in changed.items()
    ]


def _change(evidence: Evidence, conflict: Mapping[str, Any]) -> tuple[str, str]:
    """The part and what is recorded of it; the conflict's own sentence where that is not told."""
    names = {each["position"]: each["name"] for each in evidence.report["positions"]}
    subject, sentence = "", ""
    for name in conflict["suppositions"]:
        kind, _, about = name.partition(":")
        if name.startswith(FIRST_OF_A_PART):
            subject = names.get(about, about)
        elif (line := evidence.line_of(f"{LINE}{about}")) is not None and kind == "sound":
            sentence = (line["sentence"] or line["title"]).partition(". ")[0].rstrip(".")
    return subject, shortened(sentence or conflict["sentence"], BRIEF_GLYPHS)


def accounts(evidence: Evidence) -> AccountsShown:
    """What all leading accounts give up, then what each account differs by."""
    listed = list(enumerate(evidence.report["accounts"], start=1))
    leading = [account for _, account in listed if account["is_leading"]]
    sets = [set(account["gives_up"]) for account in leading]
    common = set.intersection(*sets) if sets else set()
    order = leading[0]["gives_up"] if leading else ()
    shown = [_account(evidence, place, account, common) for place, account in listed]
    others = [account for account in shown if not account["is_leading"]]
    return {
        "common": [evidence.statement(each).sentence for each in order if each in common],
        "leading": [account for account in shown if account["is_leading"]],
        "next": others[:ACCOUNTS_AFTER_LEADING],
        "rest": others[ACCOUNTS_AFTER_LEADING:],
    }


def _account(
    evidence: Evidence, place: int, account: Mapping[str, Any], common: set[str]
) -> AccountShown:
    gives_up = account["gives_up"]
    besides = [evidence.statement(each).sentence for each in gives_up if each not in common]
    missing = (name for name in evidence.suppositions if name in common - set(gives_up))
    keeps = [evidence.statement(each).sentence for each in missing]
    told = [f"gives up besides {'; '.join(besides)}"] if besides else []
    told += [f"keeps {'; '.join(keeps)}"] if keeps else []
    return {
        "anchor": anchor("account", account["id"]),
        "title": f"Account {place}",
        "href": evidence.href_of(account["id"]),
        "besides": besides
        if account["is_leading"]
        else [shortened(each, ITEM_GLYPHS) for each in besides],
        "keeps": [shortened(each, ITEM_GLYPHS) for each in keeps],
        "brief": shortened("; ".join(told), BRIEF_GLYPHS),
        "is_leading": account["is_leading"],
        "odds_note": account["odds_note"],
        "chance": _chance(account),
    }


def _chance(account: Mapping[str, Any]) -> str:
    """The chance of the account, where its note does not tell it anyhow."""
    if account.get("chance") is None or "chance" in account["odds_note"].lower():
        return ""
    return f"chance {percent(account['chance'])}"


def swaps(evidence: Evidence) -> list[SwapShown]:
    """Parts likely not to have left the works with the instrument, likeliest first."""
    names = {each["position"]: each["name"] for each in evidence.report["positions"]}
    return [
        {
            "name": ", ".join(names.get(each, each) for each in swap["positions"])
            or swap["subject"],
            "is_several": len(swap["positions"]) > 1,
            "sentence": swap["sentence"],
            "href": evidence.href_of(swap["finding"]),
            "accounts_giving_up": f"{swap['accounts_giving_up']:,}",
            "accounts_total": f"{swap['accounts_total']:,}",
            "prior": percent(swap["prior"]),
        }
        for swap in evidence.report["swaps"]
    ]
