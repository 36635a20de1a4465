"""The sections of an instrument's page, each made from the report's own words.

Ends that are open are always told; a list that is empty stays empty, for the template to say so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.publish.drawings import marker_svg
from ledger.publish.evidence import Evidence, finding_href, short_hash, source_href
from ledger.publish.page_contexts import (
    CautionShown,
    KeyShown,
    LineShown,
    LookShown,
    MarkShown,
    PositionShown,
    ReadingShown,
    ReasonShown,
    Said,
    StandingShown,
    SurpriseShown,
)
from ledger.publish.part_drawing import shape_of, spread
from ledger.publish.shortening import shortened
from ledger.publish.support import exhibits_shown, section_word
from ledger.publish.svg import anchor
from ledger.publish.time_drawing import days_words

CONCERNS_NAMED = 3
BOUND_AT_ITS_END = ": not before "
CONCERNS_ALL = "the whole instrument"
# Of the cautions whose ids do not say by themselves what they are about.
CAUTION_NAMES = {
    "identity-page": "numbers and theft",
    "deceit": "talk of deceit",
    "sale": "words used in a sale",
    "fret-work": "work on frets",
    "reference-data": "names and data of others",
}
REACHES = {
    "look": "by looking",
    "open": "by opening",
    "remove": "by removing parts",
    "alter": "only by altering the instrument",
}
LINKS = {
    "root": "",
    "integral": "part of",
    "captive": "held in",
    "mounted": "mounted on",
}


def said(evidence: Evidence, told: str) -> Said:
    """The sentence with its link."""
    statement = evidence.statement(told)
    return {"sentence": statement.sentence, "href": statement.href}


def all_said(evidence: Evidence, told: Iterable[str]) -> list[Said]:
    """Each sentence with its link."""
    return [said(evidence, each) for each in told]


def sentences(evidence: Evidence, told: Iterable[str]) -> list[str]:
    """Each as a sentence, without its link."""
    return [evidence.statement(each).sentence for each in told]


def cautions(report: Mapping[str, Any]) -> list[CautionShown]:
    """Every caution of the report, with the names of all positions that it concerns."""
    concerned: dict[str, list[str]] = {}
    for position in report["positions"]:
        for name in position["cautions"]:
            concerned.setdefault(name, []).append(position["name"])
    return [
        {
            "id": caution["id"],
            "anchor": anchor("caution", caution["id"]),
            "name": caution_name(caution["id"]),
            "about": ", ".join(about[:CONCERNS_NAMED]),
            "about_more": max(0, len(about) - CONCERNS_NAMED),
            "says": caution["says"],
            "defer_to": caution["defer_to"],
        }
        for caution in report["cautions"]
        for about in (concerned.get(caution["id"], [CONCERNS_ALL]),)
    ]


def caution_name(caution: str) -> str:
    """What a caution is called on every page.

    >>> caution_name("lead-solder"), caution_name("identity-page")
    ('lead solder', 'numbers and theft')
    """
    return CAUTION_NAMES.get(caution, caution.replace("-", " "))


def positions(evidence: Evidence) -> list[PositionShown]:
    """The table of positions, numbered as on the part map."""
    report = evidence.report
    known = {caution["id"]: caution for caution in cautions(report)}
    names = {position["position"]: position["name"] for position in report["positions"]}
    shown: list[PositionShown] = []
    markers = spread(report["positions"])
    reasoned: dict[tuple[str, ...], int] = {}
    for marker in markers:
        position = marker.position
        reasons = tuple(position["reasons"])
        alike = reasoned.setdefault(reasons, marker.number)
        parent = position["parent"]
        shown.append(
            {
                "number": marker.number,
                "anchor": anchor("position", position["position"]),
                "name": position["name"],
                "is_examined": _is_examined(position),
                "parent": names.get(parent, parent) if parent else "",
                "link": LINKS.get(position["link"], position["link"]),
                "label": position["label"] or " or ".join(position["states"]),
                "states": list(position["states"]),
                "marker_svg": marker_svg(position["states"], prefix=f"state-{marker.number}"),
                "reasons": all_said(evidence, reasons),
                "as_number": alike if reasons and alike != marker.number else 0,
                "as_anchor": anchor("position", markers[alike - 1].position["position"]),
                "finding_href": finding_href(report["instrument"], position["finding"])
                if position["finding"]
                else "",
                "fitted_with": [
                    other.number
                    for other in markers
                    if position["fitting_event"]
                    and other.position["fitting_event"] == position["fitting_event"]
                    and other.number != marker.number
                ],
                "made": days_words(*position["made"]) if position["made"] else "",
                "lines": all_said(evidence, [f"line:{line}" for line in position["lines"]]),
                "cautions": [known[name] for name in position["cautions"] if name in known],
            }
        )
    return shown


def _is_examined(position: Mapping[str, Any]) -> bool:
    """Whether anything at all is on record of the position."""
    return bool(position["lines"]) or list(position["states"]) != ["not examined"]


def key(report: Mapping[str, Any]) -> list[KeyShown]:
    """The shapes that occur on the map, with their words, in the order of the states."""
    found: dict[str, Sequence[str]] = {}
    for position in report["positions"]:
        name, _ = shape_of(position["states"])
        found.setdefault(name, position["states"])
    return [
        {"name": name, "marker_svg": marker_svg(states, prefix=f"key-{index}")}
        for index, (name, states) in enumerate(found.items())
    ]


def surprises(evidence: Evidence, *, is_open: bool) -> list[SurpriseShown]:
    """What was seen and is not explained, or what was and by what."""
    return [
        {
            "sentence": surprise["sentence"],
            "line_href": evidence.href_of(f"line:{surprise['line']}"),
            "is_open": surprise["is_open"],
            "explained_by": _explanation(evidence, surprise["explained_by"]),
        }
        for surprise in evidence.report["surprises"]
        if surprise["is_open"] == is_open
    ]


def _explanation(evidence: Evidence, told: str | None) -> Said | None:
    if told is None:
        return None
    line = evidence.line_of(told)
    return said(evidence, f"line:{line['id']}") if line else said(evidence, told)


def marks(evidence: Evidence) -> list[MarkShown]:
    """Each mark that was read, with every candidate, used or not."""
    grouped: dict[str, list[Mapping[str, Any]]] = {}
    for reading in evidence.report["readings"]:
        grouped.setdefault(reading["line"], []).append(reading)
    return [
        {
            "text": found[0]["text"],
            "title": evidence.line_title(line),
            "line_href": evidence.href_of(f"line:{line}"),
            "count": len(found),
            "standings": _standings(found),
            "reasons": _reasons(found),
        }
        for line, found in grouped.items()
    ]


def _standings(readings: Iterable[Mapping[str, Any]]) -> list[StandingShown]:
    """The readings of a mark, those together that stand alike to the rest of the evidence."""
    grouped: dict[tuple[bool, str], list[ReadingShown]] = {}
    for reading in readings:
        standing = shortened(reading["standing"], len(reading["standing"]))
        grouped.setdefault((reading["is_used"], standing), []).append(
            {
                "reading": _without_days(reading),
                "is_plain": reading["is_plain"],
                "days": [days_words(*span) for span in reading["days"]],
            }
        )
    return [
        {"standing": standing, "is_used": is_used, "readings": found}
        for (is_used, standing), found in grouped.items()
    ]


def _without_days(reading: Mapping[str, Any]) -> str:
    """The reading without the bound at its end, which its days tell beside it."""
    said: str = reading["reading"]
    return said.partition(BOUND_AT_ITS_END)[0] if reading["days"] else said


def _reasons(readings: Sequence[Mapping[str, Any]]) -> list[ReasonShown]:
    """Why the mark may be read so, each reason once."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for reading in readings:
        key = (reading["reason"], reading["source"])
        grouped.setdefault(key, []).append(reading["reading"])
    return [
        {
            "readings": "" if len(told) == len(readings) else "; ".join(told),
            "reason": reason,
            # A reason that is the source in so many words does not name it again.
            "source": "" if source.rstrip(".") in reason else source.rstrip("."),
        }
        for (reason, source), told in grouped.items()
    ]


