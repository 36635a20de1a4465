"""What other ledgers told, kept beside one's own and never in it.

A set that is taken in stays a set: the statements of another ledger under its own names, as of
its own checkpoint, in a folder beside the ledger. Nothing of it becomes an entry, enters a report
or is exported again. Each taking is kept under the number of its checkpoint, with a receipt that
holds the SHA-256 of its quads.

Who tells again has to tell on: an older checkpoint, another content under the same one, or an
entry whose hash has changed since is refused, since then the other ledger was rewritten.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from ledger.basis.hashing import sha256_hex
from ledger.errors import LedgerError, WitnessmarkError
from ledger.exchange.assertions_rdf import read_set
from ledger.exchange.iris import Quad, do_overlap, is_base, spelt
from ledger.exchange.rdf import n_quads, read_quads
from ledger.exchange.statements import ToldSet

RECEIPT_FORMAT: Final = "witnessmark theirs 1"
_NAME: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True)
class Receipt:
    """That a set was taken in: whose, as of which checkpoint, when, and the hash of its quads."""

    format: str
    name: str
    base: str
    sequence: int
    hash: str
    taken_at: str
    quads: int
    sha256: str


def folder_beside(ledger: Path) -> Path:
    """Where the sets of others are kept beside a ledger."""
    return ledger.with_name(f"{ledger.name}.theirs")


def take_in(
    folder: Path, name: str, quads: tuple[Quad, ...], own_base: str, taken_at: str
) -> Receipt:
    """The receipt for a set that is now kept under ``name``; the same set again changes nothing.

    Args:
        folder: where sets of others are kept.
        name: whose it is, in small letters.
        quads: the set, already found sound.
        own_base: the base of one's own names, which nobody else may use.
        taken_at: when.

    Raises:
        WitnessmarkError: it is no set with a checkpoint, is under no base or under one that
            meets one's own, or contradicts what was taken from the same ledger before.
    """
    if not _NAME.fullmatch(name):
        raise WitnessmarkError(f"{name!r} is no name for a set: small letters, figures, hyphens.")
    told = read_set(quads)
    if told is None or not told.checkpoint.hash:
        raise WitnessmarkError(
            "This set has no checkpoint, so that nobody could hold its ledger to it. "
            "Ask for one that has: the command tell writes it."
        )
    _refuse_base(told.base, own_base)
    _refuse_foreign_names(told, quads)
    content = n_quads(quads)
    head = told.checkpoint
    receipt = Receipt(
        RECEIPT_FORMAT,
        name,
        told.base,
        head.sequence,
        head.hash,
        taken_at,
        len(quads),
        sha256_hex(content),
    )
    before = taken(folder)
    for other in before:
        if other.name == name and other.sha256 == receipt.sha256:
            return other
    _refuse_rewriting(folder, before, receipt, quads)
    _keep(folder / name, receipt, content)
    return receipt


def taken(folder: Path) -> tuple[Receipt, ...]:
    """Every set that was taken in, by name and checkpoint."""
    found = [_receipt(path) for path in sorted(folder.glob("*/*.json"))]
    return tuple(sorted(found, key=lambda each: (each.name, each.sequence)))


def latest(folder: Path) -> tuple[Receipt, ...]:
    """Of each set that was taken in the last taking."""
    return tuple({receipt.name: receipt for receipt in taken(folder)}.values())


def kept_quads(folder: Path, receipt: Receipt) -> tuple[Quad, ...]:
    """The quads of a set that was taken in.

    Raises:
        LedgerError: they are not there, or not those that were taken in.
    """
    path = folder / receipt.name / f"{receipt.sequence}.nq"
    try:
        content = path.read_bytes()
    except OSError as error:
        raise LedgerError(f"{path} cannot be read: {error.strerror}.") from error
    if sha256_hex(content) != receipt.sha256:
        raise LedgerError(f"{path} was changed after it was taken in: its hash is another.")
    return read_quads(content, "nq", str(path))


def _refuse_base(base: str, own_base: str) -> None:
    """Names are told apart by how they begin: only whole bases of which none begins another do."""
    if not is_base(own_base):
        raise WitnessmarkError(
            f"{own_base!r} cannot be the base of your own names: say an http address that ends in "
            "a slash, such as https://bench.example/ (--base)."
        )
    if not is_base(base):
        raise WitnessmarkError(
            f"This set has the base {base!r}, which is none: a base is an http address that ends "
            "in a slash. Ask for a set under a base of its own (tell --base)."
        )
    if base == own_base:
        raise WitnessmarkError(
            f"This set has your own base, {own_base}: its statements could not be told from "
            "yours. Ask for a set under a base of its own (tell --base)."
        )
    if do_overlap(base, own_base):
        raise WitnessmarkError(
            f"This set has the base {base} and you have {own_base}: the one begins as the other, "
            "so that its statements could not be told from yours. Ask for a set under a base of "
            "its own (tell --base)."
        )


def _refuse_foreign_names(told: ToldSet, quads: Iterable[Quad]) -> None:
    for graph, subject, _, _ in quads:
        for name in (graph, subject):
            if name and not name.startswith(f"<{told.base}"):
                raise WitnessmarkError(
                    f"This set speaks of {name}, which is not under its base {told.base}: "
                    "others can tell of their own things only."
                )


def _refuse_rewriting(
    folder: Path, before: tuple[Receipt, ...], receipt: Receipt, quads: tuple[Quad, ...]
) -> None:
    for other in before:
        if (other.name == receipt.name) != (other.base == receipt.base):
            raise WitnessmarkError(
                f"The set {other.name!r} has the base {other.base}, and {receipt.name!r} the base "
                f"{receipt.base}: one name for one ledger."
            )
        if other.name != receipt.name and do_overlap(other.base, receipt.base):
            raise WitnessmarkError(
                f"The set {other.name!r} has the base {other.base}, and {receipt.name!r} the base "
                f"{receipt.base}: the one begins as the other, so that their statements could not "
                "be told apart."
            )
    same = [other for other in before if other.name == receipt.name]
    if not same:
        return
    last = same[-1]
    if receipt.sequence < last.sequence:
        raise WitnessmarkError(
            f"This set is as of entry {receipt.sequence}; one as of entry {last.sequence} was "
            "taken in before."
        )
    if receipt.sequence == last.sequence and receipt.hash != last.hash:
        raise WitnessmarkError(
            f"Entry {receipt.sequence} has another hash than when it was taken in before: "
            "the other ledger was rewritten or has forked."
        )
    if receipt.sequence == last.sequence:
        raise WitnessmarkError(
            f"Something else was taken in from {receipt.name!r} as of entry {last.sequence}. "
            "Ask what they changed without recording it."
        )
    known = _entry_hashes(kept_quads(folder, last))
    for entry, digest in _entry_hashes(quads).items():
        if known.get(entry, digest) != digest:
            raise WitnessmarkError(
                f"{entry} has another hash than when it was taken in before: the other ledger "
                "was rewritten."
            )


def _entry_hashes(quads: Iterable[Quad]) -> Mapping[str, str]:
    predicate = spelt("wm:hash")
    return {s: o for _, s, p, o in quads if p == predicate and "/entry/" in s}


def _keep(folder: Path, receipt: Receipt, content: bytes) -> None:
    """Write the quads, then the receipt, which makes the taking count."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for ending, data in (
            ("nq", content),
            ("json", (json.dumps(asdict(receipt), indent=2, sort_keys=True) + "\n").encode()),
        ):
            beside = folder / f".{receipt.sequence}.{ending}"
            beside.write_bytes(data)
            beside.replace(folder / f"{receipt.sequence}.{ending}")
    except OSError as error:
        raise LedgerError(f"Nothing can be kept in {folder}: {error.strerror}.") from error


def _receipt(path: Path) -> Receipt:
    try:
        found = Receipt(**json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError) as error:
        raise LedgerError(f"{path} is no receipt of a set that was taken in.") from error
    if found.format != RECEIPT_FORMAT:
        raise LedgerError(f"{path} is a receipt of another format: {found.format}.")
    return found
