"""Did the part that is there now leave the works with the instrument?

Question answered: for every position its state, with reasons, and which parts are likely swaps.

Method: in this order: nobody examined it; it is missing; a work that the leading accounts accept
put in or altered what is there; every leading account gives it up; some do; none does, and then
a trace of fitting makes the difference between *first-fitted* and *presumed*. Which kind of
replacement it is follows from what the work says, or from the days between which it was made
and fitted; where more than one kind fits, all are named. Codes that fall in the right time are
never taken for fitting: parts chosen to match have them too.

Cost: linear in positions times leading accounts.

What it does not do: give one figure for the whole instrument.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from ledger.basis.edtf import read_date
from ledger.basis.spans import iso_date
from ledger.findings import PositionFinding, State
from ledger.models import Custody, Exhibit, Feature, NonValue, Sighting, Source, Work
from ledger.reason.anatomy import positions_of
from ledger.reason.dating import DAYS_A_YEAR
from ledger.reason.draft import Because, line_of
from ledger.reason.priors import EVEN
from ledger.reason.weighed import Weighed, span_over_leading, when_fitted
from ledger.reason.wording import article, counted, line_sentence, listing
from ledger.record.case import Recorded

LOOKED_AT = ("searched, not found", "not legible")
NOT_APPLICABLE = "not applicable"
ORDER: tuple[State, ...] = get_args(State)
REPLACED: tuple[State, ...] = ("service replacement", "period replacement", "modern replacement")
BY_WORK: Mapping[str, State] = {
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


def state_positions(weighed: Weighed) -> tuple[PositionFinding, ...]:
    """The state of every position, in the order of the catalogue."""
    lines_at: dict[str, dict[str, None]] = {}
    for recorded in weighed.draft.case.lines.values():
        for position in positions_of(recorded):
            lines_at.setdefault(position, {})[recorded.id] = None
    return tuple(
        _position(weighed, position, tuple(lines_at.get(position, ())))
        for position in weighed.draft.anatomy.positions
    )


def _position(weighed: Weighed, position: str, lines: tuple[str, ...]) -> PositionFinding:
    anatomy = weighed.draft.anatomy
    row = anatomy.view.find(position)
    verdict = _verdict(weighed, position, lines)
    states = tuple(state for state in ORDER if state in verdict.states)
    label = _label(states)
    event = anatomy.events.get(position)
    name = f"state.{position}"
    sentence = f"{article(anatomy.name(position))}: {label}. {' '.join(verdict.reasons)}".strip()
    premises = tuple(dict.fromkeys((*verdict.premises, *(f"line:{line}" for line in lines))))
    because = Because("state of a position", sentence, premises, verdict.suppositions)
    return PositionFinding(
        position=position,
        name=anatomy.name(position),
        parent=row.parent if row else None,
        link=row.link if row else "mounted",
        assembly=row.assembly if row else None,
        states=states,
        label=label,
        reasons=verdict.reasons,
        finding=weighed.draft.finding(name, "state", because),
        fitting_event=event.id if event else None,
        place=row.place if row else None,
        made=_made(weighed, position),
        lines=lines,
        cautions=row.cautions if row else (),
    )


def _label(states: Sequence[State]) -> str:
    if not states:
        return NOT_APPLICABLE
    if len(states) == 1:
        return states[0]
    if all(state in REPLACED for state in states):
        return f"{listing((s.removesuffix(' replacement') for s in states), 'or')} replacement"
    return listing(states, "or")


def _made(weighed: Weighed, position: str) -> tuple[str | None, str | None] | None:
    """Between which days the part was made, over the leading accounts; None where no mark says."""
    moment = weighed.draft.anatomy.made(position)
    if not any(bound.moment == moment for bound in weighed.draft.network.bounds):
        return None
    low, high = span_over_leading(weighed, moment)
    return None if low is None else iso_date(low), None if high is None else iso_date(high)


# -- deciding ---------------------------------------------------------------------------------


def _verdict(weighed: Weighed, position: str, lines: tuple[str, ...]) -> Verdict:
    recorded = [weighed.draft.case.lines[line] for line in lines]
    missing = [r for r in recorded if isinstance(r.line, Feature) and _says_missing(r.line)]
    if missing:
        return Verdict(("missing",), ("Nothing is in the position.",), (line_of(missing[0]),))
    by_work = _verdict_by_work(weighed, position, recorded)
    if by_work is not None:
        return by_work
    if _is_examined(recorded):
        return _verdict_by_accounts(weighed, position)
    return _parent_given_up(weighed, position) or _verdict_unseen(weighed, recorded)


def _verdict_unseen(weighed: Weighed, recorded: Sequence[Recorded[Any]]) -> Verdict:
    """The state of a position of which nothing was seen, by which of the nothings is recorded."""
    nothings = [r for r in recorded if isinstance(r.line, NonValue)]
    out = [r for r in nothings if r.line.value == NOT_APPLICABLE]
    if out:
        why = article(out[0].shown("why") or out[0].shown("what"))
        return Verdict((), (why,), (line_of(out[0]),))
    looked = [r for r in nothings if r.line.value in LOOKED_AT]
    if looked:
        said = " ".join(line_sentence(r, weighed.draft.anatomy.name) for r in looked)
        reason = f"Looked at, and nothing read that would tell: {said}"
        return Verdict(("cannot be told",), (reason,), tuple(line_of(r) for r in looked))
    whys = [r.shown("why").rstrip(".") for r in nothings if r.line.why]
    why = f"Not examined: {listing(whys)}." if whys else "Nothing is recorded of it."
    return Verdict(("not examined",), (why,))


def _says_missing(line: Feature) -> bool:
    return line.feature.casefold() == "presence" and line.value.casefold() == "missing"


def _is_examined(recorded: Sequence[Recorded[Any]]) -> bool:
    """Whether anything was seen there: what is only unread, or only told, was not."""
    return any(
        not isinstance(r.line, NonValue | Sighting | Source | Exhibit | Custody) for r in recorded
    )


def _verdict_by_work(
    weighed: Weighed, position: str, recorded: Sequence[Recorded[Any]]
) -> Verdict | None:
    """The state that the latest accepted work on the position left it in, or None."""
    works = [
        r
        for r in recorded
        if isinstance(r.line, Work)
        and r.line.action in ("replaced", "added", "altered", "removed")
        and not all(weighed.given_up(f"sound:{r.id}"))
    ]
    if not works:
        return None
    latest = max(works, key=lambda work: _work_day(work.line))
    line = latest.line
    if not isinstance(line, Work):
        return None
    said = line_sentence(latest, weighed.draft.anatomy.name)
    states = _states_of_work(weighed, position, line)
    doubted = any(weighed.given_up(f"sound:{latest.id}"))
    reasons = [f"Recorded: {said}"]
    if doubted:
        states = (*states, "cannot be told")
        reasons.append("Some leading accounts give this record up.")
    return Verdict(
        tuple(states) if not doubted else ("cannot be told",),
        tuple(reasons),
        (line_of(latest),),
        (f"sound:{latest.id}",),
    )


def _work_day(line: Work) -> int:
    """The latest day of a work; an undated one counts as before any dated one."""
    latest = read_date(line.date).spans.latest if line.date is not None else None
    return latest if latest is not None else -1


def _states_of_work(weighed: Weighed, position: str, line: Work) -> tuple[State, ...]:
    if line.action == "removed":
        return ("missing",)
    if line.by == "works":
        return ("works-refitted",)
    if line.action == "altered":
        return ("altered in place",)
    if line.replacement is not None:
        return (BY_WORK[line.replacement],)
    return _kinds_by_days(weighed, position)


def _kinds_by_days(weighed: Weighed, position: str) -> tuple[State, ...]:
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


def _verdict_by_accounts(weighed: Weighed, position: str) -> Verdict:
    anatomy = weighed.draft.anatomy
    if anatomy.is_root(position):
        return _verdict_of_root(weighed, position)
    supposed = anatomy.fitting(position)
    given = [weighed.given_up(name) for name in supposed]
    own = given[0]
    lost = [any(each[i] for each in given) for i in range(len(weighed.leading))]
    if all(lost):
        return _given_up_by_all(weighed, position, own_lost=all(own))
    if any(lost):
        reason = f"{_some_give_up(lost)} it up, the others keep it."
        return Verdict(("cannot be told",), (reason,), (), supposed)
    return _kept_by_all(weighed, position, supposed)


def _some_give_up(lost: Sequence[bool]) -> str:
    verb = "gives" if sum(lost) == 1 else "give"
    return f"{counted(sum(lost), 'leading account')} of {len(lost)} {verb}"


def _parent_given_up(weighed: Weighed, position: str) -> Verdict | None:
    """An integral part that nobody looked at falls with its parent."""
    anatomy = weighed.draft.anatomy
    if anatomy.is_root(position) or not anatomy.is_integral(position):
        return None
    parents = anatomy.fitting(position)[1:]
    if not parents or not all(any(weighed.given_up(name)) for name in parents):
        return None
    reason = (
        f"Not looked at; it is part of the {_parent_name(weighed, position)}, which is in doubt."
    )
    return Verdict(("cannot be told",), (reason,), (), parents)


def _parent_name(weighed: Weighed, position: str) -> str:
    anatomy = weighed.draft.anatomy
    parent = anatomy.view.parent_of(position)
    return anatomy.name(parent) if parent is not None else anatomy.name(position)


def _given_up_by_all(weighed: Weighed, position: str, *, own_lost: bool) -> Verdict:
    anatomy = weighed.draft.anatomy
    supposed = anatomy.fitting(position)
    many = len(weighed.leading)
    which = {1: "the leading account gives", 2: "both leading accounts give"}.get(
        many, f"all {many} leading accounts give"
    )
    if not own_lost:
        reason = f"It is part of the {_parent_name(weighed, position)}, which {which} up."
        return Verdict(_kinds_by_days(weighed, position), (reason,), (), supposed)
    event = anatomy.events.get(position)
    reasons = [
        weighed.supposed_not(supposed[0])
        or f"{article(which)} up that it left the works with the instrument.",
        *when_fitted(weighed, position),
    ]
    if event is not None:
        others = [anatomy.name(each) for each in event.positions if each != position]
        reasons.append(
            f"It was fitted on one occasion with the {listing(others)}: one event, not many."
        )
    if anatomy.is_integral(position):
        return Verdict(("altered in place",), tuple(reasons), (), supposed)
    return Verdict(_kinds_by_days(weighed, position), tuple(reasons), (), supposed)


def _verdict_of_root(weighed: Weighed, position: str) -> Verdict:
    anatomy = weighed.draft.anatomy
    as_made = weighed.given_up(f"as-made:{position}")
    if as_made and all(as_made):
        reason = (
            weighed.supposed_not(f"as-made:{position}")
            or "Every leading account gives up that it is as the works made it."
        )
        return Verdict(("altered in place",), (reason,), (), (f"as-made:{position}",))
    if any(as_made):
        reason = "Some leading accounts give up that it is as the works made it."
        return Verdict(("cannot be told",), (reason,), (), (f"as-made:{position}",))
    if position == anatomy.view.anchor:
        return Verdict(
            ("first-fitted",),
            ("By definition: the instrument of this case is the one this part was made for.",),
        )
    path = anatomy.view.union_path(anatomy.view.anchor, position) or ()
    unions = tuple(anatomy.union_id(union) for union in path)
    given = [weighed.given_up(name) for name in unions]
    lost = [any(each[i] for each in given) for i in range(len(weighed.leading))]
    if all(lost) and unions:
        reason = (
            weighed.supposed_not(*unions)
            or "Every leading account gives up that it belongs to the rest."
        )
        return Verdict(_kinds_by_days(weighed, position), (reason,), (), unions)
    if any(lost):
        reason = f"{_some_give_up(lost)} up that it belongs to the rest, the others keep it."
        return Verdict(("cannot be told",), (reason,), (), unions)
    return _kept_by_all(weighed, position, unions)


def _kept_by_all(weighed: Weighed, position: str, supposed: tuple[str, ...]) -> Verdict:
    """Nothing speaks against it; a trace of fitting tells first-fitted from presumed."""
    anatomy = weighed.draft.anatomy
    root = anatomy.root_of(position)
    altered = weighed.given_up(f"as-made:{root}")
    if anatomy.is_integral(position) and root != position and altered and all(altered):
        reason = (
            f"It is part of the {anatomy.name(root)}, which every leading account takes for altered; "
            "whether this was renewed with it cannot be told."
        )
        return Verdict(("cannot be told",), (reason,), (), (f"as-made:{root}", *supposed))
    traces = weighed.fitments.get(anatomy.event_of(position))
    lines = weighed.draft.case.lines
    if traces is not None and traces.lines_against:
        said = " ".join(line_sentence(lines[x], anatomy.name) for x in traces.lines_against)
        if not _all_explained(weighed, traces.lines_against):
            reason = f"No date speaks against it, but a trace does: {said}"
            return Verdict(
                ("cannot be told",),
                (reason,),
                tuple(f"line:{x}" for x in traces.lines_against),
                supposed,
            )
    if traces is not None and traces.is_tested:
        said = " ".join(line_sentence(lines[x], anatomy.name) for x in traces.lines_for)
        reasons = (
            f"A trace of fitting speaks for it: {said}",
            "A whole group moved over from another example would show the same.",
        )
        return Verdict(
            ("first-fitted",), reasons, tuple(f"line:{x}" for x in traces.lines_for), supposed
        )
    weighed_part = weighed.parts.get(anatomy.event_of(position))
    if weighed_part is not None and weighed_part.verdict != "likelier the first":
        reason = f"Nothing recorded rules it out, but all evidence weighed: {weighed_part.sentence}"
        return Verdict(("cannot be told",), (reason,), (weighed_part.finding,), supposed)
    improbable = [name for name in supposed if weighed.suppositions[name].prior_at_most < EVEN]
    if improbable:
        found = weighed.suppositions[improbable[0]]
        reason = (
            f"Nothing recorded speaks against it, but practice gives such a part a chance of "
            f"{found.prior:.2f}, at most {found.prior_at_most:.2f}, of being the first "
            f"({found.prior_from}), and nothing that was examined shows that it is."
        )
        return Verdict(("cannot be told",), (reason,), (), supposed)
    reason = "Nothing speaks against it, and nothing that was examined shows that it was fitted there first."
    return Verdict(("presumed first-fitted (untested)",), (reason,), (), supposed)


def _all_explained(weighed: Weighed, lines: tuple[str, ...]) -> bool:
    explained = {x for work in weighed.draft.case.of(Work) for x in work.line.explains}
    return all(line in explained for line in lines)
