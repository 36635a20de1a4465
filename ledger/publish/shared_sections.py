"""The sections that a page of the site and a dossier tell alike, built once for both.

Nothing is concluded here: each section is made from the report's own words by the module named
after it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from ledger.publish import date_sections, doubt_sections
from ledger.publish import instrument_sections as sections
from ledger.publish.evidence import Evidence
from ledger.publish.page_contexts import AdviceTold, SharedSections

ADVICE_TOLD: Final = 10
LEAST_DATE_BITS: Final = 0.01  # less is not told as bearing on the date


def shared_sections(evidence: Evidence) -> SharedSections:
    """What is told of the instrument wherever it is told."""
    report = evidence.report
    advised = advice(report)
    return {
        "name": report["name"],
        "kind_name": report["kind_name"],
        "maker": report["maker"],
        "model": report["model"],
        "is_invented": report["invented"],
        "events": date_sections.events(evidence),
        "conflict_groups": doubt_sections.conflict_groups(evidence),
        "recorded_changes": doubt_sections.recorded_changes(evidence),
        "accounts": doubt_sections.accounts(evidence),
        "completeness": report["completeness"],
        "swaps": doubt_sections.swaps(evidence),
        "open_surprises": sections.surprises(evidence, is_open=True),
        "explained_surprises": sections.surprises(evidence, is_open=False),
        "marks": sections.marks(evidence),
        "looks": sections.looks(evidence),
        "advice": advised[:ADVICE_TOLD],
        "more_advice": max(0, len(advised) - ADVICE_TOLD),
        "cautions": sections.cautions(report),
    }


def advice(report: Mapping[str, Any]) -> list[AdviceTold]:
    """The examinations that somebody can make, in the order of the report."""
    known = {each["id"]: each for each in sections.cautions(report)}
    return [
        {
            "sentence": each["sentence"],
            "loses": each["loses"],
            "cautions": [known[name] for name in each["cautions"] if name in known],
            "outcomes": [outcome["sentence"] for outcome in each["outcomes"]],
            "bears_on_date": each["date_bits"] >= LEAST_DATE_BITS,
        }
        for each in report.get("advice", ())
        if each["is_to_be_had"]
    ]
