"""Which lines and reference rows a dossier tells, by what it is for.

A report tells every line of the record. A dating statement tells those that the dates rest on and
those that would bound completion; an answer to a challenge those that bear on it. With a line go
its source and the lines that hold its exhibits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from ledger.publish.bound_drawing import BEFORE_WHICH_IT_WAS_COMPLETED, ON_COMPLETION
from ledger.publish.evidence import LINE, REFERENCE, Evidence

NO_LINES: frozenset[str] = frozenset()


def lines_told(evidence: Evidence, purpose: str, challenge: str = "") -> tuple[str, ...]:
    """The ids of the lines, in the order of the record."""
    if purpose == "report":
        return tuple(evidence.lines)
    named = {_short(evidence, name) for name in _named(evidence, purpose, challenge)}
    told = _with_sources(evidence, named)
    return tuple(line for line in evidence.lines if line in told)


def rows_told(evidence: Evidence, purpose: str, challenge: str = "") -> tuple[str, ...]:
    """The ids of the reference rows, in the order of the report."""
    if purpose != "challenge":
        return tuple(evidence.references)
    wanted = set(_dispute(evidence, challenge)["references"])
    return tuple(row for row in evidence.references if row in wanted)


def _named(evidence: Evidence, purpose: str, challenge: str) -> Iterator[str]:
    if purpose == "dating":
        yield from _dating(evidence)
    else:
        yield from _challenged(_dispute(evidence, challenge))


def _dating(evidence: Evidence) -> Iterator[str]:
    """The lines beneath every end of every event, and beneath every bound on completion."""
    for dating in evidence.report["datings"]:
        for side in ("not_before", "not_after"):
            yield from _lines_of(evidence, dating[side]["finding"])
    starts = (ON_COMPLETION, *BEFORE_WHICH_IT_WAS_COMPLETED)
    for name, found in evidence.findings.items():
        if found["kind"] == "bound" and (found["moment"] or "").startswith(starts):
            yield from _lines_of(evidence, name)


def _lines_of(evidence: Evidence, finding: str | None) -> Iterable[str]:
    return evidence.lines_beneath(finding) if finding else NO_LINES


def _challenged(dispute: Mapping[str, Any]) -> Iterator[str]:
    yield dispute["id"]
    for each in dispute["observations"]:
        yield each["line"]
        yield from (exhibit["id"] for exhibit in each["exhibits"])
    yield from (exhibit["id"] for exhibit in dispute["exhibits"])
    for answer in dispute["answers"]:
        yield answer["id"]
        yield from answer["rests_on"]


def _dispute(evidence: Evidence, challenge: str) -> Mapping[str, Any]:
    found: Mapping[str, Any] = next(
        each for each in evidence.report["challenges"] if each["id"] == challenge
    )
    return found


def _short(evidence: Evidence, name: str) -> str:
    line = None if name.startswith(REFERENCE) else evidence.line_of(name)
    return line["id"] if line else name.removeprefix(LINE)


def _with_sources(evidence: Evidence, named: set[str]) -> set[str]:
    """The lines with their sources and with the lines of their exhibits."""
    found = set(named)
    for name in named:
        line = evidence.lines.get(name)
        if line is not None:
            found.update(_short(evidence, each) for each in line["exhibits"])
            found.update({_short(evidence, line["source"])} if line["source"] else ())
    return found
