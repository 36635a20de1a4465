"""Exhibits: files kept under their SHA-256, and the pictures of them that may be published.

What a file is, is told by its content and never by its name. Only kinds that cannot carry a
program are taken: drawings as SVG and pages as HTML are refused.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image, ImageCms, UnidentifiedImageError

from ledger.basis.hashing import sha256_hex
from ledger.errors import Fault, FaultsFound

GREATEST_SIZE_BYTES: Final = 20_000_000
MOST_PIXELS: Final = 80_000_000
THUMBNAIL_PIXELS: Final = 480

_TAKEN: Final = "a PNG, JPEG or WebP picture, a PDF or plain text"
_IMAGE_FORMATS: Final = {"image/png": "PNG", "image/jpeg": "JPEG", "image/webp": "WEBP"}
# The tag of the Exif standard that says how the camera was held, and what sets each value right.
_ORIENTATION: Final = 0x0112
_TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# What the decoders raise on a damaged file; Pillow has no error of its own for all of it.
_DAMAGE: Final = (
    UnidentifiedImageError,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
)


@dataclass(frozen=True, slots=True)
class ExhibitFile:
    """A file as it is kept."""

    sha256: str
    media_type: str
    size_bytes: int
    content: bytes


def read_exhibit(path: Path) -> ExhibitFile:
    """The file at ``path``, if it is of a kind that is kept.

    Raises:
        FaultsFound: it cannot be read, is too large, damaged, or of another kind.
    """
    try:
        if not path.is_file():
            raise _refusal(path, "no file of that name", "the file of the exhibit")
        with path.open("rb") as file:
            content = file.read(GREATEST_SIZE_BYTES + 1)
    except (OSError, ValueError) as error:
        raise _refusal(path, f"a file that cannot be read ({error})", _TAKEN) from error
    if len(content) > GREATEST_SIZE_BYTES:
        expected = f"at most {GREATEST_SIZE_BYTES // 1_000_000} million bytes"
        advice = "Save the picture smaller, or divide the document"
        raise _refusal(path, "a larger file", expected, advice)
    media_type = _media_type(content)
    if media_type is None:
        raise _refusal(path, _looks_like(content), _TAKEN, "Save it as one of these")
    if media_type in _IMAGE_FORMATS:
        try:
            _opened(content).close()
        except _DAMAGE as error:
            found = f"a picture that cannot be taken ({error})"
            expected = f"a whole picture of at most {MOST_PIXELS // 1_000_000} million pixels"
            raise _refusal(path, found, expected) from error
    return ExhibitFile(sha256_hex(content), media_type, len(content), content)


def published_image(content: bytes) -> bytes:
    """The picture anew, upright, in its own format, and with nothing but its pixels.

    Place, time, camera and owner that a camera writes into a file do not survive it.

    Raises:
        FaultsFound: the content is not a picture that is kept.
    """
    return _redrawn(content, None)


def thumbnail_image(content: bytes, longest_pixels: int = THUMBNAIL_PIXELS) -> bytes:
    """The picture as by :func:`published_image`, no side longer than ``longest_pixels``.

    Raises:
        FaultsFound: the content is not a picture that is kept.
    """
    return _redrawn(content, longest_pixels)


def _redrawn(content: bytes, longest_pixels: int | None) -> bytes:
    image_format = _IMAGE_FORMATS.get(_media_type(content) or "")
    if image_format is None:
        raise _refusal(None, _looks_like(content), "a PNG, JPEG or WebP picture")
    try:
        picture = _upright(_opened(content))
    except _DAMAGE as error:
        found = f"a picture that cannot be read ({error})"
        raise _refusal(None, found, "a whole picture") from error
    has_alpha = image_format != "JPEG" and picture.has_transparency_data
    picture = _in_common_colours(picture, "RGBA" if has_alpha else "RGB")
    if longest_pixels is not None:
        picture.thumbnail((longest_pixels, longest_pixels))
    # A new picture takes over the pixels and nothing else.
    bare = Image.new(picture.mode, picture.size)
    bare.paste(picture)
    written = BytesIO()
    settings = {} if image_format == "PNG" else {"quality": 90}
    bare.save(written, format=image_format, **settings)
    return written.getvalue()


def _upright(picture: Image.Image) -> Image.Image:
    """The picture turned as its camera says it was held."""
    held = picture.getexif().get(_ORIENTATION)
    turn = _TURNS.get(held) if isinstance(held, int) else None
    return picture if turn is None else picture.transpose(turn)


def _in_common_colours(picture: Image.Image, mode: str) -> Image.Image:
    """The picture in the colours that are assumed where a file names none (sRGB)."""
    profile = picture.info.get("icc_profile")
    picture = picture.convert(mode)
    if not profile:
        return picture
    try:
        changed = ImageCms.profileToProfile(
            picture, ImageCms.ImageCmsProfile(BytesIO(profile)), ImageCms.createProfile("sRGB")
        )
    except (OSError, ImageCms.PyCMSError):  # of another kind of colour, or damaged
        return picture
    return changed or picture


def _opened(content: bytes) -> Image.Image:
    """The picture with all its pixels decoded; refused by its stated size before that."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        picture = Image.open(BytesIO(content), formats=tuple(_IMAGE_FORMATS.values()))
        if picture.width * picture.height > MOST_PIXELS:
            raise Image.DecompressionBombError(f"{picture.width} by {picture.height} pixels")
        picture.load()
    return picture


def _media_type(content: bytes) -> str | None:
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "image/webp"
    if content.startswith(b"%PDF-"):
        return "application/pdf"
    return "text/plain" if _is_plain_text(content) else None


def _is_plain_text(content: bytes) -> bool:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    if not text.strip() or text.lstrip().startswith("<"):
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


def _refusal(path: Path | None, found: str, expected: str, advice: str = "") -> FaultsFound:
    name = str(path) if path is not None else "exhibit"
    return FaultsFound([Fault(name, 0, 0, "", found, expected, advice)])
