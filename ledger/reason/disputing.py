"""What is a challenge about, and what would have to be so for the challenger to be right?

Question answered: the positions and lines that a challenge concerns, what is supposed to see
what falls if it is right, the statements of the report that it touches, and everything these
rest on.

Method: a doubted part is supposed not to be the first, a doubted line, source or row is left
out, a mark is read as the challenger reads it; a disputed state of a part is supposed the other
way. Where it is doubted that a picture shows this instrument, all that the picture tells is left
out. The claims are the statements that are named, the states of the parts concerned, how likely a
disputed union is, and the date, where it rests on what is doubted or would move.

Cost: linear in findings, for each challenge.

What it does not do: judge. A name that the report does not hold is said to be unknown to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ledger.basis.percentages import percent, percent_range
from ledger.disputes import Claim
from ledger.findings import Conflict, Finding, LineText, PositionFinding, Report
from ledger.models import Assertion, Challenge, Sighting
from ledger.reason.anatomy import positions_of
from ledger.reason.cautions import places_of
from ledger.reason.draft import Draft
from ledger.reason.supposing import Supposing
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article
from ledger.record.case import WITHHELD_TEXT, Recorded

FIRST = frozenset({"first-fitted", "presumed first-fitted (untested)"})
OPEN = frozenset({"cannot be told", "not examined", "missing"})
LINE, REFERENCE, STATE, DATE = "line:", "reference:", "state.", "conclusion.date"


@dataclass(frozen=True, slots=True)
class Matter:
    """A challenge with what it is about; ``lines`` are doubted, ``places`` concerned.

    ``along`` are the other lines of a picture that is doubted; they are left out with it.
    """

    weighed: Weighed
    report: Report
    challenge: Recorded[Challenge]
    what: Supposing
    places: tuple[str, ...]
    lines: tuple[str, ...]
    unknown: tuple[str, ...]
    along: tuple[str, ...] = ()

    @property
    def draft(self) -> Draft:
        """The working paper of the report."""
        return self.weighed.draft

    @property
    def positions(self) -> tuple[PositionFinding, ...]:
        """The findings on the positions concerned, in the order of the report."""
        return tuple(each for each in self.report.positions if each.position in self.places)

    @property
    def doubted(self) -> frozenset[str]:
        """The suppositions that do not hold if the challenger is right, and what they name."""
        rows = [name for name in self.draft.doubts if _row_of(name) in self.what.without_rows]
        lines = [f"sound:{line}" for line in (*self.lines, *self.along)]
        return frozenset((*self.what.fails, *rows, *lines))

    @property
    def leaves(self) -> frozenset[str]:
        """What is doubted, as premises name it."""
        rows = (f"{REFERENCE}{name}" for name in self.challenge.line.references)
        return frozenset((*(f"{LINE}{line}" for line in (*self.lines, *self.along)), *rows))


def _row_of(supposition: str) -> str:
    kind, _, name = supposition.partition(":")
    return name.partition("#")[0] if kind == "holds" else ""


def matter_of(weighed: Weighed, report: Report, challenge: Recorded[Challenge]) -> Matter:
    """What the challenge is about, in terms of the report."""
    draft, said = weighed.draft, challenge.line
    places = list(_places(draft, said.positions))
    places += [f"part/{part}" for part in said.parts]
    lines = list(said.lines)
    lines += _told_by(draft, said.sources)
    along = tuple(_told_by_pictures(draft, said.lines))
    marked = said.mark is not None and said.mark_reads != WITHHELD_TEXT
    marks = ((said.mark, said.mark_reads),) if said.mark is not None and marked else ()
    suppositions = [name for place in places for name in _first(draft, place)]
    fails = dict.fromkeys((*suppositions, *said.suppositions))
    holds = dict.fromkeys(said.insists)
    known = {finding.id for finding in report.findings}
    for finding in report.positions:
        if finding.finding in said.findings:
            places.append(finding.position)
            names = _first(draft, finding.position)
            (fails if set(finding.states) <= FIRST else holds).update(dict.fromkeys(names))
            if set(finding.states) & OPEN:
                for name in names:
                    holds.pop(name, None)
    rows = {row.id for row in report.references if not row.is_practice}
    unknown = [
        *(name for name in (*fails, *holds) if name not in draft.doubts),
        *(name for name in said.findings if name not in known),
        *(name for name in said.references if name not in rows),
    ]
    what = Supposing(
        holds=tuple(name for name in holds if name in draft.doubts),
        fails=tuple(name for name in fails if name in draft.doubts and name not in holds),
        without_lines=(*said.lines, *along),
        without_sources=tuple(said.sources),
        without_rows=tuple(name for name in said.references if name in rows),
        marks_read=marks,
    )
    concerned = places_spoken_of(draft, (*lines, *(name for name, _ in marks)))
    named = _named_places(draft, (*what.holds, *what.fails))
    return Matter(
        weighed,
        report,
        challenge,
        what,
        tuple(dict.fromkeys((*places, *named, *concerned))),
        tuple(dict.fromkeys(lines)),
        tuple(dict.fromkeys(unknown)),
        along,
    )


def _places(draft: Draft, named: Iterable[str]) -> Iterable[str]:
    """The positions as the report has them: one without its suffix stands for all of several."""
    for name in named:
        several = [p for p in draft.anatomy.positions if p.partition(".")[0] == name]
        yield from [name] if name in draft.anatomy.positions else several


def _first(draft: Draft, place: str) -> tuple[str, ...]:
    """What has to hold for what is in the place to be the first there."""
    anatomy = draft.anatomy
    if not anatomy.is_root(place):
        return (anatomy.first_fitted(place),)
    if place == anatomy.view.anchor:
        return (f"as-made:{place}",)
    path = anatomy.view.union_path(anatomy.view.anchor, place) or ()
    return tuple(anatomy.union_id(union) for union in path[-1:])


def _told_by(draft: Draft, sources: Iterable[str]) -> list[str]:
    """All that the sources say, and that those say which repeat them."""
    wanted = set(sources)
    found: list[str] = []
    for name, recorded in draft.case.lines.items():
        source = draft.source_of(recorded)
        while source is not None:
            if source.id in wanted:
                found.append(name)
                break
            again = draft.case.lines.get(source.copied_from or "")
            source = again.line if again is not None else None
    return found


def _told_by_pictures(draft: Draft, lines: Iterable[str]) -> Iterable[str]:
    """What else is told by pictures of which it is doubted that they show this instrument."""
    doubted = tuple(lines)
    pictures = [
        source.id
        for name in doubted
        if isinstance(draft.case.lines[name].line, Sighting)
        and (source := draft.source_of(draft.case.lines[name])) is not None
        and source.kind == "photograph"
    ]
    for name in _told_by(draft, pictures):
        if name not in doubted and isinstance(draft.case.lines[name].line, Assertion):
            yield name


def places_spoken_of(draft: Draft, lines: Iterable[str]) -> list[str]:
    """The places that the lines speak of, of a sighting those at which it shows anything."""
    found: list[str] = []
    for name in lines:
        recorded = draft.case.lines.get(name)
        if recorded is not None:
            if isinstance(recorded.line, Sighting):
                shown = recorded.line.shows
                found += [e.position for e in shown if e.same_as_now != "cannot be told"]
                continue
            found += [*positions_of(recorded), *places_of(recorded)]
            found += getattr(recorded.line, "positions", ())
    return found


def _named_places(draft: Draft, suppositions: Iterable[str]) -> list[str]:
    """The positions that suppositions about parts and roots speak of."""
    found: list[str] = []
    for name in suppositions:
        kind, _, subject = name.partition(":")
        if kind == "joined":
            found += subject.split("+")[-1:]
        elif kind in ("first-fitted", "as-made"):
            found += [
                place
                for place in draft.anatomy.positions
                if subject in (place, draft.anatomy.event_of(place))
            ]
    return found


class Chain:
    """What stands beneath the findings of a report."""

    def __init__(self, report: Report) -> None:
        self.findings: Mapping[str, Finding] = {each.id: each for each in report.findings}
        self.lines: Mapping[str, LineText] = {each.id: each for each in report.lines}

    def beneath(self, names: Iterable[str]) -> tuple[str, ...]:
        """The findings and everything they rest on, nearest first, each once."""
        found = dict.fromkeys(names)
        for name in (waiting := list(found)):
            at = self.findings.get(name)
            fresh = [p for p in (at.premises if at is not None else ()) if p not in found]
            found.update(dict.fromkeys(fresh))
            waiting += fresh
        return tuple(found)


def claims_of(matter: Matter, *, is_dating_moved: bool) -> tuple[Claim, ...]:
    """The statements of the report that the challenge touches, those that it names first."""
    chain = Chain(matter.report)
    names = [name for name in matter.challenge.line.findings if name in chain.findings]
    names += _states(matter)
    date = next((name for name in matter.report.conclusion if name == DATE), None)
    if date is not None and (is_dating_moved or _rests_on(matter, chain, date)):
        names.append(date)
    names += [name for name in matter.report.identity if _rests_on(matter, chain, name)]
    found = [Claim(name, chain.findings[name].sentence) for name in dict.fromkeys(names)]
    found += _unions(matter, chain)
    if found:
        return tuple(found)
    return tuple(
        Claim("", f"As recorded: {chain.lines[line].sentence}")
        for line in matter.lines
        if line in chain.lines
    )


def _unions(matter: Matter, chain: Chain) -> Iterable[Claim]:
    """Of each disputed union its chance, all evidence weighed; else what is said of it unweighed."""
    report = matter.report
    weighed = report.chances.suppositions if report.chances is not None else ()
    chances = {each.supposition: each for each in weighed}
    disputed = {*matter.what.fails, *matter.what.holds}
    for each in report.suppositions:
        if each.kind != "joined" or each.id not in disputed:
            continue
        said = article(each.sentence.rstrip("."))
        found, swap = chances.get(each.id), chain.findings.get(f"swap.{each.subject}")
        if found is not None:
            shown = percent_range(found.low, found.high)
            yield Claim(
                "",
                f"{said}: chance {percent(found.chance)} ({shown} over the range of its prior), all "
                "evidence weighed.",
            )
        elif swap is not None:
            yield Claim(swap.id, swap.sentence)
        else:
            prior = f"a chance of {percent(each.prior)} before the evidence ({each.prior_from})"
            yield Claim("", f"{said}: taken for granted, with {prior}; nothing here weighs it.")


def conflicts_on(matter: Matter) -> tuple[Conflict, ...]:
    """The conflicts in which what is doubted, or insisted on, has a part."""
    named = matter.doubted | set(matter.what.holds)
    return tuple(each for each in matter.report.conflicts if named.intersection(each.suppositions))


def _states(matter: Matter) -> list[str]:
    """The states of the positions concerned; of parts fitted as one, one for all."""
    told: dict[str, str] = {}
    for each in matter.positions:
        if each.lines or set(each.states) != {"not examined"}:
            told.setdefault(each.fitting_event or each.position, each.finding)
    return list(told.values())


def _rests_on(matter: Matter, chain: Chain, name: str) -> bool:
    doubted = matter.doubted | set(matter.what.holds)
    under = chain.beneath((name,))
    supposed = {
        s for each in under if each in chain.findings for s in chain.findings[each].suppositions
    }
    return bool(matter.leaves.intersection(under) or doubted & supposed)
