from __future__ import annotations

import json
import sqlite3
from functools import partialmethod

import pytest

from ledger.errors import LedgerError, UnknownName
from ledger.record import store
from ledger.record.case import WITHHELD_TEXT, case_at
from ledger.record.erasing import erase_matter, erased_names, find_files, find_matter
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

TIME = "2026-03-05T10:00:00Z"


def _erase(ledger, places, **settings):
    matter = find_matter(ledger, places, **settings)
    return erase_matter(ledger, matter, "the holder asked for it", "me", TIME)


def _bytes(ledger):
    """Every byte of the ledger on the disk, whichever of its files it is in."""
    folder = ledger.path.parent
    return b"".join(path.read_bytes() for path in sorted(folder.glob(f"{ledger.path.name}*")))


def _salts(ledger):
    return [salt for (salt,) in ledger._connection.execute("SELECT salt FROM withheld")]


def test_what_is_erased_is_gone_from_every_byte_and_all_still_holds(ledger, record, mandolin):
    record(ledger, mandolin)
    record(ledger, mandolin.replace("Somebody in particular", "Another holder"))
    gone = [b"Somebody in particular", b"Another holder", b"A town"]
    salts = [salt.encode() for salt in _salts(ledger)]
    assert all(word in _bytes(ledger) for word in (*gone, *salts))
    entries = _erase(ledger, ["my-mandolin"])
    assert len(entries) == 4
    assert not any(word in _bytes(ledger) for word in (*gone, *salts))
    assert audit_ledger(ledger.path).is_whole
    assert ledger.verify_chain().sequence == entries[-1].sequence
    line = case_at(ledger.entries(), "my-mandolin", opened=ledger.opened()).lines["first-holder"]
    assert (line.line.holder, line.line.place) == (WITHHELD_TEXT, WITHHELD_TEXT)


def test_the_entry_says_what_was_erased_and_why_and_never_the_value(ledger, record, mandolin):
    record(ledger, mandolin)
    (entry,) = _erase(ledger, ["my-mandolin/first-holder/holder"])
    assert (entry.book_kind, entry.section, entry.act) == ("ledger", "erasures", "record")
    assert entry.body == {
        "book": "my-mandolin",
        "line": "first-holder",
        "field": "holder",
        "reason": "the holder asked for it",
    }
    assert erased_names(ledger.entries()) == {entry.line}
    assert list(ledger.opened().values()) == ["A town"]


def test_a_value_goes_wherever_else_it_stands_when_that_is_asked(ledger, record, mandolin):
    record(ledger, mandolin)
    record(ledger, mandolin.replace("my-mandolin", "other"))
    assert len(find_matter(ledger, ["my-mandolin/first-holder/holder"])) == 1
    _erase(ledger, ["my-mandolin/first-holder/holder"], everywhere=True)
    assert list(ledger.opened().values()) == ["A town", "A town"]


def test_a_place_without_withheld_matter_is_not_found(ledger, record, mandolin):
    record(ledger, mandolin)
    for place in ("my-mandolin/label-date", "my", "first-holder", ""):
        with pytest.raises(UnknownName):
            find_matter(ledger, [place])


@pytest.mark.parametrize(
    ("reason", "told"),
    [
        (" ", "has to be said why"),
        ("somebody IN particular asked", "names what is to be forgotten"),
    ],
    ids=["none", "names-the-person"],
)
def test_a_reason_is_asked_for_that_names_nobody(ledger, record, mandolin, reason, told):
    record(ledger, mandolin)
    before = ledger.head()
    with pytest.raises(LedgerError, match=told):
        erase_matter(ledger, find_matter(ledger, ["my-mandolin"]), reason, "me", TIME)
    assert ledger.head() == before
    with pytest.raises(LedgerError, match="nothing to erase"):
        erase_matter(ledger, [], "why", "me", TIME)


