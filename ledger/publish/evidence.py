"""Looking things up in a report: what a name stands for, where it is shown, what is beneath it.

Nothing is concluded here. A report names findings by id, lines as ``line:id`` and rows of packs
as ``reference:pack/row``; this turns such names into words and links, and walks premises.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from ledger.publish.svg import anchor

LINE, REFERENCE = "line:", "reference:"
SHORT_HASH_GLYPHS = 12


def instrument_href(instrument: str) -> str:
    """Where the page of the instrument is."""
    return f"/instrument/{quote(instrument, safe='')}"


def finding_href(instrument: str, finding: str) -> str:
    """Where the page of one finding is.

    >>> finding_href("corbel-1", "date:completed/not-before")
    '/instrument/corbel-1/finding/date%3Acompleted/not-before'
    """
    return f"{instrument_href(instrument)}/finding/{quote(finding)}"


def reference_href(row: str) -> str:
    """Where the page of a row of a pack is.

    >>> reference_href("standards/pot-1957")
    '/reference/standards/pot-1957'
    """
    return f"/reference/{quote(row)}"


def source_href(instrument: str, source: str) -> str:
    """Where the page of a source is.

    >>> source_href("corbel-1", "bench")
    '/instrument/corbel-1/source/bench'
    """
    return f"{instrument_href(instrument)}/source/{quote(source, safe='')}"


def short_hash(digest: str) -> str:
    """Enough of a hash to compare by eye, never taken for the whole."""
    return digest if len(digest) <= SHORT_HASH_GLYPHS else f"{digest[:SHORT_HASH_GLYPHS]}…"


@dataclass(frozen=True, slots=True)
class Statement:
    """A sentence with the place where its support is unfolded; empty ``href``: nowhere."""

    sentence: str
    href: str = ""


class Evidence:
    """The things of one report by name. A name that stands for nothing is told as it is."""

    def __init__(self, report: Mapping[str, Any]) -> None:
        self.report = report
        self.instrument: str = report["instrument"]
        self.findings = {found["id"]: found for found in report["findings"]}
        self.lines = {line["id"]: line for line in report["lines"]}
        self.references = {row["id"]: row for row in report["references"]}
        self.suppositions = {supposed["id"]: supposed for supposed in report["suppositions"]}
        self.accounts = {account["id"]: account for account in report["accounts"]}
        self._by_sentence = {found["sentence"]: found["id"] for found in report["findings"]}
        self._beneath: dict[str, frozenset[str]] = {}

    def line_of(self, name: str) -> Mapping[str, Any] | None:
        """The line that a premise names, whether by its short or by its full id."""
        short = name.removeprefix(LINE)
        found = self.lines.get(short)
        return found or self.lines.get(short.removeprefix(f"{self.instrument}/"))

    def line_title(self, line: str) -> str:
        """The title of the line, or its id where it has none or is not in the report."""
        found = self.line_of(line)
        return (found["title"] if found else "") or line

    def reference_of(self, name: str) -> Mapping[str, Any] | None:
        """The row of a pack that a premise names."""
        return self.references.get(name.removeprefix(REFERENCE))

    def name_of(self, premise: str) -> str:
        """A premise, or something supposed, in a few words."""
        if premise in self.findings:
            return f"“{self.findings[premise]['sentence']}”"
        if premise in self.suppositions:
            return f"the supposition “{self.suppositions[premise]['sentence']}”"
        if premise.startswith(REFERENCE):
            row = self.reference_of(premise)
            return f"the reference row “{row['sentence'].rstrip('.')}”" if row else premise
        line = self.line_of(premise)
        told = (line["title"] or line["sentence"]) if line else premise
        return told if line is None or "“" in told else f"“{told}”"

    def href_of(self, premise: str) -> str:
        """Where a premise is shown; empty where it is shown nowhere."""
        if premise in self.findings:
            return finding_href(self.instrument, premise)
        if premise.startswith(REFERENCE):
            row = self.reference_of(premise)
            return reference_href(row["id"]) if row else ""
        line = self.line_of(premise)
        return f"{instrument_href(self.instrument)}#{anchor('line', line['id'])}" if line else ""

    def statement(self, told: str) -> Statement:
        """A sentence of the report, or the id of a finding or supposition, as a statement."""
        if told in self.findings:
            return Statement(self.findings[told]["sentence"], self.href_of(told))
        if told in self._by_sentence:
            return Statement(told, self.href_of(self._by_sentence[told]))
        if told in self.suppositions:
            return Statement(self.suppositions[told]["sentence"])
        if told.startswith((LINE, REFERENCE)):
            return Statement(self.name_of(told), self.href_of(told))
        return Statement(told)

    def account_title(self, account: str) -> str:
        """How an account is called on every page."""
        found = self.accounts.get(account)
        if found is None:
            return account
        name = self.account_name(account)
        return f"{name.capitalize()}{' (leading)' if found['is_leading'] else ''}"

    def account_name(self, account: str) -> str:
        """The account by its number, as it stands within a sentence."""
        if account not in self.accounts:
            return account
        return f"account {list(self.accounts).index(account) + 1}"

    def beneath(self, finding: str | None) -> frozenset[str]:
        """Everything a finding rests on, itself included: ids and names of premises."""
        if finding is None:
            return frozenset()
        if finding not in self._beneath:
            seen = {finding}
            waiting = [finding]
            while waiting:
                found = self.findings.get(waiting.pop())
                fresh = [p for p in (found["premises"] if found else ()) if p not in seen]
                seen.update(fresh)
                waiting += fresh
            self._beneath[finding] = frozenset(self._line_named_short(name) for name in seen)
        return self._beneath[finding]

    def lines_beneath(self, finding: str) -> frozenset[str]:
        """The lines of the record that a finding rests on, as ``line:`` names."""
        return frozenset(name for name in self.beneath(finding) if name.startswith(LINE))

    def _line_named_short(self, name: str) -> str:
        line = self.line_of(name) if name.startswith(LINE) else None
        return f"{LINE}{line['id']}" if line else name
