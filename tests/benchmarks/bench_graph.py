"""How fast is the graph? Ratios within one run, on a graph of about a million statements.

Three things are measured: how fast everything is exported, against the store's own serializer on
the same statements; how fast the statements load; and how fast the questions are answered, each
against rdflib in memory. A question that rdflib has not answered within its limit counts with the
limit, so that its ratio is a least. Times are of the processor, of all cores together, so that
what else the machine does falls out.

    python tests/benchmarks/bench_graph.py [STATEMENTS] [SECONDS_A_QUESTION]
"""

from __future__ import annotations

import gc
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from time import process_time
from typing import Any

import pyoxigraph as ox
from rdflib import Graph

from ledger import workflow
from ledger.commands.telling import telling_of
from ledger.exchange.asking import answer, filled_in, read_graph_questions, store_of
from ledger.exchange.iris import DEFAULT_BASE, Quad
from ledger.exchange.rdf import Telling, exported, n_quads, written
from ledger.holdings import query_files, sample_data

STATEMENTS = 1_000_000
SECONDS_A_QUESTION = 20
GOAL_EXPORT_A_SECOND = 100_000


class _TooLong(Exception):
    pass


def samples() -> Telling:
    """The invented samples, weighed."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ledger.db"
        files = sorted(sample_data().glob("*.yaml"))
        workflow.record_files(path, files, "benchmark", "2026-03-02T10:00:00Z")
        return telling_of(path, (), DEFAULT_BASE)


def multiplied(telling: Telling, copies: int) -> Telling:
    """The same instruments many times over, each time under names of their own."""
    cases = []
    for number in range(copies):
        for case, report in telling.cases:
            name = f"{report.instrument}-{number}"
            about = case.instrument.model_copy(update={"id": name})
            cases.append((replace(case, instrument=about), replace(report, instrument=name)))
    return replace(telling, cases=cases)


def taken(act: Callable[[], Any]) -> tuple[float, Any]:
    """How long an act takes, and what it gives."""
    gc.collect()
    gc.disable()  # as the commands do: what is built is needed to the end
    begin = process_time()
    found = act()
    return process_time() - begin, found


def limited(act: Callable[[], Any], seconds: float) -> tuple[float, bool]:
    """How long an act takes, and whether it came to an end within the limit."""

    def stop(*_: object) -> None:
        raise _TooLong

    signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    begin = process_time()
    try:
        act()
    except _TooLong:
        return seconds, False
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return process_time() - begin, True


def flat(quads: tuple[Quad, ...]) -> str:
    """The statements without their graphs, for a graph in memory that knows only one."""
    return "".join(sorted({f"{s} {p} {o} .\n" for _, s, p, o in quads}))


def measure(statements: int, seconds: float) -> Iterator[str]:
    """The figures, a line each."""
    once = samples()
    copies = max(1, round(statements / len(exported(once))))
    many = multiplied(once, copies)
    made, quads = taken(lambda: exported(many))
    wrote, _ = taken(lambda: n_quads(quads))
    yield f"{len(quads):,} statements of {copies * 3} instruments"
    rate = len(quads) / (made + wrote)
    yield f"export as N-Quads, from reports to bytes: {rate:,.0f} statements a second"
    loaded, store = taken(lambda: store_of(quads))
    for name, form in (("n-quads", ox.RdfFormat.N_QUADS), ("trig", ox.RdfFormat.TRIG)):
        dumped, _ = taken(lambda form=form: store.dump(format=form))
        ours, _ = taken(lambda name=name: written(quads, name))
        yield (
            f"writing {name}: {ours:.2f} s, the store's own serializer {dumped:.2f} s: "
            f"{ours / dumped:.2f} times"
        )
        told = len(quads) / (made + ours)
        yield f"  with making the statements: {told:,.0f} a second (goal {GOAL_EXPORT_A_SECOND:,})"
    lines = flat(quads)
    read, graph = taken(lambda: Graph().parse(data=lines, format="nt"))
    yield f"load: store {loaded:.2f} s, rdflib {read:.2f} s: {read / loaded:.1f} times"
    yield from questions(store, graph, seconds, (loaded, read))


def questions(
    store: ox.Store, graph: Graph, seconds: float, loads: tuple[float, float]
) -> Iterator[str]:
    """Each question to the store and to rdflib, and all of them with the loading."""
    fast, slow = 0.0, 0.0
    is_least = False
    for question in read_graph_questions(query_files()):
        ours, found = taken(lambda question=question: answer(store, question, {}))
        sparql = filled_in(question, {})
        theirs, is_done = limited(lambda sparql=sparql: len(list(graph.query(sparql))), seconds)
        fast, slow, is_least = fast + ours, slow + theirs, is_least or not is_done
        least = "" if is_done else "at least "
        yield (
            f"  {question.name:28} {len(found.rows):6} rows  store {ours:7.3f} s  rdflib "
            f"{least}{theirs:.2f} s: {theirs / ours:.0f} times"
        )
    least = "at least " if is_least else ""
    yield f"questions: store {fast:.2f} s, rdflib {least}{slow:.1f} s: {least}{slow / fast:.1f} times"
    whole = (slow + loads[1]) / (fast + loads[0])
    yield f"load and questions together: {least}{whole:.1f} times (goal 10)"


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    for line in measure(*(given + [STATEMENTS, SECONDS_A_QUESTION][len(given) :])):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()
