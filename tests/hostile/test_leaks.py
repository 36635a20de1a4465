"""Nothing that is withheld is in any byte of anything published.

Every withheld value is looked for in every file of the site and in every answer of its server: as
it was typed, in other encodings, and inside whatever is compressed. What the search would find is
tried first on things planted for it.
"""

from __future__ import annotations

import base64
import gzip
import io
import json
import re
import shutil
import sqlite3
import zipfile
import zlib
from contextlib import closing
from urllib.parse import quote

import pytest
import yaml
from click.testing import CliRunner
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from ledger.cli import main
from ledger.errors import FaultsFound
from ledger.exchange.formats import FORMATS as EVIDENCE_FORMATS
from ledger.exchange.rdf import FORMATS as RDF_FORMATS
from ledger.handing_over import Wanted, hand_over
from ledger.holdings import schema_file
from ledger.knowledge.packs import built_in_packs
from ledger.models import SECTIONS
from ledger.publishing import publish
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.keys import introduction, signing_key
from ledger.record.sheet import read_sheet
from ledger.record.store import Ledger
from ledger.workflow import record_files

WHEN = "2026-03-02T10:00:00Z"
STREAM = re.compile(rb"\x78[\x01\x5e\x9c\xda]|\x1f\x8b\x08|PK\x03\x04")


def spellings(value):
    """The value as bytes, in every way in which it is looked for; in small letters."""
    text = value.casefold()
    plain = {text, json.dumps(text)[1:-1], quote(text), text.replace("&", "&amp;")}
    found = {each.encode() for each in plain}
    found |= {text.encode(name) for name in ("utf-16-le", "utf-16-be")}
    found |= {each.encode().hex().encode() for each in (text, value)}
    return {each for each in found if len(each) >= 4}


def in_base64(value):
    """What of the value stands in base64 wherever it begins; capitals matter there."""
    found = set()
    for lead in range(3):
        coded = base64.b64encode(b"\0" * lead + value.encode())
        found.add(coded[4 * bool(lead) + 1 : -4])
    return {each for each in found if len(each) >= 6}


def unpacked(content, depth=0):
    """The content, and all that any compressed stream in it holds, down to the third layer."""
    yield content
    if depth == 3:
        return
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        data = b"".join(re.findall(rb"IDAT(.*?)....(?=....I)", content, re.DOTALL))
        yield from unpacked(data, depth + 1)
    for match in STREAM.finditer(content):
        yield from (each for made in _streams(content, match) for each in unpacked(made, depth + 1))


def _streams(content, match):
    at = match.start()
    if match.group() == b"PK\x03\x04":
        if at == 0 or content[at - 4 : at] != b"PK\x03\x04":
            try:
                with zipfile.ZipFile(io.BytesIO(content[at:])) as packed:
                    yield from (packed.read(name) for name in packed.namelist()[:50])
            except (zipfile.BadZipFile, ValueError, NotImplementedError, zlib.error, OSError):
                return
        return
    width = 31 if match.group().startswith(b"\x1f") else 15
    try:
        made = zlib.decompressobj(width).decompress(content[at : at + 5_000_000], 5_000_000)
    except zlib.error:
        return
    if len(made) > 8:
        yield made


def leaks(values, content):
    """Which of the values stand in the content in any way."""
    found = set()
    small = {value: spellings(value) for value in values}
    coded = {value: in_base64(value) for value in values}
    for layer in unpacked(content):
        lower = layer.lower()
        found |= {v for v, ways in small.items() if any(way in lower for way in ways)}
        found |= {v for v, ways in coded.items() if any(way in layer for way in ways)}
    return found


def words_indexed(folder):
    """Every word in the index of the site, which keeps words in pieces."""
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute("ATTACH DATABASE ? AS site", (str(folder / "witnessmark.db"),))
        db.execute("CREATE VIRTUAL TABLE temp.words USING fts5vocab(site, passage_fts, row)")
        return {word for (word,) in db.execute("SELECT term FROM temp.words")}


