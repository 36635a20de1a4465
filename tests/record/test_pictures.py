from __future__ import annotations

from io import BytesIO
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageOps

from ledger.masks import Mask
from ledger.record import pictures
from ledger.record.pictures import (
    PictureDamaged,
    check_picture,
    decoded_picture,
    picture_type,
    published_image,
    published_picture,
    thumbnail_image,
)


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
    with pytest.raises(PictureDamaged, match="PNG, JPEG or WebP"):
        published_image(b"words")
    with pytest.raises(PictureDamaged):
        thumbnail_image(b"\xff\xd8\xffbroken")


@settings(deadline=None)
@given(
    st.sampled_from(
        [b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0", b"RIFF\x10\x00\x00\x00WEBPVP8 "]
    ),
    st.binary(max_size=80),
)
def test_arbitrary_bytes_are_published_or_refused(start, rest):
    with pytest.raises(PictureDamaged):
        published_image(start + rest)


def _mask(left, top, width, height):
    return Mask(left=left, top=top, width=width, height=height)


def _shown(content):
    return Image.open(BytesIO(content)).convert("RGB")


def test_a_masked_region_is_painted_over_in_the_picture_and_in_its_thumbnail(picture):
    content = picture("PNG", (1000, 500))
    made = published_picture(content, [_mask(0.25, 0.5, 0.5, 0.2)])
    full, small = _shown(made.content), _shown(made.thumbnail)
    plain = _shown(content)
    for x in range(0, 1000, 50):
        for y in range(0, 500, 25):
            is_inside = 250 <= x < 750 and 250 <= y < 350
            assert full.getpixel((x, y)) == ((0, 0, 0) if is_inside else plain.getpixel((x, y)))
    assert small.size == (480, 240)
    assert small.getpixel((240, 140)) == (0, 0, 0)
    assert small.getpixel((240, 60)) != (0, 0, 0)


@settings(deadline=None, max_examples=60)
@given(
    st.tuples(st.integers(1, 40), st.integers(1, 40)),
    st.tuples(*[st.integers(0, 100)] * 2, *[st.integers(1, 100)] * 2),
)
def test_every_pixel_that_a_mask_touches_is_painted_and_no_other(size, edges):
    # Oracle: each pixel by itself, as a square that overlaps the region or does not.
    left, top, width, height = (edge / 100 for edge in edges)
    width, height = min(width, 1 - left), min(height, 1 - top)
    written = BytesIO()
    Image.new("RGB", size, (200, 200, 200)).save(written, "PNG")
    region = SimpleNamespace(left=left, top=top, width=width, height=height)
    shown = _shown(published_image(written.getvalue(), [region]))
    slack = 1e-9
    for x in range(size[0]):
        for y in range(size[1]):
            across = x + 1 > left * size[0] + slack and x < (left + width) * size[0] - slack
            along = y + 1 > top * size[1] + slack and y < (top + height) * size[1] - slack
            if across and along:
                assert shown.getpixel((x, y)) == (0, 0, 0)
    painted = sum(
        shown.getpixel((x, y)) == (0, 0, 0) for x in range(size[0]) for y in range(size[1])
    )
    assert painted <= (width * size[0] + 2) * (height * size[1] + 2)


def test_a_mask_speaks_of_the_picture_as_it_is_seen_upright(picture):
    exif = Image.Exif()
    exif[0x0112] = 6  # lies on its side: what is stored 40 by 20 is seen 20 by 40
    shown = _shown(published_image(picture("PNG", (40, 20), exif=exif), [_mask(0, 0, 1, 0.5)]))
    assert shown.size == (20, 40)
    assert shown.getpixel((10, 10)) == (0, 0, 0)
    assert shown.getpixel((10, 30)) != (0, 0, 0)


@pytest.mark.parametrize("image_format", ["PNG", "JPEG", "WEBP"])
def test_what_stands_behind_the_end_of_a_picture_does_not_survive(picture, image_format):
    content = picture(image_format) + b"<html><script>alert(1)</script> and a name"
    made = published_picture(content)
    assert b"script" not in made.content + made.thumbnail
    assert b"a name" not in made.content + made.thumbnail


def test_only_the_first_of_several_pictures_in_a_file_is_published():
    written = BytesIO()
    first, second = (Image.new("RGB", (8, 8), colour) for colour in ((9, 9, 9), (240, 9, 9)))
    first.save(written, "PNG", save_all=True, append_images=[second])
    assert Image.open(BytesIO(written.getvalue())).n_frames == 2
    assert getattr(Image.open(BytesIO(published_image(written.getvalue()))), "n_frames", 1) == 1


def test_words_that_unpack_to_more_than_the_reader_bears_are_refused():
    import zlib  # noqa: PLC0415 - for this test alone

    from PIL.PngImagePlugin import putchunk  # noqa: PLC0415 - Pillow loads it late as well

    whole = BytesIO()
    Image.new("RGB", (2, 2)).save(whole, "PNG")
    bomb = BytesIO()
    putchunk(bomb, b"zTXt", b"Comment\0\0" + zlib.compress(bytes(80_000_000), 9))
    content = whole.getvalue()
    at = content.index(b"IDAT") - 4
    with pytest.raises(PictureDamaged):
        check_picture(content[:at] + bomb.getvalue() + content[at:])


def test_a_picture_of_a_phone_is_published_as_jpeg_without_what_the_phone_wrote():
    heif = pytest.importorskip("pillow_heif", reason="the extra heic is not installed")
    exif = Image.Exif()
    exif[0x010F] = "A camera"
    exif.get_ifd(0x8825)[1] = "N"
    written = BytesIO()
    made = Image.new("RGB", (64, 48), (200, 30, 30))
    heif.from_pillow(made).save(written, exif=exif.tobytes())
    content = written.getvalue()
    assert b"A camera" in content
    assert picture_type(content) == "image/heic"
    published = published_picture(content, [_mask(0, 0, 0.5, 1)])
    assert published.media_type == "image/jpeg"
    assert b"A camera" not in published.content
    shown = Image.open(BytesIO(published.content))
    assert (shown.format, shown.size) == ("JPEG", (64, 48))
    assert not shown.getexif()
    assert max(shown.getpixel((10, 24))) < 20
    assert shown.getpixel((54, 24))[0] > 150


def test_a_picture_of_a_phone_is_not_taken_without_its_reader(monkeypatch):
    monkeypatch.setattr(pictures, "HEIC_IS_READ", False)
    with pytest.raises(PictureDamaged, match="extra heic"):
        check_picture(b"\x00\x00\x00\x1cftypheic" + bytes(40))


@pytest.mark.parametrize("image_format", ["PNG", "WEBP"])
def test_a_picture_whose_camera_wrote_what_cannot_be_read_is_not_taken(picture, image_format):
    content = picture(image_format, exif=b"neither order of bytes")
    assert Image.open(BytesIO(content)).convert("RGB").tobytes()  # its pixels are whole
    with pytest.raises(PictureDamaged):
        check_picture(content)


@pytest.mark.parametrize("longest", [65_500, 65_501], ids=["just not too long", "too long"])
def test_a_picture_that_is_longer_than_its_format_can_be_written_is_not_taken(longest, monkeypatch):
    monkeypatch.setattr(pictures, "_format", lambda _: "JPEG")
    written = BytesIO()
    Image.new("L", (longest, 1)).save(written, "PNG")
    if longest <= 65_500:
        check_picture(written.getvalue())
        assert published_picture(written.getvalue()).content
        return
    with pytest.raises(PictureDamaged, match="65501 by 1"):
        check_picture(written.getvalue())


def test_what_is_asked_of_a_picture_and_cannot_be_read_is_damage_and_nothing_else(picture):
    content = picture("PNG", exif=b"neither order of bytes")
    with pytest.raises(PictureDamaged), decoded_picture(content) as opened:
        opened.getexif().get(1)


@settings(max_examples=150)
@given(
    st.sampled_from(["PNG", "JPEG", "WEBP"]),
    st.lists(st.tuples(st.integers(0, 5_000), st.integers(0, 255)), max_size=6),
    st.integers(0, 30),
)
def test_what_is_taken_can_be_published(image_format, changes, cut):
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "A camera"
    written = BytesIO()
    Image.new("RGB", (20, 12), (9, 90, 200)).save(written, image_format, exif=exif)
    content = bytearray(written.getvalue())
    for at, value in changes:
        content[at % len(content)] = value
    content = bytes(content[: len(content) - cut])
    try:
        check_picture(content)
    except PictureDamaged:
        return
    assert published_picture(content).thumbnail
