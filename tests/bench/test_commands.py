"""The commands of the bench: what they make and say, and what they refuse."""

from __future__ import annotations

import io

import pytest
from openpyxl import load_workbook

from ledger.bench import tables
from ledger.commands import bench, recording
from ledger.errors import FaultsFound
from ledger.record.store import Ledger

START = ("start", "mine", "--kind", "lap-steel", "--name", "One", "--id", "one")
SHEET = """\
bench_sheet: 1
instrument: {id: one, kind: lap-steel, name: One}
sources:
- {id: bench, kind: examination, title: Bench, date: 2026-03-02}
- {id: after, kind: examination, title: After, date: 2026-04-20}
custody:
- {id: first, source: bench, holder: Somebody in particular}
"""


def test_start_asks_for_what_it_is_not_told_and_makes_an_id_of_the_name(run, tmp_path):
    said = run("start", "mine", typed="lap-steel\nÜber One, no. 3\n")
    assert "Kind of instrument" in said
    assert (tmp_path / "mine" / "uber-one-no-3.xlsx").exists()
    assert "witnessmark record uber-one-no-3.xlsx" in (
        tmp_path / "mine" / "first-steps.txt"
    ).read_text(encoding="utf-8")


def test_what_start_makes_has_no_fault_and_is_never_written_over(run, tmp_path):
    run(*START)
    said = run("check", "mine/one.xlsx")
    assert "No fault found." in said
    before = (tmp_path / "mine" / "one.xlsx").read_bytes()
    assert "left alone" in run(*START, status=1)
    assert (tmp_path / "mine" / "one.xlsx").read_bytes() == before


def test_start_can_begin_with_a_sheet_of_yaml(run, tmp_path):
    run(*START, "--yaml", "--invented")
    text = (tmp_path / "mine" / "one.yaml").read_text(encoding="utf-8")
    assert "invented: yes" in text
    assert "No fault found." in run("check", "mine/one.yaml")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("start", "m", "--kind", "lapsteel", "--name", "x"), "Did you mean 'lap-steel'?"),
        (("start", "m", "--kind", "lap-steel", "--name", "x", "--id", "A b"), "small letters"),
        (("start", "m", "--kind", "lap-steel", "--name", "日本"), "small letters"),
        (("worksheet", "theremin"), "There is no kind of instrument named 'theremin'"),
        (("photographs", "none", "none.xlsx"), "No such file"),
        (("map-columns", "none.csv", "--kind", "lap-steel"), "No such file"),
        (("record", "a.xlsm"), "macros"),
    ],
    ids=["kind", "id", "name", "subject", "sheet", "list", "macros"],
)
def test_what_cannot_be_done_is_said_and_nothing_is_made(run, tmp_path, words, says):
    assert says in run(*words, status=1)
    assert list(tmp_path.iterdir()) == []


def test_a_worksheet_is_made_for_a_kind_a_sheet_or_an_instrument_of_the_ledger(run, tmp_path):
    run("worksheet", "mandolin")
    assert (tmp_path / "mandolin-worksheet.html").exists()
    (tmp_path / "one.yaml").write_text(SHEET, encoding="utf-8")
    run("worksheet", "one.yaml", "--html", "a.html", "--part", "people")
    assert "An interview" in (tmp_path / "a.html").read_text(encoding="utf-8")
    run("record", "one.yaml")
    run("worksheet", "one", "--xlsx", "one.xlsx")
    assert not (tmp_path / "one-worksheet.html").exists()
    assert "nothing new" in run("record", "one.xlsx")
    assert load_workbook(tmp_path / "one.xlsx")["custody"]["C2"].value == "Somebody in particular"
    assert "left alone" in run("worksheet", "one", "--xlsx", "one.xlsx", status=1)


def test_a_worksheet_of_a_kind_waits_for_the_name_of_its_instrument(run):
    run("worksheet", "banjo", "--xlsx", "banjo.xlsx")
    said = run("check", "banjo.xlsx", status=1)
    assert "[instrument]:2:1: A2, id: found nothing" in said


def test_pictures_go_into_a_spreadsheet_once_and_the_old_one_is_kept(run, tmp_path, picture):
    run(*START)
    folder = tmp_path / "mine"
    (folder / "photographs" / "tuners.jpg").write_bytes(picture(taken="2026:03:02 14:03:11"))
    look = run("photographs", "mine/photographs", "mine/one.xlsx", "--look")
    assert "photographs/tuners.jpg: tuners; 2026-03-02" in look
    assert not (folder / "one.before.xlsx").exists()
    assert "1 put in" in run("photographs", "mine/photographs", "mine/one.xlsx")
    assert (folder / "one.before.xlsx").exists()
    assert "nothing new" in run("photographs", "mine/photographs", "mine/one.xlsx")
    run("record", "mine/one.xlsx")
    with Ledger.open(tmp_path / "witnessmark.db", read_only=True) as ledger:
        (line,) = [entry for entry in ledger.entries() if entry.section == "exhibits"]
    assert line.body["positions"] == ["tuners"]
    assert "withheld" in line.body["note"]


def test_a_treatment_without_its_before_record_is_pointed_out_and_recorded_all_the_same(
    run, tmp_path
):
    (tmp_path / "one.yaml").write_text(
        SHEET
        + "works:\n- {id: w, source: after, action: repaired, positions: [jack], date: 2026-04-10}\n",
        encoding="utf-8",
    )
    said = run("check", "one.yaml")
    assert (
        "Notice: one/w: repaired jack (2026-04-10): nothing is recorded of jack from before" in said
    )
    said = run("record", "one.yaml")
    assert "recorded." in said
    assert "Notice: one/w" in said


