"""What falls if something is otherwise, and what stands all the same?

Question answered: of two reports on one instrument, the first as recorded and the second with
something supposed, which dates, states, conflicts and accounts are no longer what they were.

Method: both ends of each event over all leading accounts; the state of each position; conflicts
by their suppositions, one that is left with fewer of them being the same one, narrowed. What is
the same is said too, since that is what an answer rests on.

Cost: linear in the reports.

What it does not do: say which of the two is so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ledger.findings import Conflict, EventDating, PositionFinding, Report
from ledger.reason.ends import hull_in_words
from ledger.reason.wording import article, counted, listing

EVENTS = ("completed", "dispatched", "first sold")
NOT_KNOWN = "no lower bound known; no upper bound known"
UNSEEN = "not examined"
POSITIONS_NAMED, CONFLICTS_TOLD = 8, 3


@dataclass(frozen=True, slots=True)
class Difference:
    """What no longer is as it was, and what is, in plain sentences."""

    falls: tuple[str, ...]
    conflicts: tuple[str, ...]
    stands: tuple[str, ...]
    is_dating_moved: bool


def difference(before: Report, after: Report, places: Iterable[str] = ()) -> Difference:
    """What falls and what stands; positions among ``places`` are told one by one."""
    falls: list[str] = []
    stands: list[str] = []
    for event in EVENTS:
        was, now = ends_in_words(before, event), ends_in_words(after, event)
        if was == now:
            # Of the later events nothing is told where nothing is known.
            told = event == "completed" or was != NOT_KNOWN
            stands += [f"{article(event)}: {was}."] if told else []
        else:
            falls.append(f"{article(event)}: {was}. It would become: {now}.")
    is_moved = bool(falls)
    _compare_positions(before, after, frozenset(places), (falls, stands))
    narrowed, conflicts = _compare_conflicts(before, after)
    stands += narrowed
    return Difference(tuple(falls), conflicts, tuple(stands), is_moved)


def ends_in_words(report: Report, event: str) -> str:
    """Both ends of an event over all leading accounts; said to be unknown where there is none."""
    leading = {account.id for account in report.accounts if account.is_leading}
    found: tuple[EventDating, ...] = tuple(
        each for each in report.datings if each.event == event and each.account in leading
    )
    return hull_in_words(found) if found else NOT_KNOWN


def _compare_positions(
    before: Report,
    after: Report,
    places: frozenset[str],
    told: tuple[list[str], list[str]],
) -> None:
    falls, stands = told
    now = {each.position: each for each in after.positions}
    same: list[PositionFinding] = []
    for was in before.positions:
        is_now = now.get(was.position)
        label = is_now.label if is_now is not None else "nothing is recorded of it"
        if label == UNSEEN and was.label != UNSEEN:
            falls.append(f"{article(was.name)}: {was.label}. Nothing else on record tells of it.")
        elif label != was.label:
            falls.append(f"{article(was.name)}: {was.label}. It would become: {label}.")
        elif was.position in places:
            stands.append(f"{article(was.name)}: {was.label}.")
        elif was.lines:
            same.append(was)
    if same:
        names = [each.name for each in same[:POSITIONS_NAMED]]
        more = len(same) - len(names)
        also = [f"{more} more"] if more else []
        stands.append(f"The states of these stay as they are: {listing([*names, *also])}.")


def _compare_conflicts(before: Report, after: Report) -> tuple[list[str], tuple[str, ...]]:
    """The conflicts that stay with less in them to give up, then those that go and that arise."""
    were = {conflict.suppositions: conflict for conflict in before.conflicts}
    are = {conflict.suppositions for conflict in after.conflicts}
    gone = {name for name in were if name not in are}
    fresh = [each for each in after.conflicts if each.suppositions not in were]
    narrowed = [each for each in fresh if any(set(each.suppositions) < set(was) for was in gone)]
    arisen = [each for each in fresh if each not in narrowed]
    kept = {was for was in gone for each in narrowed if set(each.suppositions) < set(was)}
    return [_narrowed(each) for each in narrowed], tuple(_went_and_came(len(gone - kept), arisen))


def _narrowed(conflict: Conflict) -> str:
    return (
        "A conflict stands as before, but for what is supposed here, which can no longer be given "
        f"up in it: {conflict.sentence}"
    )


def _went_and_came(gone: int, fresh: list[Conflict]) -> Iterator[str]:
    if gone:
        yield f"{article(counted(gone, 'conflict'))} would no longer stand."
    for each in fresh[:CONFLICTS_TOLD]:
        yield f"A conflict would arise: {each.sentence}"
    if len(fresh) > CONFLICTS_TOLD:
        yield f"{article(counted(len(fresh) - CONFLICTS_TOLD, 'more conflict'))} would arise."
