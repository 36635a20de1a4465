from __future__ import annotations

import pytest
from PIL import Image

from ledger.basis.hashing import sha256_hex
from ledger.bench import photographs_in
from ledger.bench.exhibits_in import add_exhibits
from ledger.bench.photographs_in import (
    Photograph,
    exhibits_of,
    positions_named,
    read_photographs,
    told,
)
from ledger.bench.row_ids import RowIds
from ledger.errors import FaultsFound
from ledger.record.sheet import read_sheet

SHEET = """\
# mine: a comment that stays
bench_sheet: 1
instrument: {id: i-1, kind: lap-steel, name: One}   # and this

sources:
  - {id: bench, kind: examination, title: On the bench}
"""


@pytest.fixture
def view(packs):
    return packs.catalogue("lap-steel")


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "photographs"
    made.mkdir()
    return made


@pytest.mark.parametrize(
    ("stem", "positions"),
    [
        ("tuners", ("tuners",)),
        ("tuner 2", ("tuners",)),
        ("IMG_0001 tailpiece", ("tailpiece",)),
        ("pot.volume_code", ("pot.volume",)),
        ("pot code", ("pot",)),
        ("pickup cover off", ("pickup-cover",)),
        ("2026-03-02 pickup-cover.1 and pickup.1", ("pickup-cover.1", "pickup.1")),
        ("potentiometer, jack", ("pot", "jack")),
        ("tuners.3", ("tuners",)),
        ("IMG_0001", ()),
        ("spotted", ()),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_picture_belongs_to_the_positions_that_its_name_names(view, stem, positions):
    assert positions_named(stem, view) == positions


def test_each_picture_is_read_with_its_day_its_hash_and_its_positions(
    folder, tmp_path, view, picture
):
    content = picture(taken="2026:03:02 14:03:11", place=(51.0, 30.0, 0.0))
    (folder / "tuners.jpg").write_bytes(content)
    (folder / "notes.txt").write_text("not a picture", encoding="utf-8")
    (found,) = read_photographs(folder, tmp_path, view).photographs
    assert found.file == "photographs/tuners.jpg"
    assert found.sha256 == sha256_hex(content)
    assert found.taken == "2026-03-02T14:03:11"
    assert found.positions == ("tuners",)


def test_what_the_camera_wrote_besides_the_day_does_not_get_into_the_sheet(
    folder, tmp_path, view, picture
):
    (folder / "tuners.jpg").write_bytes(
        picture(taken="2026:03:02 14:03:11", place=(51.5, 0.1, 0.0))
    )
    (line,) = exhibits_of(read_photographs(folder, tmp_path, view).new(), view, RowIds())
    assert line.date == "2026-03-02"
    assert line.withhold == ("note",)  # the time of day, by a clock that nobody has checked
    said = line.model_dump_json(exclude={"note"})
    assert "51" not in said
    assert "14:03" not in said
    assert line.caption == "Tuners"


@pytest.mark.parametrize(
    "taken", [None, "yesterday", "0000:00:00 00:00:00"], ids=["none", "words", "noughts"]
)
def test_a_picture_without_a_day_that_can_be_read_has_none(folder, tmp_path, view, picture, taken):
    (folder / "x.png").write_bytes(picture(taken=taken, image_format="PNG"))
    (line,) = exhibits_of(read_photographs(folder, tmp_path, view).new(), view, RowIds())
    assert line.date is None
    assert line.caption == "Photograph x"


def test_the_same_picture_twice_is_seen_as_a_file_and_as_pixels(folder, tmp_path, view, picture):
    (folder / "a.png").write_bytes(picture(image_format="PNG"))
    (folder / "tuners.png").write_bytes(picture(image_format="PNG"))
    (folder / "b.png").write_bytes(picture(image_format="PNG", taken="2026:03:02 14:03:11"))
    (folder / "other.png").write_bytes(picture("blue", image_format="PNG"))
    found = read_photographs(folder, tmp_path, view)
    assert {each.file: each.same_as for each in found.photographs} == {
        "photographs/a.png": "photographs/tuners.png",
        "photographs/b.png": "photographs/tuners.png",
        "photographs/other.png": "",
        "photographs/tuners.png": "",
    }
    said = "\n".join(told(found))
    assert "a.png: the same picture as photographs/tuners.png" in said
    assert "other.png: no position in its name; no day in the picture" in said


def test_a_picture_that_the_sheet_has_already_is_not_taken_again(folder, tmp_path, view, picture):
    content = picture()
    (folder / "tuners.jpg").write_bytes(content)
    found = read_photographs(folder, tmp_path, view, {sha256_hex(content): "old"})
    assert found.new() == ()
    assert found.photographs[0].same_as == "old"


def test_a_file_that_is_no_whole_picture_is_told_and_the_others_are_taken(
    folder, tmp_path, view, picture
):
    (folder / "bad.jpg").write_bytes(picture()[:200])
    (folder / "page.png").write_text("<html>", encoding="utf-8")
    (folder / "good.jpg").write_bytes(picture())
    found = read_photographs(folder, tmp_path, view)
    assert [each.file for each in found.photographs] == ["photographs/good.jpg"]
    assert len(found.refused) == 2
    assert sum(line.startswith("not taken: ") for line in told(found)) == 2


@pytest.mark.parametrize("name", ["none", ".."], ids=["missing", "elsewhere"])
def test_a_folder_that_is_not_within_that_of_the_sheet_is_refused(tmp_path, view, name):
    with pytest.raises(FaultsFound, match="a folder in that of the sheet"):
        read_photographs(tmp_path / name, tmp_path, view)


def _lines(view):
    given = (
        Photograph("photographs/tuners.jpg", "0" * 64, "", ("tuners",), "2026-03-02T14:03:11"),
        Photograph("photographs/b.jpg", "1" * 64, "", ()),
    )
    return exhibits_of(given, view, RowIds({"tuners"}))


def _pictures(folder, picture):
    for name in ("tuners.jpg", "b.jpg"):
        (folder / name).write_bytes(picture("blue" if name == "b.jpg" else "red"))


def test_pictures_are_put_into_a_sheet_without_touching_what_stands_in_it(
    folder, tmp_path, view, picture
):
    _pictures(folder, picture)
    path = tmp_path / "mine.yaml"
    path.write_text(SHEET, encoding="utf-8")
    kept = add_exhibits(path, _lines(view))
    written = path.read_text(encoding="utf-8")
    assert written.startswith(SHEET.rstrip())
    assert kept.read_text(encoding="utf-8") == SHEET
    sheet = read_sheet(path).sheet
    assert [(line.id, line.positions) for line in sheet.exhibits] == [
        ("tuners-2", ("tuners",)),
        ("b", ()),
    ]


@pytest.mark.parametrize("indent", ["", "  ", "    "], ids=["none", "two", "four"])
def test_pictures_are_put_before_the_exhibits_that_are_there(
    folder, tmp_path, view, picture, indent
):
    _pictures(folder, picture)
    (tmp_path / "a.txt").write_text("a", encoding="utf-8")
    path = tmp_path / "mine.yaml"
    own = f"\nexhibits:  # mine\n{indent}- id: old\n{indent}  file: a.txt\n{indent}  caption: Old\n"
    path.write_text(SHEET + own + "\nquestions:\n- {id: q, question: Why?}\n", encoding="utf-8")
    add_exhibits(path, _lines(view))
    sheet = read_sheet(path).sheet
    assert [line.id for line in sheet.exhibits] == ["tuners-2", "b", "old"]
    assert len(sheet.questions) == 1


def test_exhibits_within_brackets_are_left_as_they_are(tmp_path, view):
    path = tmp_path / "mine.yaml"
    path.write_text(SHEET + "exhibits: []\n", encoding="utf-8")
    with pytest.raises(FaultsFound, match="within brackets"):
        add_exhibits(path, _lines(view))
    assert path.read_text(encoding="utf-8") == SHEET + "exhibits: []\n"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["mine.yaml"]


def test_a_workbook_without_a_tab_for_them_is_left_as_it_is(workbook, view):
    path = workbook({"a": [["h"]]})
    before = path.read_bytes()
    with pytest.raises(FaultsFound, match="no tab exhibits"):
        add_exhibits(path, _lines(view))
    assert path.read_bytes() == before


def test_a_picture_that_cannot_be_made_out_by_its_colours_is_compared_as_it_is_seen(
    folder, tmp_path, view
):
    Image.new("L", (8, 8), 128).save(folder / "grey.png")
    Image.new("RGB", (8, 8), (128, 128, 128)).save(folder / "tuners.png")
    found = read_photographs(folder, tmp_path, view)
    assert [each.same_as for each in found.photographs] == ["photographs/tuners.png", ""]


def test_a_text_under_the_name_of_a_picture_is_told_and_not_taken(folder, tmp_path, view, picture):
    (folder / "foo.png").write_bytes(b"x")
    (folder / "tuners.jpg").write_bytes(picture())
    read = read_photographs(folder, tmp_path, view)
    assert [each.file for each in read.photographs] == ["photographs/tuners.jpg"]
    (fault,) = read.refused
    assert fault.file.endswith("foo.png")
    assert "plain text under the name of a picture" in fault.found


@pytest.mark.parametrize("image_format", ["PNG", "WEBP"])
def test_a_picture_with_damage_in_what_its_camera_wrote_is_told_and_not_taken(
    folder, tmp_path, view, image_format
):
    path = folder / f"tuners.{image_format.lower()}"
    Image.new("RGB", (8, 6)).save(path, image_format, exif=b"neither order of bytes")
    read = read_photographs(folder, tmp_path, view)
    assert read.photographs == ()
    (fault,) = read.refused
    assert "a picture that cannot be taken" in fault.found


def test_a_day_that_cannot_be_read_is_no_day_and_the_picture_is_taken(
    folder, tmp_path, view, picture
):
    content = picture(taken="2026:03:02 14:03:11")
    at = content.index(b"2026:03:02") - 12
    # The entry says that its text stands far behind the end of the file.
    damaged = content[:at].replace(b"\x90\x03\x00\x02", b"\x90\x03\x00\xff") + content[at:]
    assert damaged != content
    (folder / "tuners.jpg").write_bytes(damaged)
    (found,) = read_photographs(folder, tmp_path, view).photographs
    assert found.taken == ""


@pytest.mark.parametrize("link", ["tuners.jpg", "inner"], ids=["picture", "folder"])
def test_a_link_out_of_the_folder_is_refused_before_it_is_read(
    folder, tmp_path, view, picture, monkeypatch, link
):
    home = tmp_path / "home"
    home.mkdir()
    inside = folder.rename(home / "photographs")
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "tuners.jpg").write_bytes(picture())
    target = outside / "tuners.jpg" if link == "tuners.jpg" else outside
    (inside / link).symlink_to(target)
    monkeypatch.setattr(photographs_in, "read_exhibit", lambda path: pytest.fail(f"read {path}"))
    read = read_photographs(inside, home, view)
    assert read.photographs == ()
    for fault in read.refused:  # a link to a folder is not gone into at all
        assert fault.found == "a link to a file elsewhere"
        assert fault.file == str(inside / link)
        assert "Put a copy" in fault.advice
    assert len(read.refused) == (link == "tuners.jpg")


def test_a_link_that_leads_nowhere_or_to_itself_is_told(folder, tmp_path, view):
    (folder / "gone.jpg").symlink_to(folder / "nothing.jpg")
    (folder / "loop.jpg").symlink_to(folder / "loop.jpg")
    found = [fault.found for fault in read_photographs(folder, tmp_path, view).refused]
    assert found == ["a link that leads nowhere"] * 2


def test_a_link_within_the_folder_of_the_sheet_is_followed(folder, tmp_path, view, picture):
    (tmp_path / "other.jpg").write_bytes(picture())
    (folder / "tuners.jpg").symlink_to(tmp_path / "other.jpg")
    (found,) = read_photographs(folder, tmp_path, view).photographs
    assert (found.file, found.positions) == ("other.jpg", ("tuners",))