def pages_stored(folder):
    """Every page that was drawn when the site was made, as a browser gets it."""
    with closing(sqlite3.connect(folder / "witnessmark.db")) as db:
        rows = db.execute("SELECT body FROM page").fetchall()
    return [gzip.decompress(body) for (body,) in rows]


def texts_in(value):
    """Every text within a value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for each in value.values() if isinstance(value, dict) else value:
            yield from texts_in(each)


SECRET = "Zaharenko-Quist 77Q4411"  # noqa: S105 - a name and a number, to be found


def _png_with(info=None, **settings):
    written = io.BytesIO()
    Image.new("RGB", (30, 30), (200, 10, 10)).save(written, "PNG", pnginfo=info, **settings)
    return written.getvalue()


def _in_words_of_a_picture():
    info = PngInfo()
    info.add_text("Comment", SECRET, zip=True)
    return _png_with(info)


def _zipped():
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("a.txt", SECRET * 3)
    return written.getvalue()


def _in_a_row():
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute("CREATE TABLE t (b BLOB)")
        db.execute("INSERT INTO t VALUES (?)", (zlib.compress(SECRET.encode() * 2),))
        db.commit()
        return db.serialize()


PLANTED = {
    "plain": f"...{SECRET}...".encode(),
    "capitals": SECRET.upper().encode(),
    "utf-16": SECRET.encode("utf-16-le"),
    "hex": SECRET.encode().hex().encode(),
    "percent": quote(SECRET).encode(),
    "base64": b"x" + base64.b64encode(b"ab" + SECRET.encode() + b"cd"),
    "zlib": b"lead" + zlib.compress(SECRET.encode() * 3) + b"tail",
    "gzip": gzip.compress(SECRET.encode() * 3),
    "gzip-in-zlib": zlib.compress(gzip.compress(SECRET.encode() * 3)),
    "zip": _zipped(),
    "row-of-a-database": _in_a_row(),
    "words-of-a-picture": _in_words_of_a_picture(),
    "exif-of-a-picture": _png_with(exif=b"Exif\0\0" + SECRET.encode()),
}


@pytest.mark.parametrize("content", PLANTED.values(), ids=PLANTED)
def test_what_is_planted_is_found(content):
    assert leaks([SECRET, "nothing of the kind"], content) == {SECRET}


@pytest.fixture(scope="module")
def withheld(sample_ledger):
    """The withheld values of the samples that nothing says openly as well."""
    with Ledger.open(sample_ledger, read_only=True) as ledger:
        hidden = {text for value in ledger.opened().values() for text in texts_in(value)}
        openly = " ".join(json.dumps(entry.body, ensure_ascii=False) for entry in ledger.entries())
    openly += " ".join(str(pack.model_dump()) for pack in built_in_packs())
    assert len(hidden) >= 12
    # Two towns are places of custody and are also named in open lines; a withheld name that is
    # no name ("a buyer") is in a caution of our own.
    said_openly = {text for text in hidden if text in openly}
    assert said_openly <= {"Fenner Hithe", "Sallow Quay", "a buyer"}
    return sorted(hidden - said_openly)


def test_no_file_of_the_site_holds_anything_withheld(withheld, sample_site):
    files = [path for path in sample_site.rglob("*") if path.is_file()]
    assert len(files) >= 3
    for path in files:
        assert leaks(withheld, path.read_bytes()) == set(), path.name


def test_no_answer_of_the_server_holds_anything_withheld(withheld, ask):
    seen = {}
    waiting = [
        "/",
        "/questions",
        "/words",
        "/witnessmark",
        "/search?q=number",
        "/witnessmark/line.csv",
    ]
    while waiting and len(seen) < 120:
        path = waiting.pop(0)
        if path in seen:
            continue
        answer = ask(path, follow_redirects=True)
        seen[path] = answer.content
        if "html" in answer.headers.get("content-type", ""):
            hrefs = re.findall(r'(?:href|src)="(/[^"#]*)', answer.text)
            waiting += [href.replace("&amp;", "&") for href in hrefs]
            waiting.sort(key=lambda path: not path.startswith("/exhibit/"))
    assert len(seen) == 120
    assert sum(path.startswith("/exhibit/") for path in seen) > 4
    for path, content in seen.items():
        assert leaks(withheld, content) == set(), path


@pytest.mark.parametrize("words", [["weigh"], ["weigh", "--json"]], ids=["printed", "json"])
@pytest.mark.parametrize(
    "instrument", ["dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin"]
)
def test_no_report_holds_anything_withheld(withheld, sample_ledger, instrument, words):
    command = [words[0], instrument, *words[1:], "--ledger", str(sample_ledger)]
    said = CliRunner().invoke(main, command)
    assert said.exit_code == 0
    assert leaks(withheld, " ".join(said.output.split()).encode()) == set()


@pytest.mark.parametrize(
    ("purpose", "challenge"),
    [("report", ""), ("dating", ""), ("challenge", "another-steel")],
    ids=["report", "dating", "challenge"],
)
def test_no_dossier_holds_anything_withheld(withheld, signed_ledger, purpose, challenge):
    wanted = Wanted("dunnock-lap-steel", purpose, WHEN, challenge)
    with Ledger.open(signed_ledger, read_only=True) as ledger:
        made = hand_over(ledger, wanted)
    assert made.dossier.signing.proved
    pictures = [base64.b64decode(each.thumbnail) for each in made.dossier.exhibits]
    for content in (made.page.encode(), made.json.encode(), *pictures):
        assert leaks(withheld, content) == set()


@pytest.fixture(scope="module")
def signed_ledger(sample_ledger, tmp_path_factory):
    """The samples, with a signed head: a dossier of them carries whole entries."""
    path = tmp_path_factory.mktemp("signed") / "ledger.db"
    shutil.copyfile(sample_ledger, path)
    key = signing_key(bytes(32))
    with Ledger.open(path) as ledger:
        ledger.append(introduction(key, {}), recorder="examiner", recorded_at=WHEN)
        sign_checkpoint(ledger, key, WHEN)
    return path


# -- every field that can be withheld, one by one ------------------------------------------------


def _probe(folder):
    """The example sheet with a word of its own in every field that can hold and withhold one."""
    sheet = yaml.load(schema_file("example-sheet.yaml").read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - it makes nothing but text
    sheet["instrument"]["id"] = "probe"
    words = {}
    for section, model in SECTIONS.items():
        for line in sheet.get(section, ()):
            for name, field in model.model_fields.items():
                is_text = str in (field.annotation, *getattr(field.annotation, "__args__", ()))
                if not is_text or name in ("id", "file"):
                    continue
                word = f"zq{len(words)}vex"
                words[word] = (
                    section,
                    line["id"],
                    name,
                    line.get(name),
                    list(line.get("withhold", ())),
                )
                line[name] = f"{word} 8{len(words):03}37"
                line["withhold"] = sorted({*line.get("withhold", ()), name})
    return _without_faults(folder, sheet, words)


def _without_faults(folder, sheet, words):
    """Takes back what a line cannot do without, until the sheet reads; the words that are left."""
    path = folder / "probe.yaml"
    while True:
        path.write_text(yaml.safe_dump(sheet, sort_keys=False, width=10_000), "utf-8")
        try:
            read_sheet(path)
        except FaultsFound as error:
            bad = {(fault.line, fault.path) for fault in error.faults}
            assert bad
            for word, (section, line_id, name, before, withhold) in list(words.items()):
                at = next(i for i, each in enumerate(sheet[section]) if each["id"] == line_id)
                line = sheet[section][at]
                stem = f"{section}[{at + 1}]"
                where = line["withhold"].index(name) + 1 if name in line["withhold"] else 0
                hit = {f"{stem}.{name}", f"{stem}.withhold[{where}]", stem}
                is_hit = any(
                    p == each or (each != stem and p.startswith(f"{each}."))
                    for _, p in bad
                    for each in hit
                )
                if not is_hit:
                    continue
                del words[word]
                if before is None:
                    line.pop(name)
                else:
                    line[name] = before
                line["withhold"] = [n for n in line["withhold"] if n != name or n in withhold]
        else:
            return path, sorted(words)


def _photograph():
    exif = Image.Exif()
    exif[0x010F] = "zqcameravex"
    exif[0xA431] = "zqserialvex"  # the number of the camera
    exif.get_ifd(0x8825)[1] = "zqgpsvex"
    written = io.BytesIO()
    picture = Image.effect_noise((400, 300), 80).convert("RGB")
    picture.save(
        written, "JPEG", exif=exif, comment=b"zqcommentvex", xmp=b"<x>zqxmpvex</x>", quality=95
    )
    return written.getvalue() + b"zqtailvex"


METADATA = [f"zq{name}vex" for name in ("camera", "serial", "gps", "comment", "xmp", "tail")]


@pytest.fixture(scope="module")
def probed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("probe")
    exhibits = folder / "example-exhibits"
    exhibits.mkdir()
    (exhibits / "plate.png").write_bytes(_photograph())
    (exhibits / "receipt.txt").write_text("zqreceiptvex, a name and an address", "utf-8")
    path, words = _probe(folder)
    ledger_path = folder / "ledger.db"
    record_files(ledger_path, [schema_file("example-pack.yaml"), path], "zqrecordervex", WHEN)
    with Ledger.open(ledger_path, read_only=True) as ledger:
        site = publish(ledger, folder / "site")
        kept = "".join(texts_in(list(ledger.opened().values())))
    assert all(word in kept for word in words)
    return site, words


GIVEN_OUT = {
    **{f"export-{name}": ("export", "probe", "--format", name) for name in EVIDENCE_FORMATS},
    **{f"tell-{name}": ("tell", "probe", "--format", name) for name in RDF_FORMATS},
    "weigh": ("weigh", "probe"),
    "weigh-json": ("weigh", "probe", "--json"),
    "history": ("history", "probe"),
}


@pytest.mark.parametrize("words", GIVEN_OUT.values(), ids=GIVEN_OUT)
def test_a_word_withheld_in_any_field_is_in_nothing_that_is_given_out(probed, words):
    site, hidden = probed
    result = CliRunner().invoke(main, [*words, "--ledger", str(site.parent / "ledger.db")])
    assert result.exit_code == 0, result.output
    assert len(result.stdout_bytes) > 200
    assert leaks([*hidden, *METADATA, "zqreceiptvex"], result.stdout_bytes) == set()


def test_a_word_withheld_in_any_field_of_any_section_reaches_nothing_published(probed):
    site, words = probed
    assert len(words) > 40
    found = set()
    pages = pages_stored(site)
    assert pages
    for content in (*(path.read_bytes() for path in site.iterdir()), *pages):
        found |= leaks(words, content)
    assert found == set()
    assert {word for word in words_indexed(site) if re.search("zq.*vex", word)} == set()


def test_nothing_that_a_camera_wrote_and_no_document_reaches_anything_published(probed):
    site, _ = probed
    for path in site.iterdir():
        assert leaks([*METADATA, "zqreceiptvex"], path.read_bytes()) == set()


def test_who_recorded_is_not_published(probed):
    site, _ = probed
    for content in (*(path.read_bytes() for path in site.iterdir()), *pages_stored(site)):
        assert leaks(["zqrecordervex"], content) == set()


def test_what_a_mask_covers_is_not_in_the_published_pictures(probed):
    site, _ = probed
    with closing(sqlite3.connect(site / "witnessmark.db")) as db:
        rows = db.execute("SELECT content, thumbnail FROM exhibit_file").fetchall()
    assert len(rows) == 1
    for content in rows[0]:
        shown = Image.open(io.BytesIO(content)).convert("L")
        width, height = shown.size
        # The example sheet masks 0.35 to 0.65 across and 0.6 to 0.72 down; noise lies under it.
        inner = shown.crop(
            (int(0.37 * width), int(0.62 * height), int(0.63 * width), int(0.7 * height))
        )
        assert inner.getextrema()[1] <= 40
        assert shown.crop((0, 0, width, height // 2)).getextrema()[1] > 100
