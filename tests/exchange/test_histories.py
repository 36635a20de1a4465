"""The batches in which a record grew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.exchange.histories import batches_of
from ledger.record.entries import Entry


@pytest.fixture
def entry():
    def made(sequence, time, book="mine", kind="instrument", act="record"):
        return Entry(sequence, time, "A", act, kind, book, "marks", "x", {}, "0" * 64, "0" * 64)

    return made


def test_entries_of_one_time_and_recorder_are_one_batch(entry):
    found = batches_of([entry(1, "t1"), entry(2, "t1"), entry(3, "t2", act="retract")], "mine")
    assert [(batch.first, batch.last, len(batch.own)) for batch in found] == [(1, 2, 2), (3, 3, 1)]
    assert [batch.sentence() for batch in found] == [
        "Entries 1 to 2, by A, t1: of this instrument 2 entries recorded.",
        "Entry 3, by A, t2: of this instrument 1 entry retracted.",
    ]


def test_batches_on_other_instruments_are_passed_over(entry):
    found = batches_of([entry(1, "t1"), entry(2, "t2", "other"), entry(3, "t3")], "mine")
    assert [batch.first for batch in found] == [1, 3]


def test_a_pack_is_a_batch_once_there_is_an_instrument_for_it_to_bear_on(entry):
    entries = [
        entry(1, "t1", "list", "pack"),
        entry(2, "t2"),
        entry(3, "t3", "list", "pack", "supersede"),
        entry(4, "t4", "list", "pack"),
        entry(5, "t4"),
    ]
    found = batches_of(entries, "mine")
    assert [batch.first for batch in found] == [2, 3, 4]
    assert found[1].sentence() == "Entry 3, by A, t3: of the pack list 1 entry superseded."
    assert found[2].sentence() == (
        "Entries 4 to 5, by A, t4: of this instrument 1 entry recorded and of the pack list "
        "1 entry recorded."
    )


def test_what_was_erased_of_the_instrument_is_a_batch_and_of_another_is_none(entry):
    def erased(sequence, book, **more):
        body = {"book": book, "line": "k1", "reason": "asked for", **more}
        made = entry(sequence, f"t{sequence}", "ledger", "ledger")
        return replace(made, section="erasures", line="c" * 64, body=body)

    entries = [
        entry(1, "t1"),
        erased(2, "mine", field="holder"),
        erased(3, "other", field="holder"),
        erased(4, "mine"),
    ]
    assert [batch.sentence() for batch in batches_of(entries, "mine")][1:] == [
        "Entry 2, by A, t2: erased for good: k1, holder.",
        "Entry 4, by A, t4: erased for good: k1, its file.",
    ]


def test_an_instrument_of_which_nothing_is_recorded_has_no_batches(entry):
    assert batches_of([entry(1, "t1", "other")], "mine") == ()
