"""On what a statement stands, and what rests on a thing, in plain lines for a person.

Two things are kept apart in words: that a statement as it is said *needs* something, which the graph
tells, and what would be *said instead* without it, for which the case is reasoned about again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from textwrap import shorten

from ledger.exchange.circles import circles
from ledger.exchange.graph import FINDING, LINE, REFERENCE, SUPPOSITION, EvidenceGraph
from ledger.exchange.resting import Resting, load_bearing
from ledger.exchange.sharing import Shared, pairs_of_supports
from ledger.exchange.support import decisive, minimal_supports, statement
from ledger.reason.wording import counted, listing

MOST_TOLD = 12
SUPPORTS_TOLD = 6
MOST_GLYPHS = 220
TOLD_FIRST = ("date", "chance", "state", "identity", "swap", "surprise", "conflict")

SHARED_WORDS = (
    ("lines", "the line"),
    ("sources", "the source"),
    ("sittings", "the sitting"),
    ("origins", "what they were copied from,"),
    ("references", "the row"),
    ("publications", "the publication"),
    ("suppositions", "the supposition"),
    ("examiners", "the examiner"),
)


def thing_in_words(graph: EvidenceGraph, node: str) -> str:
    """A line, row, supposition or statement in words, with the id by which to ask for it."""
    data = graph.nodes[node]
    sentence = str(data["sentence"]).rstrip(".")
    if node.startswith(LINE):
        title = str(data.get("title", "")) or sentence
        return f"{title} ({node.removeprefix(LINE)}, entry {data.get('sequence', 'unknown')})"
    if node.startswith(REFERENCE):
        return f"{sentence} ({node.removeprefix(REFERENCE)})"
    if node.startswith(SUPPOSITION):
        return f"supposed: {sentence}"
    said = shorten(sentence, MOST_GLYPHS, placeholder=" …")
    return f"{said} [{node.removeprefix(FINDING)}]"


def support_text(
    graph: EvidenceGraph, finding: str, instead: Callable[[str], str | None] | None = None
) -> Iterator[str]:
    """The finding, what it needs, its minimal supports, what these share, its circles.

    Args:
        graph: the evidence graph.
        finding: which finding.
        instead: for something that it needs what would be said without, empty where that is the
            same, None where it cannot be left out.

    Raises:
        UnknownName: the graph has no such finding.
    """
    node = statement(graph, finding)
    yield str(graph.nodes[node]["sentence"])
    needed = decisive(graph, finding)
    found = minimal_supports(graph, finding)
    yield ""
    if not found.found:
        yield "Nothing holds it up: what it follows from rests on it in turn."
    elif not needed:
        yield "As it is said it needs no single line, row or supposition: other chains lead to it."
    else:
        yield from _needed(graph, needed, instead)
    if len(found.found) > 1:
        yield from _alternatives(graph, found.found, needed)
        more = "" if found.is_complete else "; there are more than are listed"
        yield f"{counted(len(found.found), 'minimal support')} in all{more}."
        yield from _independence(graph, finding)
    for circle in circles(graph):
        if node in circle.findings:
            yield f"Mind the circle: {circle.sentence}"


def _needed(
    graph: EvidenceGraph, needed: tuple[str, ...], instead: Callable[[str], str | None] | None
) -> Iterator[str]:
    """Each thing that it needs, with what would be said were that left out."""
    if instead is None:
        yield "As it is said it needs each of these:"
        yield from (f"  - {thing_in_words(graph, each)}" for each in needed)
        return
    yield "As it is said it needs each of these. Were one of them left out, and only that:"
    for each in needed:
        said = instead(each)
        found = "this cannot be left out" if said is None else said or "the same would be said"
        yield f"  - {thing_in_words(graph, each)}: {found}."


def _alternatives(
    graph: EvidenceGraph, supports: tuple[tuple[str, ...], ...], needed: tuple[str, ...]
) -> Iterator[str]:
    yield "Besides, it needs one of these, and no more:"
    for support in supports[:SUPPORTS_TOLD]:
        rest = [thing_in_words(graph, each) for each in support if each not in needed]
        yield f"  - {listing(rest)}"


def _independence(graph: EvidenceGraph, finding: str) -> Iterator[str]:
    for pair in pairs_of_supports(graph, finding)[:SUPPORTS_TOLD]:
        shared = shared_in_words(graph, pair.shared)
        if pair.shared.is_independent:
            yield "Two of them share nothing: they are two lines of support."
        else:
            yield f"Two of them share {shared}: they are not independent."


def shared_in_words(graph: EvidenceGraph, shared: Shared) -> str:
    """What two supports have in common, by kinds; empty where there is nothing."""
    said = []
    for name, word in SHARED_WORDS:
        things: tuple[str, ...] = getattr(shared, name)
        if things:
            named = [thing_in_words(graph, each) if each in graph else each for each in things]
            said.append(f"{word} {listing(named)}")
    return "; ".join(said)


def resting_text(
    graph: EvidenceGraph, resting: Resting, instead: Callable[[str], str] | None = None
) -> Iterator[str]:
    """What needs the things, what would be said without them, and what has another chain.

    Args:
        graph: the evidence graph.
        resting: what loses all its chains, and what loses some.
        instead: for a statement what would be said without the things, empty where that is the
            same; without it what needs them is only listed.
    """
    named = listing(thing_in_words(graph, each) for each in resting.without)
    yield f"Without {named}:"
    told = resting.falls_told(graph)
    steps = len(resting.falls) - len(told)
    if not told:
        yield "No statement that the report makes needs it as it is said."
    elif instead is None:
        yield f"Of the report {counted(len(told), 'statement')} can no longer be made as now:"
        yield from _told(graph, told)
    else:
        yield from _otherwise(graph, {name: instead(name) for name in told})
    if steps:
        yield f"Besides, {counted(steps, 'step')} between them and the record {'falls' if steps == 1 else 'fall'}."
    if resting.weakened:
        yield f"{counted(len(resting.weakened), 'statement')} would stand by another chain alone:"
        yield from _told(graph, resting.weakened)


def _otherwise(graph: EvidenceGraph, told: Mapping[str, str]) -> Iterator[str]:
    """The statements that would be otherwise, then those that would be made all the same."""
    other = {name: said for name, said in told.items() if said}
    same = [name for name in told if name not in other]
    if other:
        yield f"Of the report {counted(len(other), 'statement')} would be otherwise:"
        yield from _told(graph, other, other)
    if same:
        yield (
            f"{counted(len(same), 'statement')} would be made all the same, though something "
            f"beneath {'it' if len(same) == 1 else 'each'} goes:"
        )
        yield from _told(graph, same)


def bears_most(graph: EvidenceGraph) -> Iterator[str]:
    """The lines on which most of what the report says rests, each with how much falls."""
    loads = [load for load in load_bearing(graph) if load.told]
    if not loads:
        yield "No statement of the report needs a single line."
        return
    yield (
        "The lines that bear most, and how many statements need each as they are said (what would "
        "be said without one is told when it is named):"
    )
    for load in loads[:MOST_TOLD]:
        what = thing_in_words(graph, load.on)
        yield f"  - {what}: {counted(len(load.told), 'statement')}"
    if len(loads) > MOST_TOLD:
        yield f"  and {counted(len(loads) - MOST_TOLD, 'line')} more that bear less"


def _told(
    graph: EvidenceGraph, nodes: Iterable[str], instead: Mapping[str, str] | None = None
) -> Iterator[str]:
    given = sorted(nodes, key=lambda node: _rank(graph, node))
    for node in given[:MOST_TOLD]:
        said = ""
        if instead is not None:
            said = f": {shorten(instead[node], MOST_GLYPHS, placeholder=' …')}"
        yield f"  - {thing_in_words(graph, node)}{said}"
    if len(given) > MOST_TOLD:
        yield f"  and {len(given) - MOST_TOLD} more"


def _rank(graph: EvidenceGraph, node: str) -> int:
    """Dates before states before the rest, each in the order of the report."""
    kind = str(graph.nodes[node].get("finding_kind", graph.nodes[node]["kind"]))
    return TOLD_FIRST.index(kind) if kind in TOLD_FIRST else len(TOLD_FIRST)
