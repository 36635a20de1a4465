"""Challenges on the page of an instrument and in the tables. All of it is invented."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict, replace
from importlib.resources import files

import pytest
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from ledger.disputes import (
    AnswerText,
    Claim,
    Dispute,
    ExhibitText,
    Observation,
    Rival,
    RuleText,
)
from ledger.publish.pages import instrument_page
from ledger.publish.sitedb import DATABASE_FILE, publish_site


@pytest.fixture(scope="module")
def render():
    """The page as markup; a name that is not there is refused."""
    templates = Environment(
        loader=FileSystemLoader(str(files("ledger.publish") / "templates")),
        autoescape=True,
        undefined=StrictUndefined,
    )

    def rendered(template, context):
        given = {"static": "/static", "is_invented": False, **context}
        return " ".join(templates.get_template(template).render(given).split())

    return rendered


def hash_of(number):
    return f"{number:064x}"


@pytest.fixture
def dispute(report):
    finding = report.findings[0]
    return Dispute(
        id="other-pot",
        by="withheld",
        date="2026-01-05",
        says="That pot <b>is</b> another.",
        instead="It came in later.",
        sequence=report.lines[0].sequence,
        hash=hash_of(8),
        exhibits=(),
        claims=(Claim(finding.id, finding.sentence), Claim("", "As it was written down.")),
        observations=(
            Observation(
                line="pot-code",
                sentence="On the volume pot stands 3047612.",
                source="Examination on the bench.",
                sequence=2,
                hash=hash_of(2),
                exhibits=(ExhibitText("letter", "The letter.", hash_of(9)),),
                is_doubted=True,
            ),
        ),
        rules=(RuleText("mark dates its part", "A mark dates its part."),),
        references=(report.references[0].id,),
        rivals=(
            Rival("account", "Give up the pot.", "one to 9", grants=True),
            Rival("account", "Keep it.", "likeliest", is_leading=True),
        ),
        supposing=("It does not hold that the pot is the first.",),
        falls=("Completed: not before 1976; no upper bound known. It would become: nothing.",),
        stands=("The jack: cannot be told.",),
        impossible="",
        conceded=("The pot is of its type.",),
        would_change=("To be looked at on the pot, by opening it: its joints.",),
        unknown=("state.nowhere",),
        answers=(
            AnswerText(
                id="looked-again",
                by="examiner A",
                date="2026-01-09",
                says="Looked at again.",
                concedes=("The joint was reworked.",),
                rests_on=("pot-code",),
                at_entry=3,
                corrects="A letter called it untouched.",
                is_told=True,
                sequence=report.lines[1].sequence,
                hash=hash_of(10),
            ),
        ),
        cautions=(report.cautions[0].id,) if report.cautions else (),
    )


@pytest.fixture
def disputed(report, dispute):
    return replace(report, challenges=(dispute,))


def test_a_challenge_is_shown_with_what_falls_what_stands_and_what_is_conceded(disputed):
    (shown,) = instrument_page(asdict(disputed))["challenges"]
    assert shown["by"] == ""
    assert shown["falls"]
    assert shown["stands"]
    assert shown["conceded"] == ["The joint was reworked.", "The pot is of its type."]
    assert [rival["grants"] for rival in shown["rivals"]] == [True, False]
    assert shown["claims"][0]["href"]
    assert shown["claims"][1]["href"] == ""


def test_an_observation_links_to_its_line_and_names_files_of_its_sitting(disputed):
    (shown,) = instrument_page(asdict(disputed))["challenges"]
    (observed,) = shown["observations"]
    assert observed["statement"]["href"].endswith("#line-pot-code")
    assert observed["exhibits"]
    assert observed["shown_in"] == [f"The letter ({hash_of(9)[:12]}…)"]
    assert observed["is_doubted"]


def test_the_page_tells_the_answer_and_the_erratum_and_escapes_the_challenger(render, disputed):
    html = render("instrument.html", instrument_page(asdict(disputed)))
    assert "That pot &lt;b&gt;is&lt;/b&gt; another." in html
    assert "Erratum of 9 January 2026." in html
    assert "A letter called it untouched." in html
    assert "somebody who is not named here" in html
    assert "What falls then" in html


def test_a_page_without_a_challenge_says_so(render, report):
    html = render("instrument.html", instrument_page(asdict(replace(report, challenges=()))))
    assert "No challenge is on record." in html


def test_a_challenge_that_nobody_has_answered_is_said_to_be_so(render, report):
    html = render("instrument.html", instrument_page(asdict(report)))
    assert "Nobody has answered it on record." in html


def test_what_cannot_be_supposed_is_told_in_place_of_what_falls(render, disputed, dispute):
    impossible = replace(dispute, impossible="This cannot be, whatever else.", falls=(), stands=())
    page = instrument_page(asdict(replace(disputed, challenges=(impossible,))))
    html = render("instrument.html", page)
    assert "This cannot be, whatever else." in html
    assert "What falls then" not in html


def test_challenges_and_answers_are_tables_and_can_be_searched(tmp_path, publication, disputed):
    folder = publish_site(tmp_path / "site", replace(publication, reports=[disputed]))
    database = sqlite3.connect(folder / DATABASE_FILE)
    (row,) = database.execute("SELECT key, raised_by, answers, conceded FROM challenge")
    assert row[:3] == (f"{disputed.instrument}/other-pot", "", 1)
    assert "The joint was reworked." in row[3]
    (answer,) = database.execute("SELECT challenge, corrects FROM answer")
    assert answer == (row[0], "A letter called it untouched.")
    found = database.execute(
        "SELECT href FROM passage WHERE kind = 'challenge' AND text LIKE '%untouched%'"
    ).fetchall()
    assert found == [(f"/instrument/{disputed.instrument}#challenge-other-pot",)]
    database.close()
