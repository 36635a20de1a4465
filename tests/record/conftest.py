from __future__ import annotations

import secrets
from io import BytesIO

import pytest
from PIL import Image

from ledger.record.changes import Book, changes_to, instrument_lines
from ledger.record.erasing import erase_matter, matter_of
from ledger.record.sheet import read_sheet
from ledger.record.store import Ledger

MANDOLIN = """\
bench_sheet: 1
instrument:
  id: my-mandolin
  kind: mandolin
  name: A mandolin
  invented: yes
sources:
  - id: bench
    kind: examination
    title: On the bench
marks:
  - id: label-date
    source: bench
    position: label
    text: May 1917
    reads: 1917-05
  - id: tuner-patent
    source: my-mandolin/bench
    position: tuners
    text: "PAT. NO. 1563402"
custody:
  - id: first-holder
    source: bench
    holder: Somebody in particular
    place: A town
"""


@pytest.fixture
def mandolin():
    """The text of a sheet without a fault."""
    return MANDOLIN


@pytest.fixture
def write(tmp_path):
    """Writes a sheet and returns its path."""

    def _write(text, name="sheet.yaml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass"))
        return path

    return _write


@pytest.fixture
def picture():
    """Makes the bytes of a picture."""

    def _picture(image_format="PNG", size=(40, 20), mode="RGB", **settings):
        written = BytesIO()
        Image.new(mode, size, "red").save(written, format=image_format, **settings)
        return written.getvalue()

    return _picture


@pytest.fixture
def ledger(tmp_path):
    with Ledger.create(tmp_path / "ledger.db") as made:
        yield made


@pytest.fixture
def record(write):
    """Reads a sheet and appends what it changes."""

    def _record(into, text, recorded_at="2026-03-02T10:00:00Z"):
        read = read_sheet(write(text))
        book = Book("instrument", read.sheet.instrument.id)
        changes = changes_to(
            book,
            instrument_lines(read.sheet, read.hashes),
            into.entries(book),
            into.opened(),
            secrets.token_bytes,
        )
        return into.append(
            changes,
            recorder="examiner A",
            recorded_at=recorded_at,
            exhibits=read.exhibits.values(),
        )

    return _record


@pytest.fixture
def erase():
    """Erases everything that is withheld, and says so."""

    def _erase(into):
        everything = [matter_of(each) for each in into.withheld()]
        return erase_matter(into, everything, "asked for", "examiner A", "2026-03-05T10:00:00Z")

    return _erase
