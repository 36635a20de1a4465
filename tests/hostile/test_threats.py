"""The threats in the developers' page name promises, and for each promise tests that are there."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SECTION = (
    (ROOT / "DEVELOPERS.md")
    .read_text(encoding="utf-8")
    .split("\n## Threats\n")[1]
    .split("\n## ")[0]
)
ROWS = [
    [cell.strip() for cell in line.strip("|").split(" | ")]
    for line in SECTION.splitlines()
    if line.startswith("| ") and not line.startswith("| promise")
]
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")


def test_every_promise_is_held_by_a_test_that_is_there():
    assert len(ROWS) > 20
    known: dict[str, set[str]] = {}
    for promise, held_by in ROWS:
        named = NAMED.findall(held_by)
        assert named, promise
        assert NAMED.sub("", held_by).strip() == "", promise
        for path, test in named:
            if path not in known:
                tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
                known[path] = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
            assert test in known[path], f"{path}::{test}"


def test_it_says_who_might_attack_and_what_is_not_promised():
    assert "**Who, and what they want.**" in SECTION
    assert "**What is not promised.**" in SECTION
