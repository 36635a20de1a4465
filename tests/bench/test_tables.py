from __future__ import annotations

import datetime as dt
import io
import os
import tracemalloc
import zipfile
from contextlib import suppress
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from ledger.bench import tables
from ledger.bench.tables import count_rows, read_tables
from ledger.errors import FaultsFound


def faults(path, **given_):
    with pytest.raises(FaultsFound) as caught:
        read_tables(path, **given_)
    return [str(fault).removeprefix(str(path)) for fault in caught.value.faults]


def texts(path):
    (table,) = read_tables(path)
    return [[cell.text for cell in row.values()] for row in table.rows]


def test_what_was_typed_as_text_comes_back_as_it_was_typed(workbook):
    typed = ["0123", "1.10", "134 4?8", "yes", "1955~", "two\nlines", "  edges  ", "é … 日本"]
    path = workbook({"a": [["head"] * len(typed), typed]})
    assert texts(path) == [[*typed[:6], "edges", typed[7]]]


@pytest.mark.parametrize(
    ("value", "shown_as", "text"),
    [
        (1955, "General", "1955"),
        (1955.0, "General", "1955"),
        (0.25, "General", "0.25"),
        (1234, "#,##0", "1234"),
        (True, "General", "yes"),
        (dt.datetime(1955, 6, 12), "yyyy-mm-dd", "1955-06-12"),  # noqa: DTZ001 - a cell has no zone
        (dt.date(1955, 6, 12), "dd/mm/yy", "1955-06-12"),
    ],
    ids=["year", "whole", "share", "thousands", "yes", "day", "day shown short"],
)
def test_a_figure_that_cannot_have_been_typed_otherwise_is_taken(tmp_path, value, shown_as, text):
    book = Workbook()
    book.active.append(["head"])
    cell = book.active.cell(2, 1, value)
    cell.number_format = shown_as
    book.save(tmp_path / "a.xlsx")
    assert texts(tmp_path / "a.xlsx") == [[text]]


@pytest.mark.parametrize(
    ("value", "shown_as", "says"),
    [
        ("=1+1", "General", "the formula '=1+1'; expected the value itself"),
        ('=HYPERLINK("http://x")', "@", "the formula"),
        ("#REF!", "General", "the error #REF!"),
        (dt.datetime(1955, 6, 1), "mmm-yy", "a date that the spreadsheet made"),  # noqa: DTZ001 - as above
        (dt.datetime(1955, 6, 1, 12, 30), "yyyy-mm-dd hh:mm", "a date that the spreadsheet made"),  # noqa: DTZ001 - as above
        (dt.time(12, 30), "hh:mm", "a time of day"),
        (12, "0000", "shown in a format of its own (0000)"),
        (0.5, "0%", "shown in a format of its own (0%)"),
    ],
    ids=["formula", "link", "error", "month", "hour", "time", "noughts", "percent"],
)
def test_what_is_not_what_was_typed_is_a_fault_with_tab_row_and_column(
    tmp_path, value, shown_as, says
):
    book = Workbook()
    sheet = book.active
    sheet.title = "marks"
    sheet.append(["one", "two"])
    cell = sheet.cell(3, 2, value)
    cell.number_format = shown_as
    book.save(tmp_path / "a.xlsx")
    (fault,) = faults(tmp_path / "a.xlsx")
    assert fault.startswith(" [marks]:3:2: B3: found ")
    assert says in fault


def test_text_that_only_looks_like_a_formula_is_text(tmp_path):
    book = Workbook()
    book.active.append(["head"])
    cell = book.active.cell(2, 1)
    cell.value = "=1+1"
    cell.data_type = "s"
    book.save(tmp_path / "a.xlsx")
    assert texts(tmp_path / "a.xlsx") == [["=1+1"]]


def test_all_that_is_wrong_in_all_tabs_is_told_at_once(workbook):
    path = workbook({"a": [["h"], ["=A1"], ["x\u200e"]], "b": [["h"], ["=B2"]]})
    assert [fault.split(": found")[0] for fault in faults(path)] == [
        " [a]:2:1: A2",
        " [a]:3:1: A3",
        " [b]:2:1: A2",
    ]


@pytest.mark.parametrize("ending", tables.WITH_MACROS)
def test_a_file_that_can_hold_macros_is_refused_by_its_name(tmp_path, ending):
    path = tmp_path / f"a{ending}"
    path.write_bytes(b"x")
    assert "macros" in faults(path)[0]


def test_a_workbook_that_holds_macros_under_another_name_is_refused(workbook):
    path = workbook({"a": [["h"]]})
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"Auto_Open")
    assert "a workbook with macros" in faults(path)[0]


def test_xml_that_defines_entities_is_refused(workbook, tmp_path):
    path = workbook({"a": [["h"]]})
    out = tmp_path / "b.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for member in old.infolist():
            content = old.read(member)
            if member.filename == "xl/workbook.xml":
                content = b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + content
            new.writestr(member, content)
    assert "defines words of its own" in faults(out)[0]


def test_what_unpacks_to_too_much_is_refused_before_it_is_read(workbook, monkeypatch):
    monkeypatch.setattr(tables, "GREATEST_UNPACKED_BYTES", 100)
    assert "unpacked" in faults(workbook({"a": [["h"]]}))[0]


