"""The answer to one challenge as it stands in a dossier: whole, with what a page leaves folded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ledger.dossier import Dossier
from ledger.publish.challenge_sections import challenges
from ledger.publish.dossier_contexts import AnsweredTold, RivalTold
from ledger.publish.dossier_sections import Told
from ledger.publish.percentages import percent


def answered(dossier: Dossier, told: Told) -> AnsweredTold | None:
    """The challenge that is answered; None in a dossier for another purpose."""
    if not dossier.challenge:
        return None
    evidence = told.evidence
    ids = [each["id"] for each in evidence.report["challenges"]]
    place = ids.index(dossier.challenge)
    dispute = evidence.report["challenges"][place]
    return {
        "shown": challenges(evidence)[place],
        "rules": [f"{rule['id']}: {rule['sentence']}" for rule in dispute["rules"]],
        "rivals": [_rival(each) for each in dispute["rivals"]],
        "observed": [
            told.observed(line["id"])
            for line in (evidence.line_of(each["line"]) for each in dispute["observations"])
            if line is not None
        ],
        "doubted": [each["sequence"] for each in dispute["observations"] if each["is_doubted"]],
        "then": [(then.entry, list(then.claims)) for then in dossier.claims_then],
    }


def _rival(each: Mapping[str, Any]) -> RivalTold:
    """An account's own note tells its chance already."""
    chance = each["chance"]
    is_told = chance is not None and each["kind"] != "account"
    return {
        "sentence": each["sentence"],
        "note": each["note"],
        "chance": f"chance {percent(chance)}, all evidence weighed" if is_told else "",
        "grants": each["grants"],
        "is_leading": each["is_leading"] and each["kind"] == "account",
    }
