"""Canonical JSON and SHA-256: the bytes that an entry is known by.

Canonical form is RFC 8785 (JSON Canonicalization Scheme); text is never normalised, so what
was typed is what is hashed. Values without fractions and with plain keys, which is nearly all
that a ledger holds, take a short way that gives the same bytes several times as fast.
"""

from __future__ import annotations

import hashlib
import re
from json.encoder import encode_basestring as quoted
from typing import Final

import rfc8785

GREATEST_EXACT_INTEGER: Final = 2**53 - 1

# RFC 8785 orders keys by UTF-16 units, which differs from the order of code points only where
# a character beyond the first plane takes part.
_BEYOND_FIRST_PLANE: Final = re.compile("[\ud800-\udfff\U00010000-\U0010ffff]")
_MOST_NESTED: Final = 60


def canonical_json(value: object) -> bytes:
    """The RFC 8785 bytes of a JSON value.

    Raises:
        ValueError: the value has something JSON cannot carry exactly.
    """
    text = _plain_json(value, _MOST_NESTED)
    if text is not None and (text.isascii() or not _BEYOND_FIRST_PLANE.search(text)):
        return text.encode("utf-8")
    try:
        return rfc8785.dumps(value)  # type: ignore[arg-type]  # it checks the value itself
    except rfc8785.CanonicalizationError as error:
        raise ValueError(f"this cannot be written as canonical JSON: {error}") from error
    except RecursionError as error:
        raise ValueError("this is nested too deeply to be written as canonical JSON") from error


def sha256_hex(data: bytes) -> str:
    """The SHA-256 of the bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _plain_json(value: object, nested: int) -> str | None:
    """The value as canonical JSON, None where something in it takes the long way."""
    kind = type(value)
    if kind is str:
        return quoted(value)  # type: ignore[arg-type]  # its very kind was just looked at
    if value is None or kind is bool:
        return {None: "null", True: "true", False: "false"}[value]  # type: ignore[index]  # as above
    if type(value) is int and -GREATEST_EXACT_INTEGER <= value <= GREATEST_EXACT_INTEGER:
        return str(value)
    if type(value) is dict and nested:
        return _plain_object(value, nested - 1)
    if (type(value) is list or type(value) is tuple) and nested:
        found = [_plain_json(each, nested - 1) for each in value]
        return None if None in found else f"[{','.join(found)}]"  # type: ignore[arg-type]  # none is None
    return None


def _plain_object(value: dict[object, object], nested: int) -> str | None:
    """As :func:`_plain_json`; written out, since every entry that is recorded comes by here."""
    parts: list[str] = []
    for key in value:
        if type(key) is not str:
            return None
    for key in sorted(value):  # type: ignore[type-var]  # they are all text
        each = value[key]
        text = quoted(each) if type(each) is str else _plain_json(each, nested)
        if text is None:
            return None
        parts.append(f"{quoted(key)}:{text}")  # type: ignore[arg-type]  # as above
    return f"{{{','.join(parts)}}}"
