from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from ledger.errors import FaultsFound
from ledger.findings import TimelineItem
from ledger.holdings import query_files
from ledger.publish.gathered import Gathered
from ledger.publish.questions import READERS, read_question, read_questions
from ledger.publish.sitedb import DATABASE_FILE, publish_site

QUESTIONS = read_questions(query_files())
GOOD = """-- title: All
-- description: Everything
--   there is.
-- for: collector, dealer
-- parameter least: At least | 3
-- column one: the one
SELECT 1 AS one WHERE :least > '::' -- not :this
"""


def answer(folder, name, **asked):
    question = next(each for each in QUESTIONS if each.name == name)
    given = {each.name: each.default for each in question.parameters} | asked
    with closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        database.row_factory = sqlite3.Row
        return [dict(row) for row in database.execute(question.sql, given)]


def test_there_are_at_least_ten_questions_and_each_kind_of_reader_has_some():
    assert len(QUESTIONS) >= 10
    for reader in READERS:
        assert sum(reader in question.readers for question in QUESTIONS) >= 3


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_a_question_runs_and_yields_the_columns_it_documents(site_folder, question):
    asked = {parameter.name: parameter.default for parameter in question.parameters}
    with closing(sqlite3.connect(site_folder / DATABASE_FILE)) as database:
        cursor = database.execute(question.sql, asked)
        found = cursor.fetchall()
    assert [column[0] for column in cursor.description] == [name for name, _ in question.columns]
    assert found, "the hand-made site holds an answer to every question"


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_a_question_gives_the_same_answer_twice_and_bears_hostile_words(site_folder, question):
    hostile = {parameter.name: "'; DROP TABLE line; --" for parameter in question.parameters}
    assert answer(site_folder, question.name) == answer(site_folder, question.name)
    answer(site_folder, question.name, **hostile)
    assert answer(site_folder, "open-matters")


def test_parts_that_are_merely_untested_are_not_said_to_be_replaced(site_folder):
    found = answer(site_folder, "parts-not-first-fitted", instrument="corbel-lap-steel")
    assert [row["position"] for row in found] == ["Jack"]
    assert found[0]["state"] == "service replacement or modern replacement"


def test_what_cannot_be_told_or_is_no_part_of_it_is_not_said_to_have_left_the_works(
    tmp_path, publication, report
):
    jack = next(each for each in report.positions if each.position == "jack")
    shown = [
        replace(jack, position=f"part.{n}", name=f"Part {n}", states=states, label=label)
        for n, (states, label) in enumerate(
            [
                ((), "not applicable"),
                (("cannot be told",), "cannot be told"),
                (("not examined",), "not examined"),
                (("missing",), "missing"),
            ]
        )
    ]
    told = replace(report, positions=tuple(shown))
    folder = publish_site(tmp_path / "s", replace(publication, reports=[told]))
    found = answer(folder, "parts-not-first-fitted")
    assert [(row["position"], row["state"]) for row in found] == [("Part 3", "missing")]


def test_each_nothing_is_counted_by_itself_and_a_withheld_mark_by_its_legibility(
    tmp_path, publication, report
):
    seen = {"no-pencil": "not applicable", "pot-code": "worn", "tone-code": "clear"}
    told = replace(publication, beside=lambda _: Gathered(seen=seen), reports=[report])
    rows = {
        row["position"]: row for row in answer(publish_site(tmp_path / "s", told), "legibility")
    }
    body, pot = rows["body"], rows["pot"]
    assert (body["not_applicable"], body["not_examined"], body["not_found"]) == (1, 0, 0)
    assert (pot["marks"], pot["with_doubt"]) == (2, 2)  # one is worn, one has a glyph in doubt


def test_a_timeline_says_of_which_makers_models_and_kinds_it_speaks(site_folder):
    (row,) = answer(site_folder, "feature-timelines")
    assert row["scope"] == "every maker, model and kind"


def test_what_rests_on_a_row_is_found_through_other_statements_and_suppositions(site_folder):
    direct = answer(site_folder, "rests-on-reference", reference="corbel/source-304")
    mine = [row for row in direct if row["instrument"] == "corbel-lap-steel"]
    assert [(row["finding"].split("/", 1)[1], row["steps"]) for row in mine] == [
        ("reading/pot", 1),
        ("bound/pot", 2),
        ("state/pot.volume", 3),
    ]
    supposed = answer(site_folder, "rests-on-reference", reference="corbel/pan")
    assert {row["finding"].split("/", 1)[1] for row in supposed} == {"state/pot.volume"}


