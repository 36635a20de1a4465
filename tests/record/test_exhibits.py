from __future__ import annotations

import struct
import zlib

import pytest

from ledger.basis.hashing import sha256_hex
from ledger.errors import FaultsFound
from ledger.record import exhibits
from ledger.record.exhibits import media_type_of, read_exhibit
from ledger.record.sheet import read_sheet


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


def test_a_document_is_no_picture(tmp_path, picture):
    assert not _kept(tmp_path, b"%PDF-1.7\n...").is_picture
    assert _kept(tmp_path, picture("PNG")).is_picture


def test_a_picture_of_a_phone_says_which_extra_it_needs_where_that_is_not_there(
    tmp_path, monkeypatch
):
    content = b"\x00\x00\x00\x1cftypheic" + bytes(40)
    assert media_type_of(content) == "image/heic"
    monkeypatch.setattr(exhibits, "HEIC_IS_READ", False)
    with pytest.raises(FaultsFound, match=r"witnessmark\[heic\]"):
        _kept(tmp_path, content)


@pytest.mark.parametrize("name", ["foo.png", "FOO.JPG", "a.heic", "a.gif", "a.tiff"])
@pytest.mark.parametrize(
    ("content", "found"), [(b"x", "plain text"), (b"%PDF-1.7\n...", "a PDF document")]
)
def test_a_file_that_is_called_a_picture_and_is_none_is_refused(tmp_path, name, content, found):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FaultsFound) as caught:
        read_exhibit(path)
    (fault,) = caught.value.faults
    assert fault.file == str(path)
    assert fault.found == f"{found} under the name of a picture"
    assert fault.expected == f"a picture, as {path.suffix} says"
    assert "Put the picture itself there" in fault.advice


def test_a_sheet_whose_exhibit_is_called_a_picture_and_is_none_is_refused(tmp_path):
    (tmp_path / "foo.png").write_bytes(b"x")
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(
        "bench_sheet: 1\ninstrument: {id: one, kind: mandolin, name: One}\n"
        "exhibits:\n- {id: foo, file: foo.png}\n",
        encoding="utf-8",
    )
    with pytest.raises(FaultsFound, match="plain text under the name of a picture") as caught:
        read_sheet(sheet)
    assert "exhibits[1].file" in str(caught.value)


def test_a_picture_may_be_called_what_it_likes(tmp_path, picture):
    assert _kept(tmp_path, picture("PNG")).is_picture
    (tmp_path / "a.txt").write_bytes(picture("JPEG"))
    assert read_exhibit(tmp_path / "a.txt").is_picture
