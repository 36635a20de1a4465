"""Files that are damaged or made to harm are taken as what they are, or refused."""

from __future__ import annotations

import io
import tracemalloc

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from ledger.errors import FaultsFound
from ledger.holdings import sample_data
from ledger.record.exhibits import media_type_of, read_exhibit
from ledger.record.pictures import PictureDamaged, published_picture

QUICK = settings(
    deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def _pictures():
    made = {}
    for name in ("PNG", "JPEG", "WEBP"):
        exif = Image.Exif()
        exif[0x010F], exif[0x0112] = "A camera", 6
        exif.get_ifd(0x8825)[2] = (1.0, 2.0, 3.0)
        written = io.BytesIO()
        Image.effect_noise((24, 16), 60).convert("RGB").save(written, name, exif=exif)
        made[name] = written.getvalue()
    return made


PICTURES = _pictures()


@QUICK
@given(
    st.sampled_from(sorted(PICTURES)),
    st.lists(st.tuples(st.integers(0, 5_000), st.integers(0, 255)), min_size=1, max_size=8),
    st.integers(0, 40),
)
def test_a_picture_with_changed_bytes_is_published_clean_or_refused(name, changes, cut):
    content = bytearray(PICTURES[name])
    for at, value in changes:
        content[at % len(content)] = value
    try:
        made = published_picture(bytes(content[: len(content) - cut]))
    except PictureDamaged:
        return
    shown = Image.open(io.BytesIO(made.content))
    assert not shown.getexif()
    assert b"A camera" not in made.content


@QUICK
@given(
    st.sampled_from([*PICTURES.values(), b"%PDF-1.4\n", b"words\n", b"RIFF", b""]),
    st.binary(max_size=200),
)
def test_whatever_follows_the_first_bytes_a_file_is_kept_or_refused(tmp_path, start, rest):
    path = tmp_path / "exhibit"
    path.write_bytes(start[: len(start) // 2] + rest)
    try:
        kept = read_exhibit(path)
    except FaultsFound:
        return
    assert kept.media_type in {
        "image/png",
        "image/jpeg",
        "image/webp",
        "application/pdf",
        "text/plain",
    }


PROGRAMS = {
    "svg": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "svg-with-a-mark": "\ufeff<svg/>".encode(),
    "svg-after-space": b" \n\t<svg onload='x'/>",
    "svg-after-a-declaration": b"<?xml version='1.0'?><!-- --><svg/>",
    "svg-in-utf-16": "<svg onload='x'/>".encode("utf-16"),
    "svg-packed": b"\x1f\x8b\x08\x00<svg",
    "html": b"<!doctype html><script>alert(1)</script>",
    "html-in-utf-7": b"+ADw-script+AD4-\x00",
    "xml-entities": b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>",
    "gif": b"GIF89a/*<svg/onload=alert(1)>*/",
    "bmp": b"BM\x9a<script>",
    "icon": b"\0\0\1\0\1\0",
    "tiff": b"II*\0<script>",
    "postscript": b"%!PS-Adobe-3.0\n\x00",
    "executable": b"\x7fELF\x02\x01\x01",
    "zip": b"PK\x03\x04<script>",
    "jpeg-in-name-only": b"\xff\xd8<html>",
    "webp-in-name-only": b"RIFF\0\0\0\0WAVE<svg/>",
}


@pytest.mark.parametrize("content", PROGRAMS.values(), ids=PROGRAMS)
def test_what_can_carry_a_program_is_refused_whatever_it_is_called(tmp_path, content):
    assert media_type_of(content) is None
    path = tmp_path / "picture.png"
    path.write_bytes(content)
    with pytest.raises(FaultsFound):
        read_exhibit(path)


@pytest.mark.parametrize("name", sorted(PICTURES))
def test_a_page_hidden_behind_a_picture_is_not_published_with_it(name):
    made = published_picture(PICTURES[name] + b"<html><script>alert(1)</script>")
    assert b"<script" not in made.content + made.thumbnail


def test_a_picture_that_states_a_great_size_takes_no_room_before_it_is_refused(tmp_path):
    # A header alone: 60,000 by 60,000 pixels would need ten thousand million bytes.
    head = PICTURES["PNG"][:16] + (60_000).to_bytes(4, "big") * 2 + PICTURES["PNG"][24:29]
    path = tmp_path / "bomb.png"
    path.write_bytes(head + PICTURES["PNG"][29:])
    tracemalloc.start()
    with pytest.raises(FaultsFound):
        read_exhibit(path)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 60_000_000  # the room for the largest file that is taken, and little more


def test_the_pictures_of_the_samples_are_all_taken():
    found = sorted((sample_data() / "exhibits").glob("*.png"))
    assert len(found) > 5
    assert all(read_exhibit(path).is_picture for path in found)
