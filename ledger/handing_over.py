"""From the ledger to a dossier: the report is made, its lines are proved, the pages are drawn.

The reasoning is done here, before anything is drawn; what draws never reasons. Whatever is
handed over was made from the report, which holds nothing withheld, from pictures drawn anew, and
from entries, in which a commitment stands for what is withheld.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

from ledger.basis.hashing import sha256_hex
from ledger.basis.visible import visible_json
from ledger.dossier import (
    FORMAT,
    AsOf,
    ClaimsThen,
    Dossier,
    HandedExhibit,
    Purpose,
    Signing,
)
from ledger.errors import LedgerError, UnknownName
from ledger.findings import LineText, Report
from ledger.publish.dossier import dossier_page
from ledger.publish.dossier_lines import lines_told, rows_told
from ledger.publish.evidence import Evidence
from ledger.publish.support import SHA256
from ledger.reason.in_full import reason_in_full
from ledger.record.changes import Book, current_lines, is_commitment
from ledger.record.documents import PROOF_CLOSES, PROOF_MEMBER, PROOF_OPENS, proof_element
from ledger.record.documents import rest_sha256 as sha256_of_rest
from ledger.record.entries import Entry
from ledger.record.erasing import erased_names
from ledger.record.exposure import Showing, exhibits_to_show
from ledger.record.keys import SigningKey, key_file, load_key
from ledger.record.pictures import PictureDamaged, published_picture
from ledger.record.proofs import latest_checkpoint, make_proof, with_document
from ledger.record.store import Ledger
from ledger.reporting import claims_by_then, weigh, written_from

NO_ROOM_FOR_A_PROOF: Final = ""
ERASED: Final = "erased at its owner's wish"
KEPT_BACK: Final = "kept back"
NO_PICTURE: Final = "no picture; it lies with the ledger"
DAMAGED: Final = "a damaged picture, which cannot be drawn anew; it lies with the ledger"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be handed over, when and by whom; ``sequence`` None: as the record now is."""

    instrument: str
    purpose: Purpose
    made_at: str
    challenge: str = ""
    by: str = ""
    sequence: int | None = None

    @property
    def name(self) -> str:
        """What its files are called, without the ending."""
        about = f"challenge-{self.challenge}" if self.purpose == "challenge" else self.purpose
        return f"{self.instrument}-{about}"


@dataclass(frozen=True, slots=True)
class HandedOver:
    """A dossier, and its texts as they are handed over."""

    dossier: Dossier
    page: str
    json: str


def hand_over(ledger: Ledger, wanted: Wanted, keys: Path | None = None) -> HandedOver:
    """The dossier; signed as a whole where the key of the latest checkpoint is in ``keys``.

    Raises:
        UnknownName: there is no such instrument or challenge.
        LedgerError: something that stood openly by then has been withheld since.
    """
    report = weigh(ledger, wanted.instrument, wanted.sequence, reason_in_full)
    if wanted.purpose == "challenge":
        known = [each.id for each in report.challenges]
        if wanted.challenge not in known:
            raise UnknownName("challenge", wanted.challenge, known)
    everything = ledger.entries()
    entries = everything[: report.sequence]
    if later := withheld_since(everything, wanted.instrument, report.sequence):
        raise LedgerError(
            f"After entry {report.sequence} something was withheld that stood openly by then "
            f"({', '.join(later)}): a dossier as of that entry would tell it."
        )
    evidence = Evidence(asdict(report))
    lines = lines_told(evidence, wanted.purpose, wanted.challenge)
    rows = rows_told(evidence, wanted.purpose, wanted.challenge)
    proved_rows, unproved_rows = _rows_to_prove(entries, rows)
    told = [line.sequence for line in report.lines if line.id in set(lines)]
    signing, proof, key = _signed(
        ledger, {_header(entries, wanted.instrument), *told, *proved_rows}, keys
    )
    dossier = Dossier(
        format=FORMAT,
        purpose=wanted.purpose,
        challenge=wanted.challenge,
        made_at=wanted.made_at,
        by=wanted.by,
        as_of=_as_of(entries),
        report=report,
        exhibits=tuple(_exhibits(ledger, report, lines)),
        signing=signing,
        rows_unproved=unproved_rows,
        claims_then=_claims_then(ledger, report, wanted.challenge),
    )
    return HandedOver(dossier, _page(dossier, proof, key), _json(dossier, proof, key))


def withheld_since(entries: Sequence[Entry], instrument: str, sequence: int) -> tuple[str, ...]:
    """The lines of which something stood openly after that entry and is withheld now."""
    book = Book("instrument", instrument)
    now = current_lines(entries, book)
    by_then = current_lines(entries[:sequence], book)
    return tuple(
        name
        for name, entry in by_then.items()
        if name in now and not _hidden(now[name]) <= _hidden(entry)
    )


def _hidden(entry: Entry) -> set[str]:
    return {name for name, value in (entry.body or {}).items() if is_commitment(value)}


def _as_of(entries: Sequence[Entry]) -> AsOf:
    last = entries[-1]
    return AsOf(last.sequence, last.hash, last.recorded_at)


