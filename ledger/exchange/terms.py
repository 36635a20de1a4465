"""The words of the evidence graph: which nodes and edges there are and what each of them means.

This is the one place where the schema of the graph is told; the graph is built by it, its files
are described by it, and ``schema/graph.schema.json`` is made from it.

Edges run from what stands to what it stands on, or from a statement to what it is about. Those
that bear are marked: if the node at their far end goes, what they belong to goes or has to
change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

GRAPH_FORMAT: Final = "witnessmark graph 1"


@dataclass(frozen=True, slots=True)
class NodeTerm:
    """What a kind of node is, and which fields it has besides ``kind`` and ``sentence``.

    A field ends in ``?`` where a node can lack it. Types are those of JSON Schema.
    """

    says: str
    fields: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class EdgeTerm:
    """What a kind of edge says, whether it bears, and between which kinds of node it runs."""

    says: str
    tails: tuple[str, ...]
    heads: tuple[str, ...]
    bears: bool = False


_LINE: Mapping[str, str] = {
    "section": "string",
    "title": "string",
    "sequence": "integer",
    "hash": "string",
}
_DAYS: Mapping[str, str] = {"moment?": "string", "days?": "string"}

NODE_TERMS: Final[Mapping[str, NodeTerm]] = {
    "exhibit": NodeTerm(
        "a file kept under its SHA-256, by the line that names it",
        {**_LINE, "content_hash?": "string"},
    ),
    "source": NodeTerm(
        "one sitting, one paper, one person's telling",
        {
            **_LINE,
            "source_kind?": "string",
            "by?": "string",
            "date?": "string",
            "hand?": "string",
        },
    ),
    "assertion": NodeTerm("one claim by one source about one subject", _LINE),
    "part": NodeTerm("a part that was in a position and no longer is", _LINE),
    "question": NodeTerm("a question that stays open", _LINE),
    "challenge": NodeTerm("a doubt about lines or findings; it is no evidence", _LINE),
    "answer": NodeTerm("what was answered to a challenge", _LINE),
    "reference statement": NodeTerm(
        "a sourced claim about production: a row of a pack",
        {
            "section": "string",
            "source": "string",
            "confidence": "string",
            "n?": "integer",
            "is_practice": "boolean",
        },
    ),
    "reading": NodeTerm(
        "one way to read a mark",
        {
            "is_used": "boolean",
            "is_plain": "boolean",
            "standing": "string",
            "is_told": "boolean",
            **_DAYS,
        },
    ),
    "supposition": NodeTerm(
        "what has to hold for a step to go through",
        {
            "supposition_kind": "string",
            "subject": "string",
            "prior": "number",
            "prior_from": "string",
            "is_presumed": "boolean",
        },
    ),
    "rule application": NodeTerm(
        "one step by one rule; a finding with several stands as long as one of them does",
        {"rule": "string", "is_reported": "boolean"},
    ),
    "finding": NodeTerm(
        "a statement of the report; is_told where the report gives it to its reader",
        {"finding_kind": "string", "is_told": "boolean", **_DAYS},
    ),
    "conflict": NodeTerm(
        "suppositions that cannot all hold",
        {"is_recorded_change": "boolean", "is_told": "boolean"},
    ),
    "account": NodeTerm(
        "suppositions to give up so that the rest can all hold",
        {"is_leading": "boolean", "odds_note": "string", "is_told": "boolean"},
    ),
    "position": NodeTerm("a place in the instrument, with the state of what is there", {}),
    "missing": NodeTerm("named by something in the report and not in the report", {}),
}

LINES: Final = ("exhibit", "source", "assertion", "part", "question", "challenge", "answer")
STATEMENTS: Final = ("reading", "finding", "conflict", "account")
_ANY_LINE = (*LINES, "missing")
_PREMISES = (*_ANY_LINE, "reference statement", *STATEMENTS)
_STEP = ("rule application",)
_SUPPOSITION = ("supposition", "missing")

EDGE_TERMS: Final[Mapping[str, EdgeTerm]] = {
    "follows by": EdgeTerm("the statement follows by this step", STATEMENTS, _STEP, bears=True),
    "takes": EdgeTerm("the step takes this for a premise", _STEP, _PREMISES, bears=True),
    "supposes": EdgeTerm("the step goes through if this holds", _STEP, _SUPPOSITION, bears=True),
    "cannot all hold": EdgeTerm(
        "one of the suppositions that exclude one another", _STEP, _SUPPOSITION, bears=True
    ),
    "gives up": EdgeTerm("what the account gives up", _STEP, _SUPPOSITION, bears=True),
    "doubts as a swap": EdgeTerm(
        "what does not hold if the swap was made", _STEP, _SUPPOSITION, bears=True
    ),
    "turns on": EdgeTerm(
        "the state is told by this one way or the other", _STEP, _SUPPOSITION, bears=True
    ),
    "told by": EdgeTerm("the line is from this source", LINES, _ANY_LINE, bears=True),
    "copied from": EdgeTerm("the source repeats this one", ("source",), _ANY_LINE, bears=True),
    "shown in": EdgeTerm("what can be looked at", LINES, _ANY_LINE),
    "about": EdgeTerm(
        "what is spoken of",
        (*LINES, *STATEMENTS, "supposition"),
        (*_ANY_LINE, "reference statement", "position"),
    ),
    "settles": EdgeTerm("the account gives up part of this conflict", ("account",), STATEMENTS),
    "explained by": EdgeTerm("the work that accounts for it", (*LINES, *STATEMENTS), _ANY_LINE),
    "built on": EdgeTerm(
        "the row rests on this very instrument", ("reference statement",), _PREMISES
    ),
    "doubts": EdgeTerm(
        "what the challenge is about", ("challenge",), (*_PREMISES, "supposition", "position")
    ),
    "answers": EdgeTerm("the challenge that is answered", ("answer",), _ANY_LINE),
    "rests its answer on": EdgeTerm("what the answer points to", ("answer",), _PREMISES),
}

# The edge from a step to what it supposes, by the kind of the finding: not every finding takes
# its suppositions to hold.
SUPPOSING: Final[Mapping[str, str]] = {
    "conflict": "cannot all hold",
    "comparison": "cannot all hold",
    "account": "gives up",
    "swap": "doubts as a swap",
    "state": "turns on",
}
SUPPOSING_EDGES: Final = frozenset(("supposes", *SUPPOSING.values()))
