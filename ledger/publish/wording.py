"""The sentences of a report as a page words them: days as people write them, names for ids.

A report is data: its days are ISO dates, and it names the rows of packs by their ids. A page is
read, so each sentence is put into the one wording of all pages before anything is drawn from it.
Nothing is concluded here, and no sentence says more or less than it did.

What stands in quotation marks is somebody's own words or is on the object: it stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from ledger.publish.percentages import percent
from ledger.publish.time_drawing import days_words
from ledger.publish.time_scale import date_words

# A date within a sentence; not within an id, an address, a number or a moment of time.
_DAY: Final = r"(?:1[4-9]|20)\d\d-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?"
_BEFORE: Final = r"(?<![\w./:#=&?+-])"
_AFTER: Final = r"(?![\w-]|[./:#]\w)"
_DATES: Final = re.compile(
    rf"{_BEFORE}(?P<one>{_DAY})/(?P<other>{_DAY}){_AFTER}"
    rf"|{_BEFORE}(?P<begins>{_DAY}) to (?P<ends>{_DAY}){_AFTER}"
    rf"|{_BEFORE}(?P<date>{_DAY}){_AFTER}"
)
_QUOTED: Final = re.compile(r"(“[^“”]*”)")
_ROW: Final = re.compile(r"the reference “([^“”]+)”")
_READ_BY: Final = re.compile(r"\bread by ([a-z0-9-]+/[a-z0-9-]+)")
_HOLDS: Final = " holds ("
_UNIT_AND_ID: Final = re.compile(r" \(([a-z][a-z ]*); [a-z0-9-]+/[a-z0-9-]+\)")
_CHANCE: Final = re.compile(r"\bchance of (0(?:\.\d+)?|1(?:\.0+)?)(?![\d%])")
_BEFOREHAND: Final = re.compile(r"(?<=\()catalogue-[a-z0-9-]+/([a-z0-9-]+) at (\d+) years")
_ORIGIN: Final = re.compile(r"catalogue-[a-z0-9-]+/([a-z0-9-]+) at (\d+) years(.*)")
_EXAMPLES: Final = re.compile(r"\bn=(\d+)(?=\))")
_WITHHELD: Final = (
    ("the mark “withheld”", "the withheld mark"),
    ("“withheld”", "a withheld mark"),
)
_BOTH: Final = (("taken over the 2 leading accounts", "taken over both leading accounts"),)

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
        "name",
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
_WITH_A_SOURCE_IN_WORDS: Final = frozenset({"references", "readings"})

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
    return "".join(
        piece if at % 2 and piece[1:-1].rstrip(".") not in known else _DATES.sub(_words, piece)
        for at, piece in enumerate(_QUOTED.split(text))
    )


def _words(found: re.Match[str]) -> str:
    if found["one"]:
        return f"between {date_words(found['one'])} and {date_words(found['other'])}"
    if found["begins"]:
        return days_words(found["begins"], found["ends"])
    return date_words(found["date"])


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
        text = _rows_by_what_they_say(text, rows)
    for found, instead in _BOTH:
        text = text.replace(found, instead)
    if "/" in text:
        text = _READ_BY.sub(lambda found: _read_by(found, rows), text)
        text = _UNIT_AND_ID.sub(r" (\1)", text)
        text = _BEFOREHAND.sub(lambda found: _catalogue(found[1], found[2]), text)
    if "chance of" in text:
        text = _CHANCE.sub(lambda found: f"chance of {percent(float(found[1]))}", text)
    told = spelled(text, known)
    return _EXAMPLES.sub(_examples, told) if "n=" in told else told


def _examples(found: re.Match[str]) -> str:
    return f"{found[1]} example{'' if found[1] == '1' else 's'}"


def _rows_by_what_they_say(text: str, rows: Rows) -> str:
    if "the reference “" not in text:
        return text
    told, at = [], 0
    while found := _ROW.search(text, at):
        told.append(text[at : found.start()])
        at = found.end()
        if text.startswith(_HOLDS, at):
            closes = _closing(text, at + len(_HOLDS))
            said = text[at + len(_HOLDS) : closes]
            told.append(f"the reference row “{spelled(said)}” holds")
            at = closes + 1
        else:
            row = rows.get(found[1])
            told.append(f"the reference row “{spelled(row.rstrip('.'))}”" if row else found[0])
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
    row = rows.get(found[1])
    return f"read by the reference row “{spelled(row.rstrip('.'))}”" if row else found[0]


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
    rows = {row["id"]: row["sentence"] for row in report["references"]}
    known = frozenset(sentence.rstrip(".") for sentence in rows.values())

    def say(text: str) -> str:
        return worded(text, rows, known)

    shown = {name: _worded(name, value, say) for name, value in report.items()}
    for name in _WITH_A_SOURCE_IN_WORDS:
        shown[name] = [{**each, "source": spelled(each["source"])} for each in shown[name]]
    return shown


def _worded(name: str, value: Any, say: Callable[[str], str]) -> Any:  # noqa: ANN401 - plain data
    if isinstance(value, str):
        return say(value) if name in _TEXTS else value
    if isinstance(value, Mapping):
        return {key: _worded(key, each, say) for key, each in value.items()}
    if isinstance(value, Iterable):
        is_told = name in _LISTS
        return [
            (say(each) if is_told else each) if isinstance(each, str) else _worded(name, each, say)
            for each in value
        ]
    return value
