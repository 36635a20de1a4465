"""No pattern of a pack can keep the reader of a mark busy for ever."""

from __future__ import annotations

import re
from itertools import chain, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.pattern_cost import LONG_MARK, MOST_WAYS, ways_to_match
from ledger.errors import FaultsFound
from ledger.holdings import schema_file
from ledger.knowledge.packs import read_pack

ENDLESS = ["(a+)+b", "(a|a)*b", "(a*)*b", "(a|ab)*c", r"(\w+\s?)*!", "(x+x+)+y", "(((a?)?)?)*b",
           "(.*a){20}", "a?" * 40 + "a" * 40, ".*.*.*.*x", "(a{1,50}){1,50}b", "(?:a+){2,}b"]  # fmt: skip


@pytest.mark.parametrize("pattern", ENDLESS)
def test_a_pattern_known_to_take_for_ever_is_refused(pattern):
    ways = ways_to_match(pattern)
    assert ways is None or ways > MOST_WAYS


def test_a_pack_with_such_a_pattern_does_not_load(tmp_path):
    text = schema_file("example-pack.yaml").read_text(encoding="utf-8")
    assert 'pattern: "([0-9]{4})"' in text
    path = tmp_path / "pack.yaml"
    text = text.replace('pattern: "([0-9]{4})"', "pattern: '([0-9]+)+x'", 1)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FaultsFound, match="busy for ever"):
        read_pack(path)


# Small patterns of every shape, with the number of ways counted by writing each of them out.
pieces = st.recursive(
    st.sampled_from(["a", "b", "[ab]", r"\d", "."]),
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=2).map(lambda parts: "(" + "".join(parts) + ")"),
        st.tuples(inner, inner).map(lambda two: f"(?:{two[0]}|{two[1]})"),
        st.tuples(inner, st.sampled_from(["?", "{2}", "{1,2}", "*"])).map(
            lambda two: f"(?:{two[0]}){two[1]}"
        ),
    ),
    max_leaves=5,
)


def _written_out(node):
    """Every way through a parsed pattern, as the sequence of its single signs."""
    kind, value = node
    if kind == "sequence":
        return [list(chain(*each)) for each in product(*(_written_out(inner) for inner in value))]
    if kind == "either":
        return [way for inner in value for way in _written_out(inner)]
    if kind == "times":
        inner, least, most = value
        ways = _written_out(inner)
        return [
            list(chain(*each))
            for count in range(least, most + 1)
            for each in product(ways, repeat=count)
        ]
    return [[value]]


nodes = st.recursive(
    st.sampled_from([("sign", "a"), ("sign", "[ab]"), ("sign", r"\d")]),
    lambda inner: st.one_of(
        st.tuples(st.just("sequence"), st.lists(inner, min_size=1, max_size=3)),
        st.tuples(st.just("either"), st.lists(inner, min_size=2, max_size=3)),
        st.tuples(
            st.just("times"),
            st.tuples(inner, st.integers(0, 2), st.integers(0, 2)).map(
                lambda t: (t[0], t[1], t[1] + t[2])
            ),
        ),
    ),
    max_leaves=5,
)


def _pattern(node):
    kind, value = node
    if kind == "sequence":
        return "(" + "".join(map(_pattern, value)) + ")"
    if kind == "either":
        return "(?:" + "|".join(map(_pattern, value)) + ")"
    if kind == "times":
        inner, least, most = value
        return f"({_pattern(inner)}){{{least},{most}}}"
    return value


@settings(deadline=None, max_examples=150)
@given(nodes)
def test_the_ways_are_those_that_are_found_by_writing_them_out(node):
    pattern = _pattern(node)
    re.compile(pattern)
    assert ways_to_match(pattern) == max(1, len(_written_out(node)))


@pytest.mark.filterwarnings("ignore:Possible:FutureWarning")
@pytest.mark.filterwarnings("ignore:Flags not at the start:DeprecationWarning")
@settings(deadline=None, max_examples=200)
@given(st.text(alphabet="ab()[]|*+?{},12\\.^$-:=!<>P#", max_size=30))
def test_whatever_compiles_has_its_ways_counted(pattern):
    try:
        re.compile(pattern)
    except (re.error, OverflowError, RecursionError):
        return
    ways = ways_to_match(pattern)
    assert ways is None or ways >= 1


@settings(deadline=2_000, max_examples=60)
@given(pieces, st.integers(0, 200))
def test_a_pattern_that_is_taken_answers_soon(pattern, length):
    ways = ways_to_match(f"({pattern}){pattern}x")
    if ways is not None and ways <= LONG_MARK:
        re.fullmatch(f"({pattern}){pattern}x", "a" * length + "!")