def test_a_fault_in_a_spreadsheet_keeps_everything_from_being_recorded(run, fill, tmp_path):
    run(*START)
    fill(tmp_path / "mine" / "one.xlsx", [("bench", "weight", "found", "mark")])
    (tmp_path / "good.yaml").write_text(SHEET.replace("id: one", "id: two"), encoding="utf-8")
    said = run("record", "good.yaml", "mine/one.xlsx", status=1)
    assert "nothing was recorded" in said
    assert "mine/one.xlsx [bench]:" in said
    assert not (tmp_path / "witnessmark.db").exists()


def test_a_mapping_is_never_written_over_and_may_speak_of_a_lower_row(run, tmp_path):
    (tmp_path / "a.csv").write_text("My list,\nNo,Tuners\n1,open\n", encoding="utf-8")
    words = ("map-columns", "a.csv", "--kind", "lap-steel", "--heading-row", "2")
    run(*words)
    assert "heading_row: 2" in (tmp_path / "a.mapping.yaml").read_text(encoding="utf-8")
    assert "left alone" in run(*words, status=1)
    assert "instrument 1: 3 recorded" in run("record", "a.csv")
    assert "no headings in row 9" in run(*words[:-1], "9", status=1)


def test_a_file_of_several_instruments_has_no_one_worksheet(run, tmp_path):
    (tmp_path / "a.csv").write_text(
        "section,id,kind,name\ninstrument,a,banjo,A\ninstrument,b,banjo,B\n", encoding="utf-8"
    )
    assert "found 2 instruments" in run("worksheet", "a.csv", status=1)


class _Terminal(io.StringIO):
    def isatty(self):
        return True


def test_how_far_a_spreadsheet_is_read_is_shown_on_a_terminal(workbook, packs, monkeypatch):
    path = workbook(
        {"instrument": [["id", "kind", "name"], ["i", "banjo", "One"]], "sources": [["id"]]}
    )
    shown = _Terminal()
    monkeypatch.setattr("sys.stderr", shown)
    (read,) = recording._reader(None)(path, packs)
    assert read.sheet.instrument.id == "i"
    assert "Reading mine.xlsx" in shown.getvalue()
    assert "100%" in shown.getvalue()


@pytest.mark.parametrize(
    "words",
    [
        ("worksheet", "mandolin", "--html", "afile/x.html"),
        ("worksheet", "mandolin", "--html", "none/x.html"),
        ("worksheet", "mandolin", "--xlsx", "afile/x.xlsx"),
        ("start", "afile", "--kind", "lap-steel", "--name", "One"),
        ("start", "afile/mine", "--kind", "lap-steel", "--name", "One", "--yaml"),
    ],
    ids=["page", "page-in-no-folder", "spreadsheet", "start", "start-below"],
)
def test_where_nothing_can_be_written_is_said_and_a_file_in_the_way_is_left_alone(
    run, tmp_path, words
):
    (tmp_path / "afile").write_text("mine", encoding="utf-8")
    said = run(*words, status=1)
    assert "; expected a" in said
    assert [path.name for path in tmp_path.iterdir()] == ["afile"]
    assert (tmp_path / "afile").read_text(encoding="utf-8") == "mine"


def test_a_mapping_that_cannot_be_written_is_said(run, tmp_path, monkeypatch):
    (tmp_path / "a.csv").write_text("No,Tuners\n1,open\n", encoding="utf-8")
    (tmp_path / "afile").write_text("mine", encoding="utf-8")
    monkeypatch.setattr(bench, "mapping_beside", lambda _: tmp_path / "afile" / "a.mapping.yaml")
    assert "expected a place to write" in run(
        "map-columns", "a.csv", "--kind", "lap-steel", status=1
    )


def test_a_text_under_the_name_of_a_picture_is_told_when_pictures_are_taken_in(run, tmp_path):
    run(*START)
    (tmp_path / "mine" / "photographs" / "foo.png").write_bytes(b"x")
    said = run("photographs", "mine/photographs", "mine/one.xlsx")
    assert "not taken: mine/photographs/foo.png: found plain text under the name" in said
    assert "nothing new" in said


def test_a_sheet_that_cannot_be_written_is_left_as_it_is(run, tmp_path, picture):
    run(*START)
    (tmp_path / "mine" / "photographs" / "tuners.jpg").write_bytes(picture())
    (tmp_path / "mine" / "one.before.xlsx").mkdir()
    before = (tmp_path / "mine" / "one.xlsx").read_bytes()
    said = run("photographs", "mine/photographs", "mine/one.xlsx", status=1)
    assert "expected a place to write. It was left as it is" in said
    assert (tmp_path / "mine" / "one.xlsx").read_bytes() == before


def test_what_unpacks_to_too_much_is_not_unpacked_to_show_how_far_it_is_read(
    workbook, packs, monkeypatch
):
    path = workbook({"instrument": [["id", "kind", "name"], ["i", "banjo", "One"]]})
    monkeypatch.setattr(tables, "GREATEST_UNPACKED_BYTES", 100)
    monkeypatch.setattr("sys.stderr", _Terminal())
    monkeypatch.setattr(tables, "_pieces", lambda *_: pytest.fail("it was unpacked"))
    with pytest.raises(FaultsFound, match="bytes unpacked"):
        recording._reader(None)(path, packs)
