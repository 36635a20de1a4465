"""The questions a reader can put to the site: one file of SQL each, with a header that says all.

The header is made of remarks, one matter a line; a line that begins with three spaces after the
dashes carries the one before it on::

    -- title: What is still open
    -- description: Things seen that nothing recorded explains,
    --   and questions nobody has answered.
    -- for: collector, dealer, researcher
    -- parameter instrument: Only this instrument (empty for all) | default
    -- column instrument: the instrument
    -- column sentence: what is open
    SELECT ...

A line ``-- plot: name, value`` says that the answer is also drawn as bars, and which columns
hold their names and their values; two more hold the ends of a range.

The name of the file is the name of the question. Each parameter of the SQL stands in the header
and the other way round; columns are listed in the order in which they come.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from ledger.errors import Fault, FaultsFound

READERS = ("collector", "dealer", "researcher")

_REMARK = re.compile(r"^-- (title|description|for|parameter|column|plot)(?: ([a-z_]+))?: *(.*)$")
_CONTINUED = re.compile(r"^--   +(\S.*)$")
_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_IN_QUOTES_OR_REMARK = re.compile(r"'(?:[^']|'')*'|--[^\n]*")
_PARAMETER = re.compile(r"(?<![:\w]):([a-z_]+)")


@dataclass(frozen=True, slots=True)
class Parameter:
    """Something the reader fills in."""

    name: str
    label: str
    default: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question with its answer in SQL."""

    name: str
    title: str
    description: str
    readers: tuple[str, ...]
    parameters: tuple[Parameter, ...]
    columns: tuple[tuple[str, str], ...]
    sql: str
    plot: tuple[str, ...] = ()


def read_questions(files: Iterable[Path]) -> tuple[Question, ...]:
    """The questions of the ``.sql`` files among ``files``, in the order of their titles.

    Raises:
        FaultsFound: a header lacks something; everything that is wrong is listed.
    """
    questions: list[Question] = []
    faults: list[Fault] = []
    for path in sorted(files):
        if path.suffix == ".sql":
            question, found = read_question(
                path.stem, path.read_text(encoding="utf-8"), file=path.name
            )
            questions.append(question)
            faults += found
    if faults:
        raise FaultsFound(faults)
    return tuple(sorted(questions, key=lambda question: question.title))


def read_question(name: str, text: str, file: str) -> tuple[Question, list[Fault]]:
    r"""The question a file holds, and what is wrong with it.

    >>> question, faults = read_question("all", "-- title: All\nSELECT 1 AS one", file="all.sql")
    >>> question.title, faults[0].expected
    ('All', 'a line: -- description: what the answer tells')
    """
    matters = _matters(text)
    told = {kind: value for kind, _, value, _ in matters if kind in ("title", "description")}
    readers = [value for kind, _, value, _ in matters if kind == "for"]
    plots = [value for kind, _, value, _ in matters if kind == "plot"]
    question = Question(
        name=name,
        title=told.get("title", ""),
        description=told.get("description", ""),
        readers=tuple(reader.strip() for reader in ",".join(readers).split(",") if reader.strip()),
        parameters=tuple(
            _parameter(key, value) for kind, key, value, _ in matters if kind == "parameter"
        ),
        columns=tuple((key, value) for kind, key, value, _ in matters if kind == "column"),
        sql=text[_header_length(text) :].strip().rstrip(";"),
        plot=tuple(name.strip() for name in ",".join(plots).split(",") if name.strip()),
    )
    return question, _faults(question, file)


def _header_length(text: str) -> int:
    """How many characters the remarks at the top take."""
    length = 0
    for line in text.splitlines(keepends=True):
        if not line.startswith("--"):
            break
        length += len(line)
    return length


def _matters(text: str) -> list[tuple[str, str, str, int]]:
    """What the header says: kind, name, value and line number of each matter."""
    matters: list[tuple[str, str, str, int]] = []
    for number, line in enumerate(text[: _header_length(text)].splitlines(), start=1):
        if remark := _REMARK.match(line):
            matters.append((remark[1], remark[2] or "", remark[3].strip(), number))
        elif matters and (more := _CONTINUED.match(line)):
            kind, key, value, first = matters[-1]
            matters[-1] = (kind, key, f"{value} {more[1].strip()}", first)
    return matters


def _parameter(name: str, value: str) -> Parameter:
    label, _, default = value.partition("|")
    return Parameter(name, label.strip(), default.strip())


def _faults(question: Question, file: str) -> list[Fault]:
    wanted = [
        (not question.title, "no title", "a line: -- title: the question"),
        (
            not question.description,
            "no description",
            "a line: -- description: what the answer tells",
        ),
        (not question.readers, "no readers", f"a line: -- for: {', '.join(READERS)}"),
        (not question.columns, "no columns", "a line for each: -- column name: what it holds"),
        (not question.sql, "no SQL", "a SELECT below the header"),
        (
            not _NAME.fullmatch(question.name),
            f"the name {question.name!r}",
            "small letters, figures and hyphens",
        ),
    ]
    wanted += [
        (True, f"the reader {reader!r}", f"one of {', '.join(READERS)}")
        for reader in question.readers
        if reader not in READERS
    ]
    wanted += [
        (True, f"no words for {kind} {name!r}", f"-- {kind} {name}: what it is")
        for kind, told in (
            ("parameter", [(each.name, each.label) for each in question.parameters]),
            ("column", list(question.columns)),
        )
        for name, words in told
        if not name or not words
    ]
    known = {name for name, _ in question.columns}
    wanted += [
        (True, f"a plot of {name!r}", "columns that are listed")
        for name in question.plot
        if name not in known
    ]
    if question.plot and len(question.plot) not in (2, 4):
        wanted.append(
            (True, f"a plot of {len(question.plot)} columns", "name and value, or a range as well")
        )
    listed = {parameter.name for parameter in question.parameters}
    used = set(_PARAMETER.findall(_IN_QUOTES_OR_REMARK.sub("''", question.sql)))
    wanted += [
        (True, f"the parameter :{name}", f"a line: -- parameter {name}: label | default")
        for name in sorted(used - listed)
    ]
    wanted += [
        (True, f"the parameter {name!r} in the header", f":{name} in the SQL")
        for name in sorted(listed - used)
    ]
    return [
        Fault(file, 0, 0, "", found, expected) for is_wrong, found, expected in wanted if is_wrong
    ]
