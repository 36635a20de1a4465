from __future__ import annotations

from ledger.masks import Mask
from ledger.record.entries import Entry
from ledger.record.exposure import Showing, exhibits_to_show

LEFT = {"left": 0.0, "top": 0.0, "width": 0.5, "height": 1.0}
RIGHT = {"left": 0.5, "top": 0.0, "width": 0.5, "height": 1.0}
FILE = "ab" * 32


def _entry(number, body, line="picture", book="steel", section="exhibits"):
    fields = dict.fromkeys(Entry.__dataclass_fields__, "")
    fields |= {"sequence": number, "book_kind": "instrument", "book": book, "section": section}
    return Entry(**{**fields, "line": line, "body": body})


def _body(*masks, **more):
    found = {"file": "a.png", "caption": "x", "sha256": FILE, **more}
    return {**found, "masks": list(masks)} if masks else found


def test_a_file_is_shown_with_the_masks_of_every_line_that_names_it():
    entries = [_entry(1, _body(LEFT)), _entry(2, _body(RIGHT, LEFT), book="other")]
    left, right = Mask(**LEFT), Mask(**RIGHT)
    assert exhibits_to_show(entries) == (Showing(FILE, (left, right)),)


def test_the_latest_form_of_a_line_counts_and_a_retracted_one_does_not():
    entries = [_entry(1, _body(LEFT)), _entry(2, _body(RIGHT))]
    assert exhibits_to_show(entries) == (Showing(FILE, (Mask(**RIGHT),)),)
    assert exhibits_to_show([*entries, _entry(3, None)]) == ()


def test_one_line_that_withholds_the_file_keeps_it_back():
    hidden = _body(file={"withheld": "cd" * 32})
    assert exhibits_to_show([_entry(1, _body()), _entry(2, hidden, line="again")]) == ()


def test_masks_that_cannot_be_read_are_not_taken_for_none():
    assert exhibits_to_show([_entry(1, _body(masks={"withheld": "cd" * 32}))]) == ()


def test_other_sections_show_nothing():
    assert exhibits_to_show([_entry(1, _body(), section="marks")]) == ()
