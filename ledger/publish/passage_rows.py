"""What of a report can be found by search.

Statements that stand on the page of a position or a mark already are not told twice, nor are those
that only link others, nor accounts that do not lead: they would crowd out what somebody looks for.
"""

from __future__ import annotations

from collections.abc import Container, Iterable
from typing import Any

from ledger.findings import Finding, Report
from ledger.publish.evidence import finding_href, instrument_href
from ledger.publish.svg import anchor

Row = dict[str, Any]

FINDING_WORDS = {
    "bound": "What bounds a date",
    "comparison": "Held against a reference",
    "date": "End of a date",
    "conflict": "Conflict",
    "account": "Leading account",
    "surprise": "Surprise",
    "identity": "What it is",
    "chance": "How likely",
    "dependency": "To be taken with care",
}


def said(report: Report, told: Iterable[str]) -> str:
    """Sentences in a row; where the report names a finding, the finding's sentence."""
    sentences = {finding.id: finding.sentence for finding in report.findings}
    return " ".join(sentences.get(each, each) for each in told)


# What stands on the page of a position or a mark already, or only links others, is not looked for.
_NOT_LOOKED_FOR = frozenset({"relation", "state", "reading", "swap"})


def _is_looked_for(finding: Finding, set_aside: Container[str]) -> bool:
    return finding.kind not in _NOT_LOOKED_FOR and finding.id not in set_aside


def _said_once(findings: Iterable[Finding]) -> Iterable[Finding]:
    """The first of those that say the same: each account has findings of its own."""
    said_already: set[tuple[str, str]] = set()
    for finding in findings:
        key = (finding.kind, finding.sentence)
        if key not in said_already:
            said_already.add(key)
            yield finding


def passage_rows(report: Report) -> list[Row]:
    """What can be found of the report by search, each with the place where it is shown."""
    page = instrument_href(report.instrument)
    set_aside = {account.id for account in report.accounts if not account.is_leading}
    passages: Iterable[tuple[str, str, str, str]] = [
        ("instrument", report.name, said(report, (*report.conclusion, *report.identity)), page),
        *(
            ("source" if line.section == "sources" else "line", line.title, line.sentence, href)
            for line in report.lines
            for href in (f"{page}#{anchor('line', line.id)}",)
        ),
        *(
            (
                "position",
                position.name,
                said(report, (f"State: {position.label}.", *position.reasons)),
                href,
            )
            for position in report.positions
            for href in (f"{page}#{anchor('position', position.position)}",)
        ),
        *(
            (
                "finding",
                FINDING_WORDS.get(finding.kind, finding.kind),
                finding.sentence,
                finding_href(report.instrument, finding.id),
            )
            for finding in _said_once(report.findings)
            if _is_looked_for(finding, set_aside)
        ),
        *(
            ("question", "Open question", said(report, (question,)), page)
            for question in report.questions
        ),
    ]
    return [
        {"kind": kind, "instrument": report.instrument, "title": title, "text": text, "href": href}
        for kind, title, text, href in passages
    ]
