"""Canonical JSON and SHA-256: the bytes that an entry is known by.

Canonical form is RFC 8785 (JSON Canonicalization Scheme); text is never normalised, so what
was typed is what is hashed. Values without fractions and with plain keys, which is nearly all
that a ledger holds, take a short way that gives the same bytes several times as fast.
"""

from __future__ import annotations

import hashlib
import re
from functools import lru_cache
from json.encoder import encode_basestring as quoted
from typing import Final

import rfc8785

GREATEST_EXACT_INTEGER: Final = 2**53 - 1

# RFC 8785 orders keys by UTF-16 units, which differs from the order of code points only where
# a character beyond the first plane takes part.
_BEYOND_FIRST_PLANE: Final = re.compile("[\ud800-\udfff\U00010000-\U0010ffff]")
_MOST_NESTED: Final = 60
_MOST_KEYS_KEPT: Final = 32


class _NotPlain(Exception):
    """Something takes the long way."""


def canonical_json(value: object) -> bytes:
    """The RFC 8785 bytes of a JSON value.

    Raises:
        ValueError: the value has something JSON cannot carry exactly.
    """
    return canonical_text(value).encode("utf-8")


def canonical_text(value: object) -> str:
    """The RFC 8785 bytes of a JSON value as the text that they are.

    Raises:
        ValueError: the value has something JSON cannot carry exactly.
    """
    try:
        # Nearly always an object: one call the less for every entry.
        text = (
            _plain_object(value, _MOST_NESTED)
            if type(value) is dict
            else _plain_text(value, _MOST_NESTED)
        )
        if text.isascii() or not _BEYOND_FIRST_PLANE.search(text):
            return text
    except _NotPlain:
        pass
    try:
        return rfc8785.dumps(value).decode("utf-8")  # type: ignore[arg-type]  # it checks the value itself
    except rfc8785.CanonicalizationError as error:
        raise ValueError(f"this cannot be written as canonical JSON: {error}") from error
    except RecursionError as error:
        raise ValueError("this is nested too deeply to be written as canonical JSON") from error


def sha256_hex(data: bytes) -> str:
    """The SHA-256 of the bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _plain_text(value: object, nested: int) -> str:
    """The value as canonical JSON.

    Raises:
        _NotPlain: something in it takes the long way.
    """
    if type(value) is str:
        return quoted(value)
    if type(value) is dict and nested:
        return _plain_object(value, nested - 1)
    if (type(value) is list or type(value) is tuple) and nested:
        texts = [quoted(e) if type(e) is str else _plain_text(e, nested - 1) for e in value]
        return f"[{','.join(texts)}]"
    if value is None or type(value) is bool:
        return {None: "null", True: "true", False: "false"}[value]
    if type(value) is int and -GREATEST_EXACT_INTEGER <= value <= GREATEST_EXACT_INTEGER:
        return str(value)
    raise _NotPlain


def _plain_object(value: dict[object, object], nested: int) -> str:
    """As :func:`_plain_text`; written out, since every entry that is recorded comes by here."""
    keys = tuple(value)
    ordered, kept = _kept_pieces(keys) if len(keys) <= _MOST_KEYS_KEPT else _pieces(keys)
    pieces = kept.copy()
    pieces[1::2] = [
        quoted(each) if type(each := value[key]) is str else _plain_text(each, nested)
        for key in ordered
    ]
    return "".join(pieces)


def _pieces(keys: tuple[object, ...]) -> tuple[list[str], list[str]]:
    """The keys in order, and an object with them as text in pieces, every second one a gap.

    Raises:
        _NotPlain: one of them is not plain text.
    """
    ordered = sorted(key for key in keys if type(key) is str)
    if len(ordered) < len(keys):
        raise _NotPlain
    if not ordered:
        return ordered, ["{}"]
    pieces: list[str] = []
    for key in ordered:
        pieces += [f",{quoted(key)}:", ""]
    pieces[0] = f"{{{pieces[0][1:]}"
    return ordered, [*pieces, "}"]


# The lines of one section have the same few fields.
_kept_pieces: Final = lru_cache(maxsize=1024)(_pieces)