def test_a_value_that_is_recorded_again_is_a_new_one(ledger, record, mandolin):
    record(ledger, mandolin)
    _erase(ledger, ["my-mandolin"])
    record(ledger, mandolin)
    assert sorted(ledger.opened().values()) == ["A town", "Somebody in particular"]
    assert audit_ledger(ledger.path).is_whole
    _erase(ledger, ["my-mandolin"])
    assert ledger.opened() == {}
    assert audit_ledger(ledger.path).is_whole


@pytest.fixture
def with_exhibit(ledger, record, mandolin, tmp_path, picture):
    (tmp_path / "letter.png").write_bytes(picture(size=(31, 17)))
    text = mandolin + "exhibits:\n- {id: letter, caption: A letter, file: letter.png}\n"
    record(ledger, text)
    return text


def test_a_file_can_be_erased_and_does_not_come_back_by_itself(
    ledger, record, with_exhibit, picture
):
    content = picture(size=(31, 17))
    assert content in _bytes(ledger)
    matter = find_files(ledger, ["my-mandolin/letter"])
    erase_matter(ledger, matter, "it shows a letter", "me", TIME)
    assert content not in _bytes(ledger)
    assert audit_ledger(ledger.path).is_whole
    with pytest.raises(UnknownName):
        ledger.exhibit(matter[0].name)
    record(ledger, with_exhibit.replace("A letter", "The letter"))
    assert audit_ledger(ledger.path).is_whole
    with pytest.raises(UnknownName):
        ledger.exhibit(matter[0].name)
    assert find_files(ledger, ["my-mandolin/letter"]) == ()


def test_a_file_that_another_line_names_stays(ledger, record, with_exhibit, mandolin):
    record(ledger, with_exhibit + "- {id: again, caption: The same, file: letter.png}\n")
    with pytest.raises(LedgerError, match="names the same file"):
        find_files(ledger, ["my-mandolin/letter"])
    assert len(find_files(ledger, ["my-mandolin/letter", "my-mandolin/again"])) == 1
    with pytest.raises(UnknownName):
        find_files(ledger, ["my-mandolin/label-date"])


def test_an_erasure_while_somebody_reads_is_brought_to_its_end_later(
    ledger, record, mandolin, monkeypatch
):
    record(ledger, mandolin)
    reader = sqlite3.connect(ledger.path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM withheld").fetchone()
    monkeypatch.setattr(store.Ledger, "rewrite", partialmethod(store.Ledger.rewrite, 0))
    with pytest.raises(LedgerError, match="may still stand in the free space"):
        _erase(ledger, ["my-mandolin"])
    assert ledger.opened() == {}
    assert ledger.has_residue()
    found = audit_ledger(ledger.path)
    assert [step.name for step in found.steps if step.faults] == ["erased"]
    monkeypatch.undo()
    monkeypatch.setattr(store, "_SHORT_WAIT_SECONDS", 0)
    with Ledger.open(ledger.path) as other:
        assert other.has_residue()
    reader.close()
    ledger.close()
    with Ledger.open(ledger.path) as again:
        assert not again.has_residue()
        assert b"Somebody in particular" not in _bytes(again)
    assert audit_ledger(ledger.path).is_whole


def test_nothing_of_a_value_can_be_told_from_what_is_left(ledger, record, mandolin):
    # A short serial must not be found by trying every number: the salt is gone with the value.
    record(
        ledger,
        mandolin.replace(
            "custody:",
            'identity:\n- {id: n, source: bench, what: serial, value: "4127", withhold: [value]}\ncustody:',
        ),
    )
    (entry,) = [each for each in ledger.entries() if each.line == "n"]
    (row,) = ledger._connection.execute("SELECT salt FROM withheld WHERE field = 'value'")
    _erase(ledger, ["my-mandolin/n"])
    left = json.dumps([each.body for each in ledger.entries()])
    assert row[0] not in left
    assert len(row[0]) == 32
    assert entry.body["value"]["withheld"] in left
