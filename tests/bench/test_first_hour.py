"""The first hour of the page, done as the page says: from an empty folder to a published site."""

from __future__ import annotations

import re
import shlex
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from ledger.record.store import Ledger

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = (ROOT / "README.md").read_text(encoding="utf-8")
HOUR = PAGE.split("\n## The first hour\n")[1].split("\n## ")[0]
COMMANDS = [
    shlex.split(line)
    for block in re.findall(r"^```sh\n(.*?)^```$", HOUR, re.DOTALL | re.MULTILINE)
    for line in block.splitlines()
]
TYPED = [
    tuple(cell.strip() for cell in row.strip("|").split("|"))
    for row in re.findall(r"^\|.*\|$", HOUR, re.MULTILINE)
][2:]


def _ours(*, without=()):
    """The commands of the page in order, as words, but for those that never end or begin anew."""
    return [
        words[1:] for words in COMMANDS if words[0] == "witnessmark" and words[1] not in without
    ]


@pytest.fixture(scope="module")
def spent(run_in, fill, picture, tmp_path_factory):
    """The folder in which the hour was spent, and what each command said."""
    start, *others = _ours(without=("show", "map-columns", "bench"))
    home = tmp_path_factory.mktemp("hour")
    said = {start[0]: run_in(home, *start)}
    folder = home / start[1]
    assert ["cd", start[1]] in COMMANDS
    fill(folder / "bench-steel.xlsx", TYPED)
    (folder / "photographs" / "pot.1 code.jpg").write_bytes(
        picture(taken="2026:03:02 14:03:11", place=(51.0, 30.0, 0.0))
    )
    for words in others:
        if "my-list.csv" not in words:
            said[words[0]] = run_in(folder, *words)
    return folder, said


def test_what_the_page_says_is_made_is_there(spent):
    folder, _ = spent
    for name in re.findall(r"`([\w-]+\.(?:xlsx|html|txt))`", HOUR):
        assert (folder / name).exists(), name
    assert (folder / "photographs").is_dir()


def test_every_row_that_was_filled_in_is_recorded_and_no_other(spent):
    folder, said = spent
    assert "No fault found." in said["check"]
    with Ledger.open(folder / "witnessmark.db", read_only=True) as ledger:
        recorded = {(entry.section, entry.line) for entry in ledger.entries()}
    rows = {row for tab, row, _, _ in TYPED}
    assert {line for section, line in recorded if section not in ("instrument", "exhibits")} == rows
    assert ("exhibits", "pot.1-code") in recorded


def test_the_report_rests_on_what_was_seen_and_says_what_was_not(spent):
    _, said = spent
    words = " ".join(said["weigh"].split())
    assert "912 82?" in words
    assert "1948" in words
    assert "not before" in words


def test_the_site_is_published_with_the_instrument_on_it(spent):
    folder, said = spent
    assert "Published" in said["publish"]
    (database,) = (folder / "witnessmark-site").glob("*.db")
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as site:
        (name,) = site.execute("SELECT name FROM instrument").fetchone()
    assert name == "A lap steel without its number"


def test_the_form_afterwards_says_how_much_is_recorded_and_no_reading(spent):
    folder, _ = spent
    form = (folder / "bench-steel-worksheet.html").read_text(encoding="utf-8")
    assert "recorded before: 1 mark" in form
    assert "912 82?" not in form


def test_recording_the_spreadsheet_again_adds_nothing(spent, run_in):
    folder, _ = spent
    assert "nothing new" in run_in(folder, "record", "bench-steel.xlsx")


def test_a_list_of_ones_own_is_taken_by_its_mapping(run, tmp_path):
    (mapping, check) = _ours()[-2:]
    (tmp_path / "my-list.csv").write_text(
        "No.;Name;Tailpiece;Pot code;Weight (kg)\nA 1;One;square;912 818;3.4\nA 2;Two;;912 822;\n",
        encoding="utf-8",
    )
    run(*mapping)
    assert "No fault found." in run(*check)
    said = run("record", "my-list.csv")
    # Itself, the list as its source, and one line for each of its cells that has a meaning.
    assert "instrument a-1: 4 recorded" in said
    assert "instrument a-2: 3 recorded" in said
    assert '"Weight (kg)"' in (tmp_path / "my-list.mapping.yaml").read_text(encoding="utf-8")
