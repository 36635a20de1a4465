"""The pages of a dossier: one HTML file that needs nothing beside it and prints on any sheet.

Nothing is concluded here. The file asks for nothing from anywhere: drawings and pictures stand in
it, there is no script, and a policy in its head forbids the rest. It holds one place for a
proof, which whoever has the ledger fills in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from ledger.basis.visible import visible, with_hidden_named
from ledger.dossier import Dossier
from ledger.publish import dossier_drawings as drawings
from ledger.publish import dossier_sections as told
from ledger.publish import instrument_sections as sections
from ledger.publish.dossier_answers import answered
from ledger.publish.dossier_contexts import DossierPage, ReportTold
from ledger.publish.dossier_lines import lines_told, rows_told
from ledger.publish.dossier_sections import Told
from ledger.publish.evidence import Evidence
from ledger.publish.shared_sections import shared_sections
from ledger.publish.svg import anchor
from ledger.publish.wording import worded_report

ROOM: Final = Path(__file__).parent
TITLES: Final = {
    "report": "Condition and originality report",
    "dating": "Dating statement",
    "challenge": "Answer to a challenge",
}
GROUPS: Final = {
    "Measurements": "measurements",
    "Traces of work, wear and fitting": "traces",
    "In whose hands": "custody",
    "Seen in dated pictures": "sightings",
    "On paper": "papers",
    "Told by people": "testimony",
}


def dossier_page(dossier: Dossier, place_of_proof: str) -> str:
    """The HTML of the dossier; ``place_of_proof`` is the markup into which its proof will go."""
    context = _context(dossier)
    template = _pages().get_template(f"dossier_{dossier.purpose}.html")
    head = f"{context['name']}; {context['title']}; entry {context['as_of_sequence']}"
    return template.render(
        **context,
        css=Markup((ROOM / "static" / "dossier.css").read_text(encoding="utf-8")),  # noqa: S704 - our own file
        running_head=Markup(css_text(visible(head))),  # noqa: S704 - spelt out for a style sheet
        place_of_proof=Markup(place_of_proof),  # noqa: S704 - made by us
    )


def css_text(text: str) -> str:
    r"""The text as a string of a style sheet that no glyph in it can end.

    >>> css_text('a"b')
    '"a\\22 b"'
    """
    spelt = (
        glyph if glyph.isascii() and glyph.isalnum() else f"\\{ord(glyph):x} " for glyph in text
    )
    return '"' + "".join(spelt) + '"'


@cache
def _pages() -> Environment:
    return Environment(
        loader=FileSystemLoader(ROOM / "templates"),
        autoescape=True,
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _shown(value: object) -> object:
    """What is printed: text with everything told that would not be seen."""
    if isinstance(value, Markup):
        return Markup(with_hidden_named(value))  # noqa: S704 - it was markup, and is no more of it
    return visible(value) if isinstance(value, str) else value


def _context(dossier: Dossier) -> DossierPage:
    report = worded_report(asdict(dossier.report))
    evidence = Evidence(report)
    found = Told(dossier, evidence, lines_told(evidence, dossier.purpose, dossier.challenge))
    names = rows_told(evidence, dossier.purpose, dossier.challenge)
    positions = told.positions(found)
    here = {anchor("position", each["position"]) for each in report["positions"]}
    anchors = found.anchors | (here if dossier.purpose == "report" else frozenset())
    return {
        **_report_told(report, evidence),
        "purpose": dossier.purpose,
        "title": TITLES[dossier.purpose],
        "made_at": told.moment_words(dossier.made_at),
        "by": dossier.by,
        "as_of_sequence": dossier.as_of.sequence,
        "as_of_hash": dossier.as_of.hash,
        "as_of_time": told.moment_words(dossier.as_of.recorded_at),
        "signing": told.signing(dossier),
        "lines": list(found.lines),
        "sources": found.of("sources"),
        "works": found.of("works"),
        "parts_kept": found.of("parts"),
        "nothing_read": found.of("non_values"),
        "searches": found.of("register_searches"),
        "groups": [
            {"heading": heading, "lines": lines}
            for heading, section in GROUPS.items()
            if (lines := found.of(section))
        ],
        "positions": [each for each in positions if each["is_examined"]],
        "unexamined": [each["name"] for each in positions if not each["is_examined"]],
        "states": told.states(report),
        "exhibits": told.exhibits(dossier, evidence),
        "references": told.rows(dossier, evidence, names, is_practice=False),
        "practices": told.rows(dossier, evidence, names, is_practice=True),
        "chances": told.chances(report),
        "supports": told.supports(evidence),
        "answered": answered(dossier, found),
        "parts_svg": drawings.parts_drawing(report, anchors),
        "bounds_svg": drawings.bounds_drawing(report, anchors),
        "events_svgs": drawings.events_drawings(report, anchors),
        "anchors": anchors,
    }


def _report_told(report: Mapping[str, Any], evidence: Evidence) -> ReportTold:
    packs = told.packs(report)
    return {
        **shared_sections(evidence),
        "packs": packs,
        "more_packs": len(report["packs"]) - len(packs),
        "conclusion": sections.sentences(evidence, report["conclusion"]),
        "identity": sections.sentences(evidence, report["identity"]),
        "dependencies": [
            each["sentence"] for each in report["findings"] if each["kind"] == "dependency"
        ],
        "questions": sections.sentences(evidence, report["questions"]),
        "taken_for_granted": sections.sentences(evidence, report["taken_for_granted"]),
    }
