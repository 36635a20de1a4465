"""The commands that ask the packs say in words what they do not know."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from ledger.cli import main


def said(tmp_path, *words):
    ledger = str(tmp_path / "none.db")
    result = CliRunner().invoke(main, [*words, "--ledger", ledger])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.output


@pytest.mark.parametrize("place", [(), ("--position", "pot.1")], ids=["anywhere", "placed"])
def test_a_kind_that_nobody_describes_is_told_with_those_there_are(tmp_path, place):
    code, output = said(tmp_path, "read-mark", "134 448", "--kind", "Not A Kind", *place)
    assert code == 1
    assert "There is no kind of instrument named 'Not A Kind'" in output
    assert "lap-steel" in output


def test_a_scheme_that_no_pack_has_is_told(tmp_path):
    code, output = said(tmp_path, "read-mark", "134 448", "--scheme", "x y")
    assert code == 0
    assert "No pack at hand has a scheme named 'x y'" in output


def test_a_long_mark_is_answered_whatever_the_scheme(tmp_path):
    code, output = said(tmp_path, "read-mark", "1" * 5_000, "--scheme", "edtf")
    assert code == 0
    assert "Nothing at hand reads it" in output
