"""The quick way of putting entries in words, held to the plain one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.record.chaining import chained
from ledger.record.changes import Book, Change, Withheld
from ledger.record.entries import FIRST_PREVIOUS, Head, entry_hash

TIME = "2026-03-02T10:00:00Z"
START = Head(0, FIRST_PREVIOUS)

texts = st.text(st.characters(codec="utf-8"))
bodies = st.dictionaries(
    texts, texts | st.none() | st.integers(-9, 9) | st.lists(texts) | st.floats(-9, 9)
)
lines = st.tuples(texts, texts, texts, bodies | st.none())


@given(st.lists(lines, min_size=1, max_size=4), texts)
def test_entries_are_those_that_are_made_one_by_one(given_lines, recorder):
    changes = [
        Change("record" if body is not None else "retract", Book("pack", book), section, line, body)
        for book, section, line, body in given_lines
    ]
    made = chained(changes, START, recorder, TIME)
    before = START
    for change, entry, row in zip(changes, made, made.rows, strict=True):
        assert entry.hash == entry_hash(entry) == row[-1]
        assert (entry.sequence, entry.previous) == (before.sequence + 1, before.hash)
        assert (entry.book, entry.section, entry.line) == (
            change.book.id,
            change.section,
            change.line,
        )
        assert (entry.body, entry.act, entry.recorder) == (change.body, change.act, recorder)
        before = Head(entry.sequence, entry.hash)


def test_what_was_appended_is_a_sequence_of_entries():
    book = Book("instrument", "a")
    hidden = Withheld("c" * 64, "5" * 32, "holder", ["A", 1])
    changes = [Change("record", book, "marks", f"m-{at}", {"id": at}, (hidden,)) for at in range(3)]
    made = chained(changes, START, "me", TIME)
    assert [entry.line for entry in made] == ["m-0", "m-1", "m-2"]
    assert (made[-1].sequence, len(made)) == (3, 3)
    assert made[1:] == (made[1], made[2])
    assert made == tuple(made)
    assert made == chained(changes, START, "me", TIME)
    assert made != tuple(made)[1:]
    assert made != 3
    assert len({made, chained(changes, START, "me", TIME)}) == 1
    assert made.hidden[0] == ("c" * 64, "5" * 32, '["A",1]', "a", "m-0", "holder")
    assert not chained([], START, "me", TIME)


def test_what_json_cannot_carry_is_refused():
    change = Change("record", Book("pack", "p"), "rows", "r", {"n": float("nan")})
    with pytest.raises(ValueError, match="canonical"):
        chained([change], START, "me", TIME)
