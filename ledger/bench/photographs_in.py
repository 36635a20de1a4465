"""A folder of pictures taken as exhibits, each with the positions that its file name names.

Nothing is guessed from what a picture shows. The day is read from the picture, as its camera set
it, and nothing else that a camera writes is taken over: place, owner and number of the camera stay
in the file, which is kept and never published as it is. A picture that is there already, as the
same file or with the same pixels, is told and not taken again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from ledger.basis.hashing import sha256_hex
from ledger.bench.row_ids import RowIds, id_part
from ledger.errors import Fault, FaultsFound
from ledger.knowledge.catalogues import CatalogueView
from ledger.models import Exhibit
from ledger.record.exhibit_files import ExhibitFile
from ledger.record.exhibits import PICTURE_ENDINGS, read_exhibit
from ledger.record.pictures import PictureDamaged, decoded_picture

# Exif 2.32, section 4.6.5: the sub-directory of the taking, and when the picture was taken.
_EXIF_DIRECTORY, _TAKEN_AT = 0x8769, 0x9003
_EXIF_TIME: Final = "%Y:%m:%d %H:%M:%S"
_WORD: Final = re.compile(r"[a-z0-9.]+")


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture as it can become an exhibit; ``taken`` is the camera's own time, or nothing."""

    file: str
    sha256: str
    pixels: str
    positions: tuple[str, ...]
    taken: str = ""
    same_as: str = ""


@dataclass(frozen=True, slots=True)
class PhotographsRead:
    """The pictures of a folder in the order of their names, and the files that are refused."""

    photographs: tuple[Photograph, ...]
    refused: tuple[Fault, ...]

    def new(self) -> tuple[Photograph, ...]:
        """Those that are not there already."""
        return tuple(each for each in self.photographs if not each.same_as)


def read_photographs(
    folder: Path, base: Path, view: CatalogueView, known: Mapping[str, str] | None = None
) -> PhotographsRead:
    """The pictures in a folder, and below it.

    Args:
        folder: where they are.
        base: the folder of the sheet, from which their paths are told.
        view: the catalogue, whose positions are sought in the names.
        known: what is there already: SHA-256 of a file to the name by which it is told.

    Raises:
        FaultsFound: the folder is not there or not within that of the sheet.
    """
    home = base.resolve()
    if not folder.is_dir() or not folder.resolve().is_relative_to(home):
        found = "no folder" if not folder.is_dir() else "a folder elsewhere"
        expected = f"a folder in that of the sheet ({base})"
        raise FaultsFound([Fault(str(folder), 0, 0, "", found, expected, "Put the pictures there")])
    told = dict(known or {})
    pixels: dict[str, str] = {}
    taken: list[Photograph] = []
    refused: list[Fault] = []
    # Of two that are the same, the one whose name says what it shows is taken.
    paths = [path for path in folder.rglob("*") if path.suffix.lower() in PICTURE_ENDINGS]
    for path in sorted(paths, key=lambda path: (not positions_named(path.stem, view), path)):
        try:
            place = _within(home, path)
            kept = read_exhibit(path)
            seen = sha256_hex(_pixels(kept))
        except FaultsFound as error:
            refused += error.faults
            continue
        except PictureDamaged as error:
            found = f"a picture that cannot be taken ({error})"
            refused.append(Fault(str(path), 0, 0, "", found, "a whole picture"))
            continue
        name = place.relative_to(home).as_posix()
        same = told.get(kept.sha256) or pixels.get(seen, "")
        taken.append(
            Photograph(
                name, kept.sha256, seen, positions_named(path.stem, view), taken_at(kept), same
            )
        )
        told.setdefault(kept.sha256, name)
        pixels.setdefault(seen, name)
    return PhotographsRead(tuple(sorted(taken, key=lambda each: each.file)), tuple(refused))


def _within(home: Path, path: Path) -> Path:
    """Where the file really is, found out before it is read.

    Raises:
        FaultsFound: it is a link that leads out of the folder of the sheet, or nowhere.
    """
    try:
        place = path.resolve(strict=True)
    except (OSError, RuntimeError):  # a link that leads nowhere, or to itself
        place = None
    if place is None or not place.is_relative_to(home):
        found = "a link that leads nowhere" if place is None else "a link to a file elsewhere"
        expected = f"a picture in the folder of the sheet ({home})"
        advice = "Put a copy of the picture there"
        raise FaultsFound([Fault(str(path), 0, 0, "", found, expected, advice)])
    return place


