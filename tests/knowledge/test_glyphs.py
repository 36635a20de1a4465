"""Glyphs in doubt are kept in doubt."""

from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.glyphs import (
    collapsed,
    digit_fields,
    possible_count,
    possible_texts,
    read_glyphs,
)


def test_a_bracket_holds_the_glyphs_that_one_may_be():
    assert [g.options for g in read_glyphs("[38]1")] == ["38", "1"]
    assert [g.options for g in read_glyphs("[3,8]")] == ["38"]


def test_a_bracket_that_is_not_closed_or_is_empty_stands_for_itself():
    assert [g.options for g in read_glyphs("[3")] == ["[", "3"]
    assert [g.options for g in read_glyphs("[]")] == ["[", "]"]


def test_dashes_of_print_and_runs_of_spaces_are_made_plain():
    assert collapsed(" 912\u2013611  x ") == "912-611 x"


def test_separators_stand_between_fields_and_nowhere_else():
    assert digit_fields(read_glyphs("912-6-11"), (3, 1, 2)) is not None
    assert digit_fields(read_glyphs("9-12611"), (3, 1, 2)) is None
    assert digit_fields(read_glyphs("912--611"), (3, 1, 2)) is None
    assert digit_fields(read_glyphs("-912611"), (3, 1, 2)) is None
    assert digit_fields(read_glyphs("912611-"), (3, 1, 2)) is None


@given(st.text(max_size=30))
def test_every_text_has_glyphs_and_none_without_an_option(text):
    glyphs = read_glyphs(text)
    assert all(glyph.options for glyph in glyphs)
    assert "".join(g.written for g in glyphs) == collapsed(text)


@given(st.lists(st.sampled_from(["1", "?", "[38]", "-"]), max_size=4))
def test_as_many_texts_are_possible_as_are_counted(parts):
    glyphs = read_glyphs("".join(parts))
    texts = list(possible_texts(glyphs))
    assert len(texts) == len(set(texts)) == possible_count(glyphs)
