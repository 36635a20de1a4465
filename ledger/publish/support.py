"""The support of a finding: unfolded into a list for reading and into a chain for drawing.

Nothing is concluded here; premises are followed as the report names them, down to the lines of
the record, each with its entry number and hash, and to the rows of packs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from ledger.publish.chain_drawing import Node
from ledger.publish.evidence import LINE, REFERENCE, Evidence, reference_href, short_hash
from ledger.publish.page_contexts import ExhibitShown
from ledger.publish.percentages import percent
from ledger.publish.support_contexts import SupportItem, SupposedShown
from ledger.publish.svg import anchor
from ledger.publish.wording import origin_words

SHA256 = re.compile(r"[0-9a-f]{64}")
DEEPEST_LIST = 14  # what lies deeper is unfolded on its own page
MOST_NODES_DRAWN = 60
SUPPOSITION = "supposition:"
SUPPOSED_MARK, EXHIBIT_MARK = "\1", "\2"  # before the names of nodes that are no premises


def exhibits_shown(evidence: Evidence, line: Mapping[str, Any]) -> list[ExhibitShown]:
    """The files of a line, whether it names them itself or by the line that holds them."""
    found: dict[str, str] = {}
    for name in line["exhibits"]:
        holder = line if SHA256.fullmatch(name) else evidence.line_of(name)
        if holder is None:
            continue
        says = holder["title"] or holder["sentence"]
        digests = [name] if SHA256.fullmatch(name) else holder["exhibits"]
        found |= {digest: says for digest in digests if SHA256.fullmatch(digest)}
    return [
        {
            "href": f"/exhibit/{digest}",
            "thumbnail": f"/exhibit/{digest}/thumbnail",
            "says": says,
        }
        for digest, says in found.items()
    ]


IsKept = Callable[[str], bool]


def everything(_: str) -> bool:
    """Whether the name is kept: every one is."""
    return True


def decisive_path(evidence: Evidence, grounds: frozenset[str]) -> IsKept:
    """Whether a name is a decisive ground or stands on one.

    ``grounds`` are ``line:id``, ``reference:pack/row`` and ``supposition:id``.
    """
    supposed = {name.removeprefix(SUPPOSITION) for name in grounds if name.startswith(SUPPOSITION)}
    known: dict[str, bool] = {}

    def is_on_path(name: str) -> bool:
        if name.startswith(SUPPOSED_MARK):
            return name.removeprefix(SUPPOSED_MARK) in supposed
        if name.startswith(EXHIBIT_MARK):
            return True
        if name not in known:
            beneath = evidence.beneath(name) if name in evidence.findings else {name}
            known[name] = not grounds.isdisjoint(beneath) or any(
                each in supposed
                for other in beneath
                if other in evidence.findings
                for each in evidence.findings[other]["suppositions"]
            )
        return known[name]

    return is_on_path


def unfold(evidence: Evidence, finding: str, is_decisive: IsKept = everything) -> SupportItem:
    """The finding with everything beneath it, each finding unfolded once."""
    return _unfolded(evidence, finding, set(), 0, is_decisive)


def _unfolded(
    evidence: Evidence, name: str, seen: set[str], depth: int, is_decisive: IsKept
) -> SupportItem:
    found = evidence.findings.get(name)
    if found is None:
        return _told_once(evidence, name, seen, is_decisive)
    item = _item("finding", found["kind"], found["sentence"], evidence.href_of(name))
    item["is_decisive"] = is_decisive(name)
    item["anchor"] = anchor("support", name)
    item["rule"] = found["rule"]
    if name in seen:
        item["is_repeat"] = True
        return item
    seen.add(name)
    item["suppositions"] = [evidence.statement(each).sentence for each in found["suppositions"]]
    if depth >= DEEPEST_LIST and found["premises"]:
        item["is_cut"] = True
    else:
        item["beneath"] = [
            _unfolded(evidence, premise, seen, depth + 1, is_decisive)
            for premise in found["premises"]
        ]
    return item


def _told_once(evidence: Evidence, name: str, seen: set[str], is_decisive: IsKept) -> SupportItem:
    """A leaf in full where it is met first, and in one line wherever it is met again."""
    leaf = _leaf(evidence, name)
    leaf["is_decisive"] = is_decisive(name)
    leaf["anchor"] = anchor("support", name)
    leaf["is_repeat"] = name in seen
    seen.add(name)
    return leaf


def _item(kind: str, word: str, sentence: str, href: str) -> SupportItem:
    """An item of which nothing more is told yet."""
    return {
        "kind": kind,
        "word": word,
        "sentence": sentence,
        "href": href,
        "anchor": "",
        "is_repeat": False,
        "is_cut": False,
        "rule": "",
        "suppositions": [],
        "beneath": [],
        "entry": 0,
        "short_hash": "",
        "exhibits": [],
        "source": "",
        "confidence": "",
        "examples": "",
        "is_practice": False,
        "is_decisive": True,
    }


def _leaf(evidence: Evidence, name: str) -> SupportItem:
    """A row of a pack, a line of the record, or a name that the report does not explain."""
    row = evidence.reference_of(name) if name.startswith(REFERENCE) else None
    if row is not None:
        word = "practice" if row["is_practice"] else "reference"
        item = _item("reference", word, row["sentence"], reference_href(row["id"]))
        item["source"] = row["source"]
        item["confidence"] = row["confidence"]
        item["examples"] = examples_words(row["n"])
        item["is_practice"] = row["is_practice"]
        return item
    line = None if name.startswith(REFERENCE) else evidence.line_of(name)
    if line is None:
        return _item("unknown", "named, not in this report", name, "")
    word = section_word(line["section"])
    href = evidence.href_of(f"{LINE}{line['id']}")
    item = _item("line", word, line["sentence"] or line["title"], href)
    item["entry"] = line["sequence"]
    item["short_hash"] = short_hash(line["hash"])
    item["exhibits"] = exhibits_shown(evidence, line)
    item["source"] = evidence.line_title(line["source"]) if line["source"] else ""
    return item


def examples_words(count: int | None) -> str:
    """On how many examples a row rests; empty where it does not say.

    >>> examples_words(1), examples_words(4), examples_words(None)
    ('1 example', '4 examples', '')
    """
    if count is None:
        return ""
    return f"{count:,} example{'' if count == 1 else 's'}"


SECTION_WORDS = {
    "sources": "source",
    "exhibits": "exhibit",
    "parts": "part",
    "identity": "identity",
    "marks": "mark",
    "measurements": "measurement",
    "features": "feature",
    "traces": "trace",
    "works": "work",
    "custody": "custody",
    "sightings": "sighting",
    "papers": "paper",
    "testimony": "testimony",
    "non_values": "nothing read",
    "questions": "question",
    "challenges": "challenge",
    "answers": "answer",
    "register_searches": "search of a register",
}


def section_word(section: str) -> str:
    """What one line of the section is called."""
    return SECTION_WORDS.get(section, section.replace("_", " "))


def supposed(evidence: Evidence, finding: str) -> list[SupposedShown]:
    """Everything that has to hold somewhere beneath the finding, in the order of the report."""
    needed = {
        supposition
        for name in evidence.beneath(finding)
        if name in evidence.findings
        for supposition in evidence.findings[name]["suppositions"]
    }
    return [
        {
            "anchor": anchor("supposed", name),
            "sentence": told["sentence"],
            "kind": told["kind"],
            "prior": percent(told["prior"]),
            "prior_from": origin_words(told["prior_from"]),
        }
        for name, told in evidence.suppositions.items()
        if name in needed
    ]


def chain_of(
    evidence: Evidence, finding: str, is_kept: IsKept = everything
) -> tuple[list[Node], list[tuple[str, str]], int]:
    """Nodes and edges beneath the finding, nearest first, and how many nodes were left out."""
    nodes: dict[str, Node] = {}
    edges: list[tuple[str, str]] = []
    waiting = [finding]
    for name in waiting:
        if name in nodes:
            continue
        nodes[name] = _node(evidence, name, is_asked=name == finding)
        for premise in filter(is_kept, _premises(evidence, name)):
            edges.append((premise, name))
            waiting.append(premise)
    kept = set(list(nodes)[:MOST_NODES_DRAWN])
    return (
        [node for name, node in nodes.items() if name in kept],
        [(start, end) for start, end in edges if start in kept and end in kept],
        len(nodes) - len(kept),
    )


def _premises(evidence: Evidence, name: str) -> list[str]:
    found = evidence.findings.get(name)
    if found is not None:
        return [*found["premises"], *(f"{SUPPOSED_MARK}{each}" for each in found["suppositions"])]
    line = None if name.startswith((REFERENCE, SUPPOSED_MARK)) else evidence.line_of(name)
    if line is None:
        return []
    return [
        f"{EXHIBIT_MARK}{shown['href']}{EXHIBIT_MARK}{shown['says']}"
        for shown in exhibits_shown(evidence, line)
    ]


def _node(evidence: Evidence, name: str, *, is_asked: bool) -> Node:
    if name.startswith(SUPPOSED_MARK):
        href = f"#{anchor('supposed', name[1:])}"
        return Node(name, "supposition", evidence.statement(name[1:]).sentence, href)
    if name.startswith(EXHIBIT_MARK):
        _, href, says = name.split(EXHIBIT_MARK, 2)
        return Node(name, "exhibit", says, href)
    found = evidence.findings.get(name)
    if found is not None:
        href = "" if is_asked else evidence.href_of(name)
        return Node(name, found["kind"], found["sentence"], href, is_asked)
    leaf = _leaf(evidence, name)
    kind = "reference" if leaf["kind"] == "reference" else "line"
    entry = f"entry {leaf['entry']}: " if leaf["kind"] == "line" else ""
    return Node(name, kind, f"{entry}{leaf['sentence']}", leaf["href"])
