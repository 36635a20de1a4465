from __future__ import annotations

import pytest
from pydantic import BaseModel

from ledger.bench.bench_rows import ANSWERS, BENCH, FILLED_BY_PLAN, KINDS_FOUND, becomes, plan_row
from ledger.bench.columns import inner_tabs, normal_heading, parts_of_list, tabs
from ledger.bench.plan import plan
from ledger.models import SECTIONS


def test_every_field_of_every_line_has_a_column_or_a_tab():
    for section, model in SECTIONS.items():
        tab = tabs()[section.replace("_", " ")]
        columns = {column.field for column in tab.columns}
        inner = {each.inner for each in inner_tabs(section)}
        assert columns | inner == set(model.model_fields)
        assert not columns & inner


def test_groups_and_free_texts_have_tabs_of_their_own():
    assert {tab.title for tab in tabs().values() if tab.inner} >= {
        "sightings shows",
        "exhibits masks",
        "answers concedes",
    }
    assert tabs()["answers concedes"].is_of_texts
    assert not tabs()["sightings shows"].is_of_texts


def test_a_title_is_short_enough_for_a_workbook():
    # ECMA-376, part 1, 18.2.19: at most 31 characters.
    assert all(len(title) <= 31 for title in tabs())


def test_a_column_knows_what_it_may_hold():
    marks = tabs()["marks"]
    assert marks.column("legibility").choices == ("clear", "worn", "partial")
    assert marks.column("text").is_glyphs
    assert marks.column("exhibits").is_list
    assert marks.column("text").is_required
    assert not marks.column("reads").is_required
    assert marks.column("nothing") is None
    assert tabs()["instrument"].column("invented").choices == ("yes", "no")


@pytest.mark.parametrize("found", KINDS_FOUND, ids=KINDS_FOUND)
def test_every_kind_of_finding_becomes_a_line_whose_fields_there_are(found):
    section, fields = becomes(found)
    model: type[BaseModel] = SECTIONS[section]
    assert set(fields.values()) <= set(model.model_fields)
    assert set(fields) <= {column.field for column in BENCH.columns}
    required = {name for name, info in model.model_fields.items() if info.is_required()}
    assert required <= set(fields.values()) | {"id"}


def test_what_the_plan_fills_in_is_no_answer(packs):
    row = plan_row(plan("valve-amplifier", packs).of("opened")[0], "bench")
    assert set(row) == FILLED_BY_PLAN
    assert not set(row) & set(ANSWERS)
    assert "Caution: stored-charge" in row["care"]


def test_headings_and_lists_may_be_typed_loosely():
    assert normal_heading(" Names  this_Object") == "names_this_object"
    assert parts_of_list(" a, b;c\nd ") == ["a", "b", "c", "d"]
    assert parts_of_list("") == []
