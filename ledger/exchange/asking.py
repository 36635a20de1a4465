"""Questions to the graph: one file of SPARQL each, with a header that says all.

The header is made of remarks, one matter a line; a line that begins with three spaces after the
mark carries the one before it on. Names between backquotes in ``samples`` stand in the answer on
the sample data::

    # title: Which codes stand on which model
    # description: Source codes of the readings that are used.
    # for: researcher
    # parameter code: Source code (empty for all) |
    # column code: the source code
    # samples: `914` stands on the lap steel
    SELECT ?code WHERE { ... FILTER($code = "" || ?code = $code) }

A parameter stands in the query as ``$name`` and is put in as a text. A question of the folder
that has a twin in SQL bears its name, and both give the same rows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pyoxigraph as ox

from ledger.errors import Fault, FaultsFound, UnknownName, WitnessmarkError
from ledger.exchange.iris import PREFIXES, Quad, text
from ledger.exchange.rdf import n_quads

READERS: Final = ("collector", "dealer", "researcher")
_REMARK: Final = re.compile(
    r"^# (title|description|for|parameter|column|samples)(?: ([a-z_]+))?: *(.*)$"
)
_CONTINUED: Final = re.compile(r"^#   +(\S.*)$")
_PARAMETER: Final = re.compile(r"\$([a-z_]+)")
_IN_QUOTES_OR_REMARK: Final = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'(?:[^'\\]|\\.)*'|(?<=\s)#[^\n]*")


@dataclass(frozen=True, slots=True)
class GraphQuestion:
    """A question with its answer in SPARQL; ``parameters`` holds name, label and default."""

    name: str
    title: str
    description: str
    readers: tuple[str, ...]
    parameters: tuple[tuple[str, str, str], ...]
    columns: tuple[tuple[str, str], ...]
    samples: str
    sparql: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A table of texts; an empty one says nothing."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def read_graph_questions(files: Iterable[Path]) -> tuple[GraphQuestion, ...]:
    """The questions of the ``.rq`` files among ``files``, in the order of their titles.

    Raises:
        FaultsFound: a header lacks something; everything that is wrong is listed.
    """
    questions: list[GraphQuestion] = []
    faults: list[Fault] = []
    for path in sorted(files):
        if path.suffix == ".rq":
            question = read_graph_question(path.stem, path.read_text(encoding="utf-8"))
            questions.append(question)
            faults += _faults(question, path.name)
    if faults:
        raise FaultsFound(faults)
    return tuple(sorted(questions, key=lambda question: question.title))


def read_graph_question(name: str, content: str) -> GraphQuestion:
    r"""The question a file holds, whatever its header lacks.

    >>> read_graph_question("all", "# title: All\nSELECT * {}").title
    'All'
    """
    matters: list[tuple[str, str, str]] = []
    lines = content.splitlines()
    body = next((n for n, line in enumerate(lines) if not line.startswith("#")), len(lines))
    for line in lines[:body]:
        if remark := _REMARK.match(line):
            matters.append((remark[1], remark[2] or "", remark[3].strip()))
        elif matters and (more := _CONTINUED.match(line)):
            kind, key, value = matters[-1]
            matters[-1] = (kind, key, f"{value} {more[1].strip()}")
    told = {kind: value for kind, _, value in matters}
    given = ((key, value.partition("|")) for kind, key, value in matters if kind == "parameter")
    return GraphQuestion(
        name=name,
        title=told.get("title", ""),
        description=told.get("description", ""),
        readers=tuple(each.strip() for each in told.get("for", "").split(",") if each.strip()),
        parameters=tuple((key, label.strip(), value.strip()) for key, (label, _, value) in given),
        columns=tuple((key, value) for kind, key, value in matters if kind == "column"),
        samples=told.get("samples", ""),
        sparql="\n".join(lines[body:]).strip(),
    )


def _faults(question: GraphQuestion, file: str) -> list[Fault]:
    listed = {name for name, _, _ in question.parameters}
    used = set(_PARAMETER.findall(_IN_QUOTES_OR_REMARK.sub('""', question.sparql)))
    wrong = [
        (not getattr(question, name), f"no {name}", f"a line: # {name}: ...")
        for name in ("title", "description", "columns", "samples")
    ]
    wrong += [
        (not question.readers, "no readers", f"a line: # for: {', '.join(READERS)}"),
        (not question.sparql, "no SPARQL", "a SELECT below the header"),
    ]
    wrong += [
        (each not in READERS, f"the reader {each!r}", f"one of {', '.join(READERS)}")
        for each in question.readers
    ]
    wrong += [
        (True, f"the parameter ${name}", f"a line: # parameter {name}: label | default")
        for name in sorted(used - listed)
    ]
    wrong += [
        (True, f"the parameter {name!r} in the header", f"${name} in the SPARQL")
        for name in sorted(listed - used)
    ]
    return [Fault(file, 0, 0, "", found, expected) for is_so, found, expected in wrong if is_so]


def store_of(quads: Iterable[Quad]) -> ox.Store:
    """A store in memory that holds the quads."""
    store = ox.Store()
    store.bulk_load(n_quads(quads), format=ox.RdfFormat.N_QUADS)
    return store


def filled_in(question: GraphQuestion, given: Mapping[str, str]) -> str:
    """The SPARQL with every parameter as a text: what is given, or its default.

    Raises:
        UnknownName: something is given that the question does not ask for.
    """
    values = {name: default for name, _, default in question.parameters}
    for name in given:
        if name not in values:
            raise UnknownName(f"parameter of the question {question.name}", name, sorted(values))
    values.update(given)
    prologue = "".join(f"PREFIX {name}: <{iri}>\n" for name, iri in PREFIXES.items())
    return prologue + _PARAMETER.sub(
        lambda found: text(values[found[1]]) if found[1] in values else found[0], question.sparql
    )


def answer(store: ox.Store, question: GraphQuestion, given: Mapping[str, str]) -> Answer:
    """What the store answers, over all of its graphs together.

    Raises:
        UnknownName: something is given that the question does not ask for.
        WitnessmarkError: the question is no SPARQL that selects.
    """
    try:
        found = store.query(filled_in(question, given), use_default_graph_as_union=True)
    except SyntaxError as error:
        raise WitnessmarkError(f"The question {question.name} is not SPARQL: {error}.") from error
    if not isinstance(found, ox.QuerySolutions):
        raise WitnessmarkError(f"The question {question.name} selects nothing.")
    columns = tuple(variable.value for variable in found.variables)
    rows = tuple(tuple(_told(solution[name]) for name in columns) for solution in found)
    return Answer(columns, rows)


def _told(value: object) -> str:
    return value.value if isinstance(value, ox.NamedNode | ox.Literal) else ""