def positions_named(stem: str, view: CatalogueView) -> tuple[str, ...]:
    """The positions whose id or name stands in the name of a file, in the order of the name.

    The longest come first, so that pickup-cover is not taken for pickup; ``pot.volume`` names one
    of several, ``pot`` alone all of them.
    """
    words = [word.strip(".") for word in _WORD.findall(stem.lower())]
    bases = [word.partition(".")[0].removesuffix("s") for word in words]
    found: dict[int, str] = {}
    used: set[int] = set()
    for length, position, sought in _sought(view):
        for at in range(len(bases) - length + 1):
            places = set(range(at, at + length))
            if bases[at : at + length] == sought and not places & used:
                used |= places
                suffix = words[at + length - 1].partition(".")[2]
                named = f"{position}.{suffix}" if suffix else position
                found[at] = named if view.find(named) else position
    return tuple(dict.fromkeys(found[at] for at in sorted(found)))


def _sought(view: CatalogueView) -> list[tuple[int, str, list[str]]]:
    sought = [
        (position, [word.removesuffix("s") for word in _WORD.findall(text.lower())])
        for position, row in view.positions.items()
        for text in (position, row.name)
    ]
    return sorted(
        ((len(words), position, words) for position, words in sought), key=lambda each: -each[0]
    )


def taken_at(kept: ExhibitFile) -> str:
    """When the picture was taken, by the clock of its camera: ``2026-03-02T14:03:11``, or nothing."""
    try:
        with decoded_picture(kept.content) as picture:
            told = picture.getexif().get_ifd(_EXIF_DIRECTORY).get(_TAKEN_AT)
    except PictureDamaged:  # what the camera wrote of it, for the pixels were looked at before
        return ""
    if not isinstance(told, str):
        return ""
    try:
        # A camera writes no zone; what it says is kept as it says it.
        return datetime.strptime(told.strip("\x00 "), _EXIF_TIME).isoformat()  # noqa: DTZ007 - as above
    except ValueError:
        return ""


def _pixels(kept: ExhibitFile) -> bytes:
    with decoded_picture(kept.content) as picture:
        return f"{picture.width}x{picture.height};".encode() + picture.convert("RGB").tobytes()


def exhibits_of(
    photographs: Iterable[Photograph], view: CatalogueView, ids: RowIds
) -> tuple[Exhibit, ...]:
    """The pictures as lines of a sheet, their ids clear of those that are taken.

    The time of day is withheld; the day stands in the date, as the camera had it.
    """
    return tuple(_exhibit(each, view, ids) for each in photographs)


def _exhibit(each: Photograph, view: CatalogueView, ids: RowIds) -> Exhibit:
    name = ids.made("exhibits", {"file": each.file})
    fields: dict[str, object] = {"id": name, "file": each.file, "positions": each.positions}
    shown = [row.name for position in each.positions if (row := view.find(position))]
    fields["caption"] = _sentence(shown) if shown else _sentence([_spoken(each.file)])
    if each.taken:
        day, _, time = each.taken.partition("T")
        fields["date"] = day
        fields["note"] = f"Taken at {time} by the clock of the camera, which nobody has checked."
        fields["withhold"] = ("note",)
    return Exhibit.model_validate(fields)


def _sentence(words: Iterable[str]) -> str:
    text = ", ".join(dict.fromkeys(words))
    return text[:1].upper() + text[1:]


def _spoken(file: str) -> str:
    stem = file.rpartition("/")[2].rpartition(".")[0]
    return f"photograph {id_part(stem).replace('-', ' ')}".strip()


def told(read: PhotographsRead) -> Iterator[str]:
    """What was found, a sentence for each picture."""
    for each in read.photographs:
        where = ", ".join(each.positions) or "no position in its name"
        when = each.taken.partition("T")[0] or "no day in the picture"
        if each.same_as:
            yield f"{each.file}: the same picture as {each.same_as}; not taken again"
        else:
            yield f"{each.file}: {where}; {when}; {each.sha256[:12]}"
    for fault in read.refused:
        yield f"not taken: {fault}"
