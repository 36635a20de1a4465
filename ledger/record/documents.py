"""Documents that carry a proof: where it stands in them, and what is left of them without it.

A JSON document carries it as the member ``proof``; an HTML document in one element
``<script type="application/json" id="witnessmark-proof">``. A file that is nothing but a proof is
one too. The SHA-256 that may be signed with the proof is that of the rest: for JSON, of the
canonical JSON of the other members; for HTML, of the bytes before and after what the element holds.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.errors import LedgerError
from ledger.record.audit import Audit, Finding, Step, Trust
from ledger.record.proofs import PROOF_NAME, ReadProof, read_proof

GREATEST_DOCUMENT_BYTES: Final = 200_000_000
PROOF_MEMBER: Final = "proof"
PROOF_OPENS: Final = '<script type="application/json" id="witnessmark-proof">'
PROOF_CLOSES: Final = "</script>"

_ELEMENT: Final = re.compile(
    re.escape(PROOF_OPENS.encode()) + rb"(.*?)" + re.escape(PROOF_CLOSES.encode()), re.DOTALL
)
UNSIGNED: Final = (
    "There is none: nothing in it is signed, so nothing shows whether it was changed. It may have "
    "been made from a ledger without a checkpoint."
)


class NoProof(ValueError):
    """A document carries no proof at all."""


@dataclass(frozen=True, slots=True)
class Document:
    """A document: its proof, and the SHA-256 of the rest (None where there is no rest)."""

    proof: object
    sha256: str | None


def rest_sha256(document: Mapping[str, Any]) -> str:
    """The SHA-256 of a JSON document without its proof.

    >>> rest_sha256({"a": 1, "proof": {}}) == rest_sha256({"a": 1})
    True
    """
    return sha256_hex(
        canonical_json({name: value for name, value in document.items() if name != PROOF_MEMBER})
    )


def proof_element(proof: Mapping[str, Any]) -> str:
    """The proof as the element of an HTML document; no text in it can end the element."""
    return PROOF_OPENS + json.dumps(proof).replace("<", "\\u003c") + PROOF_CLOSES


def read_document(data: bytes) -> Document:
    """The document that the bytes hold.

    Raises:
        ValueError: there is no proof in it, or more than one.
    """
    try:
        if not data.lstrip().startswith(b"<"):
            return _json_document(data)
        found = list(_ELEMENT.finditer(data))
        if not found and PROOF_OPENS.encode() not in data:
            raise NoProof("it carries no proof")
        if len(found) != 1 or data.count(PROOF_OPENS.encode()) != 1:
            raise ValueError(f"it carries {len(found)} proofs in place of one")
        begin, end = found[0].span(1)
        return Document(_read_json(data[begin:end]), sha256_hex(data[:begin] + data[end:]))
    except RecursionError as error:
        raise ValueError("it is nested too deeply") from error


def audit_document(path: Path, trust: Trust) -> tuple[Audit, ReadProof]:
    """What is to be said about a document with a proof, and the proof as it was read.

    Raises:
        LedgerError: it cannot be read.
    """
    subject = f"the document {path}"
    try:
        with path.open("rb") as file:
            data = file.read(GREATEST_DOCUMENT_BYTES + 1)
    except OSError as error:
        raise LedgerError(f"{path} cannot be read: {error.strerror}.") from error
    if len(data) > GREATEST_DOCUMENT_BYTES:
        raise LedgerError(f"{path} is too large for a document of this program.")
    try:
        document = read_document(data)
    except NoProof as error:
        fault = Finding(str(path), "a document with a proof", str(error))
        read = ReadProof((Step("proof", UNSIGNED, (fault,)),))
    except ValueError as error:
        fault = Finding(str(path), "a document with a proof", str(error))
        read = ReadProof((Step("proof", "It could not be read.", (fault,)),))
    else:
        read = read_proof(document.proof, trust, document.sha256)
    return Audit(subject, read.steps), read


def _json_document(data: bytes) -> Document:
    whole = _read_json(data)
    if not isinstance(whole, dict):
        raise ValueError("it is not a JSON object")  # noqa: TRY004 - read from a file
    if PROOF_NAME in whole:
        return Document(whole, None)
    if PROOF_MEMBER not in whole:
        raise NoProof("it carries no proof")
    return Document(whole[PROOF_MEMBER], rest_sha256(whole))


def _read_json(data: bytes) -> object:
    """The value; a name that comes twice in one object is refused, since readers differ on it."""
    return json.loads(data.decode("utf-8"), object_pairs_hook=_once_each)


def _once_each(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name comes twice in one object of it")
    return found
