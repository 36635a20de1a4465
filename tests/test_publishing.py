"""A ledger is published whatever lies in it: a picture that cannot be drawn anew is kept back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from io import BytesIO

import pytest
from click.testing import CliRunner
from PIL import Image

from ledger.cli import main
from ledger.handing_over import DAMAGED, Wanted, hand_over
from ledger.publish.sitedb import DATABASE_FILE
from ledger.publishing import publish
from ledger.record import exhibits
from ledger.record.store import Ledger
from ledger.workflow import record_files

WHEN = "2026-03-02T10:00:00Z"
SHEET = """\
bench_sheet: 1
instrument: {id: one, kind: lap-steel, name: One, invented: yes}
sources:
- {id: bench, kind: examination, title: On the bench, date: 2026-03-01}
exhibits:
- {id: whole, file: whole.png, caption: The whole of it}
- {id: torn, file: torn.png, caption: The back of it}
marks:
- {id: code, source: bench, position: pot.1, text: "134 818", exhibits: [whole, torn]}
"""


def _png(colour, **settings):
    written = BytesIO()
    Image.new("RGB", (8, 6), colour).save(written, "PNG", **settings)
    return written.getvalue()


@pytest.fixture
def ledger_path(tmp_path, monkeypatch):
    """A ledger in which a picture lies that is refused by now: what its camera wrote is damaged."""
    (tmp_path / "whole.png").write_bytes(_png("red"))
    (tmp_path / "torn.png").write_bytes(_png("blue", exif=b"neither order of bytes"))
    (tmp_path / "sheet.yaml").write_text(SHEET, encoding="utf-8")
    with monkeypatch.context() as patched:
        patched.setattr(exhibits, "check_picture", lambda _: None)
        record_files(tmp_path / "ledger.db", [tmp_path / "sheet.yaml"], "examiner A", WHEN)
    return tmp_path / "ledger.db"


def _published(site):
    with closing(sqlite3.connect(site / DATABASE_FILE)) as database:
        shown = "SELECT caption FROM exhibit JOIN exhibit_file USING (sha256)"
        return [caption for (caption,) in database.execute(shown)]


def test_a_damaged_picture_is_kept_back_and_told_and_the_others_are_published(
    ledger_path, tmp_path
):
    said = []
    with Ledger.open(ledger_path, read_only=True) as ledger:
        site = publish(ledger, tmp_path / "site", say=said.append)
    (sentence,) = said
    assert "one/torn cannot be drawn anew" in sentence
    assert "Save it again" in sentence
    assert _published(site) == ["The whole of it."]


def test_the_command_says_which_picture_it_kept_back(ledger_path, tmp_path):
    words = ["publish", "--site", str(tmp_path / "site"), "--ledger", str(ledger_path)]
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output
    assert "Kept back: the picture" in result.output
    assert "Published to" in result.output


def test_a_dossier_says_that_a_damaged_picture_is_not_shown(ledger_path):
    with Ledger.open(ledger_path, read_only=True) as ledger:
        dossier = hand_over(ledger, Wanted("one", "report", WHEN)).dossier
    kept_back = {each.caption.rstrip("."): each.kept_back for each in dossier.exhibits}
    assert kept_back["The back of it"] == DAMAGED
    assert kept_back["The whole of it"] == ""
