from __future__ import annotations

import shutil
from contextlib import chdir
from functools import partial
from io import BytesIO

import pytest
from click.testing import CliRunner
from openpyxl import Workbook, load_workbook
from PIL import Image

from ledger.cli import main
from ledger.holdings import sample_data, schema_file
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.record.sheet import read_sheet

SHEETS = ("dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")


@pytest.fixture(scope="session")
def packs():
    return Packs.of(built_in_packs())


@pytest.fixture(scope="session")
def examples(tmp_path_factory):
    """The worked example and the invented instruments, by name: the sheet and its own folder."""
    folder = tmp_path_factory.mktemp("examples")
    shutil.copytree(sample_data(), folder, dirs_exist_ok=True)
    example = schema_file("example-sheet.yaml")
    shutil.copytree(example.parent / "example-exhibits", folder / "example-exhibits")
    shutil.copy(example, folder / "example-sheet.yaml")
    names = ("example-sheet", *SHEETS)
    return {name: read_sheet(folder / f"{name}.yaml").sheet for name in names} | {"folder": folder}


@pytest.fixture
def workbook(tmp_path):
    """Writes a workbook from tabs of rows and returns its path."""

    def _workbook(tabs, name="mine.xlsx"):
        book = Workbook()
        book.remove(book.active)
        for title, rows in tabs.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(row)
        path = tmp_path / name
        book.save(path)
        return path

    return _workbook


@pytest.fixture(scope="session")
def fill():
    """Types into the cells of a workbook: (tab, row, heading, text), the row by its first cell."""

    def _fill(path, typed):
        book = load_workbook(path)
        for tab, row, heading, text in typed:
            sheet = book[tab]
            columns = {cell.value: cell.column for cell in sheet[1]}
            rows = {cells[0].value: cells[0].row for cells in sheet.iter_rows(min_row=2)}
            number = rows[row] if row in rows else sheet.max_row + 1
            sheet.cell(number, 1, row)
            cell = sheet.cell(number, columns[heading])
            cell.value = text
            cell.data_type = "s"
        book.save(path)

    return _fill


@pytest.fixture(scope="session")
def picture():
    """Makes the bytes of a picture, with the day it was taken and a place if they are given."""

    def _picture(colour="red", taken=None, place=None, image_format="JPEG"):
        made = Image.new("RGB", (48, 32), colour)
        exif = Image.Exif()
        if taken:
            exif.get_ifd(0x8769)[0x9003] = taken
        if place:
            exif.get_ifd(0x8825)[2] = place
        written = BytesIO()
        made.save(written, format=image_format, exif=exif.tobytes())
        return written.getvalue()

    return _picture


@pytest.fixture(scope="session")
def run_in():
    """What a command prints, run in that folder; it has to end by itself with that status."""

    def _run_in(folder, *words, status=0, typed=None):
        with chdir(folder):
            result = CliRunner().invoke(main, [str(word) for word in words], input=typed)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == status, result.output
        assert "Traceback" not in result.output
        return result.output

    return _run_in


@pytest.fixture
def run(run_in, tmp_path):
    """The same in a folder of the test's own."""
    return partial(run_in, tmp_path)
