from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageOps

from ledger.basis.hashing import sha256_hex
from ledger.errors import FaultsFound
from ledger.record import exhibits
from ledger.record.exhibits import published_image, read_exhibit, thumbnail_image


def _kept(tmp_path, content):
    path = tmp_path / "exhibit"
    path.write_bytes(content)
    return read_exhibit(path)


def _refused(tmp_path, content):
    with pytest.raises(FaultsFound) as caught:
        _kept(tmp_path, content)
    (fault,) = caught.value.faults
    return fault.found


@pytest.mark.parametrize("image_format", ["PNG", "JPEG", "WEBP"])
def test_a_picture_is_known_by_its_content(tmp_path, picture, image_format):
    content = picture(image_format)
    file = _kept(tmp_path, content)
    assert file.media_type == f"image/{image_format.lower()}"
    assert (file.sha256, file.size_bytes, file.content) == (
        sha256_hex(content),
        len(content),
        content,
    )


def test_pdf_and_plain_text_are_kept(tmp_path):
    assert _kept(tmp_path, b"%PDF-1.7\n...").media_type == "application/pdf"
    assert _kept(tmp_path, "Düsseldorf\r\n\t1 < 2".encode()).media_type == "text/plain"


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "an empty file"),
        (b" \n", "an empty file"),
        (b"<svg xmlns='x'/>", "an SVG drawing"),
        (b"\xef\xbb\xbf <!DOCTYPE html><HTML>", "an HTML page"),
        (b"<?xml version='1.0'?><a/>", "a file of another kind"),
        (b"GIF89a\x00\x01", "a file of another kind"),
        (b"PK\x03\x04\xff", "a file of another kind"),
        (b"a\x00b", "a file of another kind"),
        (b"\x89PNG\r\n\x1a\nbroken", "a picture that cannot be taken"),
        (b"\xff\xd8\xff\xe0broken", "a picture that cannot be taken"),
        (b"RIFF\x00\x00\x00\x00WEBPbroken", "a picture that cannot be taken"),
    ],
    ids=lambda value: repr(value)[:24],
)
def test_other_kinds_and_damaged_files_are_refused(tmp_path, content, found):
    assert found in _refused(tmp_path, content)


def test_a_picture_that_is_cut_off_is_refused(tmp_path, picture):
    content = picture("JPEG", (400, 400))
    assert "cannot be taken" in _refused(tmp_path, content[: len(content) // 2])


def test_a_large_file_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(exhibits, "GREATEST_SIZE_BYTES", 10)
    assert _refused(tmp_path, b"x" * 11) == "a larger file"
    assert _kept(tmp_path, b"x" * 10)


@pytest.mark.parametrize("side", [9_000, 10_000, 30_000], ids=str)
def test_a_picture_that_unpacks_to_too_many_pixels_is_refused_before_it_does(tmp_path, side):
    def _chunk(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    bomb = (
        b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", b"") + _chunk(b"IEND", b"")
    )
    assert "cannot be taken" in _refused(tmp_path, bomb)


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(FaultsFound, match="no file of that name"):
        read_exhibit(tmp_path / "nothing")


@pytest.mark.parametrize("image_format", ["PNG", "JPEG", "WEBP"])
def test_a_published_picture_carries_nothing_but_its_pixels(picture, image_format):
    exif = Image.Exif()
    exif[0x010F] = "A camera"
    exif[0x0112] = 6  # lies on its side
    content = picture(image_format, exif=exif)
    assert b"A camera" in content
    published = published_image(content)
    assert b"A camera" not in published
    shown = Image.open(BytesIO(published))
    assert shown.format == image_format
    assert shown.size == (20, 40)
    assert not shown.getexif()


@pytest.mark.parametrize("orientation", range(9))
def test_a_picture_is_published_as_its_camera_was_held(orientation):
    # Oracle: Pillow's own reading of the tag, which does not survive a damaged one.
    lying = Image.new("L", (3, 2))
    lying.putdata([0, 50, 100, 150, 200, 250])
    exif = Image.Exif()
    exif[0x0112] = orientation
    written = BytesIO()
    lying.save(written, "PNG", exif=exif)
    expected = ImageOps.exif_transpose(Image.open(BytesIO(written.getvalue()))).convert("RGB")
    shown = Image.open(BytesIO(published_image(written.getvalue())))
    assert (shown.size, shown.tobytes()) == (expected.size, expected.tobytes())


def test_words_in_a_png_do_not_survive(picture):
    from PIL.PngImagePlugin import PngInfo  # noqa: PLC0415 - Pillow loads it late as well

    words = PngInfo()
    words.add_text("Author", "somebody")
    content = picture(pnginfo=words)
    assert b"somebody" in content
    assert b"somebody" not in published_image(content)


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_colours_are_turned_into_common_ones(picture, mode):
    common = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = common.replace(b"rXYZ", b"xXYZ").replace(b"gXYZ", b"rXYZ").replace(b"xXYZ", b"gXYZ")
    no_colours = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
    plain = Image.open(BytesIO(published_image(picture(mode=mode))))
    for profile in (swapped, common, no_colours, b"damaged"):
        shown = Image.open(BytesIO(published_image(picture(mode=mode, icc_profile=profile))))
        assert "icc_profile" not in shown.info
        is_same = shown.getpixel((1, 1)) == plain.getpixel((1, 1))
        assert is_same == (profile != swapped)


@pytest.mark.parametrize("mode", ["RGBA", "P", "L", "I;16", "1"])
def test_pictures_of_every_depth_are_published(picture, mode):
    settings = {"transparency": 0} if mode == "P" else {}
    assert published_image(picture(mode=mode, **settings) if mode in ("RGBA", "P") else _grey(mode))


def _grey(mode):
    written = BytesIO()
    Image.new(mode, (5, 5)).save(written, "PNG")
    return written.getvalue()


def test_a_thumbnail_keeps_its_shape_within_its_size(picture):
    shown = Image.open(BytesIO(thumbnail_image(picture("JPEG", (900, 300)), 90)))
    assert shown.size == (90, 30)


def test_what_is_no_picture_has_no_published_picture():
    with pytest.raises(FaultsFound, match="PNG, JPEG or WebP"):
        published_image(b"words")
    with pytest.raises(FaultsFound, match="cannot be read"):
        thumbnail_image(b"\xff\xd8\xffbroken")


@settings(deadline=None)
@given(
    st.sampled_from(
        [b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0", b"RIFF\x10\x00\x00\x00WEBPVP8 "]
    ),
    st.binary(max_size=80),
)
def test_arbitrary_bytes_are_published_or_refused(start, rest):
    with pytest.raises(FaultsFound):
        published_image(start + rest)
