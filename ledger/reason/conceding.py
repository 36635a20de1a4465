"""What has to be conceded to a challenger, whoever is right?

Question answered: what of the challenge is so, what the claims take for granted, and how far what
they rest on reaches: the test that shows a type and not a fitting, the table made from a few
examples, the paper that does not name the object, the work of which nobody knows the day, what
was not looked at.

Method: one short function for each kind of concession, over the places and lines concerned and
what stands beneath the claims.

Cost: linear in lines, rows and findings.

What it does not do: concede what was not asked; each concession belongs to something concerned.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.findings import PositionFinding
from ledger.models import (
    Custody,
    Feature,
    Identity,
    Mark,
    NonValue,
    Paper,
    RegisterSearch,
    Sighting,
    Source,
    Testimony,
)
from ledger.reason.anatomy import positions_of
from ledger.reason.bearing import comparisons, works
from ledger.reason.disputing import FIRST, LINE, Chain, Matter
from ledger.reason.happenings import custody_gaps, custody_overlaps
from ledger.reason.reaches import reaches_of_rows
from ledger.reason.rivals import code_ratio, has_code_in_time
from ledger.reason.states import REPLACED
from ledger.reason.weighed import when_fitted
from ledger.reason.wording import article, is_plural, line_name, line_sentence, listing
from ledger.record.case import Recorded

SIBLINGS_TOLD = 6


def concessions(matter: Matter, beneath: tuple[str, ...]) -> tuple[str, ...]:
    """Everything that is to be conceded, each once, the places concerned first.

    Args:
        matter: the challenge.
        beneath: the names of all findings, lines and rows beneath the claims.
    """
    found = (
        *_of_accounts(matter),
        *_of_states(matter),
        *_of_comparisons(matter),
        *_of_works(matter),
        *_of_types(matter),
        *_of_codes(matter),
        *_of_labels(matter, beneath),
        *_of_witnesses(matter),
        *reaches_of_rows(matter, beneath),
        *_of_surprises(matter),
        *_of_nothings(matter),
        *_of_custody(matter),
        *_of_sources(matter),
    )
    return tuple(dict.fromkeys(found))


# -- what the leading accounts give up ----------------------------------------------------------


def _of_accounts(matter: Matter) -> Iterator[str]:
    """That leading accounts have it as the challenger does, of what no state of a part tells."""
    leading = [each for each in matter.report.accounts if each.is_leading]
    doubted = [name for name in matter.doubted if not name.startswith("first-fitted:")]
    for name in sorted(doubted):
        agreeing = [each for each in leading if name in each.gives_up]
        if not agreeing:
            continue
        which = "The leading account gives"
        if leading[1:]:
            which = f"{len(agreeing)} of the {len(leading)} leading accounts give"
        note = f" ({agreeing[0].odds_note})" if not leading[1:] and agreeing[0].odds_note else ""
        said = matter.draft.doubts[name].sentence.rstrip(".")
        yield f"{which} up, as the challenger does, that {said}{note}."


# -- what is in the places ----------------------------------------------------------------------


def _of_states(matter: Matter) -> Iterator[str]:
    """What the state of each part concerned leaves open, and of what hangs together with it."""
    told: set[str] = set()
    for each in matter.positions:
        group = each.fitting_event or each.position
        if group not in told:
            told.add(group)
            yield from _of_state(matter, each)
    for each in _near(matter):
        yield f"{article(each.name)}, a part of its own: {each.label}."


def _of_state(matter: Matter, each: PositionFinding) -> Iterator[str]:
    whole = matter.draft.event_name(each.fitting_event) if each.fitting_event else each.name
    name = whole.partition(" (fitted as one")[0]
    anatomy = matter.draft.anatomy
    if anatomy.is_root(each.position) and each.position != anatomy.view.anchor:
        anchor = anatomy.name(anatomy.view.anchor)
        if set(each.states) <= FIRST:
            yield (
                f"That the {name} and the {anchor} belong together is {_how_shown(each)}: their "
                "union is a statement of its own."
            )
        else:
            yield f"That the {name} belongs to the {anchor} is not shown: {each.label}."
    elif each.states == ("presumed first-fitted (untested)",):
        yield (
            f"That the {name} left the works with it is presumed: nothing that was examined shows "
            "that it was fitted there first."
        )
    elif each.states == ("first-fitted",) and each.position != anatomy.view.anchor:
        yield (
            f"That the {name} left the works with it rests on traces of fitting; a whole group "
            "moved over from another example would show the same."
        )
    elif each.states == ("cannot be told",):
        yield f"Whether the {name} left the works with it cannot be told."
    elif each.states == ("missing",):
        yield f"The {name} {'are' if is_plural(name) else 'is'} missing."
    elif set(each.states) & {*REPLACED, "altered in place", "works-refitted"}:
        as_left = "are not as they left" if is_plural(name) else "is not as it left"
        yield f"The {name} of now {as_left} the works: {each.label}."
        fitted = when_fitted(matter.weighed, each.position)
        yield from (f"{article(name)}: {text[:1].lower()}{text[1:]}" for text in fitted)


def _how_shown(each: PositionFinding) -> str:
    return "presumed" if each.states != ("first-fitted",) else "shown by a trace of fitting"


def _near(matter: Matter) -> list[PositionFinding]:
    """Parents that are no roots, and children held in or part of a place, if they differ."""
    anatomy = matter.draft.anatomy
    parents = {
        anatomy.view.parent_of(each.position)
        for each in matter.positions
        if each.link in ("integral", "captive")
    }
    found = []
    for each in matter.report.positions:
        parent = anatomy.view.parent_of(each.position)
        within = parent is not None and parent in matter.places and not anatomy.is_root(parent)
        is_child = within and each.link in ("integral", "captive")
        is_parent = each.position in parents and not anatomy.is_root(each.position)
        is_told = each.position not in matter.places and each.states != ("not examined",)
        if (is_child or is_parent) and is_told and each.states:
            found.append(each)
    return found


def _of_comparisons(matter: Matter) -> Iterator[str]:
    """What is not as the works made it, be it explained or not."""
    yield from (each.sentence for each in comparisons(matter))


def _is_there(matter: Matter, line: str) -> bool:
    recorded = matter.draft.case.lines.get(line)
    if recorded is None:
        return False
    return bool(set(positions_of(recorded)) & set(matter.places))


def _of_works(matter: Matter) -> Iterator[str]:
    name = matter.draft.anatomy.name
    for work in works(matter):
        if work.line.date is None:
            said = line_sentence(work, name).rstrip(".")
            yield f"When this was done is not known: {said}."
        if work.line.by == "unknown":
            yield f"Who did this is not known: {line_name(work, name)}."


def _of_types(matter: Matter) -> Iterator[str]:
    """What was seen speaks to the type of a part where no trace tests its fitting."""
    told: set[str] = set()
    for each in matter.positions:
        anatomy = matter.draft.anatomy
        traces = matter.weighed.fitments.get(anatomy.event_of(each.position))
        is_tested = traces is not None and traces.is_tested
        seen = [
            line
            for line in each.lines
            if isinstance(matter.draft.case.lines[line].line, Mark | Feature)
        ]
        is_open = set(each.states) <= {*FIRST, "cannot be told"}
        if anatomy.is_root(each.position) or is_tested or not seen or not is_open:
            continue
        if each.position not in told:
            told.add(each.position)
            yield (
                f"What was seen of the {each.name} speaks to its type and to the date of the part; "
                "whether this very part was fitted here first is another question, and open."
            )


def _of_codes(matter: Matter) -> Iterator[str]:
    places = [each for each in matter.positions if has_code_in_time(matter, each.position)]
    if places:
        names = listing(dict.fromkeys(each.name for each in places))
        yield (
            f"A code in the right time, as on the {names}, says next to nothing against a part "
            f"that was chosen to match: its weight there is {code_ratio(matter):.3g} to 1 "
            "(practice, a starting value)."
        )


def _of_labels(matter: Matter, beneath: tuple[str, ...]) -> Iterator[str]:
    """A label, plate or number is never taken alone."""
    chain = Chain(matter.report)
    labels: dict[str, None] = {}
    for name in beneath:
        finding = chain.findings.get(name)
        if finding is not None and finding.kind == "bound":
            if finding.rule != "label dates completion":
                continue
            leaves = [p for p in chain.beneath((name,)) if p.startswith(LINE)]
            labels.update(dict.fromkeys(leaf.removeprefix(LINE) for leaf in leaves))
    for line in labels:
        recorded = matter.draft.case.lines.get(line)
        concerned = line in matter.lines or _is_there(matter, line)
        if recorded is not None and isinstance(recorded.line, Mark) and concerned:
            yield (
                f"{article(line_name(recorded, matter.draft.anatomy.name))} is not taken for the "
                "date, or for the maker, by itself alone: it could have been put on later, or come "
                "from another instrument."
            )


# -- who saw, wrote and told ------------------------------------------------------------------------


def _of_witnesses(matter: Matter) -> Iterator[str]:
    """How a sighting or paper is known to be of this very object, and which are not used."""
    name = matter.draft.anatomy.name
    is_asked = False
    for line in matter.lines:
        recorded = matter.draft.case.lines[line]
        if isinstance(recorded.line, Sighting):
            is_asked = True
            yield from _of_sighting(recorded, line_name(recorded, name))
        elif isinstance(recorded.line, Paper):
            yield from _of_paper(recorded, line_name(recorded, name))
        elif isinstance(recorded.line, Testimony):
            yield f"An account is not proof of what it tells: {line_sentence(recorded, name)}"
    if is_asked:
        yield (
            "A picture that cannot be told to show this very instrument bounds nothing: "
            f"{_left_out_sightings(matter)}."
        )


def _of_sighting(recorded: Recorded[Sighting], name: str) -> Iterator[str]:
    if recorded.line.same_instrument != "yes":
        yield f"The {name} is not used: it is not shown to be of this instrument."
    elif recorded.line.matched_by:
        by = recorded.shown("matched_by").rstrip(".")
        yield f"That the {name} shows this very instrument rests on this: {by}."
    else:
        yield f"By what the {name} was matched to this instrument is not on record."


def _of_paper(recorded: Recorded[Paper], name: str) -> Iterator[str]:
    if recorded.line.names_this_object == "yes":
        yield f"The {name} names the object; it says nothing of its parts."
    else:
        yield f"The {name} is not used: it is not shown to name this object."


def _left_out_sightings(matter: Matter) -> str:
    left_out = [
        line_name(each, matter.draft.anatomy.name)
        for each in matter.draft.case.of(Sighting)
        if each.line.same_instrument != "yes"
    ]
    return f"left out are the {listing(left_out)}" if left_out else "none such is on record"


def _of_sources(matter: Matter) -> Iterator[str]:
    """Sources that repeat one another, and identity that is contested."""
    for name in matter.challenge.line.sources:
        recorded = matter.draft.case.lines.get(name)
        if recorded is not None and isinstance(recorded.line, Source):
            if recorded.line.hand == "relayed":
                yield f"{recorded.shown('title')} is at second hand."
            if recorded.line.copied_from is not None:
                yield f"{recorded.shown('title')} repeats another source: the two count as one."
    if any(isinstance(matter.draft.case.lines[line].line, Identity) for line in matter.lines):
        yield "What the instrument is said to be is as recorded; nothing here proves a maker."


def _of_custody(matter: Matter) -> Iterator[str]:
    lines = (matter.draft.case.lines[line].line for line in matter.lines)
    if any(isinstance(line, Custody) for line in lines):
        yield (
            "Who owns it is not decided here. Holders are recorded, not published; that no claim "
            "is on record does not say that there is none."
        )
        for first, last in custody_gaps(matter.draft):
            yield f"Nobody is recorded as its holder from {first} to {last}."
        for one, other, first, last in custody_overlaps(matter.draft):
            yield f"Both {one} and {other} are recorded as its holder from {first} to {last}."
        searches = matter.draft.case.of(RegisterSearch)
        if not searches:
            yield "No search of a register of stolen property is on record."
        elif all(each.line.result == "no match found" for each in searches):
            yield "No match was found in the registers that were asked: that is not “not stolen”."


# -- what was not seen ------------------------------------------------------------------------------


def _of_surprises(matter: Matter) -> Iterator[str]:
    for each in matter.report.surprises:
        concerned = each.line in matter.lines or _is_there(matter, each.line)
        if each.is_open and concerned:
            yield f"Not explained by anything on record: {each.sentence}"


def _of_nothings(matter: Matter) -> Iterator[str]:
    """What was not looked at, could not be read, or was sought and not found, there or near."""
    name = matter.draft.anatomy.name
    for each in matter.draft.case.of(NonValue):
        if not (set(each.line.positions) & set(matter.places) or each.id in matter.lines):
            continue
        said = line_sentence(each, name).rstrip(".")
        if each.line.value == "searched, not found":
            yield f"{said}. That does not show that there never was any."
        elif each.line.value != "not applicable":
            yield f"{said}."
    unseen = _siblings_unseen(matter)
    if unseen:
        yield f"Nothing is recorded of the {listing(unseen)}."


def _siblings_unseen(matter: Matter) -> list[str]:
    """Positions of the same sort, or on the same part, of which nothing at all was seen."""
    sorts = {each.position.partition(".")[0].rpartition("-")[2] for each in matter.positions}
    parents = {each.position for each in matter.positions if each.link != "root"}
    found = [
        each.name
        for each in matter.report.positions
        if each.position not in matter.places
        and each.states == ("not examined",)
        and (
            each.position.partition(".")[0].rpartition("-")[2] in sorts
            or (each.parent in parents and each.link == "integral")
        )
    ]
    return found[:SIBLINGS_TOLD]
