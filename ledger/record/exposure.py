"""What of the exhibits may be shown to anybody, and with which regions painted over.

A pure function of the entries. Where several lines name one file, the strictest holds: the masks
of all of them are painted, and one line that withholds the file keeps it back altogether.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ledger.masks import Mask
from ledger.record.changes import is_commitment
from ledger.record.entries import Entry


@dataclass(frozen=True, slots=True)
class Showing:
    """An exhibit that may be shown, and what of it has to be painted over."""

    sha256: str
    masks: tuple[Mask, ...] = ()


def exhibits_to_show(entries: Iterable[Entry]) -> tuple[Showing, ...]:
    """Every file that a standing line names and none withholds, in the order of recording."""
    standing: dict[tuple[str, str], dict[str, Any]] = {}
    for entry in entries:
        if entry.book_kind != "instrument" or entry.section != "exhibits":
            continue
        standing.pop((entry.book, entry.line), None)
        if entry.body is not None:
            standing[entry.book, entry.line] = entry.body
    masks: dict[str, list[Mask]] = {}
    kept_back: set[str] = set()
    for body in standing.values():
        sha256 = str(body["sha256"])
        found = masks.setdefault(sha256, [])
        # Masks that cannot be read are not taken for none.
        if is_commitment(body.get("file")) or is_commitment(body.get("masks")):
            kept_back.add(sha256)
        else:
            found += [Mask.model_validate(mask) for mask in body.get("masks", ())]
    return tuple(
        Showing(sha256, tuple(dict.fromkeys(found)))
        for sha256, found in masks.items()
        if sha256 not in kept_back
    )
