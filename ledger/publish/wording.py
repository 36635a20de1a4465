"""The sentences of a report as a page words them: days as people write them, names for ids.

A report is data: its days are ISO dates, and it names the rows of packs by their ids. A page is
read, so each sentence is put into the one wording of all pages before anything is drawn from it.
Nothing is concluded here, and no sentence says more or less than it did.

What stands in quotation marks is somebody's own words or is on the object: it stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, Final

from ledger.publish.evidence import Evidence
from ledger.publish.percentages import GAP, percent
from ledger.publish.time_drawing import days_words
from ledger.publish.time_scale import date_words

# A date within a sentence; not within an id, an address, a number or a moment of time. What may
# not stand before it is asked after its first digit, so that digits alone are looked at.
_MONTH_AND_DAY: Final = r"(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?"
_DAY: Final = rf"(?:1[4-9]|20)\d\d-{_MONTH_AND_DAY}"
_FIRST_DAY: Final = rf"[12](?<![\w./:#=&?+-][12])(?:(?<=1)[4-9]|(?<=2)0)\d\d-{_MONTH_AND_DAY}"
_AFTER: Final = r"(?![\w-]|[./:#]\w)"
_DATES: Final = re.compile(rf"{_FIRST_DAY}(?:/{_DAY}{_AFTER}|{_AFTER}(?: to {_DAY}{_AFTER})?)")
_QUOTED: Final = re.compile(r"(“[^“”]*”)")
_BEFORE_OURS: Final = "For "  # before a statement of the report that a line is worth something for
_NAMES_A_ROW: Final = "he reference “"
_ROW: Final = re.compile(r"\b([Tt]he) reference “([^“”]+)”")
_READ_BY: Final = re.compile(r"\b([Bb]y) ([a-z0-9-]+/[a-z0-9-]+)\b")
_TAKEN_AS: Final = re.compile(
    r"(?P<what> \(share\)| to be the first) is taken as (?P<middle>[\d.]+)"
    r" \(between (?P<low>[\d.]+) and (?P<high>[\d.]+)\)"
)
_PERCENT: Final = re.compile(r"(?<=\d) ?%")
_ALIKE: Final = re.compile(rf"((?:under |over )?[\d.]+{GAP}%) to \1")
_POWER_OF_TEN: Final = re.compile(r"\b\d(?:\.\d+)?e\+\d\d\b")
_HOLDS: Final = " holds ("
_UNIT_AND_ID: Final = re.compile(r" \(([a-z][a-z ]*); [a-z0-9-]+/[a-z0-9-]+\)")
_CHANCE: Final = re.compile(r"\bchance of (0(?:\.\d+)?|1(?:\.0+)?)(?![\d%])")
_BEFOREHAND: Final = re.compile(r"(?<=\()catalogue-[a-z0-9-]+/([a-z0-9-]+) at (\d+) years")
_ORIGIN: Final = re.compile(r"catalogue-[a-z0-9-]+/([a-z0-9-]+) at (\d+) years(.*)")
_EXAMPLES: Final = re.compile(r"\bn=(\d+)\b")
_MARK_WITHHELD: Final = "a withheld mark"
_WITHHELD: Final = (
    ("the mark “withheld”", "the withheld mark"),
    ("“withheld”", _MARK_WITHHELD),
)
_BOTH: Final = (
    ("taken over the 2 leading accounts", "taken over both leading accounts"),
    ("Each of the 2 leading accounts gives up", "Both leading accounts give up"),
)

# Where a report holds text that is read; elsewhere it holds ids, dates, hashes and marks.
_TEXTS: Final = frozenset(
    [
        "sentence",
        "title",
        "label",
        "reason",
        "standing",
        "reading",
        "completeness",
        "odds_note",
        "note",
        "loses",
        "impossible",
        "verdict",
    ]
)
_LISTS: Final = frozenset(
    [
        "conclusion",
        "identity",
        "reasons",
        "questions",
        "taken_for_granted",
        "supposing",
        "falls",
        "stands",
        "conceded",
        "would_change",
        "concedes",
        "weights",
    ]
)
_WITHOUT_TEXT: Final = frozenset({"weeks", "days", "possible", "region", "premises"})
_WITH_A_SOURCE_IN_WORDS: Final = frozenset({"references", "readings"})

_BENEATH_FINDINGS: Final = ("lines", "references", "suppositions")

Rows = Mapping[str, str]
NO_ROWS: Rows = {}


def spelled(text: str, known: frozenset[str] = frozenset()) -> str:
    """The text with its dates as people write them.

    Quotations are left alone, but for those of sentences that are ``known`` to be of a report.

    >>> spelled("Completed not before 1949-04-17; seen 1951-07.")
    'Completed not before 17 April 1949; seen July 1951.'
    >>> spelled("Made 1945-07-01 to 1945-07-14, by the mark “1945-07”.")
    'Made 1 to 14 July 1945, by the mark “1945-07”.'
    """
    if "-" not in text:
        return text
    if "“" not in text:
        return _DATES.sub(_words, text)
    pieces = _QUOTED.split(text)
    for at, piece in enumerate(pieces):
        is_quoted = at % 2 == 1
        is_ours = is_quoted and (
            pieces[at - 1].endswith(_BEFORE_OURS) or piece[1:-1].rstrip(".") in known
        )
        if is_ours or not is_quoted:
            pieces[at] = _DATES.sub(_words, piece)
    return "".join(pieces)


def _words(found: re.Match[str]) -> str:
    return _date_words(found[0])


@lru_cache(maxsize=8192)
def _date_words(told: str) -> str:
    """A date, a run or an interval as people write it: a report tells the same ones often."""
    one, is_interval, other = told.partition("/")
    if is_interval:
        return f"between {date_words(one)} and {date_words(other)}"
    begins, is_run, ends = told.partition(" to ")
    return days_words(begins, ends) if is_run else date_words(told)


def worded(text: str, rows: Rows = NO_ROWS, known: frozenset[str] = frozenset()) -> str:
    """The text with its dates spelled, and with rows of packs by what they say.

    ``rows`` are the sentences of rows by id; a row that is not among them keeps its id.

    >>> worded("the reference “calder/pan” holds (Pan: pressed, from 1950-02 to 1953-01 (n=4))")
    'the reference row “Pan: pressed, from February 1950 to January 1953 (4 examples)” holds'
    >>> worded("“withheld” on the neck is read aright")
    'a withheld mark on the neck is read aright'
    """
    if "“" in text:
        for found, instead in _WITHHELD:
            text = text.replace(found, instead)
        if text.startswith(_MARK_WITHHELD) and text.endswith("."):
            text = f"A{text[1:]}"
        text = _rows_by_what_they_say(text, rows)
    for found, instead in _BOTH:
        text = text.replace(found, instead)
    if "/" in text:
        text = _READ_BY.sub(lambda found: _read_by(found, rows), text)
        text = _UNIT_AND_ID.sub(r" (\1)", text)
        text = _BEFOREHAND.sub(lambda found: _catalogue(found[1], found[2]), text)
    if "chance of" in text:
        text = _CHANCE.sub(lambda found: f"chance of {percent(float(found[1]))}", text)
    if " is taken as " in text:
        text = _TAKEN_AS.sub(_taken_as, text)
    if "%" in text:
        text = _ALIKE.sub(r"\1", _PERCENT.sub(f"{GAP}%", text))
    if "e+" in text:
        text = _POWER_OF_TEN.sub(lambda found: f"{float(found[0]):,.0f}", text)
    told = spelled(text, known)
    return _EXAMPLES.sub(_examples, told) if "n=" in told else told


def _examples(found: re.Match[str]) -> str:
    return f"{found[1]} example{'' if found[1] == '1' else 's'}"


def _taken_as(found: re.Match[str]) -> str:
    """A share as a share; what is counted in weeks or years stays as it is."""
    middle, low, high = (percent(float(found[name])) for name in ("middle", "low", "high"))
    what = found["what"].removesuffix(" (share)")
    return f"{what} is taken as {middle} (between {low} and {high})"


def _rows_by_what_they_say(text: str, rows: Rows) -> str:
    told: list[str] = []
    at = 0
    # Looked for as plain text first: what is worded is long, and few of it names a row.
    while (near := text.find(_NAMES_A_ROW, at + 1)) > 0:
        found = _ROW.match(text, near - 1)
        if found is None:
            told.append(text[at : near + 1])
            at = near + 1
            continue
        told.append(text[at : found.start()])
        at = found.end()
        if text.startswith(_HOLDS, at):
            closes = _closing(text, at + len(_HOLDS))
            said = text[at + len(_HOLDS) : closes]
            told.append(f"{found[1]} reference row “{spelled(said)}” holds")
            at = closes + 1
        else:
            row = rows.get(found[2])
            named = f"{found[1]} reference row “{spelled(row.rstrip('.'))}”" if row else found[0]
            told.append(named)
    return "".join((*told, text[at:]))


def _closing(text: str, start: int) -> int:
    """Where the bracket that was opened before ``start`` closes; the end where it does not."""
    depth = 1
    for at in range(start, len(text)):
        depth += {"(": 1, ")": -1}.get(text[at], 0)
        if not depth:
            return at
    return len(text)


def _read_by(found: re.Match[str], rows: Rows) -> str:
    row = rows.get(found[2])
    if row is None:
        return found[0]
    return f"{found[1]} the reference row “{spelled(row.rstrip('.'))}”"


def _catalogue(kind: str, years: str) -> str:
    return f"catalogue of the {kind.replace('-', ' ')}, {years} years of age"


def origin_words(prior_from: str) -> str:
    """From where a starting value is taken, without an id.

    >>> origin_words("catalogue-lap-steel/lap-steel at 79 years, and the traces there")
    'the catalogue of the lap steel, 79 years of age, and the traces there'
    >>> origin_words("practice/sound-worn-mark")
    'common practice: sound worn mark'
    """
    if found := _ORIGIN.fullmatch(prior_from):
        return f"the {_catalogue(found[1], found[2])}{found[3]}"
    name, comma, rest = prior_from.partition(",")
    pack, slash, row = name.partition("/")
    if not slash:
        return prior_from
    where = "common practice" if pack == "practice" else pack.replace("-", " ")
    return f"{where}: {row.replace('-', ' ')}{comma}{rest}"


def worded_report(report: Mapping[str, Any]) -> dict[str, Any]:
    """The report with every text in it that is read in the wording of the pages.

    Ids, dates, hashes, what is on the object and what a challenger said are as they were.
    """
    say = _sayer(report)
    return _with_sources({name: _worded(name, value, say) for name, value in report.items()})


def worded_beneath(report: Mapping[str, Any], finding: str) -> dict[str, Any]:
    """The report for the page of one finding: only what that page tells is worded.

    A report can be long, and whoever follows a chain asks for one page of it at a time.
    """
    say = _sayer(report)
    told = Evidence(report).beneath(finding)
    findings = [
        _worded("findings", each, say)
        if each["id"] in told or finding in each["premises"]
        else each
        for each in report["findings"]
    ]
    sections = {name: _worded(name, report[name], say) for name in _BENEATH_FINDINGS}
    return _with_sources({**report, **sections, "findings": findings})


def _sayer(report: Mapping[str, Any]) -> Callable[[str], str]:
    """What words a text of the report; a text that comes again is not worded again."""
    rows = {row["id"]: row["sentence"] for row in report["references"]}
    known = frozenset(sentence.rstrip(".") for sentence in rows.values())
    said: dict[str, str] = {}

    def say(text: str) -> str:
        if text not in said:
            said[text] = worded(text, rows, known)
        return said[text]

    return say


def _with_sources(shown: dict[str, Any]) -> dict[str, Any]:
    for name in _WITH_A_SOURCE_IN_WORDS:
        shown[name] = [{**each, "source": spelled(each["source"])} for each in shown[name]]
    return shown


def _worded(name: str, value: Any, say: Callable[[str], str]) -> Any:  # noqa: ANN401 - plain data
    """The value under that name: what holds no text that is read is handed on as it is."""
    if isinstance(value, str):
        return say(value) if name in _TEXTS else value
    if isinstance(value, dict):
        return {key: _worded(key, each, say) for key, each in value.items()}
    if not isinstance(value, list | tuple) or name in _WITHOUT_TEXT:
        return value
    is_told = name in _LISTS
    return [
        (say(each) if is_told else each) if isinstance(each, str) else _worded(name, each, say)
        for each in value
    ]
