"""A dossier made from a ledger: signed, proved, without anything withheld, checked by itself."""

from __future__ import annotations

import base64
import io
import json
import random
import shutil

import pytest
from jsonschema import Draft202012Validator
from PIL import Image

from ledger.basis.hashing import sha256_hex
from ledger.errors import LedgerError, UnknownName
from ledger.handing_over import Wanted, hand_over, withheld_since
from ledger.holdings import sample_data, schema_file
from ledger.record.audit import Trust
from ledger.record.changes import Book, NewLine, changes_to
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.documents import PROOF_OPENS, audit_document
from ledger.record.keys import introduction, new_key
from ledger.record.store import Ledger
from ledger.workflow import record_files

WHEN = "2026-03-02T10:00:00Z"
LATER = "2026-03-05T09:00:00Z"
MANDOLIN, STEEL = "whinchat-mandolin", "dunnock-lap-steel"
REPORT = Wanted(MANDOLIN, "report", LATER)
DATING = Wanted(MANDOLIN, "dating", LATER)
ANSWER = Wanted(MANDOLIN, "challenge", LATER, "never-keyed", by="examiner A")
FLIPS = 120


@pytest.fixture(scope="module")
def plain_ledger(tmp_path_factory):
    path = tmp_path_factory.mktemp("handed") / "ledger.db"
    record_files(path, sorted(sample_data().glob("*.yaml")), "examiner A", WHEN)
    return path


@pytest.fixture(scope="module")
def keys(tmp_path_factory):
    return tmp_path_factory.mktemp("keys")


@pytest.fixture(scope="module")
def signed(plain_ledger, keys):
    """The ledger with a checkpoint, and the public key that it is signed with."""
    path = plain_ledger.with_name("signed.db")
    shutil.copyfile(plain_ledger, path)
    key = new_key(keys, lambda size: bytes(range(size)))
    with Ledger.open(path) as ledger:
        ledger.append(introduction(key, {}), recorder="examiner A", recorded_at=WHEN)
        sign_checkpoint(ledger, key, WHEN)
    return path, key


@pytest.fixture(scope="module")
def made(signed, keys):
    """Every kind of dossier of the mandolin, signed as a whole."""
    with Ledger.open(signed[0], read_only=True) as ledger:
        return {
            wanted.purpose: hand_over(ledger, wanted, keys) for wanted in (REPORT, DATING, ANSWER)
        }


@pytest.fixture
def audit(tmp_path, signed):
    """What verification says of a text, with the public key alone."""

    def audited(text, public_key=None):
        path = tmp_path / "handed"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return audit_document(path, Trust(public_key or signed[1].public_key))[0]

    return audited


PURPOSES = ("report", "dating", "challenge")


