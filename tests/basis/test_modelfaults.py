from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field

from ledger import lines
from ledger.basis.modelfaults import (
    PATTERNS_IN_WORDS,
    did_you_mean,
    fitted,
    read_model,
    typed,
)
from ledger.basis.yamltext import read_tree
from ledger.errors import FaultsFound
from ledger.models import BenchSheet
from ledger.references import PackFile


class Inner(BaseModel):
    model_config = ConfigDict(extra="forbid")
    colour: Literal["red", "green"] = "red"
    shade: Literal["dark", "light"] | None = None
    pair: tuple[Annotated[str, Field(max_length=3)], str] | None = None
    code: Annotated[str, Field(pattern="^x+$")] = "x"


class Outer(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: Annotated[str, Field(min_length=1, description="what it is called")]
    size: int = 0
    inners: tuple[Inner, ...] = Field(default=(), min_length=1)
    by_two: tuple[str, ...] = Field(default=(), max_length=2)
    loose: dict[str, Inner] = {}


def _told(text, model=Outer):
    with pytest.raises(FaultsFound) as caught:
        read_model(text.encode(), "f.yaml", model)
    return [str(fault).removeprefix("f.yaml:") for fault in caught.value.faults]


def test_a_tree_that_fits_gives_the_model():
    assert read_model(b"name: x\nsize: 3\n", "f", Outer) == Outer(name="x", size=3)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "name: x\nnam: y\n",
            "2:1: nam: found the key 'nam'; expected one of name, size, inners, by_two, loose. Did you mean name?",
        ),
        ("size: 1\n", "1:1: name: found nothing; expected name: what it is called"),
        ("name: ''\n", "1:7: name: found nothing; expected some text"),
        ("name: [x]\n", "1:7: name: found a list; expected text"),
        ("name: {x: y}\n", "1:7: name: found a group of keys; expected text"),
        (
            "[x]\n",
            "1:1: found a list; expected keys with their values, one a line, such as id: label",
        ),
        (
            "name: x\nsize: many\n",
            "2:7: size: found 'many'; expected Input should be a valid integer, unable to parse string as an integer",
        ),
        ("name: x\ninners: y\n", "2:9: inners: found 'y'; expected a list, such as [one, two]"),
        ("name: x\ninners: []\n", "2:9: inners: found a list of no items; expected at least 1"),
        (
            "name: x\nby_two: [a, b, c]\n",
            "2:9: by_two: found a longer list; expected at most 2 items",
        ),
        (
            "name: x\ninners:\n- colour: gren\n",
            "3:11: inners[1].colour: found 'gren'; expected one of: red; green. Did you mean green?",
        ),
        (
            "name: x\ninners:\n- pair: [abcd, b]\n",
            "3:10: inners[1].pair[1]: found 4 characters; expected at most 3 characters",
        ),
        (
            "name: x\ninners:\n- pair: [abc]\n",
            "3:9: inners[1].pair[2]: found nothing; expected an item 2 of the list",
        ),
        (
            "name: x\ninners:\n- shade: lite\n",
            "3:10: inners[1].shade: found 'lite'; expected one of: dark; light. Did you mean light?",
        ),
        (
            "name: x\ninners:\n- code: y\n",
            "3:9: inners[1].code: found 'y'; expected text of the pattern ^x+$",
        ),
        (
            "name: x\nloose: {a: {colour: blue}}\n",
            "2:21: loose.a.colour: found 'blue'; expected one of: red; green",
        ),
    ],
    ids=lambda text: text[:30],
)
def test_each_misfit_says_where_what_and_what_is_expected(text, told):
    assert _told(text) == [told]


def test_all_misfits_are_told_together_and_in_the_order_of_the_file():
    told = _told("name: ''\nnam: y\ninners:\n- {colour: gren, other: 1}\n")
    assert [line.split(": ")[0] for line in told] == ["1:7", "2:1", "4:12", "4:18"]


def test_faults_of_reading_and_fitting_are_told_together_but_not_twice():
    tree = read_tree(b"name: x\nname: y\nsize: !t z\nother: 1\n", "f")
    value, faults = fitted(tree, Outer)
    assert value is None
    assert [(fault.line, fault.column) for fault in faults] == [(2, 1), (3, 7), (4, 1)]


def test_a_fault_of_reading_refuses_what_would_fit():
    (told,) = _told("name: x\nname: y\n")
    assert told == (
        "2:1: name: found the key 'name' again; it is also in line 1; expected each key once. "
        "Keep one of them"
    )


def test_the_patterns_of_the_models_are_told_in_words():
    assert set(PATTERNS_IN_WORDS) == {lines.ID_PATTERN, lines.POSITION_PATTERN}


def test_a_fault_of_the_trade_keeps_its_own_words():
    sheet = "bench_sheet: 1\ninstrument: {id: a, kind: b, name: c, invented: maybe}\n"
    assert _told(sheet, BenchSheet) == [
        "2:49: instrument.invented: found 'maybe'; expected yes or no"
    ]


def test_rules_over_several_keys_are_told_at_their_line():
    sheet = (
        "bench_sheet: 1\ninstrument: {id: a, kind: b, name: c}\n"
        "traces:\n- id: t\n  source: s\n  trace: holes\n"
    )
    (told,) = _told(sheet, BenchSheet)
    assert told.startswith("4:3: traces[1]: found no positions; expected at least one")


def test_rows_of_a_pack_without_source_or_confidence_are_refused():
    pack = "pack: p\ntitle: t\nversion: 1\nfacts:\n- {id: f, mark: x, means: y, not_before: 1950}\n"
    told = _told(pack, PackFile)
    assert [line.split(": ")[1] for line in told] == ["facts[1].confidence", "facts[1].source"]


def test_what_was_typed_is_quoted():
    assert [typed("x"), typed(""), typed([]), typed({})] == [
        "'x'",
        "nothing",
        "a list",
        "a group of keys",
    ]


def test_nothing_is_suggested_where_nothing_is_near():
    assert did_you_mean("zzz", ["label"]) == ""
