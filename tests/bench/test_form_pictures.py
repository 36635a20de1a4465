"""Pictures through the form: kept as they are, shown without what a camera wrote, told when refused."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

from ledger.bench.form_pictures import files_named, known_files, waiting_pictures


def send(visitor, *files, **typed):
    given = [("pictures", (name, content, "image/jpeg")) for name, content in files]
    return visitor.post("/object/steel/pictures", typed, files=given)


def exhibits(desk):
    lines = desk.drafts.read("steel").lines
    return [line.fields for line in lines if line.section == "exhibits"]


def test_a_picture_is_kept_with_its_positions_and_its_day(begun, desk, picture):
    content = picture(taken="2026:03:02 14:03:11", place=(51.0, 30.0, 0.0))
    page = send(begun, ("IMG_1.jpg", content), positions="pot.1").text
    assert "taken as photographs/pot.1-" in page
    (fields,) = exhibits(desk)
    assert fields["positions"] == "pot.1"
    assert fields["date"] == "2026-03-02"
    assert fields["withhold"] == "note"
    assert (desk.folder / fields["file"]).read_bytes() == content
    assert 'name="exhibits"' in begun.get("/object/steel/new/mark").text


def test_positions_are_read_from_the_name_where_none_are_said(begun, desk, picture):
    send(begun, ("pot.1 code.jpg", picture()))
    (fields,) = exhibits(desk)
    assert fields["positions"] == "pot.1"


def test_the_same_picture_is_not_taken_twice(begun, desk, picture):
    send(begun, ("a.jpg", picture()))
    assert "not taken again" in send(begun, ("b.jpg", picture())).text
    assert len(exhibits(desk)) == 1
    assert len(known_files(desk.take_up("steel"))) == 1


def test_what_is_no_picture_is_refused_in_words_and_not_kept(begun, desk):
    page = send(begun, ("evil.jpg", b"<svg onload='x'/>")).text
    assert "not taken" in page
    assert exhibits(desk) == []
    assert not (desk.folder / "photographs").exists()


def test_a_document_is_kept_as_one(begun, desk):
    send(begun, ("receipt.txt", b"One lap steel with its case"))
    (fields,) = exhibits(desk)
    assert fields["file"].endswith(".txt")
    answer = begun.get(f"/object/steel/picture?file={fields['file']}")
    assert answer.status_code == 422


def test_a_position_that_there_is_not_is_told_and_nothing_taken(begun, desk, picture):
    answer = send(begun, ("a.jpg", picture()), positions="knee")
    assert answer.status_code == 422
    assert "no position of this kind" in answer.text
    assert exhibits(desk) == []
    assert "Nothing was chosen" in begun.post("/object/steel/pictures", {}).text


def test_a_name_cannot_lead_out_of_the_folder(begun, desk, picture):
    send(begun, ("../../../evil.jpg", picture()))
    (fields,) = exhibits(desk)
    assert fields["file"].startswith("photographs/")
    assert (desk.folder / fields["file"]).is_file()


def test_no_file_elsewhere_is_shown(begun, desk, picture):
    (desk.folder.parent / "secret.jpg").write_bytes(picture())
    for name in ("../secret.jpg", "/etc/passwd", "photographs\\x.jpg", "gone.jpg", "x\0"):
        answer = begun.ask("GET", "/object/steel/picture?file=" + name.replace("\0", "%00"))
        assert answer.status_code == 422, name


def test_pictures_that_lie_in_the_folder_are_offered_with_what_their_names_say(
    begun, desk, picture
):
    folder = desk.folder / "photographs"
    folder.mkdir()
    (folder / "tuners.jpg").write_bytes(picture(place=(51.0, 30.0, 0.0)))
    (folder / "other.jpg").write_bytes(picture("blue"))
    page = begun.get("/object/steel/pictures").text
    assert 'value="tuners"' in page
    shown = begun.get("/object/steel/picture?file=photographs/tuners.jpg")
    assert shown.headers["content-type"] == "image/jpeg"
    assert not Image.open(BytesIO(shown.content)).getexif()
    typed = {
        "waiting": ["photographs/tuners.jpg", "photographs/other.jpg"],
        "at:photographs/other.jpg": "jack",
    }
    begun.post("/object/steel/pictures", typed)
    found = {fields["file"]: fields.get("positions") for fields in exhibits(desk)}
    assert found == {"photographs/tuners.jpg": "tuners", "photographs/other.jpg": "jack"}
    bench = desk.take_up("steel")
    assert waiting_pictures(bench) == ()
    assert set(files_named(bench)) == set(found)


def test_a_picture_with_damage_in_what_its_camera_wrote_is_refused_in_words(begun, desk):
    written = BytesIO()
    Image.new("RGB", (8, 6)).save(written, "PNG", exif=b"neither order of bytes")
    page = send(begun, ("tuners.png", written.getvalue())).text
    assert "not taken: found a picture that cannot be taken" in page
    assert exhibits(desk) == []


def test_a_text_that_is_sent_under_the_name_of_a_picture_is_refused(begun, desk):
    page = send(begun, ("tuners.png", b"x")).text
    assert "plain text under the name of a picture" in page
    assert exhibits(desk) == []
