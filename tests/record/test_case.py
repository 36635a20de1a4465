from __future__ import annotations

import pytest

from ledger.errors import UnknownName
from ledger.models import Exhibit, Mark, Sighting
from ledger.record.case import WITHHELD_TEXT, case_at, packs_at
from ledger.record.changes import pack_lines
from ledger.record.entries import Entry
from ledger.references import PackFile


def _entry(sequence, section, line, body, **settings):
    act = "retract" if body is None else "record"
    place = {"book_kind": "instrument", "book": "a", **settings}
    return Entry(
        sequence=sequence,
        recorded_at="",
        recorder="",
        act=act,
        section=section,
        line=line,
        body=body,
        previous="",
        hash=f"h{sequence}",
        **place,
    )


ABOUT = _entry(1, "instrument", "instrument", {"id": "a", "kind": "b", "name": "c"})
MARK = {"id": "m", "source": "s", "position": "p", "text": "x"}


def test_a_case_holds_the_latest_form_of_what_is_not_retracted():
    entries = [
        _entry(1, "pack", "pack", {"pack": "a"}, book_kind="pack"),
        _entry(2, "instrument", "instrument", {"id": "z", "kind": "b", "name": "c"}, book="z"),
        _entry(3, *("instrument", "instrument"), ABOUT.body),
        _entry(4, "marks", "m", MARK),
        _entry(5, "marks", "n", {**MARK, "id": "n"}),
        _entry(6, "marks", "m", {**MARK, "text": "y"}),
        _entry(7, "marks", "n", None),
    ]
    case = case_at(entries, "a")
    assert case.instrument.name == "c"
    assert case.sequence == 7
    (mark,) = case.of(Mark)
    assert (mark.id, mark.line.text, mark.sequence, mark.hash) == ("m", "y", 6, "h6")
    assert list(case_at(entries, "a", 5).lines) == ["m", "n"]
    assert case_at(entries, "a", 5).sequence == 5


def test_an_instrument_that_is_not_there_or_no_longer_is_told_with_those_that_are():
    with pytest.raises(UnknownName, match="Known: a"):
        case_at([ABOUT], "b")
    with pytest.raises(UnknownName):
        case_at([ABOUT, _entry(2, "instrument", "instrument", None)], "a")


def test_an_exhibit_keeps_the_hash_of_its_file_beside_its_line():
    body = {"id": "e", "file": "e.png", "caption": "x", "sha256": "f" * 64}
    (exhibit,) = case_at([ABOUT, _entry(2, "exhibits", "e", body)], "a").of(Exhibit)
    assert exhibit.content_hash == "f" * 64
    assert exhibit.line.file == "e.png"


def test_withheld_fields_open_for_who_has_them_and_read_as_withheld_for_others():
    hidden = {"withheld": "k" * 64}
    body = {**MARK, "text": hidden, "reads": {"withheld": "l" * 64}, "withhold": ["text", "reads"]}
    entries = [ABOUT, _entry(2, "marks", "m", body)]
    (closed,) = case_at(entries, "a").of(Mark)
    assert (closed.line.text, closed.line.reads) == (WITHHELD_TEXT, None)
    opened = {"k" * 64: "x", "l" * 64: "1917"}
    (mark,) = case_at(entries, "a", opened=opened).of(Mark)
    assert (mark.line.text, mark.line.reads) == ("x", "1917")
    assert (mark.shown("text"), mark.shown("position"), mark.shown("part")) == ("withheld", "p", "")


def test_fields_of_several_values_are_no_commitments():
    shows = [{"position": "p", "feature": "f", "value": "withheld"}]
    body = {"id": "g", "source": "s", "date": "1950", "same_instrument": "no", "shows": shows}
    (sighting,) = case_at([ABOUT, _entry(2, "sightings", "g", body)], "a").of(Sighting)
    assert sighting.line.shows[0].value == "withheld"


FACT = {"id": "f", "source": "s", "confidence": "low", "mark": "x", "means": "y"}


def _pack(name, **sections):
    return PackFile.model_validate({"pack": name, "title": "t", "version": "1", **sections})


def _recorded(pack, start=1):
    return [
        _entry(at, line.section, line.line, dict(line.body), book=pack.pack, book_kind="pack")
        for at, line in enumerate(pack_lines(pack), start)
    ]


def test_packs_come_back_as_they_were_recorded_in_order():
    facts = [{**FACT, "not_before": "1950"}, {**FACT, "id": "g", "not_after": "1960"}]
    first = _pack("z", facts=facts, catalogues=[{"kind": "k", "name": "n", "source": "s"}])
    second = _pack("a")
    entries = [*_recorded(first), ABOUT, *_recorded(second, 6)]
    assert packs_at(entries) == (first, second)
    assert packs_at(entries, 2)[0].facts == ()
    assert packs_at(entries, 3)[0].facts == first.facts[:1]


def test_rows_and_packs_that_are_retracted_or_moved_are_gone():
    kept = {**FACT, "id": "e", "not_before": "1950"}
    entries = _recorded(_pack("z", facts=[{**FACT, "not_before": "1950"}, kept]))
    pack = {"book": "z", "book_kind": "pack"}
    caution = {"id": "f", "source": "s", "confidence": "low", "says": "x", "defer_to": "y"}
    moved = [*entries, _entry(4, "cautions", "f", caution, **pack)]
    (now,) = packs_at(moved)
    assert ([row.id for row in now.facts], [row.id for row in now.cautions]) == (["e"], ["f"])
    (now,) = packs_at([*moved, _entry(5, "cautions", "f", None, **pack)])
    assert ([row.id for row in now.facts], now.cautions) == (["e"], ())
    assert packs_at([*moved, _entry(5, "pack", "pack", None, **pack)]) == ()


def test_a_row_that_is_edited_keeps_its_place():
    facts = [{**FACT, "not_before": "1950"}, {**FACT, "id": "g", "not_after": "1960"}]
    pack = {"book": "z", "book_kind": "pack"}
    edited = _entry(4, "facts", "f", {**facts[0], "means": "z"}, **pack)
    (now,) = packs_at([*_recorded(_pack("z", facts=facts)), edited])
    assert [(row.id, row.means) for row in now.facts] == [("f", "z"), ("g", "y")]


def test_a_holder_keeps_one_pseudonym_throughout_and_an_erased_one_is_nobodys(
    ledger, record, mandolin, erase
):
    text = mandolin + (
        "  - {id: second, source: bench, holder: A. N. Other, begins: 1960}\n"
        "  - {id: again, source: bench, holder: ' somebody  in particular', begins: 1971, ends: 1994}\n"
    )
    record(ledger, text)

    def _shown():
        lines = case_at(ledger.entries(), "my-mandolin", opened=ledger.opened()).lines
        return [lines[name].shown("holder") for name in ("first-holder", "second", "again")]

    assert _shown() == [f"holder {n} on record" for n in (1, 2, 1)]
    erase(ledger)
    assert _shown() == [f"holder {n} on record" for n in (1, 2, 3)]