@pytest.mark.parametrize("purpose", PURPOSES)
def test_page_and_json_are_verified_with_nothing_but_themselves_and_a_key(made, audit, purpose):
    for text in (made[purpose].page, made[purpose].json):
        found = audit(text)
        assert found.is_whole
        told = " ".join(step.says for step in found.steps)
        assert "Signed as a whole." in told
        assert f"Entries proved: {len(made[purpose].dossier.signing.proved) + 1}." in told
    other = audit(
        made[purpose].page, "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    )
    assert not other.is_whole


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_json_fits_the_published_schema(made, purpose):
    schema = json.loads(schema_file("dossier.schema.json").read_text("utf-8"))
    given = json.loads(made[purpose].json)
    assert list(Draft202012Validator(schema).iter_errors(given)) == []
    assert given["proof"]["document"]["sha256"]
    assert given["report"]["instrument"] == MANDOLIN


def test_every_line_that_the_report_shows_is_proved(made):
    dossier = made["report"].dossier
    shown = {line.sequence for line in dossier.report.lines}
    assert shown <= set(dossier.signing.proved)
    assert dossier.signing.unproved == ()
    assert set(made["challenge"].dossier.signing.proved) < set(dossier.signing.proved)


# Facts of the invented mandolin, as its sheet has them.
FACTS = {
    "report": (
        "Body shell with back, sides and blocks: back seam, “four keys let in across the seam”.",
        "Works-refitted: the finish and the guard.",
        "Looked for, and nothing read",
        "Finish altered in place by the works (17 May 1938). It destroyed: The first coat on the top.",
        "Exhibit 2.",
        "This file as a whole is signed by the same key",
    ),
    "dating": (
        "Not before 12 May 1930",
        "Not after 9 March 1931",
        "The dated sighting is what it is taken for",
        "as likely before as after",
        "Starting values of common practice",
    ),
    "challenge": (
        "“No back from Sallow Quay was ever keyed. The piece is put together and the label put in.”",
        "The works did not key backs, and nobody says so.",
        "by examiner A",
        "as the challenger has it",
        "The keys are not the works&#39;, and who let them in and when is not known.",
    ),
}


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_pages_tell_what_the_record_holds(made, purpose):
    for fact in FACTS[purpose]:
        assert fact in made[purpose].page


@pytest.mark.parametrize("purpose", PURPOSES)
def test_nothing_withheld_is_in_a_dossier(made, signed, purpose):
    with Ledger.open(signed[0], read_only=True) as ledger:
        hidden = {text for text in ledger.opened().values() if isinstance(text, str)}
        openly = " ".join(json.dumps(entry.body, ensure_ascii=False) for entry in ledger.entries())
    secrets = {text for text in hidden if text not in openly and len(text) > 3}
    assert len(secrets) >= 10
    for text in (made[purpose].page, made[purpose].json):
        lower = text.lower()
        assert [secret for secret in secrets if secret.lower() in lower] == []


def test_pictures_are_small_masked_and_without_what_a_camera_wrote(made, signed):
    shown = [each for each in made["report"].dossier.exhibits if each.thumbnail]
    assert len(shown) == 2
    with Ledger.open(signed[0], read_only=True) as ledger:
        for each in shown:
            small = base64.b64decode(each.thumbnail)
            picture = Image.open(io.BytesIO(small))
            assert max(picture.size) <= 480
            assert picture.getexif() == {}
            assert sha256_hex(ledger.exhibit(each.sha256).content) == each.sha256
            assert sha256_hex(small) != each.sha256


@pytest.mark.parametrize("form", ["page", "json"])
def test_a_byte_flipped_anywhere_is_found_or_says_nothing_else(made, audit, form):
    text = getattr(made["challenge"], form).encode()
    chance = random.Random(20260305)  # noqa: S311 - chosen again alike, no secret
    for _ in range(FLIPS):
        place = chance.randrange(len(text))
        changed = bytearray(text)
        changed[place] ^= 1 << chance.randrange(8)
        found = audit(bytes(changed))
        if found.is_whole:  # white space in JSON, and within the proof, is not what it says
            assert _read(form, bytes(changed)) == _read(form, text)


def _read(form, text):
    """What a reader takes from it: the JSON, or the page with its proof as JSON."""
    if form == "json":
        return json.loads(text)
    before, _, rest = text.partition(PROOF_OPENS.encode())
    proof, _, after = rest.partition(b"</script>")
    return before, json.loads(proof), after


@pytest.mark.parametrize(
    "change",
    [
        lambda page: page.replace("Not before 12 May 1930", "Not before 12 May 1929", 1),
        lambda page: page.replace("data:image/png;base64,", "data:image/png;base64,AAAA", 1),
        lambda page: page.replace(PROOF_OPENS, PROOF_OPENS + "{}</script>" + PROOF_OPENS, 1),
        lambda page: page.replace("</main>", "<p>It is worth much.</p></main>"),
        lambda page: page[: page.index(PROOF_OPENS)],
    ],
    ids=["date", "picture", "second-proof", "added", "cut-off"],
)
def test_tampering_with_a_page_is_found(made, audit, change):
    page = made["report"].page
    changed = change(page)
    assert changed != page
    assert not audit(changed).is_whole


def test_without_the_key_the_entries_are_proved_and_the_rest_is_said_not_to_be(signed, audit):
    with Ledger.open(signed[0], read_only=True) as ledger:
        made = hand_over(ledger, ANSWER)
    assert not made.dossier.signing.is_whole
    assert "The file itself is not signed." in made.page
    found = audit(made.page)
    assert found.is_whole
    assert any("not signed as a whole" in note for step in found.steps for note in step.notes)


def test_without_a_checkpoint_nothing_is_signed_and_verification_says_so(plain_ledger, audit):
    with Ledger.open(plain_ledger, read_only=True) as ledger:
        made = hand_over(ledger, ANSWER)
    assert made.dossier.signing is None
    assert "Nothing here is signed." in made.page
    assert "<script" not in made.page
    assert "proof" not in json.loads(made.json)
    assert not audit(made.page).is_whole


def test_what_was_recorded_after_the_checkpoint_is_told_to_be_under_none(signed, keys, tmp_path):
    path = tmp_path / "later.db"
    shutil.copyfile(signed[0], path)
    with Ledger.open(path) as ledger:
        _record(ledger, "questions", "new", {"id": "new", "question": "Who made the case?"})
        made = hand_over(ledger, REPORT, keys)
        head = ledger.entries()[-1].sequence
    assert made.dossier.signing.unproved == (head,)
    assert f"entry {head}, recorded after that checkpoint" in made.page
    assert made.dossier.as_of.sequence == head


def _record(ledger, section, name, body, withheld=frozenset()):
    """Add one line to the mandolin's, or change it."""
    book = Book("instrument", MANDOLIN)
    entries = ledger.entries(book)
    kept = [entry for entry in entries if entry.line == name]
    line = NewLine(section, name, body, frozenset(withheld))
    changes = changes_to(book, [line], kept, ledger.opened(), bytes)
    ledger.append(changes, recorder="examiner A", recorded_at=LATER)


def test_what_was_withheld_since_is_not_told_as_of_an_earlier_entry(signed, tmp_path):
    path = tmp_path / "withheld.db"
    shutil.copyfile(signed[0], path)
    with Ledger.open(path) as ledger:
        then = ledger.entries()[-1].sequence
        entry = next(e for e in ledger.entries() if (e.book, e.line) == (MANDOLIN, "block-batch"))
        assert hand_over(ledger, ANSWER).dossier.as_of.sequence == then
        hidden = {**entry.body, "withhold": ["text"]}
        _record(ledger, "marks", "block-batch", hidden, {"text"})
        assert withheld_since(ledger.entries(), MANDOLIN, then) == ("block-batch",)
        with pytest.raises(LedgerError, match="withheld that stood openly"):
            hand_over(ledger, Wanted(MANDOLIN, "report", LATER, sequence=then))
        assert "B 258" not in hand_over(ledger, REPORT).page


def test_a_dossier_as_of_an_earlier_entry_is_proved_by_the_latest_checkpoint(signed, keys, audit):
    with Ledger.open(signed[0], read_only=True) as ledger:
        last = ledger.entries()[-1].sequence
        made = hand_over(ledger, Wanted(MANDOLIN, "report", LATER, sequence=last - 1), keys)
    assert made.dossier.as_of.sequence == last - 1
    assert made.dossier.signing.size == last
    assert audit(made.page).is_whole


def test_the_same_dossier_is_the_same_bytes(signed, keys, made):
    with Ledger.open(signed[0], read_only=True) as ledger:
        again = hand_over(ledger, ANSWER, keys)
    assert again.page == made["challenge"].page
    assert again.json == made["challenge"].json


def test_an_unknown_instrument_or_challenge_is_told_with_those_there_are(signed):
    with Ledger.open(signed[0], read_only=True) as ledger:
        with pytest.raises(UnknownName, match="never-keyed"):
            hand_over(ledger, Wanted(MANDOLIN, "challenge", LATER, "never-kayed"))
        with pytest.raises(UnknownName, match=STEEL):
            hand_over(ledger, Wanted("dunnock-steel", "report", LATER))


def test_a_row_that_holds_the_number_of_an_example_is_not_carried(made):
    unproved = set(made["report"].dossier.rows_unproved)
    proof = json.loads(made["report"].json)["proof"]
    rows = [json.loads(each["content"]) for each in proof["entries"]]
    packs = [row for row in rows if row["book_kind"] == "pack"]
    assert packs
    assert not any(
        example.get("serial") for row in packs for example in row["body"].get("examples", ())
    )
    assert {f"{row['book']}/{row['line']}" for row in packs}.isdisjoint(unproved)
    assert any(name.startswith("practice/") for name in unproved)
