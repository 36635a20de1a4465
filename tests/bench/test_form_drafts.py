"""Drafts: kept whole, told when another page was quicker, and undone step by step."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.bench import form_drafts
from ledger.bench.form_drafts import (
    KEY,
    Draft,
    DraftLine,
    Drafts,
    Step,
    is_stale,
    keep_file,
    new_key,
    undone,
    with_line,
)
from ledger.errors import FaultsFound


def line(key="aaaaaaaa", **fields):
    given = {"text": "912 818"} | fields
    return DraftLine(key=key, section="marks", fields=given, version=0, page="one")


def test_a_line_that_is_kept_again_has_a_higher_version():
    draft = with_line(with_line(Draft(), line()), line(text="912 828"))
    assert draft.line("aaaaaaaa").version == 2
    assert draft.line("aaaaaaaa").fields["text"] == "912 828"


def test_another_page_with_an_older_version_is_stale_and_the_same_page_never():
    draft = with_line(with_line(Draft(), line()), line())
    assert is_stale(draft, "aaaaaaaa", 1, "two")
    assert not is_stale(draft, "aaaaaaaa", 2, "two")
    assert not is_stale(draft, "aaaaaaaa", 1, "one")


def test_a_line_that_is_gone_is_stale_for_a_page_that_knew_it():
    assert is_stale(Draft(), "aaaaaaaa", 1, "one")
    assert not is_stale(Draft(), "aaaaaaaa", 0, "one")


texts = st.text(max_size=8)
keys = st.sampled_from(["aaaaaaaa", "bbbbbbbb", "cccccccc"])


@given(st.lists(st.tuples(keys, texts, st.sampled_from(["typed", "saved", "out"])), max_size=8))
def test_undoing_every_step_leads_back_to_the_beginning(steps):
    draft = Draft()
    seen = [draft.lines]
    for key, text, state in steps:
        changed = line(key, text=text).model_copy(update={"state": state})
        draft = with_line(draft, changed, "a step")
        seen.append(draft.lines)

    def said(lines):
        return [(each.key, each.fields, each.state) for each in lines]

    for expected in reversed(seen[:-1]):
        draft = undone(draft)
        assert said(draft.lines) == said(expected)
    assert undone(draft) == draft


@given(st.dictionaries(st.sampled_from(["text", "note"]), st.text(max_size=40)))
def test_every_character_that_was_typed_is_kept(fields):
    kept = with_line(Draft(), DraftLine(key="aaaaaaaa", section="marks", fields=fields))
    whole = all(not 0xD800 <= ord(c) < 0xE000 for text in fields.values() for c in text)
    if whole:
        assert Draft.model_validate_json(kept.model_dump_json()) == kept


def test_a_draft_is_read_as_it_was_written_and_an_empty_one_is_no_file(tmp_path):
    drafts = Drafts(tmp_path)
    draft = with_line(Draft(), line())
    drafts.write("steel", draft)
    assert drafts.read("steel") == draft
    assert drafts.names() == ("steel",)
    drafts.write("steel", Draft(version=9))
    assert drafts.names() == ()
    assert drafts.read("steel") == Draft()


def test_a_draft_is_its_owners_alone(tmp_path):
    drafts = Drafts(tmp_path)
    drafts.write("steel", with_line(Draft(), line()))
    (path,) = (tmp_path / "drafts").iterdir()
    assert path.stat().st_mode & 0o077 == 0


def test_a_damaged_draft_is_told_and_left_as_it_is(tmp_path):
    path = tmp_path / "drafts" / "steel.json"
    path.parent.mkdir()
    path.write_text('{"draft": "1", "lines": [', encoding="utf-8")
    with pytest.raises(FaultsFound, match="damaged"):
        Drafts(tmp_path).read("steel")
    assert path.read_text(encoding="utf-8").endswith("[")


def test_a_draft_that_cannot_be_read_or_written_is_a_fault(tmp_path):
    (tmp_path / "drafts" / "steel.json").mkdir(parents=True)
    with pytest.raises(FaultsFound):
        Drafts(tmp_path).read("steel")
    with pytest.raises(FaultsFound):
        Drafts(tmp_path).write("steel", with_line(Draft(), line()))


def test_a_write_that_is_broken_off_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "kept"
    keep_file(path, b"old")

    def broken(_):
        raise OSError("pulled out")

    monkeypatch.setattr(form_drafts.os, "fsync", broken)
    with pytest.raises(OSError, match="pulled out"):
        keep_file(path, b"new")
    assert path.read_bytes() == b"old"


def test_there_is_an_end_to_lines_and_to_steps(monkeypatch):
    monkeypatch.setattr(form_drafts, "MOST_LINES", 2)
    monkeypatch.setattr(form_drafts, "MOST_STEPS", 2)
    draft = Draft()
    for key in ("aaaaaaaa", "bbbbbbbb", "aaaaaaaa"):
        draft = with_line(draft, line(key), "a step")
    assert [step.key for step in draft.steps] == ["bbbbbbbb", "aaaaaaaa"]
    assert isinstance(draft.steps[0], Step)
    with pytest.raises(FaultsFound, match="more than 2 lines"):
        with_line(draft, line("cccccccc"))


def test_a_new_key_is_one_that_is_taken():
    assert KEY.fullmatch(new_key())
