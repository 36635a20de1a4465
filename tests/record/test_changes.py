from __future__ import annotations

import secrets
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.errors import FaultsFound
from ledger.models import SECTIONS
from ledger.record.case import WITHHELD_TEXT, case_at
from ledger.record.changes import (
    Book,
    NewLine,
    changes_to,
    commitment,
    current_lines,
    pack_lines,
)
from ledger.record.entries import Entry
from ledger.references import PACK_SECTIONS, PackFile

BOOK = Book("instrument", "my-mandolin")


def test_lines_are_recorded_in_the_order_of_the_sections(ledger, record, mandolin):
    entries = record(ledger, mandolin)
    assert [(entry.act, entry.section, entry.line) for entry in entries] == [
        ("record", "instrument", "instrument"),
        ("record", "sources", "bench"),
        ("record", "marks", "label-date"),
        ("record", "marks", "tuner-patent"),
        ("record", "custody", "first-holder"),
    ]
    assert entries[2].body == {
        "id": "label-date",
        "source": "bench",
        "position": "label",
        "text": "May 1917",
        "reads": "1917-05",
    }


def test_recording_the_same_sheet_again_adds_nothing(ledger, record, mandolin):
    record(ledger, mandolin)
    assert record(ledger, mandolin) == ()
    reordered = mandolin.replace("bench_sheet: 1\n", "") + "# the same\nbench_sheet: '1'\n"
    assert record(ledger, reordered) == ()


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("text: May 1917", "text: May 1919", [("supersede", "marks", "label-date")]),
        ("name: A mandolin", "name: This one", [("supersede", "instrument", "instrument")]),
        ("holder: Somebody", "holder: Nobody", [("supersede", "custody", "first-holder")]),
        ("    place: A town\n", "", [("supersede", "custody", "first-holder")]),
        (
            "title: On the bench",
            "title: On the bench\n    withhold: [title]",
            [("supersede", "sources", "bench")],
        ),
        (
            "id: label-date",
            "id: label-words",
            [("record", "marks", "label-words"), ("retract", "marks", "label-date")],
        ),
        (
            "custody:\n  - id: first-holder\n    source: bench\n    holder: Somebody in particular\n    place: A town\n",
            "testimony:\n  - id: first-holder\n    source: bench\n    says: I had it\n",
            [("supersede", "testimony", "first-holder")],
        ),
    ],
    ids=["text", "name", "withheld", "withheld gone", "newly withheld", "new id", "moved"],
)
def test_an_edited_line_supersedes_and_a_removed_one_retracts(
    ledger, record, mandolin, old, new, expected
):
    record(ledger, mandolin)
    edited = mandolin.replace(old, new)
    entries = record(ledger, edited, "2026-03-03T10:00:00Z")
    assert [(entry.act, entry.section, entry.line) for entry in entries] == expected
    assert record(ledger, edited) == ()
    assert record(ledger, mandolin)
    ledger.verify_chain()


def test_the_case_can_be_read_as_it_stood_at_an_earlier_entry(ledger, record, mandolin):
    before = record(ledger, mandolin)[-1].sequence
    record(ledger, mandolin.replace("text: May 1917", "text: May 1919"))
    cut = mandolin.index("  - id: tuner-patent"), mandolin.index("custody:")
    record(ledger, mandolin[: cut[0]] + mandolin[cut[1] :])
    entries = ledger.entries()
    then = case_at(entries, "my-mandolin", before).lines
    now = case_at(entries, "my-mandolin").lines
    assert (then["label-date"].line.text, "tuner-patent" in then) == ("May 1917", True)
    assert (now["label-date"].line.text, "tuner-patent" in now) == ("May 1917", False)
    middle = case_at(entries, "my-mandolin", before + 1).lines
    assert middle["label-date"].line.text == "May 1919"


def test_a_changed_file_under_the_same_name_supersedes(ledger, record, mandolin, tmp_path, picture):
    text = mandolin + "exhibits:\n- {id: e, caption: x, file: e.png}\n"
    (tmp_path / "e.png").write_bytes(picture())
    record(ledger, text)
    assert record(ledger, text) == ()
    (tmp_path / "e.png").write_bytes(picture(size=(3, 3)))
    (entry,) = record(ledger, text)
    assert (entry.act, entry.line) == ("supersede", "e")
    exhibit = case_at(ledger.entries(), "my-mandolin").lines["e"]
    assert exhibit.content_hash == entry.body["sha256"]
    assert ledger.exhibit(exhibit.content_hash).content == picture(size=(3, 3))


def test_a_withheld_value_can_be_proved_by_who_is_given_it_with_its_salt(ledger, record, mandolin):
    entry = record(ledger, mandolin)[-1]
    row = ledger._connection.execute(
        "SELECT commitment, salt, value FROM withheld WHERE field = 'holder'"
    ).fetchone()
    assert entry.body["holder"] == {"withheld": row[0]}
    told = canonical_json([row[1], "holder", "Somebody in particular"])
    assert sha256_hex(told) == row[0]
    assert entry.body["place"] != entry.body["holder"]


