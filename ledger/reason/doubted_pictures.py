"""What goes and what stays where it is doubted that a picture shows this instrument?

Question answered: which other lines of the picture are left out with the sighting, which lines of
its source stay and why, and what would show whether the picture is of this instrument.

Method: what a photograph tells, it tells of whatever it shows, so that everything from it goes with
the one doubt; a paper, a talk or a sitting that also tells of a picture tells the rest by itself.

Cost: linear in lines, for each doubted sighting.

What it does not do: compare pictures.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.models import Assertion, Sighting
from ledger.reason.disputing import Matter
from ledger.reason.wording import line_name, listing
from ledger.record.case import Recorded


def told_with_pictures(matter: Matter) -> Iterator[str]:
    """What is left out with a doubted picture, and what stays though its source is the same."""
    draft = matter.draft
    name = draft.anatomy.name
    for along in matter.along:
        said = line_name(draft.case.lines[along], name)
        yield f"Left out with it, being told by the same picture: {said}."
    for recorded in _doubted(matter):
        source = draft.source_of(recorded)
        if source is None or source.kind == "photograph":
            continue
        kept = [
            line_name(each, name)
            for each in draft.case.lines.values()
            if isinstance(each.line, Assertion)
            and each.line.source == source.id
            and each.id not in matter.lines
        ]
        if kept:
            yield f"Stays, told by the same source but not by the picture: {listing(kept)}."


def to_compare(matter: Matter) -> Iterator[str]:
    """Of a doubted picture, what would show whether it is of this very instrument."""
    for recorded in _doubted(matter):
        by = recorded.shown("matched_by").rstrip(".")
        beyond = f", beyond what it was matched by ({by})" if by else ""
        yield (
            "Whether it is this one, picture and instrument side by side: figure of the wood, "
            f"dings, chips and repairs in the {line_name(recorded, matter.draft.anatomy.name)}"
            f"{beyond}. One that is in the picture and was never on this instrument would show "
            "another."
        )


def _doubted(matter: Matter) -> list[Recorded[Sighting]]:
    """The sightings that are doubted by themselves, not with all that their source says."""
    found = (matter.draft.case.lines[line] for line in matter.challenge.line.lines)
    return [each for each in found if isinstance(each.line, Sighting)]
