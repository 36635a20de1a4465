"""Pictures that are taken with the form: kept as files of the folder, and as lines of the draft.

A picture is what its content says. It is looked at before it is kept; one that is there already is
told and not taken again. What a camera writes beside the pixels stays in the file and goes nowhere
else: what the form shows of it is drawn anew.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ledger.bench.first_steps import PICTURES
from ledger.bench.form_desk import OnBench
from ledger.bench.form_drafts import DraftLine, keep_file
from ledger.bench.form_tree import fields_of
from ledger.bench.photographs_in import (
    Photograph,
    exhibits_of,
    positions_named,
    read_photographs,
    taken_at,
)
from ledger.bench.row_ids import id_part
from ledger.bench.sheet_writer import body_of
from ledger.errors import Fault, FaultsFound
from ledger.models import Exhibit
from ledger.record.exhibits import exhibit_of, read_exhibit
from ledger.record.pictures import PictureDamaged, published_picture

_ENDINGS: Final = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/webp": ".webp",
    "image/heic": ".heic",
    "application/pdf": ".pdf",
    "text/plain": ".txt",
}
MOST_AT_ONCE: Final = 10
MOST_LISTED: Final = 200


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent: its name, for which positions, and its content."""

    name: str
    positions: tuple[str, ...]
    content: bytes


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one file: the exhibit, or why it was not taken."""

    name: str
    exhibit: Exhibit | None
    says: str


def take_upload(bench: OnBench, upload: Upload, known: dict[str, str]) -> Taken:
    """Keep a file that was sent in the folder for pictures, as an exhibit of its own.

    ``known`` tells by SHA-256 what is there already; what is taken is added to it.
    """
    try:
        file = exhibit_of(upload.content, Path(upload.name))
    except FaultsFound as error:
        (fault,) = error.faults
        return Taken(upload.name, None, f"not taken: found {fault.found}. {fault.advice}".strip())
    if file.sha256 in known:
        return Taken(upload.name, None, f"the same as {known[file.sha256]}; not taken again")
    places = upload.positions or positions_named(Path(upload.name).stem, bench.view)
    words = "-".join(part for part in map(id_part, places[:2]) if part)
    stem = words or id_part(Path(upload.name).stem) or "picture"
    name = f"{PICTURES}/{stem}-{file.sha256[:8]}{_ENDINGS[file.media_type]}"
    path = bench.folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    keep_file(path, upload.content)
    known[file.sha256] = name
    when = taken_at(file) if file.is_picture else ""
    photograph = Photograph(name, file.sha256, "", places, when)
    (exhibit,) = exhibits_of([photograph], bench.view, bench.ids())
    return Taken(upload.name, exhibit, f"taken as {name}")


def known_files(bench: OnBench) -> dict[str, str]:
    """The files of the exhibits that are there or wait, by their SHA-256."""
    found: dict[str, str] = {}
    for name in files_named(bench):
        try:
            found[read_exhibit(_within(bench, name)).sha256] = name
        except FaultsFound:
            continue
    return found


def files_named(bench: OnBench) -> tuple[str, ...]:
    """The files that the exhibits of the sheet and of the draft name, once each."""
    held = [str(line.get("file", "")) for line in bench.held.get("exhibits", ())]
    typed = [
        line.fields.get("file", "").strip()
        for line in bench.draft.lines
        if line.section == "exhibits" and line.state != "out"
    ]
    return tuple(dict.fromkeys(name for name in (*held, *typed) if name))


def waiting_pictures(bench: OnBench) -> tuple[Photograph, ...]:
    """The pictures in the folder for pictures that no exhibit names yet."""
    folder = bench.folder / PICTURES
    if not folder.is_dir():
        return ()
    named = set(files_named(bench))
    read = read_photographs(folder, bench.folder, bench.view)
    return tuple(each for each in read.new() if each.file not in named)[:MOST_LISTED]


def take_waiting(
    bench: OnBench, wanted: Collection[str], positions: Sequence[tuple[str, tuple[str, ...]]]
) -> tuple[Exhibit, ...]:
    """The wanted pictures of the folder as exhibits, with the positions picked for each."""
    picked = dict(positions)
    chosen = [
        Photograph(
            each.file,
            each.sha256,
            each.pixels,
            picked.get(each.file) or each.positions,
            each.taken,
        )
        for each in waiting_pictures(bench)
        if each.file in wanted
    ]
    return exhibits_of(chosen, bench.view, bench.ids())


def exhibit_line(key: str, exhibit: Exhibit) -> DraftLine:
    """The exhibit as a finished line of the draft."""
    return DraftLine(
        key=key, section="exhibits", fields=fields_of("exhibits", body_of(exhibit)), state="saved"
    )


def small_picture(bench: OnBench, name: str) -> tuple[str, bytes]:
    """Media type and content of a picture of the folder, small and without what a camera wrote.

    Raises:
        FaultsFound: it is no picture of the folder.
    """
    kept = read_exhibit(_within(bench, name))
    if not kept.is_picture:
        raise FaultsFound([Fault(name, 0, 0, "", "a document", "a picture")])
    try:
        made = published_picture(kept.content)
    except PictureDamaged as error:
        raise FaultsFound([Fault(name, 0, 0, "", str(error), "a whole picture")]) from error
    return made.media_type, made.thumbnail


def _within(bench: OnBench, name: str) -> Path:
    """The file of that name in the folder or below it.

    Raises:
        FaultsFound: it would be anywhere else.
    """
    home = bench.folder.resolve()
    try:
        path = (home / name).resolve()
        is_inside = path.is_relative_to(home)
    except (OSError, RuntimeError, ValueError):
        is_inside = False
    if not is_inside or "\\" in name:
        raise FaultsFound([Fault(name, 0, 0, "", "a file elsewhere", "one of the folder")])
    return path
