"""From the ledger to a site folder: every instrument is reasoned about, then published.

The reasoning is done here, before publication; what publishes never reasons.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from ledger.findings import Report
from ledger.knowledge.packs import Packs
from ledger.publish.sitedb import ExhibitFile, Head, Publication, publish_site
from ledger.reason.reasoner import reason
from ledger.reason.row_wording import row_sentence
from ledger.reason.rules import RULES
from ledger.record.case import case_at
from ledger.record.entries import Entry
from ledger.record.exhibits import published_image, thumbnail_image
from ledger.record.store import Ledger
from ledger.references import Reference
from ledger.workflow import instruments, known_packs


def publish(ledger: Ledger, folder: Path) -> Path:
    """The folder with the site of every instrument in the ledger.

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
    publication = Publication(
        head=head,
        packs=packs.files,
        say_row=_say_row,
        entries=entries,
        reports=_reports(ledger, entries, packs),
        exhibits=_exhibits(ledger, entries),
        rules=RULES,
    )
    return publish_site(folder, publication)


def _say_row(_: str, row: Reference) -> str:
    return row_sentence(row)


def _reports(ledger: Ledger, entries: tuple[Entry, ...], packs: Packs) -> Iterator[Report]:
    opened = ledger.opened()
    for instrument in instruments(entries):
        yield reason(case_at(entries, instrument, None, opened), packs)


def _exhibits(ledger: Ledger, entries: Iterable[Entry]) -> Iterator[ExhibitFile]:
    """Every picture that a standing line names, redrawn so that it carries no metadata."""
    standing: dict[tuple[str, str], str] = {}
    for entry in entries:
        if entry.section != "exhibits":
            continue
        standing.pop((entry.book, entry.line), None)
        if entry.body is not None:
            standing[entry.book, entry.line] = str(entry.body["sha256"])
    for sha256 in dict.fromkeys(standing.values()):
        kept = ledger.exhibit(sha256)
        if not kept.media_type.startswith("image/"):
            continue
        yield ExhibitFile(
            sha256,
            "image/png",
            published_image(kept.content),
            thumbnail_image(kept.content),
        )
