from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from ledger.publish.timeline_drawing import placed, timelines_svg


def timeline(**more):
    return {
        "id": "corbel/pan",
        "sentence": "Tuner pan: pressed.",
        "begins": "1970",
        "ends": "1978",
        "overlap_days": 90,
        "n": 2,
        "position": "tuner-pan",
        **more,
    }


def example(date):
    return {"reference": "corbel/pan", "example": "other", "source": "examiner A", "date": date}


def test_a_row_has_a_page_with_its_source_its_examples_and_what_rests_on_it(ask):
    page = ask("/reference/corbel/pan").text
    for told in ("invented for this example", "medium", "2 examples, as it says; 2 listed here"):
        assert told in page
    assert "The lap steel corbel-lap-steel" in page  # an example that is itself published here
    assert "1 outside the span" in page
    assert "90417" not in page


def test_a_row_says_of_which_makers_models_and_kinds_it_speaks(ask):
    assert (
        "<dt>Speaks of</dt><dd>every maker, model and kind</dd>"
        in ask("/reference/corbel/pan").text
    )
    assert "for every maker, model and kind" in ask("/references").text
    assert "every maker, model and kind" in ask("/witnessmark/reference/corbel~2Fpan").text
    svg = timelines_svg([timeline(scope="maker Corbel, model Parlour")], [], title="t")
    assert "for maker Corbel, model Parlour" in svg


def test_what_is_other_without_a_row_stands_on_its_page(ask):
    page = ask("/reference/corbel/source-304").text
    assert "Withdraw this row and these change" in page
    assert "Has another chain as well: 1" in page


def test_what_falls_without_a_source_stands_on_its_page_with_what_it_says(ask):
    page = ask("/instrument/corbel-lap-steel/source/bench").text
    assert "Would be otherwise: 1" in page
    assert "Completed not before 14 March 1976." in page
    assert "On the volume pot stands 3047612." in page
    assert "2 weights, the heaviest first" in page


def test_all_rows_are_drawn_or_counted_by_pack(ask):
    page = ask("/references").text
    assert "drawing-timelines-1" in page
    assert "/witnessmark/reference?pack__exact=corbel" in page
    assert (
        ask("/witnessmark/reference?pack__exact=corbel&section__exact=timelines").status_code == 200
    )


def test_a_row_or_source_that_is_not_there_is_not_found(ask):
    assert ask("/reference/corbel/nothing").status_code == 404
    assert ask("/instrument/corbel-lap-steel/source/nothing").status_code == 404


def test_a_timeline_is_drawn_with_its_overlap_and_an_example_outside_it_is_told():
    svg = timelines_svg([timeline()], [example("1976"), example("1985")], title="Pans")
    root = ET.fromstring(svg)  # noqa: S314 - our own
    said = " ".join(node.text or "" for node in root.iter())
    assert "90 days side by side" in said
    assert "2 dated examples, 1 outside the span (hatched)" in said


def test_timelines_without_any_date_are_not_drawn():
    assert timelines_svg([timeline(begins=None, ends=None)], [], title="Pans") == ""
    assert timelines_svg([timeline(begins="about 1970", ends=None)], [], title="Pans") == ""


@given(st.one_of(st.none(), st.text(max_size=12)))
def test_whatever_is_written_for_a_date_is_placed_or_left_out(text):
    assert placed(text) is None or isinstance(placed(text, is_end=True), int)


def test_hostile_words_in_a_row_stay_text(ask, publication, report, hostile):
    row = replace(report.references[0], sentence=hostile)
    assert "<script>" not in timelines_svg(
        [timeline(sentence=row.sentence)], [example("1976")], title=hostile
    )