def test_an_erased_value_reads_as_withheld_and_comes_back_with_the_sheet(
    ledger, record, mandolin, erase
):
    record(ledger, mandolin)
    assert (
        case_at(ledger.entries(), BOOK.id, opened=ledger.opened())
        .lines["first-holder"]
        .line.holder.startswith("Somebody")
    )
    erase(ledger)
    line = case_at(ledger.entries(), BOOK.id, opened=ledger.opened()).lines["first-holder"].line
    assert (line.holder, line.place) == (WITHHELD_TEXT, WITHHELD_TEXT)
    (entry,) = record(ledger, mandolin)
    assert entry.act == "supersede"
    assert len(ledger.opened()) == 2


def test_nothing_is_recorded_when_there_is_any_fault(ledger, record, mandolin):
    with pytest.raises(FaultsFound):
        record(ledger, mandolin + "questions:\n- {id: q}\n")
    assert ledger.entries() == ()


def _pack(**sections):
    return PackFile.model_validate({"pack": "p", "title": "t", "version": "1", **sections})


FACT = {
    "id": "f",
    "source": "s",
    "confidence": "low",
    "mark": "x",
    "means": "y",
    "not_before": "1950",
}
CATALOGUE = {"kind": "kazoo", "name": "kazoo", "source": "s"}


def test_packs_are_recorded_header_first_and_row_by_row():
    lines = pack_lines(_pack(facts=[FACT], catalogues=[CATALOGUE], note="n"))
    assert [(line.section, line.line) for line in lines] == [
        ("pack", "pack"),
        ("catalogues", "catalogue-kazoo"),
        ("facts", "f"),
    ]
    assert lines[0].body == {"pack": "p", "title": "t", "version": "1", "note": "n"}
    assert lines[2].body == FACT


def test_a_pack_with_an_id_twice_is_refused():
    with pytest.raises(FaultsFound) as caught:
        pack_lines(_pack(facts=[FACT, FACT, {**FACT, "id": "pack"}], catalogues=[CATALOGUE] * 2))
    assert [fault.path for fault in caught.value.faults] == [
        "catalogues.catalogue-kazoo",
        "facts.f",
        "facts.pack",
    ]


def test_recording_a_pack_again_adds_nothing_and_an_edit_supersedes(ledger):
    book = Book("pack", "p")

    def _record(pack):
        changes = changes_to(book, pack_lines(pack), ledger.entries(book), {}, secrets.token_bytes)
        return ledger.append(changes, recorder="me", recorded_at="2026-03-02T10:00:00Z")

    practice = {
        "id": "x",
        "source": "s",
        "confidence": "low",
        "value": "5",
        "low": "1",
        "high": "9.5",
        "unit": "u",
    }
    assert len(_record(_pack(facts=[FACT], practices=[practice]))) == 3
    assert _record(_pack(facts=[FACT], practices=[practice])) == ()
    (edited, retracted) = _record(_pack(facts=[{**FACT, "means": "z"}]))
    assert (edited.act, edited.line) == ("supersede", "f")
    assert (retracted.act, retracted.line, retracted.body) == ("retract", "x", None)
    ledger.verify_chain()


def test_every_section_of_sheets_and_packs_can_be_recorded():
    assert not {"instrument", "pack"} & {*SECTIONS, *PACK_SECTIONS}


_values = st.text(alphabet="xyz", max_size=2)
_wanted = st.lists(
    st.builds(
        NewLine,
        section=st.sampled_from(["marks", "works"]),
        line=st.sampled_from("abcd"),
        body=st.fixed_dictionaries({"id": _values, "text": _values}),
        withheld=st.sampled_from([frozenset(), frozenset({"text"})]),
    ),
    max_size=4,
    unique_by=lambda line: line.line,
)


@settings(deadline=None)
@given(st.lists(_wanted, max_size=4))
def test_after_its_changes_a_book_holds_what_was_wanted_and_nothing_else(steps):
    entries: list[Entry] = []
    opened: dict[str, object] = {}
    salts = count()

    def _salt(size):
        return next(salts).to_bytes(size, "big")

    for wanted in steps:
        for change in changes_to(BOOK, wanted, entries, opened, _salt):
            opened.update({hidden.commitment: hidden.value for hidden in change.withheld})
            for hidden in change.withheld:
                assert hidden.commitment == commitment(hidden.salt, hidden.field, hidden.value)
            place = change.section, change.line, change.body
            entries.append(
                Entry(len(entries) + 1, "", "", change.act, BOOK.kind, BOOK.id, *place, "", "")
            )
        held = current_lines(entries, BOOK)
        assert {name: entry.section for name, entry in held.items()} == {
            line.line: line.section for line in wanted
        }
        assert changes_to(BOOK, wanted, entries, opened, _salt) == ()
        assert current_lines(entries, Book("pack", BOOK.id)) == {}
