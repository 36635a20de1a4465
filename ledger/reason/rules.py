"""The rules by which the reasoner goes from what was recorded to what follows.

Each rule has a name that every finding cites and a sentence that the site prints. Nothing here
is code: the modules that apply a rule name it.
"""

from __future__ import annotations

RULES: dict[str, str] = {
    "mark dates its part": (
        "A mark read as a date or date code dates the making of the part that bears it, and "
        "nothing else."
    ),
    "label dates completion": (
        "A serial, order number or label that the works put on dates the completion, if it is "
        "the one the works put on."
    ),
    "made before fitted": "A part is made before it is fitted.",
    "first-fitted at completion": (
        "A part that left the works with the instrument was fitted by its completion; an integral "
        "part only if its parent was."
    ),
    "fitted on one occasion": (
        "Parts whose joints show one occasion were fitted together and count as one."
    ),
    "stock is used up": (
        "A part is not kept in stock beyond the limit of practice; this is itself a supposition."
    ),
    "feature timeline": (
        "A feature that left the works with the instrument puts its completion in the span in "
        "which the works made it so, with the overlap of old and new."
    ),
    "general fact": "A mark that a law or a technique made possible is not older than it.",
    "technology of the trade": (
        "What shows a material or technique is not older than it: a part is made no earlier; what "
        "fastens or covers a part, if it was not renewed since, was put on no earlier. Nothing is "
        "ever too late for a material."
    ),
    "specification": (
        "A measure or feature outside what the works made did not leave the works so, unless its "
        "row has that for an open question."
    ),
    "fret positions": (
        "Distances from the nut fit a scale length by equal temperament or by the rule of "
        "eighteen; a fret that does not fit the rest is named."
    ),
    "matching numbers": (
        "Where the works gave two parts one number, parts with different numbers did not leave "
        "the works together."
    ),
    "recorded work": (
        "A part put in by a recorded work was fitted then, after completion, and did not leave "
        "the works with the instrument."
    ),
    "worked on after completion": (
        "What a dated work was done to had been completed by then, if the record of it is right."
    ),
    "observations differ": (
        "Two sources that say different things of one thing at one place cannot both be right: a "
        "feature, whether anything is there, a number of which there is only one, a measure further "
        "apart than the doubts of both allow, or who made it; unless a recorded work lies between."
    ),
    "removed by a work": "A part that a work took out had been fitted before.",
    "seen at a date": (
        "What a dated sighting shows of this very instrument was there by then; what it shows "
        "otherwise was changed after."
    ),
    "paper dates an event": "A paper that names this very object dates the event it speaks of.",
    "told by a person": (
        "What a person tells dates the event it speaks of, with the drift of memory."
    ),
    "held from a date": "Nobody holds an instrument before it is completed.",
    "order of events": "Completed, then dispatched, then first sold.",
    "union": "Two roots that belong together were completed as one instrument.",
    "reference against its examples": (
        "A reference row and an example it rests on cannot both hold where the example lies "
        "outside the row's own span."
    ),
    "leave this one out": (
        "A row that rests on this very instrument is recomputed without it before it is used."
    ),
    "earliest and latest": (
        "The ends that remain once every bound and relation has been drawn tight (arc "
        "consistency decides differences over unions of spans: Jeavons and Cooper 1995)."
    ),
    "weighed": (
        "How likely something is once all evidence is weighed together, exactly, by the priors, "
        "lags, misreadings and traces of practice (starting values without a published source)."
    ),
    "minimal conflict": ("A smallest set of suppositions that cannot all hold (Reiter 1987)."),
    "minimal account": (
        "A smallest set of suppositions to give up so that the rest can all hold (Reiter 1987)."
    ),
    "state of a position": (
        "What the leading accounts, the recorded works and the traces of fitting say of the part "
        "that is there now."
    ),
    "open until explained": "What was seen and nothing explains stays open.",
    "as recorded": "The line says so; nothing is concluded from it.",
}