def _header(entries: Iterable[Entry], instrument: str) -> int:
    """The entry that says what the instrument is called and of which kind it is."""
    return current_lines(entries, Book("instrument", instrument))["instrument"].sequence


def _rows_to_prove(
    entries: Sequence[Entry], rows: Iterable[str]
) -> tuple[set[int], tuple[str, ...]]:
    """The entries of the rows of packs, and the rows of which none may be shown."""
    numbers: set[int] = set()
    unproved: list[str] = []
    books: dict[str, dict[str, Entry]] = {}
    for name in rows:
        pack, _, row = name.partition("/")
        if pack not in books:
            books[pack] = current_lines(entries, Book("pack", pack))
        entry = books[pack].get(row)
        if entry is None or _tells_a_serial(entry):
            unproved.append(name)
        else:
            numbers.add(entry.sequence)
    return numbers, tuple(unproved)


def _tells_a_serial(entry: Entry) -> bool:
    """Whether the row holds the number of an example: it invites theft as much as any other."""
    return any(example.get("serial") for example in (entry.body or {}).get("examples", ()))


def _signed(
    ledger: Ledger, numbers: set[int], keys: Path | None
) -> tuple[Signing | None, dict[str, Any] | None, SigningKey | None]:
    """What is signed, the proof of the entries, and the key where it is at hand."""
    signed = latest_checkpoint(ledger)
    if signed is None:
        return None, None, None
    checkpoint = signed.checkpoint
    proved = sorted(number for number in numbers if number <= checkpoint.size)
    has_key = keys is not None and key_file(keys, checkpoint.key).exists()
    signing = Signing(
        size=checkpoint.size,
        root=checkpoint.root,
        signed_at=checkpoint.signed_at,
        key=checkpoint.key,
        proved=tuple(proved),
        unproved=tuple(sorted(numbers.difference(proved))),
        is_whole=has_key,
    )
    key = load_key(keys, checkpoint.key) if has_key and keys else None
    return signing, make_proof(ledger, proved), key


def _exhibits(ledger: Ledger, report: Report, lines: Iterable[str]) -> Iterator[HandedExhibit]:
    """The files of the lines told, each once, as they may be shown."""
    everything = ledger.entries()  # a mask or an erasure that came later holds all the same
    showings = {each.sha256: each for each in exhibits_to_show(everything)}
    gone = erased_names(everything)
    told = set(lines)
    holders: dict[str, LineText] = {}
    for line in report.lines:
        if line.section == "exhibits" and line.id in told:
            holders.update({digest: line for digest in line.exhibits if SHA256.fullmatch(digest)})
    for digest, holder in holders.items():
        named = tuple(
            line.id
            for line in report.lines
            if line.id in told and (holder.id in line.exhibits or digest in line.exhibits)
        )
        plain = HandedExhibit(digest, holder.sentence or holder.title, named)
        yield _shown(ledger, plain, showings.get(digest), is_gone=digest in gone)


def _shown(
    ledger: Ledger, exhibit: HandedExhibit, showing: Showing | None, *, is_gone: bool
) -> HandedExhibit:
    if is_gone:
        return replace(exhibit, kept_back=ERASED)
    if showing is None:
        return replace(exhibit, kept_back=KEPT_BACK)
    kept = ledger.exhibit(exhibit.sha256)
    if not kept.is_picture:
        return replace(exhibit, kept_back=NO_PICTURE)
    try:
        made = published_picture(kept.content, showing.masks)
    except PictureDamaged:
        return replace(exhibit, kept_back=DAMAGED)
    return replace(
        exhibit,
        masks=len(showing.masks),
        media_type=made.media_type,
        thumbnail=base64.b64encode(made.thumbnail).decode("ascii"),
    )


def _claims_then(ledger: Ledger, report: Report, challenge: str) -> tuple[ClaimsThen, ...]:
    """How the claims read after each entry from which an answer was written, where otherwise."""
    dispute = next((each for each in report.challenges if each.id == challenge), None)
    if dispute is None:
        return ()
    entries = ledger.entries()
    found = (
        ClaimsThen(entry, claims_by_then(ledger, report, dispute, entry))
        for entry in written_from(report, dispute)
        if not withheld_since(entries, report.instrument, entry)
    )
    return tuple(then for then in found if then.claims)


def _page(dossier: Dossier, proof: Mapping[str, Any] | None, key: SigningKey | None) -> str:
    if proof is None:
        return dossier_page(dossier, NO_ROOM_FOR_A_PROOF)
    page = dossier_page(dossier, PROOF_OPENS + PROOF_CLOSES)
    if key is not None:
        proof = with_document(proof, sha256_hex(page.encode("utf-8")), key)
    return page.replace(PROOF_OPENS + PROOF_CLOSES, proof_element(proof))


def _json(dossier: Dossier, proof: Mapping[str, Any] | None, key: SigningKey | None) -> str:
    told: dict[str, Any] = json.loads(json.dumps(asdict(dossier)))
    del told[PROOF_MEMBER]
    if proof is not None:
        told[PROOF_MEMBER] = (
            with_document(proof, sha256_of_rest(told), key) if key is not None else dict(proof)
        )
    return visible_json(json.dumps(told, indent=1, ensure_ascii=False) + "\n")
