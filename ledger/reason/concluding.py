"""What can be said of the instrument in a few plain sentences, no stronger than its support?

Question answered: the date with both its ends, the parts that are not the first or cannot be
told, and what stays in doubt, as findings that rest on those of the report.

Method: the widest ends over the leading accounts; a part is named only under the state that all
leading accounts give it.
"""

from __future__ import annotations

from ledger.findings import Conflict, EventDating, PositionFinding, Surprise
from ledger.reason.anatomy import PARTS_TOGETHER
from ledger.reason.draft import Because
from ledger.reason.ends import STOCK_RULE, hull_in_words
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article, counted, listing

OTHERS = "observations and references"


def conclude(
    weighed: Weighed,
    datings: tuple[EventDating, ...],
    positions: tuple[PositionFinding, ...],
    conflicts: tuple[Conflict, ...],
    surprises: tuple[Surprise, ...],
) -> tuple[str, ...]:
    """The ids of two to four findings that say what can be said, in order of weight."""
    draft = weighed.draft
    completed = tuple(dating for dating in datings if dating.event == "completed")
    found = [_date(weighed, completed)]
    parts = _parts(positions)
    if parts:
        of = tuple(p.finding for p in positions if p.lines or p.states != ("not examined",))
        found.append(
            draft.finding("conclusion.parts", "state", Because("state of a position", parts, of))
        )
    sentence = _what_stays_in_doubt(weighed, conflicts, surprises)
    of = (*(c.id for c in conflicts), *(s.id for s in surprises if s.is_open))
    found.append(
        draft.finding("conclusion.doubt", "conflict", Because("minimal account", sentence, of))
    )
    return tuple(found)


def conclude_impossible(weighed: Weighed, conflicts: tuple[Conflict, ...]) -> tuple[str, ...]:
    """The id of the one finding that is left where what is given cannot all hold."""
    said = " ".join(conflict.sentence for conflict in conflicts)
    sentence = f"What is supposed here cannot be, whatever else is given up. {said}".strip()
    of = tuple(conflict.id for conflict in conflicts)
    supposed = tuple(name for conflict in conflicts for name in conflict.suppositions)
    because = Because("minimal conflict", sentence, of, supposed)
    return (weighed.draft.finding("impossible", "conflict", because),)


def _what_stays_in_doubt(
    weighed: Weighed, conflicts: tuple[Conflict, ...], surprises: tuple[Surprise, ...]
) -> str:
    found = weighed.reconciliation
    changes = sum(conflict.is_recorded_change for conflict in conflicts)
    clashes = len(found.conflicts) - changes
    said: list[str] = []
    if changes:
        verb = "sets" if changes == 1 else "set"
        said.append(
            f"{article(counted(changes, 'recorded change'))} {verb} aside the presumption that a "
            "part is the first."
        )
    if clashes:
        least = "" if found.is_complete else "at least "
        leading = len(weighed.leading)
        said.append(
            f"{article(counted(clashes, 'conflict'))} {'stands' if clashes == 1 else 'stand'} in "
            f"the evidence; there are {least}{counted(found.total, 'minimal way')} to read it all, "
            f"of which {leading} {'leads' if leading == 1 else 'lead'}."
        )
    else:
        said.append("Nothing else recorded contradicts anything recorded.")
    unresolved = sum(surprise.is_open for surprise in surprises)
    if unresolved:
        verb = "stays" if unresolved == 1 else "stay"
        said.append(f"{article(counted(unresolved, 'surprise'))} {verb} unexplained.")
    return " ".join(said)


def _date(weighed: Weighed, completed: tuple[EventDating, ...]) -> str:
    draft = weighed.draft
    many = len(weighed.leading)
    if not completed:
        return draft.finding(
            "conclusion.date",
            "date",
            Because("earliest and latest", "No account of the evidence was found."),
        )
    scope = "" if many == 1 else f", taken over the {many} leading accounts"
    of = tuple(
        end.finding
        for dating in completed
        for end in (dating.not_before, dating.not_after)
        if end.finding is not None
    )
    stock = any(
        draft.findings[step].rule == STOCK_RULE
        for dating in completed
        if dating.not_after.finding is not None
        for step in draft.findings[dating.not_after.finding].premises
    )
    note = (
        " The later end rests on nothing but the limit that practice puts on stock."
        if stock
        else ""
    )
    rests = _what_it_supposes(weighed, completed)
    ends = hull_in_words(completed)
    colon = ":" if ends.startswith("no ") else ""
    sentence = f"Completed{colon} {ends}{scope}.{rests}{note}"
    return draft.finding("conclusion.date", "date", Because("earliest and latest", sentence, of))


def _what_it_supposes(weighed: Weighed, completed: tuple[EventDating, ...]) -> str:
    """The parts and unions the date rests on by name, the lines and rows by number."""
    names = dict.fromkeys(
        name
        for dating in completed
        for end in (dating.not_before, dating.not_after)
        for name in end.suppositions
    )
    doubts = [weighed.draft.doubts[name] for name in names]
    parts = [
        doubt.sentence for doubt in doubts if doubt.kind in ("first-fitted", "joined", "as-made")
    ]
    others = len(doubts) - len(parts)
    said = [f"that {part}" for part in parts]
    if others:
        said.append(f"that {counted(others, 'observation or reference', OTHERS)} can be relied on")
    return f" It supposes {listing(said)}." if said else ""


def _together(event: str) -> str:
    """A fitting event of several parts, in words."""
    if event.startswith(PARTS_TOGETHER):
        return "a group fitted"
    return f"the {event.replace('-', ' ')}"


def _parts(positions: tuple[PositionFinding, ...]) -> str:
    """Positions by state, fitting events told as one, without those nobody looked at."""
    by_label: dict[str, dict[str, list[str]]] = {}
    untouched = 0
    for position in positions:
        if position.states == ("not examined",):
            untouched += 1
            continue
        if position.states in (("first-fitted",), ("presumed first-fitted (untested)",)):
            continue
        event = position.fitting_event or position.position
        by_label.setdefault(position.label, {}).setdefault(event, []).append(position.name)
    said = [
        f"{article(label)}: "
        + listing(
            f"{_together(event)} as one ({listing(names)})" if len(names) > 1 else f"the {names[0]}"
            for event, names in events.items()
        )
        + "."
        for label, events in by_label.items()
    ]
    if untouched:
        said.append(
            f"{article(counted(untouched, 'position'))} {'was' if untouched == 1 else 'were'} not examined."
        )
    return " ".join(said)
