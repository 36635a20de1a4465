"""What stays open until an event explains it, and what is not called a surprise at all."""

from __future__ import annotations

HOLES = {"id": "holes", "trace": "extra-holes", "positions": ["tuners", "bridge"]}


def _open_lines(found):
    return {surprise.line for surprise in found.report.surprises if surprise.is_open}


def test_a_trace_that_points_to_an_event_stays_open_until_a_work_explains_it(weigh_sheet):
    work = {"id": "job", "action": "refitted", "positions": ["bridge"], "by": "workshop"}
    assert "holes" in _open_lines(weigh_sheet(traces=[HOLES]))
    named = work | {"explains": ["holes"]}
    assert "holes" not in _open_lines(weigh_sheet(traces=[HOLES], works=[named]))


def test_a_work_on_one_place_does_not_explain_a_trace_on_two(weigh_sheet):
    one = {"id": "job", "action": "refitted", "positions": ["bridge"], "by": "workshop"}
    assert "holes" in _open_lines(weigh_sheet(traces=[HOLES], works=[one]))
    both = one | {"positions": ["bridge", "tuners"]}
    assert "holes" not in _open_lines(weigh_sheet(traces=[HOLES], works=[both]))


def test_an_impossible_week_stays_open_and_dates_nothing(weigh_sheet):
    mark = {"id": "code", "position": "pot.1", "text": "912 658"}
    found = weigh_sheet(marks=[mark])
    assert _open_lines(found) == {"code"}
    assert found.completed_ends() == {(None, None)}


def test_a_mark_that_was_never_meant_to_tell_a_date_is_no_surprise(weigh_sheet):
    marks = [
        {"id": "applied", "position": "bridge", "text": "PAT. APPLIED FOR"},
        {"id": "initials", "position": "guard", "text": "K4"},
    ]
    assert _open_lines(weigh_sheet(marks=marks)) == set()


def test_an_account_that_cannot_be_squared_with_the_rest_stays_open(weigh_sheet):
    sources = [{"id": "told", "kind": "testimony", "title": "Told", "by": "B", "hand": "relayed"}]
    stamp = {"id": "stamp", "position": "body", "text": "6-61", "reads": "1961-06"}
    account = {
        "id": "uncle", "source": "told", "says": "He had it in 1950", "event": "first sold",
        "date": "1950",
    }  # fmt: skip
    found = weigh_sheet(sources=sources, marks=[stamp], testimony=[account])
    assert "uncle" in _open_lines(found)


def test_a_gap_in_custody_is_among_the_open_questions(weigh_sheet):
    holders = [
        {"id": "first", "holder": "A", "begins": "1962", "ends": "1970"},
        {"id": "second", "holder": "B", "begins": "1981", "ends": "1999"},
    ]
    questions = weigh_sheet(custody=holders).report.questions
    assert "Custody: nobody is recorded from 1971-01-01 to 1980-12-31." in questions


def test_what_shows_parts_to_be_fitted_as_one_is_named_in_words(weigh_sample):
    granted = " ".join(weigh_sample("dunnock-lap-steel").taken_for_granted)
    assert "harness-joints" not in granted
    assert "by the uniform later joints at the potentiometer (volume) and others" in granted


def test_what_it_is_taken_to_be_is_a_model_by_a_maker(weigh_sheet):
    found = weigh_sheet(traces=[HOLES], about={"maker": "Corbel", "model": "Arrow"})
    assert "It is taken to be an Arrow by Corbel: " in found.report.taken_for_granted[0]
