"""Sheets written out as spreadsheets: they come back as the same sheets, whatever is in them."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from ledger.basis.yamltext import FORBIDDEN
from ledger.bench.columns import tabs
from ledger.bench.plan import plan
from ledger.bench.sheet_writer import sheet_text
from ledger.bench.spreadsheet_in import read_spreadsheet
from ledger.bench.spreadsheet_out import Offer, spreadsheet, write_spreadsheet
from ledger.errors import FaultsFound
from ledger.models import BenchSheet
from ledger.record.changes import instrument_lines
from ledger.record.sheet import read_sheet

# Left out of what is generated: characters that a sheet refuses, and the carriage return, which a
# sheet can hold only as an escape and which a cell keeps as one kind of line end with the others.
# What looks like the escape that a workbook has for it is its own way to write one.
text = (
    st.text(
        st.one_of(
            st.sampled_from(" :#-=+@?[]{}|>&*!%'\"\\,;~\n\tyno015é…日"),
            st.characters(exclude_categories=["Cs", "Cc"]),
        ),
        min_size=1,
        max_size=30,
    )
    .filter(lambda said: not FORBIDDEN.search(said) and "_x" not in said and "x005F_" not in said)
    .map(str.strip)
    .filter(bool)
)
dates = st.sampled_from(
    ["1955", "1955-06", "1955-06-12", "1955~", "195X", "../1957", "1955/..", "1955/1957"]
)
positions = st.sampled_from(["body", "tuners", "pot.1", "pot.volume", "capacitor.1"])
positions_listed = st.lists(positions, unique=True, max_size=3)
yes_no_unknown = st.sampled_from(["yes", "no", "cannot be told"])
sources = st.sampled_from(["s1", "s2"])
exhibits = st.sampled_from([[], ["e1"]])
shares = st.sampled_from(["0", "0.25", "0.123456"])
placed = st.one_of(
    st.fixed_dictionaries({"position": positions}), st.fixed_dictionaries({"part": st.just("p1")})
)


def lines(section, required, optional=None, most=2):
    """Lines of a section, their ids their own, some optional fields there and some not."""
    made = st.lists(
        st.fixed_dictionaries(
            required, optional={"note": text, "withhold": st.just(["note"]), **(optional or {})}
        ),
        max_size=most,
    )
    return made.map(
        lambda given_: [
            {"id": f"{section.replace('_', '-')}-{at}", **line} for at, line in enumerate(given_)
        ]
    )


def anywhere(section, required, optional=None):
    """The same of what is in a position or about a removed part."""
    return st.tuples(
        lines(section, required, optional), st.lists(placed, min_size=2, max_size=2)
    ).map(lambda pair: [{**line, **place} for line, place in zip(*pair, strict=False)])


SECTIONS = {
    "identity": lines(
        "identity",
        {"source": sources, "what": st.sampled_from(["maker", "serial"]), "value": text},
    ),
    "marks": anywhere(
        "marks",
        {"source": sources, "text": text},
        {"legibility": st.sampled_from(["clear", "worn"]), "reads": dates, "exhibits": exhibits,
         "bears_on": st.sampled_from(["made", "completed"]), "method": text},
    ),
    "measurements": anywhere(
        "measurements",
        {"source": sources, "quantity": text, "value": st.sampled_from(["42.6 mm", "7.52 k", "1 5/8 in"])},
        {"instrument": text, "temperature": text, "circuit": text},
    ),
    "features": anywhere("features", {"source": sources, "feature": text, "value": text}),
    "traces": lines(
        "traces",
        {"source": sources, "trace": st.just("extra-holes"), "positions": positions_listed.filter(bool)},
        {"parts": st.just(["p1"]), "method": text, "exhibits": exhibits},
    ),
    "works": lines(
        "works",
        {"source": sources, "action": st.sampled_from(["replaced", "repaired"]),
         "positions": positions_listed.filter(bool)},
        {"date": dates, "by": st.just("owner"), "removed": st.just(["p1"]), "destroyed": text,
         "retained": yes_no_unknown, "materials": text, "reversible": yes_no_unknown},
    ),
    "custody": lines(
        "custody",
        {"source": sources, "holder": text},
        {"begins": dates, "ends": dates, "place": text, "consent": st.just("refused")},
    ),
    "sightings": lines(
        "sightings",
        {"source": sources, "date": dates, "same_instrument": yes_no_unknown},
        {"matched_by": text, "shows": st.lists(st.fixed_dictionaries(
            {"position": positions, "feature": text, "value": text},
            optional={"same_as_now": yes_no_unknown}), max_size=3)},
    ),
    "papers": lines(
        "papers",
        {"source": sources, "paper": text, "says": text, "names_this_object": yes_no_unknown},
        {"event": st.just("first sold"), "date": dates, "exhibits": exhibits},
    ),
    "testimony": lines(
        "testimony",
        {"source": sources, "says": text},
        {"question": text, "event": st.just("completed"), "date": dates, "dated_by": text,
         "positions": positions_listed},
    ),
    "non_values": lines(
        "non_values",
        {"source": sources, "positions": positions_listed, "what": text, "method": text, "why": text,
         "value": st.sampled_from(["searched, not found", "not examined", "not legible", "not applicable"])},
    ),
    "questions": lines("questions", {"question": text}, {"about": positions_listed}),
    "register_searches": lines(
        "register_searches",
        {"register_name": text, "date": dates, "asked": text, "result": st.just("no match found")},
        {"answer": text, "reference": text, "by": text, "exhibits": exhibits},
    ),
    "challenges": lines(
        "challenges",
        {"says": text, "positions": positions_listed.filter(bool)},
        {"instead": text, "by": text, "raised": st.just("in public"), "date": dates},
    ).map(lambda held: [{**line, "id": f"c{at}"} for at, line in enumerate(held)]),
    "exhibits": lines(
        "exhibits",
        {"file": st.just("a.txt"), "caption": text},
        {"positions": positions_listed, "date": dates},
        most=1,
    ),
}  # fmt: skip

ALWAYS = {
    "bench_sheet": "1",
    "sources": [
        {"id": "s1", "kind": "examination", "title": "On the bench", "date": "2026-03-02"},
        {"id": "s2", "kind": "testimony", "title": "Told", "copied_from": "s1", "signed": "yes"},
    ],
    "parts": [{"id": "p1", "position": "pot.1", "name": "Old pot"}],
}
sheets = st.fixed_dictionaries(
    {
        "instrument": st.fixed_dictionaries(
            {"id": st.just("i-1"), "kind": st.just("lap-steel"), "name": text},
            optional={"maker": text, "model": text, "invented": st.just("yes"), "note": text},
        ),
        **SECTIONS,
    }
).map(
    lambda held: BenchSheet.model_validate(
        {
            **ALWAYS,
            **held,
            "exhibits": [{"id": "e1", "file": "a.txt", "caption": "A"}, *held["exhibits"]],
            "answers": [
                {"id": "a1", "challenge": line["id"], "date": "1990", "says": line["says"],
                 "concedes": [line["says"], "a; b, c"], "at_entry": "3"}
                for line in held["challenges"][:1]
            ],
        }
    )
)  # fmt: skip
OFFER = Offer(("body", "pot"), ("extra-holes",))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("sheets")
    (made / "a.txt").write_text("a text", encoding="utf-8")
    return made


def _entries(read):
    return [(line.section, line.line, dict(line.body), line.withheld)
            for line in instrument_lines(read.sheet, read.hashes)]  # fmt: skip


@settings(max_examples=40)
@given(sheets)
def test_a_sheet_comes_back_from_its_yaml_to_the_same_entries(folder, sheet):
    path = folder / "sheet.yaml"
    path.write_bytes(sheet_text(sheet).encode("utf-8"))
    read = read_sheet(path)
    assert read.sheet == sheet
    assert sheet_text(read.sheet) == sheet_text(sheet)


@settings(max_examples=12)
@given(sheets)
def test_a_sheet_comes_back_from_its_spreadsheet_to_the_same_entries(folder, sheet):
    path = folder / "sheet.xlsx"
    path.write_bytes(spreadsheet(sheet, OFFER))
    (read,) = read_spreadsheet(path)
    assert read.sheet == sheet
    beside = folder / "beside.yaml"
    beside.write_bytes(sheet_text(sheet).encode("utf-8"))
    assert _entries(read) == _entries(read_sheet(beside))


NAMES = ("example-sheet", "dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")


@pytest.mark.parametrize("name", NAMES, ids=NAMES)
def test_the_examples_come_back_with_the_plan_and_the_questions_beside_them(examples, packs, name):
    sheet = examples[name]
    view = packs.catalogue(sheet.instrument.kind)
    offer = Offer(view.names(), packs.trace_kind_names(), plan(view.kind, packs))
    path = examples["folder"] / f"{name}.xlsx"
    path.write_bytes(spreadsheet(sheet, offer, with_questions=True))
    (read,) = read_spreadsheet(path, packs)
    assert read.sheet == sheet


@pytest.fixture(scope="module")
def book(examples, packs):
    view = packs.catalogue("lap-steel")
    offer = Offer(view.names(), packs.trace_kind_names(), plan(view.kind, packs))
    return load_workbook(io.BytesIO(spreadsheet(examples["example-sheet"], offer)))


def test_every_tab_and_every_heading_is_there_protected_and_explained(book):
    for title, tab in tabs().items():
        sheet = book[title]
        assert [cell.value for cell in sheet[1]] == [column.heading for column in tab.columns]
        assert sheet.protection.sheet
        assert all(cell.protection.locked for cell in sheet[1])
        assert sheet.freeze_panes == "A2"
        for cell, column in zip(sheet[1], tab.columns, strict=True):
            if column.choices:
                assert column.choices[0] in cell.comment.text
    assert all(not cell.protection.locked for cell in book["marks"][2] if cell.value)


def test_a_column_with_choices_offers_them_and_takes_no_other(book):
    rules = {str(rule.sqref)[0]: rule for rule in book["marks"].data_validations.dataValidation}
    assert rules["F"].formula1 == '"clear,worn,partial"'
    assert rules["F"].showErrorMessage
    assert rules["C"].formula1.startswith("'lists'!$A$2")
    assert not rules["C"].showErrorMessage  # pot.volume is of the catalogue and not of the list
    assert rules["B"].formula1.startswith("'sources'!$A$2")
    listed = {cell.value for cell in book["lists"]["A"]}
    assert {"tuners", "pot"} <= listed
    assert book["lists"].sheet_state == "hidden"


def test_choices_that_hold_a_comma_are_offered_whole(book):
    rules = [
        rule for rule in book["non values"].data_validations.dataValidation if rule.showErrorMessage
    ]
    assert len(rules) == 1
    column = rules[0].formula1.split("$")[1]
    words = [cell.value for cell in book["lists"][column] if cell.value]
    assert "searched, not found" in words


def test_no_cell_holds_a_formula_whatever_was_typed(folder):
    sheet = BenchSheet.model_validate(
        {**ALWAYS, "exhibits": [], "instrument": {"id": "i", "kind": "lap-steel", "name": "=1+1"}}
    )
    made = load_workbook(io.BytesIO(spreadsheet(sheet, OFFER)))
    assert all(
        cell.data_type != "f"
        for each in made.worksheets
        for row in each.iter_rows()
        for cell in row
    )
    assert made["instrument"]["C2"].value == "=1+1"


def test_the_first_tab_says_what_can_hurt_and_which_nothing_is_which(book):
    said = " ".join(str(cell.value) for row in book["read me"].iter_rows() for cell in row)
    for words in ("Ultraviolet lamps harm", "nobody looked", "witnessmark check", "not stolen"):
        assert words in said


def test_a_spreadsheet_is_never_written_over(tmp_path):
    path = tmp_path / "a.xlsx"
    write_spreadsheet(path, b"one")
    with pytest.raises(FaultsFound, match="left alone"):
        write_spreadsheet(path, b"two")
    assert path.read_bytes() == b"one"
    with pytest.raises(FaultsFound, match="a place to write to"):
        write_spreadsheet(tmp_path / "none" / "a.xlsx", b"x")
