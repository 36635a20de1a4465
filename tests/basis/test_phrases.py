from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.phrases import is_said_in_doubt, phrase_in, plain_words


@pytest.mark.parametrize(
    ("text", "phrases", "found"),
    [
        ("Cross-recess screws", ["cross recess*"], "cross recess*"),
        ("CROSS RECESSED", ["cross recess*"], "cross recess*"),
        ("across recess", ["cross recess"], None),
        ("nylon", ["nylon"], "nylon"),
        ("nylons", ["nylon"], None),
        ("nylons", ["nylon*"], "nylon*"),
        ("seashell", ["shell"], None),
        ("white nylon, cracked", ["celluloid", "nylon"], "nylon"),
        ("", ["nylon"], None),
    ],
    ids=str,
)
def test_phrases_are_found_as_whole_words(text, phrases, found):
    assert phrase_in(text, phrases) == found


@pytest.mark.parametrize(
    ("text", "is_doubtful"),
    [
        ("nylon", False),
        ("nylon?", True),
        ("not nylon", True),
        ("celluloid or casein", True),
        ("imitation tortoiseshell", True),
        ("notched nylon", False),
        ("fork of nylon", False),
    ],
    ids=str,
)
def test_what_is_denied_or_left_open_is_told_from_what_is_said(text, is_doubtful):
    assert is_said_in_doubt(text) is is_doubtful


@given(st.text(max_size=200))
def test_any_text_has_plain_words_that_stay_as_they_are(text):
    words = plain_words(text)
    assert plain_words(words) == words


@given(st.text(max_size=60), st.from_regex(r"[a-z][a-z -]{0,10}", fullmatch=True))
def test_a_phrase_put_into_a_text_is_found_there(text, phrase):
    assert phrase_in(f"{text} {phrase} {text}", [phrase]) == phrase
    assert phrase_in(text, ["-", "*"]) is None
