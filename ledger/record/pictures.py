"""Pictures: taken only whole and of a bearable size, and drawn anew before they are published.

A published picture is made from pixels alone. What a camera writes beside them (place, owner,
number of the camera, a small picture of what was cut away) has no way across, nor has anything
that follows the end of the picture in its file. Masks are painted before the picture is written
or made smaller, so that nothing of what they cover is left in it.

Pictures of phones (HEIC) are read where the package that reads them is installed, which is an
extra of its own; they are published as JPEG, which every browser shows.
"""

from __future__ import annotations

import math
import struct
import warnings
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from io import BytesIO
from typing import Final, Protocol

from PIL import Image, ImageCms, UnidentifiedImageError

MOST_PIXELS: Final = 80_000_000
THUMBNAIL_PIXELS: Final = 480
HEIC_READER: Final = "pillow_heif"
HEIC_IS_READ: Final = find_spec(HEIC_READER) is not None

_MASK_INK: Final = (0, 0, 0)
# More than this a side cannot be in what is written: JFIF by its widest reader, WebP by RFC 9649.
_LONGEST_SIDES: Final = {"JPEG": 65_500, "WEBP": 16_383}
_FORMATS: Final = {"image/png": "PNG", "image/jpeg": "JPEG", "image/webp": "WEBP"}
_HEIC: Final = "image/heic"
# ISO/IEC 23008-12, annex B: the brands of still pictures that are coded by HEVC; from memory.
_HEIC_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1"})
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
    ArithmeticError,
    AttributeError,
    LookupError,
    MemoryError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    EOFError,
    struct.error,
    zlib.error,
)

if HEIC_IS_READ:
    import_module(HEIC_READER).register_heif_opener(thumbnails=False)


class PictureDamaged(ValueError):
    """The content is not a picture that can be taken; the text says why."""


class Region(Protocol):
    """A rectangle, its edges as shares of the width and the height of a picture."""

    @property
    def left(self) -> float:
        """Where it begins, from the left."""

    @property
    def top(self) -> float:
        """Where it begins, from the top."""

    @property
    def width(self) -> float:
        """How wide it is."""

    @property
    def height(self) -> float:
        """How high it is."""


@dataclass(frozen=True, slots=True)
class PublishedPicture:
    """A picture as it may be shown to anybody, with a small one of the same kind."""

    media_type: str
    content: bytes
    thumbnail: bytes


def picture_type(content: bytes) -> str | None:
    """The media type that the first bytes say; None for what is no picture that is taken."""
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "image/webp"
    if content[4:8] == b"ftyp" and content[8:12] in _HEIC_BRANDS:
        return _HEIC
    return None


def check_picture(content: bytes) -> None:
    """Make sure that the picture can be decoded, and go the whole way that publishing goes.

    Raises:
        PictureDamaged: it cannot, or it would be of too many pixels.
    """
    thumbnail_image(content)  # the way of the whole picture but for its length


@contextmanager
def decoded_picture(content: bytes) -> Iterator[Image.Image]:
    """The picture with all its pixels decoded, and with what its camera wrote.

    Raises:
        PictureDamaged: it is no picture that is taken, or what is asked of it cannot be read.
    """
    with _quiet(), _opened(content) as opened:
        try:
            yield opened
        except _DAMAGE as error:
            raise PictureDamaged(str(error)) from error


def published_picture(content: bytes, masks: Iterable[Region] = ()) -> PublishedPicture:
    """The picture as it may be published, in full and small, with the regions painted over.

    Raises:
        PictureDamaged: the content is not a picture that is taken.
    """
    picture = _bare(content, masks)
    image_format = _format(content)
    full = _written(picture, image_format)
    picture.thumbnail((THUMBNAIL_PIXELS, THUMBNAIL_PIXELS))
    return PublishedPicture(f"image/{image_format.lower()}", full, _written(picture, image_format))


def published_image(content: bytes, masks: Iterable[Region] = ()) -> bytes:
    """The picture anew, upright, with nothing but its pixels, and with the regions painted over.

    Raises:
        PictureDamaged: the content is not a picture that is taken.
    """
    return _written(_bare(content, masks), _format(content))


def thumbnail_image(
    content: bytes, longest_pixels: int = THUMBNAIL_PIXELS, masks: Iterable[Region] = ()
) -> bytes:
    """The picture as by :func:`published_image`, no side longer than ``longest_pixels``.

    Raises:
        PictureDamaged: the content is not a picture that is taken.
    """
    picture = _bare(content, masks)
    picture.thumbnail((longest_pixels, longest_pixels))
    return _written(picture, _format(content))


def _format(content: bytes) -> str:
    """The format in which a picture is published: its own, or JPEG for that of phones."""
    return _FORMATS.get(picture_type(content) or "", "JPEG")


def _bare(content: bytes, masks: Iterable[Region]) -> Image.Image:
    """The picture upright and masked, a new one that took over the pixels and nothing else."""
    image_format = _format(content)
    with decoded_picture(content) as opened:
        if max(opened.size) > _LONGEST_SIDES.get(image_format, MOST_PIXELS):
            raise PictureDamaged(f"{opened.width} by {opened.height} pixels")
        picture = _upright(opened)
        has_alpha = image_format != "JPEG" and picture.has_transparency_data
        picture = _in_common_colours(picture, "RGBA" if has_alpha else "RGB")
        bare = Image.new(picture.mode, picture.size)
        bare.paste(picture)
    for mask in masks:
        bare.paste(_MASK_INK, _box(mask, bare.size))
    return bare


def _box(mask: Region, size: tuple[int, int]) -> tuple[int, int, int, int]:
    """The pixels that the region touches, each whole."""
    width, height = size
    left = math.floor(mask.left * width)
    top = math.floor(mask.top * height)
    right = math.ceil((mask.left + mask.width) * width)
    bottom = math.ceil((mask.top + mask.height) * height)
    return left, top, min(right, width), min(bottom, height)


def _written(picture: Image.Image, image_format: str) -> bytes:
    written = BytesIO()
    settings = {} if image_format == "PNG" else {"quality": 90}
    try:
        picture.save(written, format=image_format, **settings)
    except _DAMAGE as error:
        raise PictureDamaged(str(error)) from error
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


@contextmanager
def _quiet() -> Iterator[None]:
    """Within it nothing is said of damage that does not matter, and too great a size is an error."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield


def _opened(content: bytes) -> Image.Image:
    """The picture with all its pixels decoded; refused by its stated size before that."""
    media_type = picture_type(content)
    if media_type is None:
        raise PictureDamaged("it is no PNG, JPEG or WebP picture")
    if media_type == _HEIC and not HEIC_IS_READ:
        raise PictureDamaged("pictures of phones need the extra heic")
    image_format = _FORMATS.get(media_type, "HEIF")
    try:
        with _quiet():
            picture = Image.open(BytesIO(content), formats=(image_format,))
            is_bearable = picture.width * picture.height <= MOST_PIXELS
            if is_bearable:
                picture.load()
    except _DAMAGE as error:
        raise PictureDamaged(str(error)) from error
    if not is_bearable:
        raise PictureDamaged(f"{picture.width} by {picture.height} pixels")
    return picture
