from __future__ import annotations

import pytest

from ledger.bench.mapping import mapping_beside, read_mapping
from ledger.bench.mapping_draft import draft_mapping
from ledger.bench.spreadsheet_in import read_spreadsheet
from ledger.bench.tables import read_tables
from ledger.errors import FaultsFound

MAPPING = """\
spreadsheet_mapping: 1
title: My list of steels
tab: List
heading_row: 2
instrument:
  id: {column: No., makes_id: yes, before: steel-}
  kind: {text: lap-steel}
  name: {column: Name}
lines:
  - section: sources
    fields:
      id: {text: my-list}
      kind: {text: examination}
      title: {text: My list}
  - section: marks
    fields:
      source: {text: my-list}
      position: {text: pot.volume}
      text: {column: Pot}
      legibility: {column: How legible, words: {good: clear, bad: worn, "": clear}}
  - section: measurements
    fields:
      source: {text: my-list}
      position: {text: body}
      quantity: {text: weight}
      value: {column: Weight, unit: kg}
not_used: [Price]
"""
ROWS = [
    ["Steels", None, None, None, None, None],
    ["No.", "Name", "Pot", "How legible", "Weight", "Price"],
    ["A 1", "One", "912 818", "good", "3.4", "x"],
    ["A 2", "Two", "912 8?2", " BAD ", None, None],
    ["A 3", "Three", None, None, "2.9", None],
]


@pytest.fixture
def mapped(workbook):
    """Writes a list and the mapping beside it, and returns the path of the list."""

    def _mapped(mapping=MAPPING, rows=None):
        path = workbook({"other": [["x"]], "List": rows or ROWS})
        mapping_beside(path).write_text(mapping, encoding="utf-8")
        return path

    return _mapped


def faults(path):
    with pytest.raises(FaultsFound) as caught:
        read_spreadsheet(path)
    return "\n".join(str(fault).replace(str(path), "") for fault in caught.value.faults)


def test_a_list_of_ones_own_is_read_as_its_mapping_says(mapped, packs):
    one, two, three = (read.sheet for read in read_spreadsheet(mapped(), packs))
    assert [each.instrument.id for each in (one, two, three)] == [
        "steel-a-1", "steel-a-2", "steel-a-3",
    ]  # fmt: skip
    assert (one.marks[0].text, one.marks[0].legibility) == ("912 818", "clear")
    assert (two.marks[0].text, two.marks[0].legibility) == ("912 8?2", "worn")
    assert three.marks == ()
    assert one.measurements[0].value == "3.4 kg"
    assert two.measurements == ()
    assert all(len(each.sources) == 1 for each in (one, two, three))


def test_a_mapping_can_be_named_and_then_stands_anywhere(mapped, tmp_path):
    path = mapped()
    other = tmp_path / "kept" / "steels.mapping.yaml"
    other.parent.mkdir()
    mapping_beside(path).rename(other)
    assert len(read_spreadsheet(path, None, other)) == 3


def test_several_rows_of_one_instrument_are_one_sheet(mapped):
    rows = [*ROWS, ["A 1", "One", "912 822", "good", None, None]]
    one, *_ = read_spreadsheet(mapped(rows=rows))
    assert [mark.text for mark in one.sheet.marks] == ["912 818", "912 822"]
    assert len(one.sheet.sources) == 1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda rows: rows[1].__setitem__(2, "Pots"), "no heading 'Pot'"),
        (lambda rows: rows[1].__setitem__(2, "Pots"), "Did you mean Pots?"),
        (lambda rows: rows[1].__setitem__(5, "Cost"), "F2: found the heading 'Cost', of which"),
        (lambda rows: rows[2].__setitem__(3, "fair"), "D3, How legible: found the word 'fair'"),
        (lambda rows: rows[3].__setitem__(0, None), "found no id"),
        (lambda rows: rows[4].__setitem__(4, "2.9 lb"), "found '2.9 lb kg'"),
        (lambda rows: rows[2].__setitem__(2, "=A1"), "C3: found the formula"),
        (lambda rows: rows[2].__setitem__(2, 912), "the figure 912"),
    ],
    ids=["moved", "near", "new", "word", "no id", "unit", "formula", "figure"],
)
def test_what_the_mapping_does_not_tell_is_a_fault_and_not_a_guess(mapped, change, says):
    rows = [list(row) for row in ROWS]
    change(rows)
    assert says in faults(mapped(rows=rows))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("section: marks", "section: mark", "Did you mean marks?"),
        ("text: {column: Pot}", "txt: {column: Pot}", "the field 'txt'"),
        ("name: {column: Name}", "name: {}", "neither column nor text"),
        ("tab: List", "tab: Lists", "Did you mean List?"),
        ("spreadsheet_mapping: 1", "spreadsheet_mapping: 2", "one of: 1"),
    ],
    ids=["section", "field", "nothing", "tab", "version"],
)
def test_what_is_wrong_in_a_mapping_is_told(mapped, old, new, says):
    assert says in faults(mapped(MAPPING.replace(old, new)))


def test_a_mapping_that_is_not_there_is_a_fault(tmp_path):
    with pytest.raises(FaultsFound, match="no such file"):
        read_mapping(tmp_path / "none.mapping.yaml")


DRAFTED = [
    ["Serial", "Name", "Make", "Tuners", "Pot code", "Body weight (kg)", "Bought", "Serial"],
    ["A 1", "One", "Corbel", "open", "912 818", "3.4", "x", "y"],
]


def test_a_draft_places_what_the_headings_say_and_lists_the_rest(workbook, packs, tmp_path):
    path = workbook({"List": [row[:7] for row in DRAFTED]})
    (table,) = read_tables(path)
    text = draft_mapping(table, path.name, packs.catalogue("lap-steel"))
    mapping_beside(path).write_text(text, encoding="utf-8")
    mapping = read_mapping(mapping_beside(path))
    assert mapping.not_used == ("Bought",)
    assert {name: meaning.column for name, meaning in mapping.instrument.items()} == {
        "id": "Serial", "kind": "", "name": "Name", "maker": "Make",
    }  # fmt: skip
    (read,) = read_spreadsheet(path, packs)
    assert read.sheet.instrument.id == "a-1"
    assert [(f.position, f.feature, f.value) for f in read.sheet.features] == [
        ("tuners", "tuners", "open")
    ]
    assert [(m.position, m.text) for m in read.sheet.marks] == [("pot.1", "912 818")]
    assert [(m.position, m.value) for m in read.sheet.measurements] == [("body", "3.4 kg")]


def test_a_draft_that_finds_no_id_leaves_it_open_and_is_refused_until_it_is_filled_in(
    workbook, packs
):
    path = workbook({"List": [["Bought", "Tuners"], ["x", "y"]]})
    (table,) = read_tables(path)
    text = draft_mapping(table, path.name, packs.catalogue("lap-steel"))
    mapping_beside(path).write_text(text, encoding="utf-8")
    assert "neither column nor text" in "\n".join(str(fault) for fault in _refused(path))


def _refused(path):
    with pytest.raises(FaultsFound) as caught:
        read_spreadsheet(path)
    return caught.value.faults
