"""The forms for people, papers, custody, searches and works, as parts of a printed worksheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from markupsafe import Markup

from ledger.bench.markup import field, fields, heading, joined, lines, note, ticks
from ledger.bench.plan import Look
from ledger.bench.steps import interview

PARTS: Final = ("bench", "people", "papers", "works")
_RESULTS: Final = ("no match found", "possible match", "match found", "no answer")


def people_form(number: int) -> Markup:
    """The interview: open questions first, room for the words that are said, read back, signed."""
    words = interview()
    asked = joined(
        _question(question.ask, is_dated=question.anchor) for question in words.questions
    )
    return joined(
        (
            heading(str(number), "An interview", is_page=True),
            note("Before you ask", words.before),
            fields(
                (
                    "Who is asked (name or letter)",
                    "Asked by",
                    "Day and place",
                    "What they are to it",
                )
            ),
            ticks("Consent to be in the record:", ("given", "refused", "not asked")),
            ticks("Recording or notes:", ("word for word", "from memory afterwards")),
            asked,
            note("Dates", words.dates),
            note("At the end", words.closing),
            ticks("Read back to the teller:", ("yes", "no")),
            _signatures("The teller, and the day", "Whoever wrote it down, and the day"),
        )
    )


def papers_form(number: int) -> Markup:
    """Papers, custody and searches of registers."""
    words = interview()
    paper = Markup('<div class="form">{}</div>').format(
        joined(
            (
                fields(("What it is", "Where it is kept", "Date on it", "By whom")),
                field("What it says of this object, word for word"),
                lines(2),
                ticks("Does it name this very object?", ("yes", "no", "cannot be told")),
                fields(("By what (number, marks, description)", "Pictures of both sides, nos.")),
            )
        )
    )
    custody = _table(
        ("Holder (name or letter)", "From", "To", "Place", "Consent", "How known"), rows=5
    )
    search = Markup('<div class="form">{}</div>').format(
        joined(
            (
                fields(
                    (
                        "Register, and who keeps it",
                        "Asked on (day)",
                        "Asked by",
                        "Number of the search",
                    )
                ),
                field("Asked with which particulars"),
                ticks("Answer:", _RESULTS),
                field("In its own words"),
            )
        )
    )
    return joined(
        (
            heading(str(number), "Papers", is_page=True),
            note("Each paper by itself", words.documents),
            paper * 3,
            heading(str(number + 1), "In whose hands", is_page=True),
            note("Custody", words.custody),
            custody,
            heading(str(number + 2), "Registers of stolen property"),
            note("Searches", words.searches),
            search * 2,
        )
    )


def works_form(number: int, gates: Sequence[Look]) -> Markup:
    """A repair or treatment, before and after; ``gates`` are recorded before anything is done."""
    words = interview()
    asked = joined(
        Markup('<li><span class="box"></span> {}</li>').format(look.look_for) for look in gates
    )
    before = Markup(
        '<div class="gate"><h3>Recorded before the work, each under a source dated before it</h3>'
        "<ul>{}"
        '<li><span class="box"></span> every position concerned: marks, measures, traces, or which '
        "nothing</li>"
        '<li><span class="box"></span> pictures of every position, with a scale</li>'
        '<li><span class="box"></span> the owner agrees in writing to what will be lost</li></ul></div>'
    ).format(asked)
    return joined(
        (
            heading(str(number), "A repair or treatment", is_page=True),
            note("Before and after", words.treatment),
            fields(
                ("Positions", "Day or days", "Done by (name, trade)", "Agreed with the owner on")
            ),
            ticks("What:", ("replaced", "altered", "repaired", "removed", "added", "refitted")),
            before,
            field("Why it has to be done"),
            field("What was done, step by step"),
            lines(3),
            field("Materials, with maker's designation and batch"),
            lines(1),
            field("What evidence it destroyed"),
            lines(1),
            ticks("What came off was kept:", ("yes", "no", "cannot be told")),
            fields(("Parts that came off, labelled", "Where they are")),
            ticks("Can it be undone?", ("yes", "no", "cannot be told")),
            field("Observations that it accounts for"),
            Markup(
                '<div class="gate"><h3>Recorded after the work</h3><ul>'
                '<li><span class="box"></span> the same positions again, under a source dated after it'
                '</li><li><span class="box"></span> pictures from the same places</li></ul></div>'
            ),
            _signatures("Whoever did it, and the day", "The owner, and the day"),
        )
    )


def _question(ask: str, *, is_dated: bool) -> Markup:
    under: Mapping[str, Markup] = {
        "dated": fields(("When, in their words", "Dated by what else happened"), "pair"),
        "plain": Markup(""),
    }
    return Markup('<div class="ask"><p>{}</p>{}{}{}</div>').format(
        ask,
        lines(3 if is_dated else 2),
        under["dated" if is_dated else "plain"],
        ticks("", ("saw it", "was told, by:")),
    )


def _signatures(*labels: str) -> Markup:
    return Markup('<div class="sign">{}</div>').format(joined(map(field, labels)))


def _table(columns: Sequence[str], rows: int) -> Markup:
    head = joined(Markup("<th scope=col>{}</th>").format(column) for column in columns)
    row = Markup("<tr>{}</tr>").format(Markup("<td></td>") * len(columns))
    return Markup('<table class="tall"><thead><tr>{}</tr></thead><tbody>{}</tbody></table>').format(
        head, row * rows
    )
