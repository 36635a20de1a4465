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

from collections.abc import Sequence
from typing import Any

from ledger.basis.spans import iso_date
from ledger.findings import PositionFinding, State
from ledger.models import Custody, Exhibit, Feature, NonValue, Sighting, Source, Work
from ledger.reason.anatomy import positions_of
from ledger.reason.contradicting import says_absent
from ledger.reason.draft import Because, line_of
from ledger.reason.priors import EVEN, Fitment
from ledger.reason.weighed import Weighed, span_over_leading, when_fitted
from ledger.reason.wording import article, counted, line_sentence, listing
from ledger.reason.work_states import ORDER, Verdict, kinds_by_days, verdict_by_work
from ledger.record.case import Recorded

LOOKED_AT = ("searched, not found", "not legible")
NOT_APPLICABLE = "not applicable"
REPLACED: tuple[State, ...] = ("service replacement", "period replacement", "modern replacement")


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
    missing = _verdict_on_absence(weighed, recorded)
    if missing is not None:
        return missing
    by_work = verdict_by_work(weighed, position, recorded)
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


def _verdict_on_absence(weighed: Weighed, recorded: Sequence[Recorded[Any]]) -> Verdict | None:
    """That nothing is there, or that this cannot be told where it is contradicted; else None."""
    missing = [r for r in recorded if isinstance(r.line, Feature) and says_absent(r.line)]
    kept = [r for r in missing if not all(weighed.given_up(f"sound:{r.id}"))]
    if not kept:
        return None
    first = kept[0]
    if not any(weighed.given_up(f"sound:{first.id}")):
        return Verdict(("missing",), ("Nothing is in the position.",), (line_of(first),))
    said = line_sentence(first, weighed.draft.anatomy.name)
    reason = f"One observation has it that nothing is there, and another contradicts it: {said}"
    return Verdict(("cannot be told",), (reason,), (line_of(first),), (f"sound:{first.id}",))


def _is_examined(recorded: Sequence[Recorded[Any]]) -> bool:
    """Whether anything was seen there: what is only unread, or only told, was not."""
    return any(
        not isinstance(r.line, NonValue | Sighting | Source | Exhibit | Custody) for r in recorded
    )


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
        return Verdict(kinds_by_days(weighed, position), (reason,), (), supposed)
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
    return Verdict(kinds_by_days(weighed, position), tuple(reasons), (), supposed)


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
        return Verdict(kinds_by_days(weighed, position), (reason,), (), unions)
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
    return _presumed(weighed, position, supposed)


def _presumed(weighed: Weighed, position: str, supposed: tuple[str, ...]) -> Verdict:
    """Nothing speaks against it, and no trace of fitting shows that it was there first."""
    anatomy = weighed.draft.anatomy
    traces = weighed.fitments.get(anatomy.event_of(position))
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
    presumed: tuple[State, ...] = ("presumed first-fitted (untested)",)
    if traces is not None and traces.lines_for:
        reasons = _spoken_for_untested(weighed, traces)
        return Verdict(presumed, reasons, tuple(f"line:{x}" for x in traces.lines_for), supposed)
    reason = "Nothing speaks against it, and nothing that was examined shows that it was fitted there first."
    return Verdict(presumed, (reason,), (), supposed)


def _spoken_for_untested(weighed: Weighed, traces: Fitment) -> tuple[str, ...]:
    """What speaks for a part by a trace that a part chosen to match may show as well."""
    lines, name = weighed.draft.case.lines, weighed.draft.anatomy.name
    said = " ".join(line_sentence(lines[x], name) for x in traces.lines_for)
    many = len(traces.lines_for) > 1
    speaks = "These traces speak" if many else "A trace speaks"
    ratio = f"{traces.strongest_for:.3g} to one by practice"
    first = f"{speaks} for it, {'the strongest ' if many else ''}by itself {ratio}: {said}"
    second = (
        "A part chosen to match may show the same, and nothing was tried that would have spoken "
        "against such a part."
    )
    return first, second


def _all_explained(weighed: Weighed, lines: tuple[str, ...]) -> bool:
    explained = {x for work in weighed.draft.case.of(Work) for x in work.line.explains}
    return all(line in explained for line in lines)
