"""No pattern of a pack can keep the reader of a mark busy for ever."""

from __future__ import annotations

import re
from importlib import import_module
from itertools import chain, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.pattern_cost import LONG_MARK, MOST_WAYS, ways_to_match
from ledger.errors import FaultsFound
from ledger.holdings import schema_file
from ledger.knowledge.packs import read_pack

ENDLESS = ["(a+)+b", "(a|a)*b", "(a*)*b", "(a|ab)*c", r"(\w+\s?)*!", "(x+x+)+y", "(((a?)?)?)*b",
           "(.*a){20}", "a?" * 40 + "a" * 40, ".*.*.*.*x", "(a{1,50}){1,50}b", "(?:a+){2,}b",
           "(a+(?#x))+b", "(a+)(?#x)+b", "(a+(?#(|[))+b", "(?P<e>)(?:a+(?P=e))+b",
           "(?P<e>a*)(?:(?P=e)+)+b", "(?x)( a+ ) +b", "(?x:(a+ # )\n)+b)", "(?i)(?x)(a+) +b",
           "(?x)(?-x:a+)\t+b", "(.*){}(.*){}(.*){}(.*){}x", ".*.*.*x|c*",
           "a*a*a{0,29}a*"]  # fmt: skip


@pytest.mark.parametrize("pattern", ENDLESS)
def test_a_pattern_known_to_take_for_ever_is_refused(pattern):
    re.compile(pattern)
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


@pytest.mark.parametrize(
    ("pattern", "ways"),
    [
        ("[0-9]{4}(?#the year)", 1),
        ("(?#of the house)(?:ab(?# ) )?c", 2),
        ("(?P<e>a?)(?P=e)b", 2),
        ("(?x) [ ] a {2,3} # the ) of a comment\n b", 2),
        ("(?x: a # |\n) {2}", 1),
        ("a{}b{,2}", 3),
        (r"\(\)[)(]{1,2}", 2),
        ("x|.*", 2),
    ],
)
def test_what_is_nothing_or_one_sign_in_a_pattern_is_counted_as_that(pattern, ways):
    assert ways_to_match(pattern) == ways


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


# What the standard library itself reads in a pattern; its reader is not public, and so is held
# against ours here and used nowhere else.
parser = import_module("re._parser")
LEAVES = ["a", "b", ".", r"\d", r"\(", "[ab]", "[)]", "[](#]", "[^(|]", "{}", "{", "}", ")", "(",
          "(?#x)", "(?#()", "(?P=e)", r"\1", " ", "\n", "# )\n", "#(", "#"]  # fmt: skip
HEADS = ["(", "(?:", "(?=", "(?!", "(?>", "(?i:", "(?x:", "(?-x:", "(?x-i:", "(?(e)", "(?(1)"]
TIMES = [
    "*",
    "+",
    "?",
    "{2}",
    "{1,3}",
    "{,2}",
    "{2,}",
    "{,}",
    "{}",
    "+?",
    "*+",
    " +",
    "(?#)+",
    "\n{2}",
]
patterns = st.recursive(
    st.sampled_from(LEAVES),
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map("".join),
        st.tuples(st.sampled_from(HEADS), inner).map(lambda two: f"{two[0]}{two[1]})"),
        st.tuples(inner, inner).map("|".join),
        st.tuples(inner, st.sampled_from(TIMES)).map("".join),
    ),
    max_leaves=8,
)
starts = st.sampled_from(
    ["", "(?P<e>a)", "(?P<e>a*)", "(?x)(?P<e>)", "(?#c)(?x)", "(?i)(?x)", "(?s)"]
)


def _ways_read(tree):
    """The ways through what the standard library read, counted as ours are; None: without end."""
    ways = 1
    for name, value in tree:
        kind = str(name)
        each = 1
        if kind.endswith("REPEAT"):
            least, most, inner = value
            once = _ways_read(inner)
            if most == parser.MAXREPEAT:
                each = LONG_MARK if once == 1 else None
            elif once is not None:
                each = sum(once**times for times in range(least, most + 1))
            else:
                each = None
        elif kind == "BRANCH":
            each = _sum(value[1])
        elif kind in ("SUBPATTERN", "ATOMIC_GROUP"):
            each = _ways_read(value[-1] if kind == "SUBPATTERN" else value)
        elif kind in ("ASSERT", "ASSERT_NOT"):
            each = _ways_read(value[1])
        elif kind == "GROUPREF_EXISTS":
            each = _sum([inner for inner in value[1:] if inner is not None])
        if each is None:
            return None
        ways *= each
    return ways


def _sum(trees):
    found = [_ways_read(tree) for tree in trees]
    return None if None in found else sum(found)


@pytest.mark.filterwarnings("ignore:Possible:FutureWarning")
@settings(deadline=None, max_examples=800)
@given(starts, patterns)
def test_never_fewer_ways_are_counted_than_the_standard_library_reads(start, pattern):
    try:
        re.compile(start + pattern)
    except re.error:
        return
    ways = ways_to_match(f"{start}{pattern}\nx")
    if ways is not None:
        read = _ways_read(parser.parse(f"{start}{pattern}\nx"))
        assert read is not None
        assert ways >= read


@settings(deadline=None, max_examples=200)
@given(patterns)
def test_a_comment_changes_nothing_wherever_it_stands(pattern):
    try:
        re.compile(f"(?P<e>a){pattern}")
    except re.error:
        return
    bare = f"(?P<e>a)(?:{pattern})"
    told = f"(?#a)(?P<e>a(?#b))(?#c)(?:{pattern}(?#d))(?#e)"
    try:
        re.compile(told)
    except re.error:  # what ends in a comment of its own takes ours for a part of it
        return
    assert ways_to_match(told) == ways_to_match(bare)


@settings(deadline=2_000, max_examples=60)
@given(pieces, st.integers(0, 200))
def test_a_pattern_that_is_taken_answers_soon(pattern, length):
    ways = ways_to_match(f"({pattern}){pattern}x")
    if ways is not None and ways <= LONG_MARK:
        re.fullmatch(f"({pattern}){pattern}x", "a" * length + "!")
