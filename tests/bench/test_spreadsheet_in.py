from __future__ import annotations

import pytest

from ledger.bench.spreadsheet_in import is_spreadsheet, read_spreadsheet
from ledger.errors import FaultsFound
from ledger.record.changes import instrument_lines
from ledger.record.sheet import read_sheet

ABOUT = [["id", "kind", "name"], ["i-1", "lap-steel", "One"]]
SITTING = [["id", "kind", "title"], ["bench", "examination", "On the bench"]]
BENCH = ["step", "position", "look for", "found", "as seen", "doubt", "method or reason", "source"]


def faults(path, packs=None):
    with pytest.raises(FaultsFound) as caught:
        read_spreadsheet(path, packs)
    return [str(fault).removeprefix(str(path)) for fault in caught.value.faults]


def read(path, packs=None):
    (found,) = read_spreadsheet(path, packs)
    return found.sheet


def test_a_filled_spreadsheet_gives_the_entries_of_the_equivalent_sheet(workbook, tmp_path, packs):
    path = workbook(
        {
            "instrument": ABOUT,
            "sources": SITTING,
            "bench": [
                BENCH,
                ["pot-code", "pot.1", "code", "mark", "912 8?8", "worn", "ten times", "bench"],
                ["weight", "body", "weight", "measurement", "3.42 kg", "0.01 kg", "scale", "bench"],
                ["tail", "tailpiece", "outline", "feature", "square", None, None, "bench"],
                ["joints", "pot.1", "joints", "trace", "undisturbed-joints", None, None, "bench"],
                [
                    "no-no",
                    "serial",
                    "digits",
                    "searched, not found",
                    None,
                    None,
                    "all over",
                    "bench",
                ],
                ["coil", "pickup-coil.1", "wire", "not examined", None, None, "cover", "bench"],
                ["later", "bridge", "casting", None, None, None, None, "bench"],
            ],
        }
    )
    sheet = tmp_path / "same.yaml"
    sheet.write_text(
        """
bench_sheet: 1
instrument: {id: i-1, kind: lap-steel, name: One}
sources:
- {id: bench, kind: examination, title: On the bench}
marks:
- {id: pot-code, source: bench, position: pot.1, text: "912 8?8", legibility: worn, method: ten times}
measurements:
- {id: weight, source: bench, position: body, quantity: weight, value: 3.42 kg, uncertainty: 0.01 kg, instrument: scale}
features:
- {id: tail, source: bench, position: tailpiece, feature: outline, value: square}
traces:
- {id: joints, source: bench, trace: undisturbed-joints, positions: [pot.1]}
non_values:
- {id: no-no, source: bench, positions: [serial], value: "searched, not found", what: digits, method: all over}
- {id: coil, source: bench, positions: [pickup-coil.1], value: not examined, what: wire, why: cover}
""",
        encoding="utf-8",
    )
    (one,) = read_spreadsheet(path, packs)
    other = read_sheet(sheet, packs)
    assert instrument_lines(one.sheet, one.hashes) == instrument_lines(other.sheet, other.hashes)


