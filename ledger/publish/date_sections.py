"""The dating section of an instrument's page: each event once, each end once.

Ends that several accounts share are told together with the accounts they stand under. An end
that merely follows from an event before it is told in one line.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ledger.publish.evidence import LINE, Evidence
from ledger.publish.page_contexts import EndShown, EventShown, PossibleShown
from ledger.publish.time_drawing import span_words
from ledger.publish.time_rows import NO_LOWER, NO_UPPER
from ledger.publish.time_scale import date_words

EVENTS = ("completed", "dispatched", "first sold")
SIDES = (("not_before", "not before", NO_LOWER), ("not_after", "not after", NO_UPPER))
SOURCES_OF_ITS_OWN = frozenset({"papers", "testimony"})


def events(evidence: Evidence) -> list[EventShown]:
    """What is known of each event; one without any dating is left with two open ends."""
    shown: list[EventShown] = []
    for event in EVENTS:
        datings = [d for d in evidence.report["datings"] if d["event"] == event]
        lower, upper = (_ends(evidence, datings, side) for side in SIDES)
        shown.append(
            {
                "event": event,
                "lower": lower,
                "upper": upper,
                "is_short": all(end["is_open"] or end["follows"] for end in (*lower, *upper)),
                "possible": _possible(evidence, datings),
            }
        )
    return shown


def completed_lines(evidence: Evidence) -> list[str]:
    """Both ends of completion in words, once for each pair that an account gives."""
    pairs = (
        tuple(_words(dating[key], side, unknown) for key, side, unknown in SIDES)
        for dating in evidence.report["datings"]
        if dating["event"] == "completed"
    )
    return list(dict.fromkeys(", ".join(pair) for pair in pairs))


def under(evidence: Evidence, accounts: list[str], of: int) -> str:
    """Under which of the accounts something holds, in a few words.

    ``of`` is how many accounts there are in all.
    """
    if len(accounts) == of:
        if of > 1:
            return "in every leading account"
        known = accounts[0] in evidence.accounts
        return f"under {evidence.account_title(accounts[0]).lower()}" if known else accounts[0]
    names = [evidence.account_name(account) for account in accounts]
    if len(names) == 1:
        return f"under {names[0]} only"
    return f"under {', '.join(names[:-1])} and {names[-1]} only"


def _ends(
    evidence: Evidence, datings: list[Mapping[str, Any]], side: tuple[str, str, str]
) -> list[EndShown]:
    """The ends of one side, those that are the same under several accounts once."""
    found: list[tuple[EndShown, list[str]]] = []
    for dating in datings:
        shown = _end(evidence, dating, side)
        alike = next((names for end, names in found if _is_same(end, shown)), None)
        if alike is None:
            found.append((shown, [dating["account"]]))
        else:
            alike.append(dating["account"])
    for shown, accounts in found:
        shown["under"] = under(evidence, accounts, len(datings))
    return [shown for shown, _ in found]


def _is_same(one: EndShown, other: EndShown) -> bool:
    """Whether two ends say the same; each account has a finding of its own for it."""
    told = ("words", "suppositions", "moves", "further", "follows")
    sentence = one["statement"]["sentence"] == other["statement"]["sentence"]
    return sentence and all(one[name] == other[name] for name in told)  # type: ignore[literal-required]  # a tuple of its keys


def _end(evidence: Evidence, dating: Mapping[str, Any], side: tuple[str, str, str]) -> EndShown:
    key, name, unknown = side
    end = dating[key]
    href = evidence.href_of(end["finding"]) if end["finding"] else ""
    return {
        "side": name,
        "words": _words(end, name, unknown),
        "date": end["date"] or "",
        "is_open": end["date"] is None,
        "statement": {"sentence": end["sentence"], "href": href},
        "suppositions": [evidence.statement(each).sentence for each in end["suppositions"]],
        "moves": [_move(evidence, shift, name, unknown) for shift in end["shifts"]],
        "further": [further["sentence"] for further in end["further"]],
        "follows": _follows(evidence, dating, end),
        "under": "",
    }


def _words(end: Mapping[str, Any], side: str, unknown: str) -> str:
    return unknown if end["date"] is None else f"{side} {date_words(end['date'])}"


def _move(evidence: Evidence, shift: Mapping[str, Any], side: str, unknown: str) -> str:
    if shift["sentence"]:
        return str(shift["sentence"])
    moved = f"{side} {date_words(shift['date'])}" if shift["date"] else unknown
    return f"Leave out {evidence.name_of(shift['without'])}: {moved}."


def _follows(evidence: Evidence, dating: Mapping[str, Any], end: Mapping[str, Any]) -> str:
    """From which event the lower end merely follows; empty where it says more than that."""
    place = EVENTS.index(dating["event"])
    if end["side"] != "not before" or end["date"] is None or not end["finding"]:
        return ""
    if _rests_on_its_own(evidence, dating["event"], end["finding"]):
        return ""
    earlier = {
        each["event"]: each["not_before"]["date"]
        for each in evidence.report["datings"]
        if each["account"] == dating["account"]
    }
    source = next((each for each in EVENTS[:place] if earlier.get(each) == end["date"]), None)
    return f"it was {source} no earlier" if source else ""


def _rests_on_its_own(evidence: Evidence, event: str, finding: str) -> bool:
    """Whether a paper or a telling of this very event is among the premises."""
    found = evidence.findings.get(finding)
    for premise in found["premises"] if found else ():
        other = evidence.findings.get(premise)
        if other is not None and other["moment"] == event:
            return True
        line = evidence.line_of(premise) if premise.startswith(LINE) else None
        if line is not None and line["section"] in SOURCES_OF_ITS_OWN:
            return True
    return False


def _possible(evidence: Evidence, datings: list[Mapping[str, Any]]) -> list[PossibleShown]:
    """The runs of days between the ends, where there are several."""
    grouped: dict[tuple[str, ...], list[str]] = {}
    for dating in datings:
        spans = tuple(span_words(*span) for span in dating["possible"])
        if len(spans) > 1:
            grouped.setdefault(spans, []).append(dating["account"])
    return [
        {"under": under(evidence, accounts, len(datings)), "spans": list(spans)}
        for spans, accounts in grouped.items()
    ]
