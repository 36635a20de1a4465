"""From the ledger to a site folder: every instrument is reasoned about, then published.

The reasoning is done here, before publication; what publishes never reasons.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from ledger.findings import Report
from ledger.gathering import gather
from ledger.knowledge.packs import Packs
from ledger.narrowing import narrowed_down
from ledger.publish.placing import DATABASE_FILE
from ledger.publish.sitedb import ExhibitFile, Head, Publication, publish_site
from ledger.reason.in_full import reason_in_full
from ledger.reason.row_wording import row_sentence
from ledger.reason.rules import RULES
from ledger.record.case import case_at
from ledger.record.entries import Entry
from ledger.record.erasing import erased_names
from ledger.record.exposure import exhibits_to_show
from ledger.record.keys import key_file, load_key
from ledger.record.pictures import PictureDamaged, published_picture
from ledger.record.proofs import latest_checkpoint, make_proof
from ledger.record.seals import seal_name, seal_text
from ledger.record.store import Ledger
from ledger.references import Reference
from ledger.reporting import instruments, known_packs


def publish(
    ledger: Ledger,
    folder: Path,
    *,
    may_be_taken: bool = False,
    keys: Path | None = None,
    say: Callable[[str], object] = str,
) -> Path:
    """The folder with the site of every instrument in the ledger.

    With ``may_be_taken`` its visitors may download the database as a whole. What is published
    carries the ledger's latest checkpoint; it is signed as a whole where the key of that
    checkpoint is in the folder ``keys``. A picture that cannot be drawn anew is kept back; ``say``
    is told of it, and of every withheld number that a published table narrows down.

    Raises:
        PublicationError: it cannot be written there.
    """
    entries = ledger.entries()
    packs = known_packs(entries)
    last = entries[-1] if entries else None
    head = Head(
        last.sequence if last else 0,
        last.hash if last else "",
        last.recorded_at if last else "",
    )
    signed = latest_checkpoint(ledger, head.sequence)
    proof = None if signed is None else make_proof(ledger, (), until=head.sequence)
    publication = Publication(
        head=head,
        packs=packs.files,
        say_row=_say_row,
        entries=entries,
        reports=_reports(ledger, entries, packs, say),
        exhibits=_exhibits(ledger, entries, say),
        rules=RULES,
        may_be_taken=may_be_taken,
        proof=proof,
        seal=partial(_sealed, proof, keys),
        beside=partial(gather, entries=entries, opened=ledger.opened()),
    )
    return publish_site(folder, publication)


def _sealed(
    proof: Mapping[str, Any] | None, keys: Path | None, files: Mapping[str, str]
) -> tuple[str, str]:
    """The name and the text of the seal over the published files."""
    key = None
    if proof is not None and keys is not None:
        name = proof["checkpoint"]["key"]
        if key_file(keys, name).exists():
            key = load_key(keys, name)
    return seal_name(files[DATABASE_FILE]), seal_text(files, proof, key)


def _say_row(_: str, row: Reference) -> str:
    return row_sentence(row)


def _reports(
    ledger: Ledger, entries: tuple[Entry, ...], packs: Packs, say: Callable[[str], object]
) -> Iterator[Report]:
    opened = ledger.opened()
    for instrument in instruments(entries):
        case = case_at(entries, instrument, None, opened)
        report = reason_in_full(case, packs)
        for sentence in narrowed_down(report, case, packs):
            say(sentence)
        yield report


def _exhibits(
    ledger: Ledger, entries: Iterable[Entry], say: Callable[[str], object]
) -> Iterator[ExhibitFile]:
    """Every picture that may be shown, redrawn so that it carries its unmasked pixels alone."""
    gone = erased_names(entries)
    for showing in exhibits_to_show(entries):
        if showing.sha256 in gone:
            continue
        kept = ledger.exhibit(showing.sha256)
        if not kept.is_picture:
            continue
        try:
            made = published_picture(kept.content, showing.masks)
        except PictureDamaged as error:
            say(_damaged(entries, showing.sha256, str(error)))
            continue
        yield ExhibitFile(showing.sha256, made.media_type, made.content, made.thumbnail)


def _damaged(entries: Iterable[Entry], sha256: str, found: str) -> str:
    lines = {
        f"{entry.book}/{entry.line}": None
        for entry in entries
        if entry.section == "exhibits" and entry.body and entry.body.get("sha256") == sha256
    }
    return (
        f"Kept back: the picture {sha256[:12]} of {', '.join(lines)} cannot be drawn anew ({found}). "
        "Save it again with a program for pictures, put the new file into the sheet and record it."
    )
