from __future__ import annotations

import pytest
import yaml

from ledger.bench.sheet_writer import body_of, lines_text, sheet_text, typed_text
from ledger.models import BenchSheet, Mark
from ledger.record.sheet import read_sheet

NAMES = ("example-sheet", "dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")


@pytest.mark.parametrize("name", NAMES, ids=NAMES)
def test_an_example_written_out_is_the_same_sheet_and_written_again_the_same_text(examples, name):
    text = sheet_text(examples[name], "Written out.\n\nBy hand.")
    path = examples["folder"] / "written.yaml"
    path.write_text(text, encoding="utf-8")
    assert read_sheet(path).sheet == examples[name]
    assert sheet_text(read_sheet(path).sheet, "Written out.\n\nBy hand.") == text
    assert text.startswith("# Written out.\n#\n# By hand.\nbench_sheet: 1\n")


@pytest.mark.parametrize("name", NAMES, ids=NAMES)
def test_another_reader_of_yaml_reads_it_as_well(examples, name):
    told = yaml.load(sheet_text(examples[name]), Loader=yaml.BaseLoader)  # noqa: S506 - it makes text only
    assert BenchSheet.model_validate(told) == examples[name]


def _sheet(**fields):
    return BenchSheet.model_validate(
        {
            "bench_sheet": "1",
            "instrument": {"id": "i", "kind": "lap-steel", "name": "One", **fields},
        }
    )


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("A lap steel", "name: A lap steel"),
        ("Made: 1948", 'name: "Made: 1948"'),
        ("No. #3", 'name: "No. #3"'),
        ("# 3", 'name: "# 3"'),
        ("- one", 'name: "- one"'),
        ("null", 'name: "null"'),
        ("“quoted”", 'name: "“quoted”"'),
        ("ends:", 'name: "ends:"'),
        ("Überwurf 1½", "name: Überwurf 1½"),
        ("two\nlines", "name: |-\n    two\n    lines"),
        ("two\n lines\n\n  deep", "name: |-\n    two\n     lines\n\n      deep"),
        ("tab\tin", 'name: "tab\\tin"'),
    ],
    ids=lambda value: value[:12],
)
def test_a_text_is_written_as_a_person_would_and_in_quotes_where_it_has_to_be(
    name, written, tmp_path
):
    text = sheet_text(_sheet(name=name))
    assert f"  {written}\n" in text
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    assert read_sheet(path).sheet.instrument.name == name


def test_a_mark_always_stands_in_quotes():
    mark = Mark(id="m", source="bench", position="pot.1", text="0123")
    assert lines_text("marks", [mark]) == (
        'marks:\n  - id: m\n    source: bench\n    position: pot.1\n    text: "0123"\n'
    )


def test_what_is_at_its_default_is_left_out_and_notes_come_last():
    mark = Mark(id="m", note="n", withhold=("note",), source="s", position="p", text="x")
    assert list(body_of(mark)) == ["id", "source", "position", "text", "note", "withhold"]


def test_values_are_written_as_they_are_typed():
    assert [typed_text(value) for value in (False, 0.1, 1.0, 12, "x")] == [
        "no",
        "0.1",
        "1",
        "12",
        "x",
    ]
