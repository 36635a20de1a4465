"""What would be said instead, were something left out? A chain that goes is no statement that falls.

Question answered: of a statement as one report makes it, what another report says, which was made
without something: the same, something else, or nothing.

Method: a state by its label, a date by its ends over all leading accounts, a conflict by what it
cannot have together, everything else by its sentence. Conflicts are numbered anew in every report,
so that they are not known again by their numbers.

Cost: linear in the reports.

What it does not do: reason; the other report is given.
"""

from __future__ import annotations

from ledger.exchange.graph import FINDING
from ledger.findings import Conflict, Report
from ledger.reason.standing import EVENTS, ends_in_words

SAME = ""
NOTHING = "nothing of it would be said"
NARROWED = "it would stand with less in it that could be given up"
IMPOSSIBLE = "what is left could not all be so, and nothing would be concluded"
DATE, NOT_BEFORE, NOT_AFTER = "conclusion.date", "not-before", "not-after"


def said_instead(before: Report, after: Report, finding: str) -> str:
    """What the other report says of it; :data:`SAME` where that is what the first one says."""
    name = finding.removeprefix(FINDING)
    if before.accounts and not after.accounts:
        return IMPOSSIBLE
    conflict = next((each for each in before.conflicts if each.id == name), None)
    if conflict is not None:
        return _conflict_instead(conflict, after)
    was, now = _gist(before, name), _gist(after, name)
    if now == was:
        return SAME
    return NOTHING if now is None else f"it would be: {now.rstrip('.')}"


def _conflict_instead(conflict: Conflict, after: Report) -> str:
    were = set(conflict.suppositions)
    are = [set(each.suppositions) for each in after.conflicts]
    if were in are:
        return SAME
    return NARROWED if any(each < were for each in are) else NOTHING


def _gist(report: Report, name: str) -> str | None:
    """What a reader takes the statement to say; None where the report does not make it."""
    state = next((each for each in report.positions if each.finding == name), None)
    if state is not None:
        return state.label
    if name == DATE:
        return ends_in_words(report, "completed")
    for event in EVENTS:
        if name.startswith(event.replace(" ", "-") + "."):
            first, _, last = ends_in_words(report, event).partition("; ")
            side = name.split(".")[1]
            return {NOT_BEFORE: first, NOT_AFTER: last}.get(side)
    return next((each.sentence for each in report.findings if each.id == name), None)
