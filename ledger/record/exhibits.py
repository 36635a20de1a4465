"""Exhibits: files kept under their SHA-256.

What a file is, is told by its content and never by its name; one whose name says that it is a
picture, and whose content says otherwise, is refused. Only kinds that cannot carry a
program to whoever looks at them are taken: drawings as SVG and pages as HTML are refused. How a
picture is made fit to be published stands in ``record/pictures.py``; documents never are.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from ledger.basis.hashing import sha256_hex
from ledger.errors import Fault, FaultsFound
from ledger.record.exhibit_files import ExhibitFile
from ledger.record.pictures import (
    HEIC_IS_READ,
    MOST_PIXELS,
    PictureDamaged,
    check_picture,
    picture_type,
)

GREATEST_SIZE_BYTES: Final = 20_000_000
MOST_EXHIBITS: Final = 500
GREATEST_TOTAL_BYTES: Final = 500_000_000
PICTURE_ENDINGS: Final = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"})

_TAKEN: Final = "a PNG, JPEG, WebP or HEIC picture, a PDF or plain text"
_OTHER_PICTURES: Final = frozenset({".avif", ".bmp", ".gif", ".jfif", ".jpe", ".tif", ".tiff"})
_IN_WORDS: Final = {"application/pdf": "a PDF document", "text/plain": "plain text"}
# By these a browser knows a page, a drawing or a picture in what is otherwise text.
_NOT_TEXT: Final = ("<", "GIF8", "%!PS")


def read_exhibit(path: Path) -> ExhibitFile:
    """The file at ``path``, if it is of a kind that is kept.

    Raises:
        FaultsFound: it cannot be read, is too large, damaged, of another kind, or no picture
            although its name says that it is one.
    """
    try:
        if not path.is_file():
            raise _refusal(path, "no file of that name", "the file of the exhibit")
        with path.open("rb") as file:
            content = file.read(GREATEST_SIZE_BYTES + 1)
    except (OSError, ValueError) as error:
        raise _refusal(path, f"a file that cannot be read ({error})", _TAKEN) from error
    return exhibit_of(content, path)


def exhibit_of(content: bytes, path: Path) -> ExhibitFile:
    """The same from what was read of the file, or sent under that name.

    Raises:
        FaultsFound: as for a file.
    """
    if len(content) > GREATEST_SIZE_BYTES:
        expected = f"at most {GREATEST_SIZE_BYTES // 1_000_000} million bytes"
        advice = "Save the picture smaller, or divide the document"
        raise _refusal(path, "a larger file", expected, advice)
    media_type = media_type_of(content)
    if media_type is None:
        raise _refusal(path, _looks_like(content), _TAKEN, "Save it as one of these")
    if media_type == "image/heic" and not HEIC_IS_READ:
        advice = "Install the extra 'heic' (witnessmark[heic]), or save the picture as JPEG"
        raise _refusal(path, "a HEIC picture, which needs an extra", _TAKEN, advice)
    if media_type in _IN_WORDS and path.suffix.lower() in PICTURE_ENDINGS | _OTHER_PICTURES:
        found = f"{_IN_WORDS[media_type]} under the name of a picture"
        expected = f"a picture, as {path.suffix} says"
        advice = "Put the picture itself there, or let the name end in .txt or .pdf as it is"
        raise _refusal(path, found, expected, advice)
    if media_type.startswith("image/"):
        try:
            check_picture(content)
        except PictureDamaged as error:
            found = f"a picture that cannot be taken ({error})"
            expected = f"a whole picture of at most {MOST_PIXELS // 1_000_000} million pixels"
            advice = "Save it again with a program for pictures"
            raise _refusal(path, found, expected, advice) from error
    return ExhibitFile(sha256_hex(content), media_type, len(content), content)


def media_type_of(content: bytes) -> str | None:
    """What kind of file the content is; None for a kind that is not kept.

    >>> media_type_of(b"%PDF-1.7 ..."), media_type_of(b"<svg/>")
    ('application/pdf', None)
    """
    if found := picture_type(content):
        return found
    if content.startswith(b"%PDF-"):
        return "application/pdf"
    return "text/plain" if _is_plain_text(content) else None


def _is_plain_text(content: bytes) -> bool:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    if not text.strip() or text.lstrip().startswith(_NOT_TEXT):
        return False
    return not any(ord(character) < 32 and character not in "\t\n\r\f" for character in text)


def _looks_like(content: bytes) -> str:
    if not content.strip():
        return "an empty file"
    start = content[:1000].lower()
    for sign, name in ((b"<svg", "an SVG drawing"), (b"<html", "an HTML page")):
        if sign in start:
            return f"{name}, which can carry a program"
    return "a file of another kind"


def _refusal(path: Path, found: str, expected: str, advice: str = "") -> FaultsFound:
    return FaultsFound([Fault(str(path), 0, 0, "", found, expected, advice)])