def test_what_rests_on_a_source_is_found_by_words_of_its_description(site_folder):
    assert len(answer(site_folder, "rests-on-source", source="EXAMINER A")) == 10
    assert answer(site_folder, "rests-on-source", source="examiner B") == []


def test_examples_with_one_source_count_once(site_folder):
    (row,) = answer(site_folder, "thin-references")
    assert (row["reference"], row["n"], row["independent"]) == ("corbel/pan", 2, 1)


def custody(*spans):
    return tuple(
        TimelineItem(f"t{number}", "custody", "hands", begins, ends)
        for number, (begins, ends) in enumerate(spans)
    )


# Worked out by hand on a calendar.
@pytest.mark.parametrize(
    ("spans", "gaps"),
    [
        pytest.param([("1970", "1975"), ("1975-06-01", None)], [], id="overlapping"),
        pytest.param(
            [("1970", "1975"), ("1980", None)], [("1975-12-31", "1980-01-01")], id="five-years"
        ),
        pytest.param(
            [("1970", "1990"), ("1971", "1972"), ("1995-03", None)],
            [("1990-12-31", "1995-03-01")],
            id="one-stretch-within-another",
        ),
        pytest.param(
            [("1970-01-01", "1975-02"), ("1975-03-01", None)], [], id="to-the-end-of-the-month"
        ),
        pytest.param(
            [("1970", None), ("1980", None)], [("1970-12-31", "1980-01-01")], id="end-not-told"
        ),
        pytest.param([(None, "1975"), ("1980", None)], [], id="begin-not-told"),
    ],
)
def test_a_gap_in_custody_lies_between_what_is_told(tmp_path, publication, report, spans, gaps):
    told = replace(report, timeline=custody(*spans))
    folder = publish_site(tmp_path / "s", replace(publication, reports=[told]))
    found = answer(folder, "custody-gaps", years="0")
    assert [(row["gap_begins"], row["gap_ends"]) for row in found] == gaps


def test_a_missing_end_is_told_in_words(site_folder):
    found = answer(site_folder, "dated-on-one-side")
    assert {row["upper_end"] for row in found} == {"No upper bound is known."}
    assert {row["not_after"] for row in found} == {None}


def test_a_good_header_is_read_whole():
    question, faults = read_question("all", GOOD, "all.sql")
    assert faults == []
    assert question.description == "Everything there is."
    assert question.readers == ("collector", "dealer")
    assert [(each.name, each.label, each.default) for each in question.parameters] == [
        ("least", "At least", "3")
    ]
    assert question.columns == (("one", "the one"),)


@pytest.mark.parametrize(
    ("replaced", "by", "expected"),
    [
        pytest.param("-- title: All\n", "", "title: the question", id="no-title"),
        pytest.param("-- for: collector, dealer\n", "", "-- for:", id="no-readers"),
        pytest.param("collector, dealer", "collector, thief", "one of collector", id="a-reader"),
        pytest.param("-- column one: the one\n", "", "-- column name", id="no-columns"),
        pytest.param("one: the one", "one:", "-- column one", id="column-without-words"),
        pytest.param("-- parameter least: At least | 3\n", "", ":", id="parameter-not-told"),
        pytest.param(":least", "'3'", ":least in the SQL", id="parameter-not-used"),
        pytest.param("SELECT 1 AS one WHERE :least > '::' -- not :this\n", "", "SELECT", id="sql"),
    ],
)
def test_a_header_that_lacks_something_is_refused_with_what_is_expected(
    tmp_path, replaced, by, expected
):
    (tmp_path / "all.sql").write_text(GOOD.replace(replaced, by))
    with pytest.raises(FaultsFound) as caught:
        read_questions([tmp_path / "all.sql"])
    assert any(expected in fault.expected for fault in caught.value.faults)


def test_all_faults_of_all_files_come_at_once_and_other_files_are_passed_over(tmp_path):
    (tmp_path / "a.sql").write_text("SELECT 1")
    (tmp_path / "B_C.sql").write_text(GOOD)
    (tmp_path / "c.rq").write_text("SELECT ?s {}")
    with pytest.raises(FaultsFound) as caught:
        read_questions(tmp_path.iterdir())
    assert {fault.file for fault in caught.value.faults} == {"a.sql", "B_C.sql"}
    assert len(caught.value.faults) == 5
