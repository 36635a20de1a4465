"""What a record hides from the eye is told on pages and in print, and its data stay as they are."""

from __future__ import annotations

import asyncio
import json
import re

import pytest
from click.testing import CliRunner

from ledger.cli import main
from ledger.publish.site import datasette_for
from ledger.publishing import publish
from ledger.record.changes import Book, Change
from ledger.record.store import Ledger

OVERRIDE, ESCAPE, JOINER = "\N{RIGHT-TO-LEFT OVERRIDE}", "\x1b[2J", "\N{ZERO WIDTH SPACE}"
IMITATED = "C\N{CYRILLIC SMALL LETTER O}rbel"
NAME = f"{IMITATED} steel {OVERRIDE}gnp{ESCAPE}"
SAYS = f"No{JOINER} one {OVERRIDE}<b>said</b>{ESCAPE} {IMITATED}."
NEVER_SHOWN = re.compile(f"[{OVERRIDE}{JOINER}\x1b\x9b]")


@pytest.fixture(scope="module")
def hidden(tmp_path_factory):
    """A ledger that a program of somebody else has written: no sheet would be read with this."""
    path = tmp_path_factory.mktemp("hidden") / "ledger.db"
    book = Book("instrument", "steel")
    about = {"id": "steel", "kind": "lap-steel", "name": NAME, "maker": IMITATED, "invented": True}
    lines = [
        ("instrument", "instrument", about),
        ("sources", "bench", {"id": "bench", "kind": "examination", "title": SAYS}),
        (
            "marks",
            "code",
            {"id": "code", "source": "bench", "position": "pot.volume", "text": NAME},
        ),
        ("questions", "open", {"id": "open", "question": SAYS}),
    ]
    with Ledger.create(path) as ledger:
        ledger.append(
            [Change("record", book, *line) for line in lines],
            recorder="somebody else",
            recorded_at="2026-03-02T10:00:00Z",
        )
    return path


@pytest.fixture(scope="module")
def pages(hidden):
    with Ledger.open(hidden, read_only=True) as ledger:
        site = datasette_for(publish(ledger, hidden.parent / "site"))
    return lambda path: asyncio.run(site.client.get(path))


@pytest.mark.parametrize(
    "path",
    ["/", "/instrument/steel", "/search?q=steel", "/witnessmark/line", "/witnessmark/instrument",
     "/witnessmark/line/steel~2Fcode", "/questions/open-matters", "/instrument/steel.json"],
)  # fmt: skip
def test_what_a_record_hides_is_told_on_every_page(pages, path):
    answer = pages(path)
    assert answer.status_code == 200
    assert not NEVER_SHOWN.search(answer.text)
    if not path.endswith(".json"):
        assert "<b>said" not in answer.text
        assert "«U+202E»" in answer.text
        assert "Cyrillic, U+043E»" in answer.text or "open-matters" in path


def test_data_are_what_was_recorded(pages):
    assert json.loads(pages("/instrument/steel.json").text)["name"] == NAME


@pytest.mark.parametrize(
    "words", [["weigh", "steel"], ["instruments"], ["explain", "steel/state.pot.volume"]],
    ids=lambda words: words[0],
)  # fmt: skip
def test_what_a_record_hides_is_told_where_it_is_printed(hidden, words):
    result = CliRunner().invoke(main, [*words, "--ledger", str(hidden)], color=True)
    assert result.exit_code == 0, result.output
    assert not NEVER_SHOWN.search(result.output)
    assert "«U+202E»" in "".join(result.output.split())
    data = CliRunner().invoke(main, ["weigh", "steel", "--json", "--ledger", str(hidden)])
    assert not NEVER_SHOWN.search(data.output)
    assert json.loads(data.output)["name"] == NAME


def test_a_fault_repeats_nothing_that_a_terminal_would_obey(tmp_path):
    path = tmp_path / f"sheet{OVERRIDE}.yaml"
    path.write_text("bench_sheet: 1\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(path)], color=True)
    assert result.exit_code == 1
    assert not NEVER_SHOWN.search(result.output)
