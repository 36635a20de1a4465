from __future__ import annotations

import asyncio
import re
import shutil
from contextlib import chdir
from functools import partial
from io import BytesIO

import httpx
import pytest
from click.testing import CliRunner
from openpyxl import Workbook, load_workbook
from PIL import Image

from ledger.bench.form_app import application
from ledger.bench.form_asked import Bench
from ledger.bench.form_desk import Desk
from ledger.bench.form_door import Doors
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


@pytest.fixture
def desk(tmp_path):
    """An empty folder with a desk on it; its clock stands still."""
    folder = tmp_path / "bench"
    folder.mkdir()
    return Desk(
        folder=folder,
        ledger_path=folder / "witnessmark.db",
        recorder="recorder A",
        now=lambda: "2026-03-02T10:00:00Z",
        site=folder / "witnessmark-site",
    )


@pytest.fixture
def bench(desk):
    """What the server works with; what it prints is kept in ``printed``."""
    printed = []
    made = Bench(desk, Doors(), printed.append, near="http://127.0.0.1:8140/")
    made.printed = printed
    return made


class Visitor:
    """Somebody with a browser that keeps cookies, at an address of the server."""

    def __init__(self, app, host="127.0.0.1:8140"):
        self._app, self.address = app, f"http://{host}"
        self.cookies, self.token = {}, ""

    def ask(self, method, path, typed=None, headers=None, files=None):
        own = {} if method == "GET" else {"origin": self.address}
        given = {k: v for k, v in (own | (headers or {})).items() if v is not None}
        if typed is not None and "form_token" not in typed:
            typed = {"form_token": self.token, **typed}

        async def asked():
            transport = httpx.ASGITransport(app=self._app)
            async with httpx.AsyncClient(
                transport=transport, base_url=self.address, cookies=self.cookies
            ) as client:
                return await client.request(method, path, data=typed, headers=given, files=files)

        answer = asyncio.run(asked())
        self.cookies |= dict(answer.cookies)
        found = re.search(r'name="form_token" value="([^"]+)"', answer.text)
        self.token = found[1] if found else self.token
        return answer

    def get(self, path, **more):
        return self.ask("GET", path, **more)

    def post(self, path, typed=None, **more):
        return self.ask("POST", path, {} if typed is None else typed, **more)

    def enter(self, token):
        answer = self.post("/enter", {"token": token})
        self.get("/")
        return answer

    def form(self, path):
        """The hidden fields of the form on a page, and the address it is sent to."""
        page = self.get(path).text
        (where,) = re.findall(r'action="(/object/[^"]+/line/[0-9a-f]+)" class="line-form"', page)
        hidden = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page)
        return where, dict(hidden)


@pytest.fixture
def visitor(bench):
    """Somebody who was let in at the machine itself."""
    hosts = frozenset({"127.0.0.1", "localhost", "[::1]", "192.0.2.7"})
    found = Visitor(application(bench, hosts))
    assert found.enter(bench.doors.open_near()).status_code == 303
    return found


@pytest.fixture
def strangers(bench):
    """Makes somebody who was not let in, at an address of the server."""
    hosts = frozenset({"127.0.0.1", "localhost", "[::1]", "192.0.2.7"})
    app = application(bench, hosts)
    return lambda host="127.0.0.1:8140": Visitor(app, host)


@pytest.fixture
def begun(visitor):
    """The same with an instrument begun and a sitting saved."""
    about = {"name": "A steel", "kind": "lap-steel", "id": "steel", "invented": "yes"}
    assert visitor.post("/begin", about).status_code == 303
    where, hidden = visitor.form("/object/steel/new/source")
    typed = {"kind": "examination", "title": "Back plate off", "by": "A", "date": "2026-03-02"}
    assert visitor.post(where, hidden | typed).status_code == 303
    return visitor
