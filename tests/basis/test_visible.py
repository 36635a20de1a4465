from __future__ import annotations

import json
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.visible import visible, visible_json, without_hidden

# Names are of the Unicode Character Database; the pairs are in Unicode Technical Standard 39,
# confusables.txt (from memory).
ALIKE = {
    "one-letter": ("C\N{CYRILLIC SMALL LETTER O}rbel", "is Cyrillic, U+043E"),
    "capital": ("\N{CYRILLIC CAPITAL LETTER A} 1234", "is Cyrillic, U+0410"),
    "greek": ("M\N{GREEK SMALL LETTER OMICRON}del", "is Greek, U+03BF"),
    "armenian": ("m\N{ARMENIAN SMALL LETTER OH}del", "is Armenian, U+0585"),
    "whole-word": ("\u0421\u041e\u0421", "is Cyrillic, U+0421"),
    "styled": ("N\N{MATHEMATICAL BOLD SMALL O} 12", "mathematical bold small o"),
    "numeral": ("\N{SMALL ROMAN NUMERAL FIFTY}ist", "small roman numeral fifty"),
    "kelvin": ("4\N{KELVIN SIGN}7", "kelvin sign"),
}


@pytest.mark.parametrize(("text", "said"), ALIKE.values(), ids=ALIKE)
def test_a_letter_that_imitates_another_is_named(text, said):
    assert said in visible(text)


@pytest.mark.parametrize(
    "text",
    ["plain", "Größe 4½ \N{MULTIPLICATION SIGN} 3″", "10 kΩ, 0.1 µF, 0.1 \u03bcF, 21 °C", "Москва, завод «Октава»",
     "\N{GREEK CAPITAL LETTER ALPHA} Ω и Ж", "日本製 №12", "© ® ™ ²", "a\tb\nc", "Čermák, Łódź, İzmir", "⚠️ 😀"],
)  # fmt: skip
def test_text_that_is_what_it_seems_is_left_alone(text):
    assert visible(text) == text


@pytest.mark.parametrize(
    "sign",
    ["\0", "\x07", "\x1b", "\x7f", "\x9b", "\xad", "\u061c", "\u200b", "\u200d", "\u200e",
     "\u202a", "\u202e", "\u2060", "\u2066", "\u2069", "\u3164", "\ufeff", "\U000e0041", "\ufe00"],
    ids=lambda sign: f"U+{ord(sign):04X}",
)  # fmt: skip
def test_what_would_not_be_seen_is_told(sign):
    assert visible(f"12{sign}34") == f"12«U+{ord(sign):04X}»34"
    assert without_hidden(f"12{sign}34") == "12\ufffd34"


@given(st.text())
def test_nothing_hidden_is_left_and_what_was_shown_once_stays(text):
    shown = visible(text)
    assert visible(shown) == shown
    for sign in shown:
        assert unicodedata.category(sign) not in ("Cc", "Cs") or sign in "\t\n"
        assert unicodedata.bidirectional(sign) not in (
            "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"
        )  # fmt: skip


@given(st.dictionaries(st.text(max_size=5), st.text(max_size=20), max_size=3))
def test_json_says_the_same_and_shows_it_by_escapes(value):
    text = visible_json(json.dumps(value, ensure_ascii=False, indent=1))
    assert json.loads(text) == value
    assert without_hidden(text.replace("\x7f", "")) == text.replace("\x7f", "")