def test_a_file_that_is_too_large_or_too_long_is_refused(workbook, monkeypatch):
    path = workbook({"a": [["h"], ["x"], ["y"]]})
    monkeypatch.setattr(tables, "MOST_ROWS", 2)
    assert "Divide it" in faults(path)[0]
    monkeypatch.setattr(tables, "GREATEST_FILE_BYTES", 10)
    assert "larger" in faults(path)[0]


def test_a_file_that_is_not_there_is_a_fault(tmp_path):
    assert "No such file" in faults(tmp_path / "none.xlsx")[0]


def test_no_more_faults_are_told_than_anybody_reads(workbook, monkeypatch):
    monkeypatch.setattr(tables, "MOST_FAULTS", 3)
    assert len(faults(workbook({"a": [["=A1"]] * 9}))) == 3


@settings(max_examples=25)
@given(st.integers(0, 6000), st.binary(min_size=1, max_size=40), st.booleans())
def test_a_damaged_workbook_gives_faults_or_tables_and_nothing_else(at, junk, is_cut):
    book = Workbook()
    book.active.append(["head", "x"])
    written = io.BytesIO()
    book.save(written)
    content = written.getvalue()
    at %= len(content)
    broken = content[:at] if is_cut else content[:at] + junk + content[at + len(junk) :]
    with suppress(FaultsFound):
        assert isinstance(tables._workbook_rows(broken, "a.xlsx", lambda _: None), list)


def csv(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_a_csv_is_read_by_whichever_separator_its_head_uses(tmp_path, separator):
    path = csv(tmp_path, f'a{separator}b\r\n"x{separator} ""y"""{separator}0123\r\n', "utf-8-sig")
    assert texts(path) == [[f'x{separator} "y"', "0123"]]


@pytest.mark.parametrize(
    ("text", "encoding", "says"),
    [
        ("a,b\n=1+1,x\n", "utf-8", ":2:1: A2: found the formula"),
        ("a\nüber\n", "latin-1", ":2:1: found the byte 0xfc"),
        ('a\n"x\n', "utf-8", "a row that cannot be read"),
        ("a\nx\x07\n", "utf-8", ":2:1: A2: found the character U+0007"),
    ],
    ids=["formula", "encoding", "quote", "control"],
)
def test_what_is_wrong_in_a_csv_is_told_with_its_place(tmp_path, text, encoding, says):
    assert says in faults(csv(tmp_path, text, encoding))[0]


def test_the_headings_can_stand_lower(tmp_path):
    (table,) = read_tables(csv(tmp_path, "My list\n\nNo,Code\n1,x\n"), None, 3)
    assert [cell.text for cell in table.headings] == ["No", "Code"]
    assert [cell.row for row in table.rows for cell in row.values()] == [4, 4]


def test_progress_is_told_row_by_row_and_the_rows_can_be_counted_before(workbook, tmp_path):
    path = workbook({"a": [["h"], ["x"], ["y"]]})
    told = []
    read_tables(path, told.append)
    assert sum(told) == count_rows(path) == 3
    told.clear()
    listed = csv(tmp_path, "h\nx\ny\n")
    read_tables(listed, told.append)
    assert sum(told) == count_rows(listed) == 3
    assert count_rows(tmp_path / "none.xlsx") == 0


def test_nothing_in_a_workbook_is_changed_by_reading_it(workbook):
    path = workbook({"a": [["h"], ["x"]]})
    before = path.read_bytes()
    read_tables(path)
    assert path.read_bytes() == before
    assert load_workbook(path)["a"]["A2"].value == "x"


def test_what_is_refused_has_no_rows_and_is_not_unpacked_to_count_them(workbook, monkeypatch):
    path = workbook({"a": [["h"], ["x"]]})
    assert count_rows(path) == 2
    monkeypatch.setattr(tables, "GREATEST_UNPACKED_BYTES", 100)
    assert count_rows(path) == 0
    with pytest.raises(FaultsFound, match="unpacked"):
        read_tables(path)


@pytest.mark.parametrize("name", ["a.csv", "a.xlsx"])
def test_a_file_that_is_too_large_is_not_read_to_count_its_rows(tmp_path, monkeypatch, name):
    (tmp_path / name).write_bytes(b"x\n" * 100)
    monkeypatch.setattr(tables, "GREATEST_FILE_BYTES", 99)
    assert count_rows(tmp_path / name) == 0


def test_rows_are_counted_little_by_little(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "GREATEST_FILE_BYTES", 1_000_000)  # so much room is made to read it
    # Thirty million bytes that pack to nearly nothing, with what is counted across every border.
    path = tmp_path / "mine.xlsx"
    rows = 6_000_000
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"<row>" * rows)
    tracemalloc.start()
    counted = count_rows(path)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert counted == rows
    assert most < 12_000_000


@pytest.mark.parametrize("at", [0, 1, 999_995, 1_000_000, 1_999_993])
def test_words_that_a_part_defines_are_found_wherever_they_stand(tmp_path, at):
    path = tmp_path / "mine.xlsx"
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b" " * at + b"<!DOCTYPE a>" + b" " * 999_999)
    with pytest.raises(FaultsFound, match="which defines words of its own"):
        read_tables(path)


@pytest.mark.parametrize("name", ["a.csv", "a.xlsx"])
def test_a_pipe_is_no_spreadsheet_and_is_not_waited_for(tmp_path, name):
    os.mkfifo(tmp_path / name)
    with pytest.raises(FaultsFound, match="A pipe or a device"):
        read_tables(tmp_path / name)
    assert count_rows(tmp_path / name) == 0
