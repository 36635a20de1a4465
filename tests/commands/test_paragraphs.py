"""How commands print lines of text."""

from __future__ import annotations

import click
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.visible import visible
from ledger.commands.paragraphs import WIDTH, say, wrapped

HIDDEN = "a\u202eb"


@given(st.lists(st.text("abc-", min_size=1, max_size=30), min_size=1), st.integers(0, 6))
def test_no_line_is_too_wide_and_no_word_is_lost(words, indent):
    text = " " * indent + " ".join(words)
    found = wrapped(text)
    assert all(len(line) <= WIDTH for line in found.splitlines())
    assert found.split() == text.split()


def test_what_hides_in_a_text_is_shown():
    @click.command()
    def said():
        say(["plain", HIDDEN, ""])

    assert visible(HIDDEN) != HIDDEN
    assert CliRunner().invoke(said, []).output == "\n".join(("plain", visible(HIDDEN), "", ""))
