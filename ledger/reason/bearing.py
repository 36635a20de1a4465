"""What bears on a challenge besides what its claims rest on?

Question answered: the lines on which the answers on record rest, the comparisons with how the works
made it that speak of them, the works that explain them, and the papers that name the object where
its label or what it is said to be is doubted.

Method: what the record ties together: an answer names its lines, a work those that it explains, and
testimony in the challenger's own words the parts that it speaks of.

Cost: linear in lines and findings.

What it does not do: read the words of a challenge; what nothing on record ties to it does not bear
on it here.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.findings import Finding
from ledger.models import Answer, Identity, Paper, Testimony, Work
from ledger.reason.anatomy import positions_of
from ledger.reason.disputing import LINE, Matter, places_spoken_of
from ledger.reason.wording import article, line_name, line_sentence
from ledger.record.case import Recorded


def answer_lines(matter: Matter) -> frozenset[str]:
    """The lines on which the answers on record rest."""
    return frozenset(
        line
        for each in matter.draft.case.of(Answer)
        if each.line.challenge == matter.challenge.id
        for line in each.line.lines
    )


def bearing_places(matter: Matter) -> frozenset[str]:
    """The places concerned, those of the answers, and those of testimony in the same words."""
    case = matter.draft.case
    said = matter.challenge.line.says.strip().casefold()
    found = {*matter.places}
    found.update(places_spoken_of(matter.draft, sorted(answer_lines(matter))))
    for told in case.of(Testimony):
        if told.line.says.strip().casefold() == said:
            found.update(told.line.positions)
    return frozenset(found)


def comparisons(matter: Matter) -> tuple[Finding, ...]:
    """The comparisons with how the works made it that bear on the challenge or its answers."""
    named, places = {*answer_lines(matter), *matter.lines}, bearing_places(matter)
    lines = matter.draft.case.lines

    def bears(premise: str) -> bool:
        name = premise.removeprefix(LINE)
        if not premise.startswith(LINE) or name not in lines:
            return False
        return name in named or not places.isdisjoint(positions_of(lines[name]))

    return tuple(
        each
        for each in matter.report.findings
        if each.kind == "comparison"
        and each.rule == "specification"
        and any(map(bears, each.premises))
    )


def works(matter: Matter) -> tuple[Recorded[Work], ...]:
    """The works on what is concerned, or that explain what the answers rest on."""
    named = {*answer_lines(matter), *matter.lines}
    named |= {p.removeprefix(LINE) for each in comparisons(matter) for p in each.premises}
    return tuple(
        work
        for work in matter.draft.case.of(Work)
        if set(work.line.positions) & set(matter.places)
        or work.id in named
        or named & set(work.line.explains)
    )


def papers_naming_it(matter: Matter) -> tuple[Recorded[Paper], ...]:
    """The papers that name the object, where its label or what it is said to be is doubted."""
    draft = matter.draft
    rows = (draft.anatomy.view.find(place) for place in matter.places)
    is_label = any(row is not None and row.marks_date == "completed" for row in rows)
    is_identity = any(isinstance(draft.case.lines[x].line, Identity) for x in matter.lines)
    if not (is_label or is_identity):
        return ()
    return tuple(each for each in draft.case.of(Paper) if each.line.names_this_object == "yes")


def what_would_tell(matter: Matter) -> Iterator[str]:
    """What papers, a day for a work and questions still open could change of the answer."""
    name = matter.draft.anatomy.name
    for paper in papers_naming_it(matter):
        yield (
            f"{article(line_name(paper, name))}, held against the instrument once more: a number, "
            "hand or day on it that is not this one's would take its support away."
        )
    for work in works(matter):
        if work.line.date is None:
            yield f"A day for what nobody has dated: {line_sentence(work, name)}"
