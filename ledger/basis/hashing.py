"""Canonical JSON and SHA-256: the bytes that an entry is known by.

Canonical form is RFC 8785 (JSON Canonicalization Scheme); text is never normalised, so what
was typed is what is hashed.
"""

from __future__ import annotations

import hashlib

import rfc8785


def canonical_json(value: object) -> bytes:
    """The RFC 8785 bytes of a JSON value.

    Raises:
        ValueError: the value has something JSON cannot carry exactly.
    """
    try:
        return rfc8785.dumps(value)  # type: ignore[arg-type]  # it checks the value itself
    except rfc8785.CanonicalizationError as error:
        raise ValueError(f"this cannot be written as canonical JSON: {error}") from error


def sha256_hex(data: bytes) -> str:
    """The SHA-256 of the bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()
