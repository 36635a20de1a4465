"""What is typed becomes a line and comes back as typed; a fault is told at its field."""

from __future__ import annotations

import pytest

from ledger.bench.columns import inner_tabs, tabs
from ledger.bench.form_drafts import DraftLine
from ledger.bench.form_tree import (
    faults_of,
    faults_of_line,
    fields_of,
    hidden_faults,
    key_of,
    line_of,
    typed_sheet,
)
from ledger.bench.sheet_writer import body_of, typed_text
from ledger.models import SECTIONS, BenchSheet

ABOUT = {"id": "steel", "kind": "lap-steel", "name": "A steel"}
BENCH = {"id": "bench", "kind": "examination", "title": "Opened"}


def as_typed(value):
    """A body with every value as the text that is typed."""
    if isinstance(value, dict):
        return {name: as_typed(each) for name, each in value.items()}
    return [as_typed(each) for each in value] if isinstance(value, list) else typed_text(value)


def test_every_line_of_the_examples_comes_back_from_its_form(examples):
    count = 0
    for sheet in (each for each in examples.values() if isinstance(each, BenchSheet)):
        for section in SECTIONS:
            for line in getattr(sheet, section):
                typed = as_typed(body_of(line))
                again = line_of(section, fields_of(section, typed))
                assert again == typed, (section, line.id)
                count += 1
    assert count > 40


def test_a_sheet_of_every_section_is_put_together_without_loss(examples, packs):
    sheet = examples["example-sheet"]
    held = {
        section: [as_typed(body_of(line)) for line in getattr(sheet, section)]
        for section in SECTIONS
    }
    about = as_typed(body_of(sheet.instrument))
    made = typed_sheet("form", about, held, ())
    assert faults_of(made, packs) == ()
    assert BenchSheet.model_validate(made.value) == sheet


def faults(packs, section, fields, **more):
    line = DraftLine(key="aaaaaaaa", section=section, fields={"id": "it", **fields}, **more)
    sheet = typed_sheet("form", ABOUT, {"sources": [BENCH]}, [line])
    return {each.field: each.says for each in faults_of_line(sheet, "aaaaaaaa", packs)}


AT = {
    "no-text": ("marks", {"source": "bench", "position": "pot.1"}, "text"),
    "no-place": ("marks", {"source": "bench", "text": "1"}, "position"),
    "unknown-place": ("marks", {"source": "bench", "text": "1", "position": "knee"}, "position"),
    "unknown-source": ("marks", {"source": "other", "text": "1", "position": "body"}, "source"),
    "not-a-figure": (
        "measurements",
        {"source": "bench", "position": "body", "quantity": "weight", "value": "heavy"},
        "value",
    ),
    "not-a-date": ("sightings", {"source": "bench", "date": "about 1955"}, "date"),
    "no-trace": ("traces", {"source": "bench", "positions": "body", "trace": "x"}, "trace"),
    "no-positions": ("traces", {"source": "bench", "trace": "reworked-joint"}, "positions"),
    "one-of-several": (
        "traces",
        {"source": "bench", "trace": "reworked-joint", "positions": "jack, knee"},
        "positions",
    ),
    "no-method": (
        "non_values",
        {"source": "bench", "positions": "body", "what": "x", "value": "searched, not found"},
        "method",
    ),
    "no-why": (
        "non_values",
        {"source": "bench", "positions": "body", "what": "x", "value": "not examined"},
        "why",
    ),
    "in-a-row": (
        "sightings",
        {"source": "bench", "date": "1955", "same_instrument": "yes", "shows.0.feature": "knob"},
        "shows.0.position",
    ),
    "bad-id": ("questions", {"id": "Not An Id", "question": "What?"}, "id"),
    "unknown-picture": (
        "features",
        {"source": "bench", "position": "body", "feature": "a", "value": "b", "exhibits": "gone"},
        "exhibits",
    ),
}


@pytest.mark.parametrize(("section", "fields", "at"), AT.values(), ids=AT)
def test_a_fault_is_told_at_the_field_where_it_is_mended(packs, section, fields, at):
    found = faults(packs, section, fields)
    assert at in found, found
    assert found[at]


def test_a_line_without_fault_has_none(packs):
    fields = {"source": "bench", "position": "pot.1", "text": "134 4?8"}
    assert faults(packs, "marks", fields) == {}


def test_the_faults_of_other_lines_are_not_told_at_this_one(packs):
    broken = DraftLine(key="bbbbbbbb", section="marks", fields={"id": "broken"}, state="saved")
    sound = DraftLine(key="aaaaaaaa", section="questions", fields={"id": "q", "question": "Why?"})
    sheet = typed_sheet("form", ABOUT, {"sources": [BENCH]}, [broken, sound])
    assert faults_of_line(sheet, "aaaaaaaa", packs) == ()
    assert {key_of(sheet, fault) for fault in faults_of(sheet, packs)} == {"bbbbbbbb"}
    assert faults_of_line(sheet, "cccccccc", packs) == ()


def test_a_line_that_mends_takes_the_place_of_the_old_one_and_one_that_is_out_leaves_none(packs):
    held = {"sources": [BENCH], "questions": [{"id": "q", "question": "Why?"}]}
    given = DraftLine(
        key="aaaaaaaa", section="questions", fields={"id": "q", "question": "When?"}, mends="q"
    )
    sheet = typed_sheet("form", ABOUT, held, [given])
    assert sheet.value["questions"] == [{"id": "q", "question": "When?"}]
    out = given.model_copy(update={"state": "out"})
    assert "questions" not in typed_sheet("form", ABOUT, held, [out]).value


def test_a_character_that_does_not_show_is_told_at_its_field():
    (found,) = hidden_faults({"text": "912\u202e818", "note": "line\r\nline"})
    assert found.field == "text"
    assert "U+202E" in found.says


def test_every_tab_of_rows_has_its_columns_after_the_name_of_its_line():
    for title, tab in tabs().items():
        if tab.inner:
            assert tab in inner_tabs(tab.section), title
            assert tab.columns[0].field == "line"