def looks(evidence: Evidence) -> list[LookShown]:
    """What has not been looked at, and how far one would have to go."""
    known = {caution["id"]: caution for caution in cautions(evidence.report)}
    found = {position["position"]: position for position in evidence.report["positions"]}
    shown: list[LookShown] = []
    for look in evidence.report["looks"]:
        position = found.get(look["position"])
        beside = position["cautions"] if position else ()
        shown.append(
            {
                "position": position["name"] if position else look["position"],
                "href": f"#{anchor('position', look['position'])}" if position else "",
                "reach": REACHES.get(look["reach"], look["reach"]),
                "sentence": look["sentence"],
                "loses": look["loses"],
                "cautions": [known[name] for name in beside if name in known],
            }
        )
    return shown


def lines(evidence: Evidence, section: str | None = None) -> list[LineShown]:
    """The lines of the record, all or those of one section, in the order of the report."""
    return [
        _line(evidence, line)
        for line in evidence.report["lines"]
        if section is None or line["section"] == section
    ]


def _line(evidence: Evidence, line: Mapping[str, Any]) -> LineShown:
    source = line["source"]
    return {
        "anchor": anchor("line", line["id"]),
        "section": section_word(line["section"]),
        "title": line["title"] or line["id"],
        "sentence": line["sentence"],
        "source": {
            "sentence": evidence.line_title(source),
            "href": source_href(evidence.instrument, source)
            if source in evidence.lines
            else evidence.href_of(f"line:{source}"),
        }
        if source
        else None,
        "entry": line["sequence"],
        "short_hash": short_hash(line["hash"]),
        "hash": line["hash"],
        "exhibits": exhibits_shown(evidence, line),
    }
