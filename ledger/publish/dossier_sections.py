"""The sections of a dossier, each made from the report's own words and the rows of the record.

What the pages of the site show is taken over from there; here stands what is told otherwise on
paper: lines with their entries, exhibits by number, rows of packs, what is signed.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final

from ledger.dossier import Dossier
from ledger.publish import instrument_sections as sections
from ledger.publish.dossier_contexts import (
    ChancesTold,
    ExhibitTold,
    LineTold,
    ObservedTold,
    PositionTold,
    RowTold,
    SigningTold,
    StateTold,
    SupportTold,
)
from ledger.publish.drawings import marker_svg
from ledger.publish.evidence import Evidence
from ledger.publish.originality import meaning_of
from ledger.publish.support import unfold
from ledger.publish.svg import anchor
from ledger.publish.time_scale import date_words

DOUBTFUL_TOLD, WEIGHTS_TOLD, SWAYS_TOLD = 8, 14, 8
SIDES = (("not_before", "the lower end"), ("not_after", "the upper end"))

MOMENT: Final = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d):\d\d(?:\.\d+)?Z")


class Told:
    """The lines and exhibits that a dossier tells, with their places in it."""

    def __init__(self, dossier: Dossier, evidence: Evidence, lines: Collection[str]) -> None:
        self.evidence = evidence
        self.figures = {each.sha256: at for at, each in enumerate(dossier.exhibits, start=1)}
        self._shown = {each["anchor"]: each for each in sections.lines(evidence)}
        self._proved = frozenset(dossier.signing.proved if dossier.signing else ())
        self.lines = tuple(self.line(name) for name in lines)
        self.anchors = frozenset(line["anchor"] for line in self.lines)

    def line(self, name: str) -> LineTold:
        """A line by its id, with the numbers of its exhibits."""
        line = self.evidence.lines[name]
        source = self.evidence.line_of(line["source"]) if line["source"] else None
        return {
            **self._shown[anchor("line", name)],
            "figures": self.figures_of(line),
            "source_entry": source["sequence"] if source else 0,
            "is_proved": line["sequence"] in self._proved,
        }

    def figures_of(self, line: Mapping[str, Any]) -> list[int]:
        """The numbers of the exhibits that a line names, by the files or by the lines of them."""
        digests: list[str] = []
        for name in line["exhibits"]:
            holder = None if name in self.figures else self.evidence.line_of(name)
            digests += holder["exhibits"] if holder is not None else [name]
        return sorted({self.figures[digest] for digest in digests if digest in self.figures})

    def of(self, *kinds: str) -> list[LineTold]:
        """The lines of some sections of the record."""
        wanted = {
            anchor("line", name)
            for name, line in self.evidence.lines.items()
            if line["section"] in kinds
        }
        return [line for line in self.lines if line["anchor"] in wanted]

    def observed(self, name: str) -> ObservedTold:
        """What a line says, in its own words."""
        line = self.evidence.lines[name]
        return {
            "sentence": line["sentence"] or line["title"],
            "entry": line["sequence"],
            "anchor": anchor("line", name),
            "figures": self.figures_of(line),
        }


def positions(told: Told) -> list[PositionTold]:
    """The schedule of positions, numbered as on the part map."""
    recorded = {each["position"]: each for each in told.evidence.report["positions"]}
    by_anchor = {anchor("position", name): each for name, each in recorded.items()}
    shown: list[PositionTold] = []
    for each in sections.positions(told.evidence):
        names = _lines_of(told.evidence, by_anchor[each["anchor"]])
        shown.append(
            {
                "number": each["number"],
                "anchor": each["anchor"],
                "name": each["name"],
                "link": f"{each['link']} the {each['parent']}" if each["parent"] else "",
                "label": each["label"],
                "marker_svg": each["marker_svg"],
                "observed": [told.observed(name) for name in names],
                "reasons": [reason["sentence"] for reason in each["reasons"]],
                "as_number": each["as_number"],
                "fitted_with": each["fitted_with"],
                "made": each["made"],
                "is_examined": each["is_examined"],
            }
        )
    return shown


def _lines_of(evidence: Evidence, position: Mapping[str, Any]) -> list[str]:
    """The lines that bear on a position or are about it, in the order of the record."""
    named = {line["id"] for line in map(evidence.line_of, position["lines"]) if line is not None}
    return [
        name
        for name, line in evidence.lines.items()
        if name in named or position["position"] in line["positions"]
    ]


def states(report: Mapping[str, Any]) -> list[StateTold]:
    """The states that occur, with how many positions are in each; never added up."""
    found: dict[str, list[Sequence[str]]] = {}
    for position in report["positions"]:
        label = position["label"] or " or ".join(position["states"])
        found.setdefault(label, []).append(position["states"])
    return [
        {
            "label": label,
            "marker_svg": marker_svg(of[0], prefix=f"scale-{number}"),
            "meaning": meaning_of(tuple(of[0]), label),
            "count": len(of),
        }
        for number, (label, of) in enumerate(found.items())
    ]


def exhibits(dossier: Dossier, evidence: Evidence) -> list[ExhibitTold]:
    """The exhibits by their numbers, with the entries of the lines that name them."""
    return [
        {
            "number": number,
            "anchor": f"exhibit-{number}",
            "caption": each.caption,
            "sha256": each.sha256,
            "masks": each.masks,
            "source": f"data:{each.media_type};base64,{each.thumbnail}" if each.thumbnail else "",
            "kept_back": each.kept_back,
            "entries": [evidence.lines[name]["sequence"] for name in each.lines],
        }
        for number, each in enumerate(dossier.exhibits, start=1)
    ]


def rows(
    dossier: Dossier, evidence: Evidence, names: Iterable[str], *, is_practice: bool
) -> list[RowTold]:
    """The rows of packs among the names: those of practice, or all others."""
    wanted = set(names)
    is_signed = dossier.signing is not None
    return [
        {
            "name": row["id"],
            "sentence": row["sentence"],
            "source": row["source"],
            "confidence": row["confidence"],
            "examples": "" if row["n"] is None else str(row["n"]),
            "is_practice": row["is_practice"],
            "is_proved": is_signed and row["id"] not in dossier.rows_unproved,
        }
        for row in evidence.report["references"]
        if row["id"] in wanted and row["is_practice"] is is_practice
    ]


def packs(report: Mapping[str, Any]) -> list[str]:
    """The packs that a row, or how likely something is beforehand, was taken from."""
    named = [row["id"] for row in report["references"]]
    named += [supposed["prior_from"] for supposed in report["suppositions"]]
    used = {name.partition("/")[0] for name in named}
    return [
        f"{pack['title']}, version {pack['version']}"
        f"{' (invented example)' if pack['invented'] else ''}"
        for pack in report["packs"]
        if pack["id"] in used
    ]


def signing(dossier: Dossier) -> SigningTold | None:
    """What of the dossier is signed; None where nothing is."""
    signed = dossier.signing
    if signed is None:
        return None
    return {
        "size": signed.size,
        "signed_at": moment_words(signed.signed_at),
        "key": signed.key,
        "root": signed.root,
        "proved": len(signed.proved),
        "unproved": list(signed.unproved),
        "is_whole": signed.is_whole,
    }


def chances(report: Mapping[str, Any]) -> ChancesTold:
    """The weighing in its own sentences, what is doubtful first."""
    found = report["chances"]
    if found is None:
        return {
            "note": "The evidence was not weighed.",
            "dates": [],
            "parts": [],
            "doubtful": [],
            "more_doubtful": 0,
            "weights": [],
            "sways": [],
        }
    doubtful = sorted(found["suppositions"], key=lambda each: (each["chance"], each["supposition"]))
    return {
        "note": found["note"],
        "dates": [each["sentence"] for each in found["dates"]],
        "parts": [each["sentence"] for each in found["parts"]],
        "doubtful": [each["sentence"] for each in doubtful[:DOUBTFUL_TOLD]],
        "more_doubtful": max(0, len(doubtful) - DOUBTFUL_TOLD),
        "weights": [each["sentence"] for each in found["weights"][:WEIGHTS_TOLD]],
        "sways": [each["sentence"] for each in found["sways"][:SWAYS_TOLD]],
    }


def supports(evidence: Evidence) -> list[SupportTold]:
    """Both ends of completion under the first leading account, down to entries and rows."""
    dating = next((d for d in evidence.report["datings"] if d["event"] == "completed"), None)
    if dating is None:
        return []
    return [
        {
            "heading": f"What {words} rests on",
            "item": unfold(evidence, dating[side]["finding"]),
        }
        for side, words in SIDES
        if dating[side]["finding"]
    ]


def moment_words(moment: str) -> str:
    """The moment as people write it; a text that is none stays as it is.

    >>> moment_words("2026-03-02T10:00:00Z")
    '2 March 2026, 10:00 UTC'
    """
    found = MOMENT.fullmatch(moment)
    return f"{date_words(found[1])}, {found[2]} UTC" if found else moment
