"""The sections of an instrument's page, each made from the report's own words.

Ends that are open are always told; a list that is empty stays empty, for the template to say so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ledger.publish.drawings import marker_svg
from ledger.publish.evidence import Evidence, finding_href, short_hash
from ledger.publish.page_contexts import (
    AccountShown,
    CautionShown,
    ConflictShown,
    DatingShown,
    EndShown,
    EventShown,
    KeyShown,
    LineShown,
    LookShown,
    MarkShown,
    PositionShown,
    ReadingShown,
    Said,
    SurpriseShown,
    SwapShown,
)
from ledger.publish.part_drawing import shape_of, spread
from ledger.publish.support import exhibits_shown, section_word
from ledger.publish.svg import anchor
from ledger.publish.time_drawing import span_words
from ledger.publish.time_rows import NO_LOWER, NO_UPPER
from ledger.publish.time_scale import date_words

EVENTS = ("completed", "dispatched", "first sold")
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


def events(evidence: Evidence) -> list[EventShown]:
    """What is known of each event; one without any dating is told with two open ends."""
    shown: list[EventShown] = []
    for event in EVENTS:
        datings = [d for d in evidence.report["datings"] if d["event"] == event]
        shown.append({"event": event, "datings": [_dating(evidence, each) for each in datings]})
    return shown


def _dating(evidence: Evidence, dating: Mapping[str, Any]) -> DatingShown:
    return {
        "account": evidence.account_title(dating["account"]),
        "account_href": f"#{anchor('account', dating['account'])}"
        if dating["account"] in evidence.accounts
        else "",
        "not_before": _end(evidence, dating["not_before"], is_lower=True),
        "not_after": _end(evidence, dating["not_after"], is_lower=False),
        "possible": [span_words(*span) for span in dating["possible"]],
    }


def _end(evidence: Evidence, end: Mapping[str, Any], *, is_lower: bool) -> EndShown:
    side, unknown = ("not before", NO_LOWER) if is_lower else ("not after", NO_UPPER)
    is_open = end["date"] is None
    href = evidence.href_of(end["finding"]) if end["finding"] else ""
    return {
        "side": side,
        "words": unknown if is_open else f"{side} {date_words(end['date'])}",
        "date": end["date"] or "",
        "is_open": is_open,
        "statement": {"sentence": end["sentence"], "href": href},
        "suppositions": sentences(evidence, end["suppositions"]),
        "moves": [_move(evidence, shift, side, unknown) for shift in end["shifts"]],
    }


def _move(evidence: Evidence, shift: Mapping[str, Any], side: str, unknown: str) -> str:
    if shift["sentence"]:
        return str(shift["sentence"])
    moved = f"{side} {date_words(shift['date'])}" if shift["date"] else unknown
    return f"Leave out {evidence.name_of(shift['without'])}: {moved}."


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
            "name": caution["id"].replace("-", " "),
            "about": ", ".join(concerned.get(caution["id"], [caution["about"]])),
            "says": caution["says"],
            "defer_to": caution["defer_to"],
        }
        for caution in report["cautions"]
    ]


def positions(evidence: Evidence) -> list[PositionShown]:
    """The table of positions, numbered as on the part map."""
    report = evidence.report
    known = {caution["id"]: caution for caution in cautions(report)}
    names = {position["position"]: position["name"] for position in report["positions"]}
    shown: list[PositionShown] = []
    for marker in spread(report["positions"]):
        position = marker.position
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
                "reasons": all_said(evidence, position["reasons"]),
                "finding_href": finding_href(report["instrument"], position["finding"])
                if position["finding"]
                else "",
                "fitting_event": position["fitting_event"] or "",
                "made": span_words(*position["made"]) if position["made"] else "",
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


def conflicts(evidence: Evidence) -> list[ConflictShown]:
    """Each conflict with the chains that clash."""
    return [
        {
            "anchor": anchor("conflict", conflict["id"]),
            "title": f"Conflict {place}",
            "href": evidence.href_of(conflict["id"]),
            "sentence": conflict["sentence"],
            "suppositions": sentences(evidence, conflict["suppositions"]),
            "chains": [
                {"title": chain["title"], "steps": all_said(evidence, chain["steps"])}
                for chain in conflict["chains"]
            ],
        }
        for place, conflict in enumerate(evidence.report["conflicts"], start=1)
    ]


def accounts(evidence: Evidence) -> list[AccountShown]:
    """Each account in the report's order, with what it gives up."""
    return [
        {
            "anchor": anchor("account", account["id"]),
            "title": f"Account {place}",
            "href": evidence.href_of(account["id"]),
            "sentence": account["sentence"],
            "gives_up": sentences(evidence, account["gives_up"]),
            "is_leading": account["is_leading"],
            "odds_note": account["odds_note"],
        }
        for place, account in enumerate(evidence.report["accounts"], start=1)
    ]


def swaps(evidence: Evidence) -> list[SwapShown]:
    """Parts likely not to have left the works with the instrument, likeliest first."""
    return [
        {
            "sentence": swap["sentence"],
            "href": evidence.href_of(swap["finding"]),
            "accounts": f"given up by {swap['accounts_giving_up']} of {swap['accounts_total']} "
            "accounts",
            "prior": f"{swap['prior']:.0%}",
        }
        for swap in evidence.report["swaps"]
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
            "readings": [_reading(reading) for reading in found],
        }
        for line, found in grouped.items()
    ]


def _reading(reading: Mapping[str, Any]) -> ReadingShown:
    return {
        "reading": reading["reading"],
        "reason": reading["reason"],
        "source": reading["source"],
        "is_plain": reading["is_plain"],
        "is_used": reading["is_used"],
        "days": [span_words(*span) for span in reading["days"]],
    }


def looks(evidence: Evidence) -> list[LookShown]:
    """What has not been looked at, and how far one would have to go."""
    known = {caution["id"]: caution for caution in cautions(evidence.report)}
    found = {position["position"]: position for position in evidence.report["positions"]}
    shown: list[LookShown] = []
    told: set[str] = set()
    for look in evidence.report["looks"]:
        position = found.get(look["position"])
        beside = [
            known[name] for name in (position["cautions"] if position else ()) if name in known
        ]
        shown.append(
            {
                "position": position["name"] if position else look["position"],
                "href": f"#{anchor('position', look['position'])}" if position else "",
                "reach": REACHES.get(look["reach"], look["reach"]),
                "sentence": look["sentence"],
                "loses": look["loses"],
                "cautions": [each for each in beside if each["id"] not in told],
                "cautions_again": [each for each in beside if each["id"] in told],
            }
        )
        told.update(each["id"] for each in beside)
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
            "href": evidence.href_of(f"line:{source}"),
        }
        if source
        else None,
        "entry": line["sequence"],
        "short_hash": short_hash(line["hash"]),
        "hash": line["hash"],
        "exhibits": exhibits_shown(evidence, line),
    }
