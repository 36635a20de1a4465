"""The built-in starting values hold together; they are common practice, no source."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import ledger
from ledger.basis.conformity import Passing
from ledger.references import Practice, TraceKind

ANYTHING = "[a-z-]+"
ROOM = Path(ledger.__file__).parent

# By item: the shortest tenth, the median and the longest tenth.
LAGS = {
    "component": (3, 10, 32),
    "component-slow": (8, 26, 100),
    "wood-stamp": (2, 6, 20),
    "transformer": (2, 8, 26),
    "loudspeaker": (1, 6, 20),
}


@pytest.mark.parametrize(("item", "weeks"), LAGS.items(), ids=LAGS)
def test_every_lag_is_that_of_the_trade(packs, item, weeks):
    row = packs.practice(f"lag-{item}-median-weeks").row
    assert (row.low, row.value, row.high) == weeks


def names_in_code():
    """What the code and the catalogues call rows of practice by, as patterns."""
    for path in ROOM.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield re.escape(node.value)
            elif isinstance(node, ast.JoinedStr):
                parts = [
                    re.escape(part.value) if isinstance(part, ast.Constant) else ANYTHING
                    for part in node.values
                ]
                written = "".join(part for part in parts if part != ANYTHING)
                # What is written of it says enough to be a name.
                if re.sub(r"[a-z-]", "", written.replace("\\", "")) == "" and (
                    sum(letter.isalpha() for letter in written) > 3
                ):
                    yield "".join(parts)
    for path in ROOM.rglob("*.yaml"):
        yield from re.findall(r"lag: ([a-z-]+)", path.read_text(encoding="utf-8"))


def test_every_starting_value_is_read_by_the_code_or_named_by_a_catalogue(packs):
    whole = re.compile("|".join(sorted(set(names_in_code()))))
    names = [row.row.id for row in packs.rows(Practice)]
    assert len(names) > 50
    unread = [name for name in names if whole.fullmatch(name) is None]
    assert unread == []


@pytest.mark.parametrize("kind", ["mix", "mix-collected"])
def test_each_mix_of_replacements_adds_up(packs, kind):
    parts = [packs.practice(f"{kind}-{part}").row for part in ("service", "matching", "transplant")]
    assert sum(part.value for part in parts) == pytest.approx(1)


def test_a_matching_code_tells_little_once_the_mix_is_taken_in(packs):
    # 0.85 / (0.7 x 0.02 + 0.3 x 0.8) = 3.35, not the 42 of a service part alone.
    shares = [
        packs.practice(name).row.value
        for name in (
            "code-in-window-first-fitted",
            "mix-service",
            "code-in-window-service",
            "code-in-window-matching",
        )
    ]
    first, service, of_service, of_matching = shares
    ratio = first / (service * of_service + (1 - service) * of_matching)
    assert ratio == pytest.approx(3.35, abs=0.01)
    assert first / of_service == pytest.approx(42.5)


def test_passing_what_nearly_all_pass_is_a_ratio_of_about_one(packs):
    names = ("passing-first-fitted", "passing-replacements")
    assert Passing(*(packs.practice(name).row.value for name in names)).tells_nothing


def test_every_starting_value_has_a_range_and_says_what_it_is(packs):
    for row in packs.rows(Practice):
        assert row.row.low < row.row.high, row.id
        assert row.row.note, row.id
        assert row.row.confidence != "high", row.id
        if row.row.unit.startswith("share"):
            assert row.row.low > 0, row.id
            assert row.row.high < 1, row.id


def test_a_trace_against_a_part_says_what_it_points_to(packs):
    for row in packs.rows(TraceKind):
        if row.row.against_service[1] < 1:
            assert row.row.suggests, row.id
