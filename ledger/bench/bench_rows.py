"""The tab of the bench: one row an observation, whatever kind it turns out to be.

A row of the plan says where to look and for what. What was found is filled in beside it, and
becomes a line of the section that its kind belongs to. A row without an answer is not recorded.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, get_args

from ledger.bench.columns import BENCH_TAB, Column, Tab
from ledger.bench.plan import NON_VALUES, Look
from ledger.bench.steps import Found

KINDS_FOUND: Final[tuple[str, ...]] = (*get_args(Found), *NON_VALUES)

_COLUMNS: Final = (
    Column("step", "the plan's own name for this row; the row is recorded under it"),
    Column("stage", "when in the examination this comes; work downwards"),
    Column(
        "position", "where; pot.1, pot.2 or pot.volume where there are several", words="positions"
    ),
    Column("look_for", "what to look for; change it where you looked for something else"),
    Column("care", "how, what to photograph, what it may destroy, what is dangerous"),
    Column("found", "what kind of observation it is, or which of the four nothings", KINDS_FOUND),
    Column(
        "as_seen",
        "a mark glyph for glyph (? unreadable, [38] either); a figure with its unit; a trace of the "
        "list; or how it is made or looks",
        is_glyphs=True,
    ),
    Column("doubt", "of a figure, such as 0.1 mm; of a mark, clear, worn or partial"),
    Column("method_or_reason", "how it was looked at and how far; why not, where nobody looked"),
    Column("source", "which sitting: an id of the tab sources", words="sources"),
    Column("exhibits", "ids of pictures of the tab exhibits, with commas", is_list=True),
    Column("note", "anything else, in your own words"),
)
BENCH: Final = Tab(BENCH_TAB, _COLUMNS)
# What the plan fills in; a row with nothing more has not been answered.
FILLED_BY_PLAN: Final = frozenset({"step", "stage", "position", "look_for", "care", "source"})

# For each kind the section, and which field takes which column.
_BECOMES: Final[Mapping[str, tuple[str, Mapping[str, str]]]] = {
    "mark": ("marks", {"as_seen": "text", "doubt": "legibility", "method_or_reason": "method"}),
    "feature": ("features", {"look_for": "feature", "as_seen": "value"}),
    "measurement": (
        "measurements",
        {
            "look_for": "quantity",
            "as_seen": "value",
            "doubt": "uncertainty",
            "method_or_reason": "instrument",
        },
    ),
    "trace": ("traces", {"as_seen": "trace", "method_or_reason": "method"}),
}
_SAME: Final = ("source", "exhibits", "note")


def becomes(found: str) -> tuple[str, Mapping[str, str]]:
    """The section that a kind of finding is recorded in, and the field each column fills.

    Columns that the kind has no use for are in neither; what is typed there is a fault.
    """
    if found in _BECOMES:
        section, fields = _BECOMES[found]
        place = "positions" if section == "traces" else "position"
        return section, {"step": "id", "position": place, **fields, **{n: n for n in _SAME}}
    reason = "method" if found == "searched, not found" else "why"
    return "non_values", {
        "step": "id",
        "position": "positions",
        "look_for": "what",
        "found": "value",
        "method_or_reason": reason,
        "source": "source",
        "note": "note",
    }


# Typed in a column that the kind has no field for, these are lost and so refused.
ANSWERS: Final = ("as_seen", "doubt", "method_or_reason", "exhibits")


def plan_row(look: Look, source: str) -> dict[str, str]:
    """The row of the bench tab for a look that nobody has taken yet."""
    care = [look.how]
    if look.photograph:
        care.append(f"Photograph: {look.photograph}.")
    if look.before:
        care.append(f"First: {'; '.join(look.before)}.")
    if look.destroys:
        care.append(f"May destroy: {look.destroys}.")
    if look.cautions:
        care.append(f"Caution: {', '.join(look.cautions)}; see the tab read me.")
    if look.recorded:
        care.append(f"Recorded before: {', '.join(look.recorded)}.")
    return {
        "step": look.id,
        "stage": look.stage,
        "position": look.position,
        "look_for": look.look_for,
        "care": " ".join(part for part in care if part),
        "source": source,
    }
