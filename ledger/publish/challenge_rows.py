"""The rows of the site database on challenges and answers."""

from __future__ import annotations

from typing import Any

from ledger.disputes import Dispute
from ledger.findings import Report
from ledger.publish.evidence import instrument_href
from ledger.publish.svg import anchor

Row = dict[str, Any]
WITHHELD = "withheld"


def challenge_rows(report: Report) -> dict[str, list[Row]]:
    """Challenges, their answers and what can be searched of them, by the name of the table."""
    return {
        "challenge": [_challenge(report, each) for each in report.challenges],
        "answer": [row for each in report.challenges for row in _answers(report, each)],
        "passage": [_passage(report, each) for each in report.challenges],
    }


def _challenge(report: Report, dispute: Dispute) -> Row:
    on_record = (text for each in dispute.answers for text in each.concedes)
    return {
        "key": f"{report.instrument}/{dispute.id}",
        "instrument": report.instrument,
        "id": dispute.id,
        "raised_by": "" if dispute.by == WITHHELD else dispute.by,
        "date": dispute.date,
        "says": dispute.says,
        "instead": dispute.instead,
        "claims": " ".join(claim.sentence for claim in dispute.claims),
        "falls": " ".join(dispute.falls),
        "stands": " ".join(dispute.stands),
        "conceded": " ".join(dict.fromkeys((*on_record, *dispute.conceded))),
        "answers": len(dispute.answers),
        "sequence": dispute.sequence,
    }


def _answers(report: Report, dispute: Dispute) -> list[Row]:
    return [
        {
            "key": f"{report.instrument}/{each.id}",
            "instrument": report.instrument,
            "challenge": f"{report.instrument}/{dispute.id}",
            "answered_by": "" if each.by == WITHHELD else each.by,
            "date": each.date,
            "says": each.says,
            "concedes": " ".join(each.concedes),
            "corrects": each.corrects,
            "sequence": each.sequence,
        }
        for each in dispute.answers
    ]


def _passage(report: Report, dispute: Dispute) -> Row:
    answered = (text for each in dispute.answers for text in (each.says, each.corrects))
    said = (dispute.says, dispute.instead, *answered, *dispute.conceded)
    return {
        "kind": "challenge",
        "instrument": report.instrument,
        "title": f"Challenge: {dispute.says}",
        "text": " ".join(text for text in said if text),
        "href": f"{instrument_href(report.instrument)}#{anchor('challenge', dispute.id)}",
    }
