"""The section of an instrument's page on challenges: each answered line by line.

Nothing is concluded here; the report holds the answer. A name that is withheld is not told, and
neither is that there is one to tell.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ledger.publish.challenge_contexts import (
    AnswerShown,
    ChallengeShown,
    ObservedShown,
    RivalShown,
)
from ledger.publish.evidence import LINE, REFERENCE, Evidence, reference_href, short_hash
from ledger.publish.instrument_sections import cautions
from ledger.publish.page_contexts import Said
from ledger.publish.support import exhibits_shown
from ledger.publish.svg import anchor
from ledger.publish.wording import spelled

WITHHELD = "withheld"


def challenges(evidence: Evidence) -> list[ChallengeShown]:
    """Every challenge on record, in the order of the record."""
    return [_challenge(evidence, each) for each in evidence.report.get("challenges", ())]


def _challenge(evidence: Evidence, dispute: Mapping[str, Any]) -> ChallengeShown:
    known = {each["id"]: each for each in cautions(evidence.report)}
    on_record = (text for each in dispute["answers"] for text in each["concedes"])
    return {
        "anchor": anchor("challenge", dispute["id"]),
        "says": dispute["says"],
        "instead": dispute["instead"],
        "by": "" if dispute["by"] == WITHHELD else dispute["by"],
        "date": spelled(dispute["date"]),
        "entry": dispute["sequence"],
        "short_hash": short_hash(dispute["hash"]),
        "claims": [
            {
                "sentence": claim["sentence"],
                "href": evidence.href_of(claim["finding"]) if claim["finding"] else "",
            }
            for claim in dispute["claims"]
        ],
        "observations": [_observed(evidence, each) for each in dispute["observations"]],
        "rules": [rule["id"] for rule in dispute["rules"]],
        "references": _references(evidence, dispute["references"]),
        "rivals": [_rival(each) for each in dispute["rivals"]],
        "supposing": list(dispute["supposing"]),
        "impossible": dispute["impossible"],
        "falls": list(dispute["falls"]),
        "stands": list(dispute["stands"]),
        "conceded": list(dict.fromkeys((*on_record, *dispute["conceded"]))),
        "would_change": list(dispute["would_change"]),
        "unknown": list(dispute["unknown"]),
        "cautions": [known[name] for name in dispute["cautions"] if name in known],
        "answers": [_answer(evidence, each) for each in dispute["answers"]],
    }


def _observed(evidence: Evidence, each: Mapping[str, Any]) -> ObservedShown:
    line = evidence.line_of(f"{LINE}{each['line']}")
    own = set(line["exhibits"]) if line is not None else set()
    others = [exhibit for exhibit in each["exhibits"] if exhibit["id"] not in own]
    return {
        "statement": {
            "sentence": each["sentence"],
            "href": evidence.href_of(f"{LINE}{each['line']}"),
        },
        "source": spelled(each["source"]),
        "is_doubted": each["is_doubted"],
        "weights": list(each["weights"]),
        "entry": each["sequence"],
        "short_hash": short_hash(each["hash"]),
        "exhibits": exhibits_shown(evidence, line) if line is not None else [],
        "shown_in": [
            f"{exhibit['caption'].rstrip('.')} ({short_hash(exhibit['sha256'])})"
            for exhibit in others
            if exhibit["sha256"]
        ],
    }


def _references(evidence: Evidence, names: Iterable[str]) -> list[Said]:
    found = (evidence.reference_of(f"{REFERENCE}{name}") for name in names)
    return [
        {"sentence": row["sentence"], "href": reference_href(row["id"])}
        for row in found
        if row is not None
    ]


def _rival(each: Mapping[str, Any]) -> RivalShown:
    return {
        "sentence": each["sentence"],
        "note": each["note"],
        "grants": each["grants"],
        "is_leading": each["is_leading"] and each["kind"] == "account",
    }


def _answer(evidence: Evidence, each: Mapping[str, Any]) -> AnswerShown:
    return {
        "anchor": anchor("answer", each["id"]),
        "says": each["says"],
        "by": "" if each["by"] == WITHHELD else each["by"],
        "date": spelled(each["date"]),
        "entry": each["sequence"],
        "rests_on": [
            {"sentence": evidence.line_title(name), "href": evidence.href_of(f"{LINE}{name}")}
            for name in each["rests_on"]
        ],
        "corrects": each["corrects"],
        "is_told": each["is_told"],
    }