def test_every_fault_of_every_tab_is_told_at_once_by_tab_row_and_column(workbook, packs):
    path = workbook(
        {
            "instrument": [["id", "kind", "name"], ["i 1", "lap-steel", None]],
            "sources": [["id", "kind", "title"], ["bench", "examniation", "On the bench"]],
            "marks": [
                ["id", "source", "position", "text", "reads", "legibility", "colour"],
                ["a", "bnech", "potz.1", "x", "1917-13", "clear", None],
                ["a", "bench", None, 912, None, "faint", None],
            ],
            "measurements": [
                ["id", "source", "position", "quantity", "value"],
                ["m", "bench", "body", "weight", "3 furlongs"],
            ],
            "bench": [
                BENCH,
                ["s1", "tuners", "x", None, "an answer", None, None, "bench"],
                ["s2", "tuners", "x", "featur", "y", None, None, "bench"],
                ["s3", "tuners", "x", "feature", "y", "0.1 mm", None, "bench"],
                ["s4", "tuners", "x", "searched, not found", None, None, None, "bench"],
            ],
            "sightings shows": [
                ["line", "position", "feature", "value"],
                ["nobody", "body", "f", "v"],
            ],
            "scratch": [["x"], ["y"]],
        }
    )
    told = "\n".join(faults(path, packs))
    for says in (
        " [instrument]:2:1: A2, id: found 'i 1'",
        " [instrument]:2:3: C2, name: found nothing",
        " [sources]:2:2: B2, kind: found 'examniation'; expected one of",
        "Did you mean examination?",
        " [marks]:1:7: G1: found the heading 'colour'",
        " [marks]:2:2: B2, source: found 'bnech', which is nowhere",
        " [marks]:2:3: C2, position: found 'potz.1'",
        " [marks]:2:5: E2, reads: found the date '1917-13'",
        " [marks]:3:1: A3, id: found the id 'a' again",
        " [marks]:3:4: D3, text: found the figure 912",
        " [marks]:3:6: F3, legibility: found 'faint'",
        " [measurements]:2:1: A2: found '3 furlongs'",
        " [bench]:2:4: D2, found: found an answer without its kind",
        " [bench]:3:4: D3, found: found 'featur'",
        " [bench]:4:6: F4, doubt: found '0.1 mm' beside 'feature'",
        " [bench]:5:1: A5: found no method",
        " [sightings shows]:2:1: A2, line: found the line 'nobody'",
        "found the tab 'scratch'",
    ):
        assert says in told, says


def test_a_fault_in_a_row_of_an_inner_tab_is_told_there(workbook):
    path = workbook(
        {
            "instrument": ABOUT,
            "sources": SITTING,
            "sightings": [
                ["id", "source", "date", "same instrument"],
                ["s", "bench", "1950", "yes"],
            ],
            "sightings shows": [["line", "position", "feature", "value"], ["s", "b ody", "f", "v"]],
        }
    )
    (fault,) = faults(path)
    assert fault.startswith(" [sightings shows]:2:2: B2, shows[1].position: found 'b ody'")


def test_what_is_missing_is_told_under_its_heading(workbook):
    path = workbook(
        {
            "instrument": ABOUT,
            "sources": SITTING,
            "marks": [["id", "source", "position", "text"], ["m", "bench", "pot.1", None]],
        }
    )
    (fault,) = faults(path)
    assert fault.startswith(" [marks]:2:4: D2, text: found nothing")


def test_a_row_without_an_id_is_given_one_that_does_not_depend_on_where_it_stands(workbook):
    rows = [["source", "position", "text"], ["bench", "pot.1", "912"], ["bench", "label", "x"]]
    book = {"instrument": ABOUT, "sources": SITTING}
    first = read(workbook({**book, "marks": rows}))
    assert [mark.id for mark in first.marks] == ["pot.1-mark", "label-mark"]
    again = read(workbook({**book, "marks": [rows[0], rows[2], rows[1]]}, "again.xlsx"))
    assert {mark.id for mark in again.marks} == {"pot.1-mark", "label-mark"}
    twice = read(workbook({**book, "marks": [*rows, rows[1]]}, "twice.xlsx"))
    assert [mark.id for mark in twice.marks] == ["pot.1-mark", "label-mark", "pot.1-mark-2"]


def test_a_row_of_the_plan_used_twice_is_two_observations(workbook):
    row = ["joints", "pot.1", "joints", "trace", "reworked-joint", None, None, "bench"]
    found = read(
        workbook(
            {"instrument": ABOUT, "sources": SITTING, "bench": [BENCH, row, row, [None, *row[1:]]]}
        )
    )
    assert [trace.id for trace in found.traces] == ["joints", "joints-2", "pot.1-joints"]


def test_rows_that_were_laid_out_and_not_filled_in_are_not_recorded(workbook):
    found = read(
        workbook(
            {
                "instrument": ABOUT,
                "sources": [["id", "kind", "title"], ["bench", "examination", None]],
                "testimony": [["id", "question", "source", "says"], ["q", "How?", "told", None]],
                "bench": [BENCH, ["s", "pot.1", "code", None, None, None, None, "bench"]],
            }
        )
    )
    assert found.sources == found.testimony == found.marks == ()


