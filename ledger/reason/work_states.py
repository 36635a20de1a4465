"""In what state did the recorded works leave a position?

Question answered: what is there now by the works that the leading accounts accept, with its
reasons, and which kinds of replacement the days of a part allow.

Method: what is there now is what was put in last, or nothing where it was taken out last. What was
altered is told besides, and decides only where nothing was put in or taken out. Which kind of
replacement it is follows from what the work says, or from the days between which the part was made
and fitted; where more than one kind fits, all are named.

Cost: linear in works and in leading accounts.

What it does not do: decide whether a work was done; see :mod:`ledger.reason.reconcile`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args

from ledger.basis.edtf import read_date
from ledger.findings import State
from ledger.models import Work
from ledger.reason.dating import DAYS_A_YEAR
from ledger.reason.draft import line_of
from ledger.reason.weighed import Weighed
from ledger.reason.wording import line_sentence
from ledger.record.case import Recorded

ORDER: Final[tuple[State, ...]] = get_args(State)
UNDATED_DAY: Final = -(1 << 60)
BY_WORK: Final[Mapping[str, State]] = {
    "service": "service replacement",
    "period": "period replacement",
    "modern": "modern replacement",
    "works": "works-refitted",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """States that are possible for one position, and the reasons in order."""

    states: tuple[State, ...]
    reasons: tuple[str, ...]
    premises: tuple[str, ...] = ()
    suppositions: tuple[str, ...] = ()


def verdict_by_work(
    weighed: Weighed, position: str, recorded: Sequence[Recorded[Any]]
) -> Verdict | None:
    """The state that the accepted works on the position left it in, or None.

    What is there now is what was put in, taken out or left empty last; what was altered is told
    besides, and decides only where nothing was put in.
    """
    works = [
        r
        for r in recorded
        if isinstance(r.line, Work)
        and r.line.action in ("replaced", "added", "altered", "removed")
        and not all(weighed.given_up(f"sound:{r.id}"))
    ]
    if not works:
        return None
    exchanged = [work for work in works if work.line.action != "altered"]
    latest = max(exchanged or works, key=lambda work: _work_order(work.line))
    altered = [
        work
        for work in works
        if exchanged
        and work.line.action == "altered"
        and latest.line.action != "removed"
        and not _is_surely_before(work.line, latest.line)
    ]
    states = _states_of_work(weighed, position, latest.line)
    doubted = any(weighed.given_up(f"sound:{latest.id}"))
    reasons = [f"Recorded: {line_sentence(latest, weighed.draft.anatomy.name)}"]
    if doubted:
        reasons.append("Some leading accounts give this record up.")
    reasons += [_told_besides(weighed, work) for work in altered]
    told = (latest, *altered)
    return Verdict(
        ("cannot be told",) if doubted else states,
        tuple(reasons),
        tuple(line_of(work) for work in told),
        tuple(f"sound:{work.id}" for work in told),
    )


def _told_besides(weighed: Weighed, work: Recorded[Work]) -> str:
    """That what is there now was altered, and whether the record of that is doubted."""
    said = line_sentence(work, weighed.draft.anatomy.name)
    doubted = any(weighed.given_up(f"sound:{work.id}"))
    doubt = " Some leading accounts give this record up." if doubted else ""
    since = "Altered since" if work.line.date is not None else "Altered, before or since"
    return f"{since}: {said}{doubt}"


def _work_order(line: Work) -> tuple[int, bool]:
    """The order in which works left their mark, the last of one day being what was put in.

    An undated one counts as before any dated one.
    """
    latest = read_date(line.date).spans.latest if line.date is not None else None
    return (latest if latest is not None else UNDATED_DAY, line.action != "removed")


def _is_surely_before(one: Work, other: Work) -> bool:
    """Whether the one was done before the other by their dates; an undated one never surely."""
    if one.date is None or other.date is None:
        return False
    return _work_order(one)[0] < _work_order(other)[0]


def _states_of_work(weighed: Weighed, position: str, line: Work) -> tuple[State, ...]:
    if line.action == "removed":
        return ("missing",)
    if line.by == "works":
        return ("works-refitted",)
    if line.action == "altered":
        return ("altered in place",)
    if line.replacement is not None:
        return (BY_WORK[line.replacement],)
    return kinds_by_days(weighed, position)


def kinds_by_days(weighed: Weighed, position: str) -> tuple[State, ...]:
    """Which kinds of replacement the days allow, over all leading accounts.

    A part fitted long after completion is modern; one made so late is modern whenever it was
    fitted; one made by the latest completion can be of the period; any other is a service part,
    unless it may also have been fitted late.
    """
    anatomy, ready = weighed.draft.anatomy, weighed.ready
    row = weighed.draft.packs.practice("modern-after-years")
    weighed.draft.rows[row.id] = row
    late = row.row.value * DAYS_A_YEAR
    found: set[State] = set()
    for account in weighed.leading:
        kept = weighed.presumed(account)
        done = ready.latest(anatomy.completed(position), kept)
        begun = ready.earliest(anatomy.completed(position), kept)
        made = ready.earliest(anatomy.made(position), kept)
        fitted = ready.earliest(anatomy.fitted(position), kept)
        fitted_last = ready.latest(anatomy.fitted(position), kept)
        known_late = (
            done is not None
            and max(fitted if fitted is not None else done, made if made is not None else done)
            - done
            >= late
        )
        if known_late:
            found.add("modern replacement")
            continue
        found.add("service replacement")
        if fitted_last is None or begun is None or fitted_last - begun >= late:
            found.add("modern replacement")
        if made is None or done is None or made <= done:
            found.add("period replacement")
    return tuple(state for state in ORDER if state in found)
