"""What would the traces of fitting show that nobody has looked for yet?

Question answered: for every fitting event where the catalogue looks for joints, footprints, shadows,
a coat over an edge or wear, and none of that kind is on record, the chance of each kind of trace
for each way in which the parts may have come there.

Method: practice says how many times likelier a trace is on a first part than on a replacement; how
often it is there to be seen at all is taken as how often a fastening was not renewed since. What
is neither is left over, so that the chances add up to one; traces that speak against a part are
taken to be no commoner than that a look that finds nothing says nothing for it. As in the weighing,
of several traces on one event only the strongest for and against count: a trace counts by what it
adds to those known, and one that adds nothing is nothing that tells.

Cost: a few numbers for each event.

What it does not do: take the absence of a trace for more than its chances say.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from ledger.models import Trace
from ledger.reason.examination import Examination, Ready
from ledger.reason.factors import Table
from ledger.reason.likelihoods import FIRST, SERVICE, WAYS
from ledger.reason.priors import TraceWeight, trace_ratio
from ledger.references import CataloguePosition, TraceKind

SEEN_ROW = "unrenewed-fastening"
NOTHING_TELLING = "it shows nothing that tells"
ADDS_NOTHING = (1.0, 1.0)


@dataclass(frozen=True, slots=True)
class _Family:
    """Traces that one look finds: where the catalogue's checks have such words, and the kinds.

    ``also`` are kinds that the same look would have found: where one of them is on record, it was
    made.
    """

    id: str
    what: str
    words: tuple[str, ...]
    kinds: tuple[str, ...]
    also: tuple[str, ...] = ()


FAMILIES = (
    _Family(
        "joints",
        "look at the solder joints and the dress of the leads",
        ("joint", "double tinning", "lead dress", "solder", "colours and dress"),
        ("undisturbed-joints", "reworked-joint", "uniform-later-joints"),
        ("solder-aged", "cut-stubs", "cover-resoldered"),
    ),
    _Family(
        "bolts",
        "look at bolt shadows and rust",
        ("bolt shadow",),
        ("bolt-shadow-matches", "bolt-shadow-mismatch"),
    ),
    _Family(
        "holes",
        "look at the footprint, rings and holes",
        ("footprint", "screw hole", "second hole", "ring", "press marks", "extra hole", "pin hole"),
        ("single-footprint", "extra-holes"),
        ("filled-holes", "second-footprint"),
    ),
    _Family(
        "shadow",
        "look at the unfaded shadow beneath it",
        ("shadow", "colour under"),
        ("unfaded-shadow", "shadow-mismatch"),
    ),
    _Family(
        "coat",
        "see whether the coat runs over its edge",
        ("coat line", "coat over", "over the coat", "in or over"),
        ("finish-bridges-edge", "broken-finish-edge"),
    ),
    _Family(
        "wear",
        "see whether wear runs on over its neighbours",
        ("wear",),
        ("wear-continuous", "wear-broken"),
    ),
    _Family(
        "coats",
        "look at the coat in ultraviolet light and under the hardware",
        ("fluorescence", "retouch map", "coat in cavities"),
        ("fluorescence-even", "retouch-islands", "overspray"),
        ("coat-over-wear",),
    ),
    _Family(
        "glue",
        "look at the glue",
        ("glue",),
        ("glue-fits", "glue-foreign"),
    ),
)
# What is a coat itself leaves no outline and runs over no edge.
COATS = ("finish", "varnish")
OF_COATS = ("coats",)
OF_MOUNTED = ("joints",)
# A joint is one of solder where the catalogue warns of solder or of mains; else of wood or metal.
JOINT, WIRED = "joint", frozenset({"lead-solder", "stored-charge"})
NOT_OF_INTEGRAL = ("bolts", "holes", "shadow", "glue")


def foreseen_traces(ready: Ready) -> list[Examination]:
    """Every look for traces of fitting that has not been made."""
    found: list[Examination] = []
    for event, members in ready.open_events():
        if any(ready.draft.anatomy.is_root(place) for place in members):
            continue
        known = _kinds_on(ready, event)
        for family in FAMILIES:
            places = tuple(p for p in members if _is_looked_at(ready.row_of(p), family))
            if places and not known & {*family.kinds, *family.also}:
                found += _look(ready, event, family, places)
    return found


def _is_looked_at(row: CataloguePosition | None, family: _Family) -> bool:
    if row is None or not _can_have(row, family.id):
        return False
    checks = [check for check in row.checks if family.id != "shadow" or "bolt" not in check]
    words = [w for w in family.words if w != JOINT or not WIRED.isdisjoint(row.cautions)]
    return any(word in check for check in checks for word in words)


def _can_have(row: CataloguePosition, family: str) -> bool:
    """Whether traces of the family can be on such a part at all."""
    is_coat = any(word in row.id for word in COATS)
    if is_coat or family in OF_COATS:
        return is_coat and family in OF_COATS
    if family in OF_MOUNTED:
        return row.link == "mounted"
    return row.link != "integral" or family not in NOT_OF_INTEGRAL


def _kinds_on(ready: Ready, event: str) -> set[str]:
    fitment = ready.evidence.fitments.get(event)
    lines = ready.draft.case.lines
    kept = [] if fitment is None else fitment.found
    found = (lines[each.line].line for each in kept if each.line in lines)
    return {line.trace for line in found if isinstance(line, Trace)}


def _look(ready: Ready, event: str, family: _Family, places: tuple[str, ...]) -> list[Examination]:
    rows = [row for name in family.kinds if (row := ready.draft.packs.trace_kind(name)) is not None]
    weighed = [(row, _added(ready, event, row.row)) for row in rows]
    telling = [(row, strength) for row, strength in weighed if strength != ADDS_NOTHING]
    if not telling:
        return []
    rows, strengths = [row for row, _ in telling], [strength for _, strength in telling]
    table = chances_of_traces(strengths, ready.practice(SEEN_ROW))
    words = (*(f"it shows “{row.row.name}”" for row in rows), NOTHING_TELLING)
    way = ready.evidence.way(event)
    name = ready.names(places) if len(places) < 3 else ready.draft.event_name(event)
    return [
        Examination(
            id=f"{family.id} {event}",
            positions=places,
            reach=ready.reach(places),
            what=f"{family.what}: {name}",
            root=ready.draft.anatomy.root_of(places[0]),
            variables=(way,),
            table=table[..., None],
            words=words,
            told=tuple(range(len(words))),
            about=(way,),
            left_because=ready.left_because(places[0]),
            rows=(*(row.id for row in rows), SEEN_ROW),
            counts_with=f"traces {event}",
        )
    ]


def chances_of_traces(strengths: list[tuple[float, float]], seen: float) -> Table:
    """The chance of each trace, and of none of them, for each way in which a part came there.

    Args:
        strengths: for each kind of trace how many times likelier it is on a first part than on a
            service part, and than on one that was chosen or moved over.
        seen: how often such a trace is there to be seen where it is likeliest.

    >>> table = chances_of_traces([(20.0, 4.0), (0.1, 0.2)], 0.6)
    >>> [round(float(x), 3) for x in table[0]], [round(float(x), 3) for x in table[1]]
    ([0.6, 0.03, 0.15, 0.15], [0.06, 0.6, 0.3, 0.3])
    """
    is_against = np.array([min(pair) < 1 for pair in strengths])
    share = seen / max(int(is_against.sum()), 1)
    rows: list[list[float]] = []
    for (service, matching), against in zip(strengths, is_against, strict=True):
        first = (share if against else seen) * min(service, matching, 1.0)
        rows.append([first, first / service, first / matching, first / matching])
    table = np.array(rows)
    table[is_against] *= _kept_against(table, is_against)
    table /= max(float(table.sum(axis=0).max()) / 0.98, 1.0)
    found: Table = np.concatenate([table, 1 - table.sum(axis=0, keepdims=True)])
    if found.shape[1] != len(WAYS):
        raise ValueError(found.shape)
    return found


def _kept_against(table: Table, is_against: NDArray[np.bool_]) -> float:
    """Which share of the traces against a part leaves nothing-found no likelier on a first one.

    As many parts of service as first ones then show nothing; with no trace for the part among
    those looked for, all of them are kept.
    """
    gained = table[~is_against].sum(axis=0)
    lost = table[is_against].sum(axis=0)
    wanted, had = float(gained[FIRST] - gained[SERVICE]), float(lost[SERVICE] - lost[FIRST])
    return min(max(wanted, 0.0) / had, 1.0) if had > 0 and gained.any() else 1.0


def _added(ready: Ready, event: str, kind: TraceKind) -> tuple[float, float]:
    """The two strengths of a kind of trace, beyond what is known on the event already."""
    fitment = ready.evidence.fitments.get(event)
    known = [] if fitment is None else [*fitment.found]
    ratio = trace_ratio(ready.draft, kind)
    strengths = tuple(
        sqrt(pair[0] * pair[1]) for pair in (kind.against_service, kind.against_matching)
    )
    same_side = [each for each in known if (each.ratio > 1) == (ratio > 1) and each.ratio != 1]
    stronger: TraceWeight | None = max(same_side, key=_distance, default=None)
    if stronger is None:
        return strengths[0], strengths[1]
    if _distance(stronger) >= max(ratio, 1 / ratio):
        return ADDS_NOTHING
    return strengths[0] / stronger.against_service, strengths[1] / stronger.against_matching


def _distance(trace: TraceWeight) -> float:
    return max(trace.ratio, 1 / trace.ratio)
