"""What each page of the site shows, as data for its template.

Pure functions of reports as plain data. No conclusion is drawn here: every sentence is the
report's own or says how much of something there is, and an end that is not known is told so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.publish import challenge_sections, chance_sections, date_sections
from ledger.publish import instrument_sections as sections
from ledger.publish.chance_contexts import RecordingShown, WeighedPage
from ledger.publish.drawings import chain_svg, date_bounds_svg, part_map_svg, time_axis_svg
from ledger.publish.evidence import Evidence, instrument_href
from ledger.publish.page_contexts import (
    FrontPage,
    InstrumentCard,
    Said,
)
from ledger.publish.shared_sections import shared_sections
from ledger.publish.support import chain_of, decisive_path, everything, supposed, unfold
from ledger.publish.support_contexts import FindingPage, SupposedWords
from ledger.publish.svg import anchor
from ledger.publish.time_rows import NARROW_UNITS

# What the suppositions of a finding are to it, by its kind.
NEEDED: SupposedWords = {
    "heading": "What has to hold for it",
    "hint": "Each supposition below is needed somewhere in the chain.",
    "none": "Nothing is supposed on the way.",
    "beneath": "No line and no reference row is named beneath it: it follows from its rule alone.",
    "is_needed": True,
}
SUPPOSED_WORDS: Mapping[str, SupposedWords] = {
    "account": {
        **NEEDED,
        "is_needed": False,
        "heading": "What it gives up",
        "hint": "By this account none of the suppositions below holds, so that all the rest can.",
        "beneath": "It follows from all the conflicts together, and names no line of its own.",
    },
    "conflict": {
        **NEEDED,
        "is_needed": False,
        "heading": "What cannot all hold",
        "hint": "At least one of the suppositions below does not hold. Which one it is, the "
        "conflict does not say.",
    },
    "swap": {
        **NEEDED,
        "is_needed": False,
        "heading": "What comes into question",
        "hint": "It is the supposition below that some accounts give up.",
        "beneath": "It is counted over all the accounts, and names no line of its own.",
    },
    "chance": {
        **NEEDED,
        "none": "Nothing is taken to hold outright: whatever could fail is weighed with the rest, "
        "from starting values of practice.",
    },
}
TELLS_THE_DATE = "Completed"  # how a conclusion on the date begins; a card has it in words


def front_page(instruments: Iterable[Mapping[str, Any]]) -> FrontPage:
    """The front page of the site, for the reports given, in their order."""
    cards = [_card(report) for report in instruments]
    return {
        "page_title": "Documented instruments",
        "instruments": cards,
        "is_invented": bool(cards) and all(card["is_invented"] for card in cards),
    }


def _card(report: Mapping[str, Any]) -> InstrumentCard:
    evidence = Evidence(report)
    told = sections.sentences(evidence, report["conclusion"])
    real = sum(1 for conflict in report["conflicts"] if not conflict["is_recorded_change"])
    surprises = sum(1 for surprise in report["surprises"] if surprise["is_open"])
    return {
        "name": report["name"],
        "href": instrument_href(report["instrument"]),
        "kind_name": report["kind_name"],
        "about": ", ".join(told for told in (report["maker"], report["model"]) if told),
        "is_invented": report["invented"],
        "conclusion": [each for each in told if not each.startswith(TELLS_THE_DATE)],
        "completed": date_sections.completed_lines(evidence),
        "likely": chance_sections.likeliest_weeks(report),
        "open_count": surprises + len(report["questions"]),
        "conflict_count": real,
    }


def instrument_page(
    report: Mapping[str, Any], recordings: Sequence[RecordingShown] = ()
) -> WeighedPage:
    """The page of one instrument; ``recordings`` tell how its record grew."""
    evidence = Evidence(report)
    return {
        **shared_sections(evidence),
        "chances": chance_sections.chances(evidence),
        "part_chances": {
            anchor("position", position): shown
            for position, shown in chance_sections.chances_by_position(evidence).items()
        },
        "recordings": list(recordings),
        "page_title": report["name"],
        "instrument": report["instrument"],
        "href": instrument_href(report["instrument"]),
        "sequence": report["sequence"],
        "conclusion": sections.all_said(evidence, report["conclusion"]),
        "identity": sections.all_said(evidence, report["identity"]),
        "bounds_svg": date_bounds_svg(report),
        "bounds_narrow_svg": date_bounds_svg(report, width=NARROW_UNITS, prefix="bounds-narrow"),
        "parts_svg": part_map_svg(report),
        "key": sections.key(report),
        "positions": sections.positions(evidence),
        "questions": sections.all_said(evidence, report["questions"]),
        "challenges": challenge_sections.challenges(evidence),
        "events_svg": time_axis_svg(report),
        "events_narrow_svg": time_axis_svg(report, width=NARROW_UNITS, prefix="events-narrow"),
        "works": sections.lines(evidence, "works"),
        "taken_for_granted": sections.all_said(evidence, report["taken_for_granted"]),
        "dependencies": _dependencies(evidence),
        "lines": sections.lines(evidence),
        "packs": [
            {"title": pack["title"], "version": pack["version"], "is_invented": pack["invented"]}
            for pack in report["packs"]
        ],
    }


def _dependencies(evidence: Evidence) -> list[Said]:
    """Conclusions that rest on something they should not rest on alone."""
    return sections.all_said(
        evidence,
        [name for name, found in evidence.findings.items() if found["kind"] == "dependency"],
    )


def finding_page(
    report: Mapping[str, Any], finding_id: str, decisive: frozenset[str] | None = None
) -> FindingPage | None:
    """The page of one finding, or None where the report has no such finding.

    ``decisive`` are the grounds without any one of which it falls, None where that was not
    worked out: then nothing is folded away.
    """
    evidence = Evidence(report)
    found = evidence.findings.get(finding_id)
    if found is None:
        return None
    is_decisive = decisive_path(evidence, decisive) if decisive else everything
    nodes, edges, left_out = chain_of(evidence, finding_id)
    few_nodes, few_edges, few_left_out = chain_of(evidence, finding_id, is_decisive)
    is_shorter = len(few_nodes) + few_left_out < len(nodes) + left_out
    title = f"Chain beneath: {found['sentence']}"
    leads_to = [
        name for name, other in evidence.findings.items() if finding_id in other["premises"]
    ]
    note = (
        f"{left_out} boxes farther down are not drawn; the list above tells all of them."
        if left_out
        else ""
    )
    return {
        "page_title": f"{found['kind'].capitalize()}: {report['name']}",
        "name": report["name"],
        "instrument_href": instrument_href(report["instrument"]),
        "is_invented": report["invented"],
        "kind": found["kind"],
        "sentence": found["sentence"],
        "rule": found["rule"],
        "unfolded": unfold(evidence, finding_id, is_decisive),
        "suppositions": supposed(evidence, finding_id),
        "supposed_words": SUPPOSED_WORDS.get(found["kind"], NEEDED),
        "leads_to": sections.all_said(evidence, leads_to),
        "chain_svg": chain_svg(nodes, edges, title=title),
        "decisive_svg": chain_svg(
            few_nodes, few_edges, title=f"Decisive path: {found['sentence']}", prefix="decisive"
        )
        if is_shorter
        else "",
        "is_without_decisive": decisive is not None and not decisive,
        "chain_note": note,
    }