def test_several_instruments_in_one_file_are_told_apart_by_their_object(workbook):
    path = workbook(
        {
            "instrument": [*ABOUT, ["i-2", "mandolin", "Two"]],
            "sources": [
                ["object", "id", "kind", "title"],
                ["i-1", "bench", "examination", "A"],
                ["i-2", "bench", "examination", "B"],
            ],
            "marks": [["object", "source", "position", "text"], ["i-2", "bench", "label", "x"]],
        }
    )
    one, two = read_spreadsheet(path)
    assert (one.sheet.sources[0].title, two.sheet.sources[0].title) == ("A", "B")
    assert (len(one.sheet.marks), len(two.sheet.marks)) == (0, 1)


def test_a_row_that_says_of_which_instrument_it_is_by_no_known_name_is_a_fault(workbook):
    path = workbook(
        {
            "instrument": [*ABOUT, ["i-2", "mandolin", "Two"], ["i-1", "mandolin", "Three"]],
            "sources": [["object", "id", "kind", "title"], ["i-3", "bench", "examination", "A"],
                        [None, "b", "examination", "A"]],
        }
    )  # fmt: skip
    told = faults(path)
    assert "the instrument 'i-1' again" in told[0]
    assert "[sources]:2:1: A2, object: found the object 'i-3'" in told[1]
    assert "found no object" in told[2]


def test_a_file_without_an_instrument_is_a_fault(workbook):
    (fault,) = faults(workbook({"instrument": [["id", "kind", "name"]], "sources": SITTING}))
    assert "no instrument" in fault


def test_headings_may_be_typed_loosely_and_notes_of_ones_own_are_left_alone(workbook):
    path = workbook(
        {
            "Instrument": [["ID", "Kind", " NAME "], ["i-1", "lap-steel", "One"]],
            "sources": [[*SITTING[0], "_mine"], [*SITTING[1], "call again"]],
            "Non values": [["id", "Source", "positions", "VALUE", "what", "why"],
                           ["n", "bench", "pot.1; jack", "not examined", "code", "late"]],
            "_scratch": [["anything"], ["at all"]],
        }
    )  # fmt: skip
    assert read(path).non_values[0].positions == ("pot.1", "jack")


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (
            [["id", "kind", "title", "title"], ["b", "document", "x", "y"]],
            "the heading 'title' again",
        ),
        ([["id", "kind", None], ["b", "document", "x"]], "under no heading"),
    ],
    ids=["twice", "none"],
)
def test_a_column_that_is_not_clear_is_a_fault(workbook, rows, says):
    told = "\n".join(faults(workbook({"instrument": ABOUT, "sources": rows})))
    assert says in told


CSV = """\
section,id,kind,name,title,source,position,text,what,object
instrument,i-1,lap-steel,One,,,,,,
sources,bench,examination,,On the bench,,,,,
marks,pot-code,,,,bench,pot.1,912 8?8,,i-1
"""


def test_a_csv_says_for_each_row_in_which_section_it_stands(tmp_path, packs):
    path = tmp_path / "a.csv"
    path.write_text(CSV, encoding="utf-8")
    assert read(path, packs).marks[0].text == "912 8?8"


def test_what_is_wrong_in_a_csv_is_told_by_row_and_column(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        CSV.replace("marks,pot-code,,,,", "marks,pot-code,,x,,") + ",z,,,,,,,,\nmark,z,,,,,,,,\n",
        encoding="utf-8",
    )
    told = "\n".join(faults(path))
    assert ":4:4: D4: found 'x' under name; expected nothing: marks has no such column" in told
    assert ":5:1: A5, section: found no section" in told
    assert ":6:1: A6: found the section 'mark'" in told
    assert "Did you mean marks?" in told


def test_a_spreadsheet_of_ones_own_without_a_mapping_is_told_how_to_get_one(workbook, tmp_path):
    (fault,) = faults(workbook({"List": [["No"], ["1"]]}))
    assert "witnessmark map-columns mine.xlsx writes mine.mapping.yaml" in fault
    (tmp_path / "a.csv").write_text("No\n1\n", encoding="utf-8")
    assert "headings that are not ours" in faults(tmp_path / "a.csv")[0]


def test_a_file_is_a_spreadsheet_by_its_name(tmp_path):
    assert [is_spreadsheet(tmp_path / name) for name in ("a.XLSX", "a.csv", "a.ods", "a.yaml")] == [
        True,
        True,
        True,
        False,
    ]
