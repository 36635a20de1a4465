"""What others told is kept as theirs; a ledger that was rewritten is not believed."""

from __future__ import annotations

import pytest

from ledger.errors import LedgerError, WitnessmarkError
from ledger.exchange import theirs
from ledger.exchange.assertions_rdf import set_quads
from ledger.exchange.iris import spelt, text
from ledger.exchange.statements import Checkpoint, Told, ToldInstrument, ToldSet

OWN = "https://own.example/"
THEIR = "https://harbour.example/"


def told(sequence=3, head="a" * 64, base=THEIR, entry="b" * 64, name="A lute"):
    line = Told("code", "marks", "A mark", "A mark.", 2, entry, (("text", ("134 428",)),))
    instrument = ToldInstrument("lute", name, "lute", "", "", invented=True, lines=(line,))
    return tuple(sorted(set(set_quads(ToldSet(base, Checkpoint(sequence, head), (instrument,))))))


def take(folder, quads, name="harbour", own=OWN):
    return theirs.take_in(folder, name, quads, own, "2026-03-02T10:00:00Z")


def test_what_is_taken_in_is_kept_whole_with_its_checkpoint(tmp_path):
    receipt = take(tmp_path, told())
    assert (receipt.base, receipt.sequence, receipt.hash) == (THEIR, 3, "a" * 64)
    assert theirs.kept_quads(tmp_path, receipt) == told()
    assert take(tmp_path, told()) == receipt, "the same again changes nothing"
    assert theirs.taken(tmp_path) == (receipt,)


def test_a_later_checkpoint_comes_beside_the_earlier(tmp_path):
    first, later = take(tmp_path, told()), take(tmp_path, told(4, "c" * 64))
    assert theirs.taken(tmp_path) == (first, later)
    assert theirs.latest(tmp_path) == (later,)


@pytest.mark.parametrize(
    ("quads", "said"),
    [
        pytest.param(told(2), "one as of entry 3 was taken in before", id="older"),
        pytest.param(told(3, "d" * 64), "rewritten or has forked", id="forked"),
        pytest.param(told(3, name="A viol"), "without recording it", id="changed-unrecorded"),
        pytest.param(told(9, "e" * 64, entry="f" * 64), "was rewritten", id="entry-rewritten"),
        pytest.param(told(4, base="https://x.example/"), "one name for one", id="other-base"),
    ],
)
def test_a_ledger_that_contradicts_what_it_told_before_is_refused(tmp_path, quads, said):
    take(tmp_path, told())
    with pytest.raises(WitnessmarkError, match=said):
        take(tmp_path, quads)
    assert len(theirs.taken(tmp_path)) == 1


@pytest.mark.parametrize(
    ("quads", "name", "said"),
    [
        pytest.param(told(base=OWN), "harbour", "your own base", id="own-base"),
        pytest.param(told(base=OWN[:-1]), "harbour", "which is none", id="base-without-slash"),
        pytest.param(told(base="https://"), "harbour", "which is none", id="base-of-everything"),
        pytest.param(told(base=f"{OWN}x/"), "harbour", "begins as the other", id="base-extends"),
        pytest.param(told(base="HTTPS://OWN.example/"), "harbour", "which is none", id="no-http"),
        pytest.param(
            told(base="https://OWN.example/"), "harbour", "begins as the other", id="other-case"
        ),
        pytest.param(told(head=""), "harbour", "no checkpoint", id="no-checkpoint"),
        pytest.param((), "harbour", "no checkpoint", id="nothing"),
        pytest.param(told(), "../x", "no name for a set", id="name"),
        pytest.param(
            (*told(), ("", f"<{OWN}instrument/mine>", spelt("rdfs:label"), text("x"))),
            "harbour",
            "their own things only",
            id="speaks-of-mine",
        ),
    ],
)
def test_what_is_no_set_of_theirs_is_refused(tmp_path, quads, name, said):
    with pytest.raises(WitnessmarkError, match=said):
        take(tmp_path, quads, name)
    assert theirs.taken(tmp_path) == ()


def test_a_base_that_begins_as_ones_own_is_refused_from_above_too(tmp_path):
    with pytest.raises(WitnessmarkError, match="begins as the other"):
        take(tmp_path, told(), own=f"{THEIR}mine/")
    assert theirs.taken(tmp_path) == ()


def test_a_base_of_ones_own_that_is_none_is_refused_with_what_to_say(tmp_path):
    with pytest.raises(WitnessmarkError, match="ends in a slash"):
        take(tmp_path, told(), own=OWN[:-1])


def test_two_sets_whose_bases_begin_alike_are_not_both_taken_in(tmp_path):
    take(tmp_path, told())
    with pytest.raises(WitnessmarkError, match="could not be told apart"):
        take(tmp_path, told(base=f"{THEIR}annex/"), "annex")
    assert len(theirs.taken(tmp_path)) == 1


def test_one_ledger_has_one_name(tmp_path):
    take(tmp_path, told())
    with pytest.raises(WitnessmarkError, match="one name for one ledger"):
        take(tmp_path, told(4, "c" * 64), name="quay")


def test_what_was_changed_since_is_not_believed(tmp_path):
    receipt = take(tmp_path, told())
    path = tmp_path / "harbour" / "3.nq"
    path.write_bytes(path.read_bytes().replace(b"A lute", b"A viol"))
    with pytest.raises(LedgerError, match="changed after"):
        theirs.kept_quads(tmp_path, receipt)
    path.unlink()
    with pytest.raises(LedgerError, match="cannot be read"):
        theirs.kept_quads(tmp_path, receipt)


@pytest.mark.parametrize("content", ["", "{}", '{"format": 1}', "[]"])
def test_a_receipt_that_is_none_is_told(tmp_path, content):
    take(tmp_path, told())
    (tmp_path / "harbour" / "3.json").write_text(content)
    with pytest.raises(LedgerError, match="no receipt"):
        theirs.taken(tmp_path)


def test_a_receipt_of_another_format_is_told(tmp_path):
    take(tmp_path, told())
    path = tmp_path / "harbour" / "3.json"
    path.write_text(path.read_text().replace("theirs 1", "theirs 9"))
    with pytest.raises(LedgerError, match="another format"):
        theirs.taken(tmp_path)


def test_a_place_where_nothing_can_be_kept_is_told(tmp_path):
    (tmp_path / "theirs").write_text("a file")
    with pytest.raises(LedgerError, match="Nothing can be kept"):
        take(tmp_path / "theirs", told())
