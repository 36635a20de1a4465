"""The forms through the server: saved, kept, refused at their fields, read blind, undone."""

from __future__ import annotations

import json
import re

import pytest

from ledger.bench.form_drafts import Draft

MARK = {"position": "pot.1", "text": "912 82?", "legibility": "partial", "source": "bench"}


def draft_of(desk):
    return desk.drafts.read("steel")


def saved(visitor, path, **typed):
    """Saves the form at the path and follows to where it leads."""
    where, hidden = visitor.form(path)
    answer = visitor.post(where, hidden | typed)
    assert answer.status_code == 303, re.sub(r"<[^>]+>", " ", answer.text)
    return visitor.get(answer.headers["location"])


def line(desk, name):
    return next(each for each in draft_of(desk).lines if each.id == name)


def test_a_line_that_answers_a_step_of_the_plan_goes_by_its_name(begun, desk):
    saved(begun, "/object/steel/new/mark?position=pot.1&look=pot.1-source-date-code", **MARK)
    assert line(desk, "pot.1-source-date-code").state == "saved"


def test_a_line_without_a_step_goes_by_what_it_says(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    assert line(desk, "pot.1-mark").fields["text"] == "912 82?"


def test_what_a_mark_may_mean_is_on_no_page_before_it_is_saved(begun):
    before = [
        begun.get(path).text
        for path in (
            "/object/steel",
            "/object/steel/at/pot",
            "/object/steel/new/mark?position=pot.1",
        )
    ]
    words = begun.post("/words", {"of": "mark", "text": "912 82?"})
    after = saved(begun, "/object/steel/new/mark", **MARK).text
    assert "1948" in after
    assert "What it may mean" in after
    assert all("not before 19" not in page for page in (*before, words.text))


def test_a_reading_that_is_changed_after_the_candidates_were_shown_says_so(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    key = line(desk, "pot.1-mark").key
    saved(begun, f"/object/steel/line/{key}", **MARK | {"id": "pot.1-mark", "text": "912 818"})
    assert "first read as “912 82?”" in line(desk, "pot.1-mark").fields["note"]
    again = MARK | {"id": "pot.1-mark", "text": "912 818", "note": ""}
    saved(begun, f"/object/steel/line/{key}", **again)
    assert line(desk, "pot.1-mark").fields["note"] == ""


def test_a_figure_is_told_as_it_will_be_kept_and_expected_values_only_afterwards(
    begun, desk, tmp_path
):
    assert begun.post("/words", {"of": "figure", "text": '1 5/8"'}).json()["says"] == (
        "Records 1.625 in."
    )
    typed = {"position": "body", "quantity": "thickness", "value": '1 5/8"', "source": "bench"}
    page = saved(begun, "/object/steel/new/measurement", **typed).text
    assert "1.625 in" in page
    assert line(desk, "body-thickness").fields["value"] == '1 5/8"'


def test_a_date_in_plain_words_is_offered_and_taken_only_when_it_is_picked(begun, desk):
    where, hidden = begun.form("/object/steel/new/custody")
    typed = hidden | {"holder": "Somebody", "begins": "before June 1957", "source": "bench"}
    answer = begun.post(where, typed)
    assert answer.status_code == 422
    assert 'value="begins=[..1957-05]"' in answer.text
    assert "not after 1957-05-31" in answer.text
    (kept,) = (each for each in draft_of(desk).lines if each.section == "custody")
    assert kept.fields["begins"] == "before June 1957"
    where, hidden = begun.form(f"/object/steel/line/{kept.key}")
    answer = begun.post(where, hidden | typed | hidden | {"take": "begins=[..1957-05]"})
    assert answer.status_code == 303
    (kept,) = (each for each in draft_of(desk).lines if each.section == "custody")
    assert kept.fields["begins"] == "[..1957-05]"


def test_every_fault_is_told_at_its_field_and_nothing_that_was_typed_is_lost(begun, desk):
    where, hidden = begun.form("/object/steel/new/measurement")
    typed = {"position": "knee", "quantity": "weight", "value": "rather heavy", "source": "bench"}
    answer = begun.post(where, hidden | typed)
    assert answer.status_code == 422
    for name in ("position", "value"):
        assert f'id="{name}-fault"' in answer.text
        assert re.search(rf'id="{name}"[^>]*aria-invalid="true"', answer.text)
    assert 'value="rather heavy"' in answer.text
    (kept,) = (each for each in draft_of(desk).lines if each.section == "measurements")
    assert kept.state == "typed"
    assert kept.fields["position"] == "knee"


def test_what_is_typed_is_kept_unjudged_and_empty_forms_are_not(begun, desk):
    where, hidden = begun.form("/object/steel/new/measurement")
    empty = begun.post(f"{where}/typed", hidden)
    assert empty.json() == {"version": 0, "says": ""}
    told = begun.post(f"{where}/typed", hidden | {"value": "rather"}).json()
    assert told == {"version": 1, "says": "Kept in the draft."}
    same = begun.post(f"{where}/typed", hidden | {"value": "rather"}).json()
    assert same["version"] == 1
    (kept,) = (each for each in draft_of(desk).lines if each.section == "measurements")
    assert (kept.state, kept.fields["value"]) == ("typed", "rather")


def test_a_second_tab_overwrites_nothing_it_has_not_seen(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    key = line(desk, "pot.1-mark").key
    where, one = begun.form(f"/object/steel/line/{key}")
    _, two = begun.form(f"/object/steel/line/{key}")
    ours = MARK | {"id": "pot.1-mark", "note": "from the first tab"}
    theirs = MARK | {"id": "pot.1-mark", "note": "from the second tab"}
    assert begun.post(f"{where}/typed", one | ours).status_code == 200
    kept = begun.post(f"{where}/typed", two | theirs)
    assert kept.status_code == 409
    assert "another tab" in kept.json()["says"]
    conflict = begun.post(where, two | theirs)
    assert conflict.status_code == 409
    for text in ("from the first tab", "from the second tab", "Nothing was overwritten"):
        assert text in conflict.text
    assert line(desk, "pot.1-mark").fields["note"] == "from the first tab"
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', conflict.text))
    assert begun.post(where, hidden | theirs).status_code == 303
    assert line(desk, "pot.1-mark").fields["note"] == "from the second tab"


def test_a_tab_that_goes_on_typing_does_not_meet_itself(begun):
    where, hidden = begun.form("/object/steel/new/mark")
    begun.post(f"{where}/typed", hidden | {"text": "9"})
    begun.post(f"{where}/typed", hidden | {"text": "91"})
    assert begun.post(where, hidden | MARK).status_code == 303


def test_a_line_that_was_taken_away_meanwhile_is_told_and_can_still_be_kept(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    key = line(desk, "pot.1-mark").key
    where, hidden = begun.form(f"/object/steel/line/{key}")
    draft = draft_of(desk)
    desk.drafts.write(
        "steel", Draft(about=draft.about, lines=draft.lines[:1], version=draft.version + 1)
    )
    conflict = begun.post(where, hidden | MARK)
    assert conflict.status_code == 409
    assert "recorded or taken away" in conflict.text
    again = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', conflict.text))
    assert begun.post(where, again | MARK).status_code == 303


def test_a_second_reading_is_blind_and_kept_under_a_source_of_its_own(begun, desk):
    saved(begun, "/object/steel/new/mark?look=code", **MARK)
    page = begun.get("/object/steel/again/code").text
    assert "912" not in page
    assert "without having seen the first reading" in page
    where, hidden = begun.form("/object/steel/again/code")
    nobody = begun.post(where, hidden | {"position": "pot.1", "text": "912 823"})
    assert nobody.status_code == 422
    assert "Say who reads it this time" in nobody.text
    where, hidden = begun.form("/object/steel/again/code")
    typed = {"position": "pot.1", "text": "912 823", "reader": "B"}
    answer = begun.post(where, hidden | typed)
    page = begun.get(answer.headers["location"]).text
    assert page.count('<td class="differs">') == 2
    assert "Both are kept" in page
    second = line(desk, "code-second")
    assert line(desk, second.fields["source"]).fields["by"] == "B"
    assert second.fields["source"] != line(desk, "code").fields["source"]
    assert line(desk, "code").fields["text"] == "912 82?"
    # Nobody else's observations slip under the second reader's name.
    form = begun.get("/object/steel/new/mark").text
    assert re.search(r'value="bench" selected', form)
    where, hidden = begun.form("/object/steel/again/code")
    begun.post(where, hidden | typed | {"text": "912 82?"})
    readers = [each for each in draft_of(desk).lines if each.fields.get("by") == "B"]
    assert len(readers) == 1


def test_a_figure_is_measured_again_blind_too(begun):
    typed = {"position": "body", "quantity": "weight", "value": "3.91 kg", "source": "bench"}
    saved(begun, "/object/steel/new/measurement?look=weight", **typed)
    page = begun.get("/object/steel/again/weight").text
    assert "3.91" not in page
    assert 'value="weight"' in page
    assert begun.get("/object/steel/again/bench").status_code == 404


def test_a_line_that_is_taken_out_can_be_put_back(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    key = line(desk, "pot.1-mark").key
    begun.post(f"/object/steel/line/{key}/out")
    assert line(desk, "pot.1-mark").state == "out"
    begun.post(f"/object/steel/line/{key}/out")
    assert line(desk, "pot.1-mark").state == "saved"


def test_a_line_with_a_fault_is_put_back_as_it_was_typed(begun, desk):
    where, hidden = begun.form("/object/steel/new/mark")
    begun.post(where, hidden | MARK | {"position": "knee"})
    (kept,) = (each for each in draft_of(desk).lines if each.section == "marks")
    begun.post(f"/object/steel/line/{kept.key}/out")
    begun.post(f"/object/steel/line/{kept.key}/out")
    (kept,) = (each for each in draft_of(desk).lines if each.section == "marks")
    assert kept.state == "typed"
    assert begun.post("/object/steel/line/held/out").status_code == 303


def test_every_step_can_be_undone_until_it_is_recorded(begun, desk):
    saved(begun, "/object/steel/new/mark", **MARK)
    key = line(desk, "pot.1-mark").key
    saved(begun, f"/object/steel/line/{key}", **MARK | {"id": "pot.1-mark", "text": "912 818"})
    assert "Undo: marks: pot.1-mark" in begun.get("/object/steel").text
    begun.post("/object/steel/undo")
    assert line(desk, "pot.1-mark").fields["text"] == "912 82?"
    begun.post("/object/steel/undo")
    begun.post("/object/steel/undo")
    assert draft_of(desk).lines == ()
    assert begun.post("/object/steel/undo").status_code == 303


def test_a_first_observation_asks_for_the_sitting_and_comes_back(visitor):
    visitor.post("/begin", {"name": "A steel", "kind": "lap-steel", "id": "steel"})
    page = visitor.get("/object/steel/new/mark?position=pot.1").text
    (link,) = re.findall(r'href="(/object/steel/new/source[^"]+)"', page)
    where, hidden = visitor.form(link.replace("&amp;", "&"))
    assert hidden["next"].startswith("/object/steel/new/mark")
    answer = visitor.post(where, hidden | {"kind": "examination", "title": "Opened"})
    assert answer.headers["location"].startswith("/object/steel/new/mark")


@pytest.mark.parametrize(
    "wanted",
    ["https://shop.example/", "//shop.example", "/enter", "/object/\\shop.example"],
    ids=["address", "host", "elsewhere", "backslash"],
)
def test_a_form_leads_afterwards_to_pages_of_the_bench_and_no_others(begun, wanted):
    where, hidden = begun.form("/object/steel/new/question")
    answer = begun.post(where, hidden | {"question": "Why?", "next": wanted})
    assert answer.headers["location"].startswith("/object/steel")


STRANGE = {
    "no-kind": ("/object/steel/new/spell", None),
    "no-instrument": ("/object/gone", None),
    "no-line": ("/object/steel/line/aaaaaaaa", None),
    "no-line-of-the-sheet": ("/object/steel/mend/gone", None),
    "no-position": ("/object/steel/at/knee", None),
    "no-page": ("/nowhere", None),
    "no-file": ("/static/other.js", None),
    "up-and-away": ("/static/..%2f..%2fform_app.py", None),
    "a-bad-key": ("/object/steel/line/NOT-A-KEY", {"section": "marks"}),
    "a-bad-section": ("/object/steel/line/aaaaaaaa", {"section": "instrument"}),
    "nothing-to-read": ("/object/steel/line/aaaaaaaa/read", None),
}


@pytest.mark.parametrize(("path", "typed"), STRANGE.values(), ids=STRANGE)
def test_an_address_that_leads_nowhere_says_so(begun, path, typed):
    answer = begun.get(path) if typed is None else begun.post(path, typed)
    assert answer.status_code == 404
    assert "There is no such page" in answer.text


def test_what_people_type_stays_text(begun):
    evil = '<script>alert(1)</script>" onfocus="x'
    where, hidden = begun.form("/object/steel/new/question")
    begun.post(where, hidden | {"question": evil})
    for path in ("/object/steel", "/object/steel/review"):
        page = begun.get(path).text
        assert "<script>alert" not in page
        assert '" onfocus' not in page
    where, hidden = begun.form(f"/object/steel/new/question?question={'%22%3E%3Cb%3E'}")
    assert '"><b>' not in begun.get(f"/object/steel/new/question?question={'%22%3E%3Cb%3E'}").text


def test_a_hidden_character_is_told_at_its_field(begun):
    where, hidden = begun.form("/object/steel/new/question")
    answer = begun.post(where, hidden | {"question": "Why\u202e?"})
    assert answer.status_code == 422
    assert "U+202E" in answer.text


def test_a_line_that_is_not_finished_is_opened_to_be_finished(begun, desk):
    where, hidden = begun.form("/object/steel/new/mark")
    begun.post(f"{where}/typed", hidden | {"text": "9"})
    answer = begun.get(f"{where}/read")
    assert answer.headers["location"] == where
    assert json.loads((desk.folder / "drafts" / "steel.json").read_text())["lines"]
