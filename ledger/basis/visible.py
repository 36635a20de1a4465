"""Text as it is shown: what hides in it is told, what imitates Latin letters is named.

Two texts that look alike need not be alike. Characters that do not show, that turn the direction
of reading round or that a terminal would obey are replaced by their names in angle brackets. A
letter of another script that looks like a Latin one is named behind its word where it could
deceive: in a word that has Latin letters too, or in one made of nothing but such letters, in a
text without any other letter of that script. Text in another script that is plainly that is left
alone. The kept text is never changed, only what is shown of it.

The letters are those of Unicode Technical Standard 39, "Unicode Security Mechanisms", table
confusables.txt, as far as Greek, Cyrillic, Armenian and the letter-like signs go; a choice from
memory. What looks alike only in some typefaces (0 and O, 1 and l) is not told.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

# Controls but tab and line end; soft hyphen and fillers; marks of direction; joiners, since
# what they join reads the same without them; signs of variation and language tags.
_HIDDEN: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f"
    "\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ufeff\uffa0\ufff9-\ufffb\ud800-\udfff"
    "\ufdd0-\ufdef\ufffe\uffff\U000e0000-\U000e0fff]"
    "|(?<![\u2000-\u2bff\U0001f000-\U0001faff])[\ufe00-\ufe0f]"  # but behind a pictograph
)
_HIDDEN_IN_JSON: Final = re.compile(_HIDDEN.pattern.replace("\x0b-\x1f", "\x0b\x0c\x0e-\x1f"))
_WORD: Final = re.compile(r"[^\W_]+")
_BEYOND_ASCII: Final = re.compile(r"[^\W\x00-\x7f]")  # only in words is anything imitated
_IMITATING: Final = frozenset(
    "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧϹϳαγικνορστυχϲϺ"
    "АВЕЅІЈКМНОРСТУХЬаеѕіјорсухһԁԛԝҮүӀӏ"  # noqa: RUF001 - the same: Cyrillic
    "ՍՏՕօսցոհ"  # noqa: RUF001 - the same: Armenian
)
_SCRIPTS: Final = ("LATIN", "GREEK", "CYRILLIC", "ARMENIAN")


def visible(text: str) -> str:
    r"""The text with everything told that would not be seen.

    >>> visible("serial 12\u202e34")
    'serial 12«U+202E»34'
    >>> visible("C\u043erbel")
    'C\u043erbel«\u043e is Cyrillic, U+043E»'
    >>> visible("Москва, 10 k\u03a9"), visible("plain")
    ('Москва, 10 kΩ', 'plain')
    """
    if text.isascii() and text.isprintable():
        return text
    if _BEYOND_ASCII.search(text):
        text = _with_imitations_named(text)
    return with_hidden_named(text)


def with_hidden_named(text: str) -> str:
    r"""The text with what does not show named, and its letters left as they are.

    >>> with_hidden_named("<b>12\u202e34</b>")
    '<b>12«U+202E»34</b>'
    """
    return _HIDDEN.sub(_named, text)


def without_hidden(text: str) -> str:
    r"""The text with one sign, U+FFFD, for each character that would not be seen.

    >>> without_hidden("12\u202e34") == "12\ufffd34"
    True
    """
    return text if text.isascii() and text.isprintable() else _HIDDEN.sub("\ufffd", text)


def visible_json(text: str) -> str:
    r"""JSON that says the same, with everything that would not be seen written as an escape.

    >>> visible_json('{"a": "12\u202e34"}')
    '{"a": "12\\u202e34"}'
    """
    return text if text.isascii() else _HIDDEN_IN_JSON.sub(_escape, text)


def _named(match: re.Match[str]) -> str:
    return f"«U+{ord(match.group()):04X}»"


def _escape(match: re.Match[str]) -> str:
    number = ord(match.group())
    if number < 0x10000:
        return f"\\u{number:04x}"
    high, low = divmod(number - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"


def _with_imitations_named(text: str) -> str:
    plainly_so = {_script(letter) for letter in set(text) if letter.isalpha()} & {
        _script(letter)
        for letter in set(text)
        if letter.isalpha() and letter not in _IMITATING and _as_ascii(letter) is None
    }
    pieces: list[str] = []
    at = 0
    for word in _WORD.finditer(text):
        if word.start() < at:  # within a note that stands there already
            continue
        found = "; ".join(_imitations(word.group(), plainly_so - {"LATIN"}))
        if found:
            note = f"«{found}»"
            pieces += [text[at : word.end()], note]
            at = word.end() + len(note) * text.startswith(note, word.end())
    return "".join((*pieces, text[at:])) if pieces else text


def _imitations(word: str, plainly_so: set[str]) -> Iterator[str]:
    """What is to be told of each letter of the word that could be taken for a Latin one."""
    if word.isascii():
        return
    has_latin = any(_script(letter) == "LATIN" and letter.isalpha() for letter in word)
    is_all_alike = all(letter in _IMITATING or not letter.isalpha() for letter in word)
    for letter in dict.fromkeys(word):
        if letter in _IMITATING:
            script = _script(letter)
            if has_latin or (is_all_alike and script not in plainly_so):
                yield f"{letter} is {script.capitalize()}, U+{ord(letter):04X}"
        elif _as_ascii(letter) is not None:
            yield f"{letter} is {unicodedata.name(letter, 'a sign').lower()}, U+{ord(letter):04X}"


def _script(letter: str) -> str:
    """The script of a letter, by its name; empty for one of a script that imitates nothing."""
    name = unicodedata.name(letter, "").partition(" ")[0]
    return name if name in _SCRIPTS else ""


def _as_ascii(letter: str) -> str | None:
    """The plain letter or figure that a letter-like sign stands for; None for anything else."""
    if letter.isascii():
        return None
    kind, _, plain = unicodedata.decomposition(letter).rpartition(" ")
    if kind not in ("", "<font>", "<compat>") or not plain:
        return None
    found = chr(int(plain, 16))
    return found if found.isascii() and found.isalnum() else None
