"""The review and the recording: what is shown is what is recorded, and the sheet stays its owner's."""

from __future__ import annotations

import re

import pytest

from ledger import workflow
from ledger.bench.form_drafts import Draft, DraftLine, with_line
from ledger.bench.form_record import record, review
from ledger.errors import FaultsFound, LedgerError
from ledger.record.sheet import read_sheet
from ledger.record.store import Ledger

MARK = {"id": "code", "source": "bench", "position": "pot.1", "text": "912 818"}
SHEET = """\
# My own words.
bench_sheet: 1
instrument: {id: steel, kind: lap-steel, name: A steel, invented: yes}

sources:
  # the day it came
  - id: bench
    kind: examination
    title: Opened
"""


def with_saved(desk, *given, name="steel"):
    """The draft with saved lines: (section, fields) or (section, fields, mends)."""
    draft = desk.drafts.read(name)
    for at, (section, fields, *mends) in enumerate(given):
        key = f"{len(draft.lines):04x}{at:04x}"
        line = DraftLine(key=key, section=section, fields=fields, state="saved")
        line = line.model_copy(update={"mends": mends[0] if mends else ""})
        draft = with_line(draft, line, "a step")
    desk.drafts.write(name, draft)
    return desk.take_up(name)


def settled(desk, bench):
    return record(desk, bench, review(desk, bench).digest)


def entries(desk):
    return [(each.act, each.section, each.line) for each in desk.entries()]


@pytest.fixture
def sheet(desk):
    path = desk.folder / "mine.yaml"
    path.write_text(SHEET, encoding="utf-8")
    return path


def test_a_new_instrument_is_recorded_as_it_was_reviewed_and_its_sheet_is_there(desk):
    desk.begin({"id": "steel", "kind": "lap-steel", "name": "A steel"})
    bench = with_saved(
        desk, ("sources", {"id": "bench", "kind": "examination", "title": "T"}), ("marks", MARK)
    )
    shown = review(desk, bench)
    assert [(line.act, line.id) for line in shown.lines] == [
        ("new", "instrument"),
        ("new", "bench"),
        ("new", "code"),
    ]
    done = record(desk, bench, shown.digest)
    assert done.recorded == 3
    assert entries(desk) == [
        ("record", "instrument", "instrument"),
        ("record", "sources", "bench"),
        ("record", "marks", "code"),
    ]
    assert read_sheet(desk.folder / "steel.yaml").sheet.marks[0].text == "912 818"
    assert desk.drafts.read("steel").lines == ()
    assert review(desk, desk.take_up("steel")).lines == ()


def test_lines_are_put_into_a_sheet_that_is_there_and_its_own_words_stay(desk, sheet):
    bench = with_saved(desk, ("marks", MARK))
    assert not review(desk, bench).is_rewritten
    settled(desk, bench)
    text = sheet.read_text(encoding="utf-8")
    assert text.startswith(SHEET.rstrip())
    assert "# the day it came" in text
    assert (desk.folder / "mine.before.yaml").read_text(encoding="utf-8") == SHEET


def test_a_line_that_is_changed_supersedes_and_one_taken_out_is_taken_back(desk, sheet):
    settled(desk, with_saved(desk, ("marks", MARK), ("questions", {"id": "q", "question": "A?"})))
    bench = with_saved(desk, ("marks", MARK | {"text": "912 828"}, "code"))
    out = DraftLine(key="ffffffff", section="questions", fields={"id": "q"}, state="out", mends="q")
    desk.drafts.write("steel", with_line(bench.draft, out))
    bench = desk.take_up("steel")
    shown = review(desk, bench)
    assert shown.is_rewritten
    (changed, taken) = shown.lines
    assert (changed.act, dict(changed.says)["text"]) == ("changed", "912 828")
    assert dict(changed.said)["text"] == "912 818"
    assert (taken.act, dict(taken.said)["question"]) == ("taken back", "A?")
    done = record(desk, bench, shown.digest)
    assert (done.superseded, done.retracted) == (1, 1)
    kept = (desk.folder / "mine.before.yaml").read_text(encoding="utf-8")
    assert "912 818" in kept
    assert "912 828" in sheet.read_text(encoding="utf-8")


def test_what_is_withheld_is_marked_and_is_in_no_entry(desk, sheet):
    fields = {"id": "first", "source": "bench", "holder": "Somebody", "place": "A town"}
    bench = with_saved(desk, ("custody", fields))
    line = next(each for each in review(desk, bench).lines if each.section == "custody")
    assert line.withheld == {"holder", "place"}
    settled(desk, bench)
    with Ledger.open(desk.ledger_path, read_only=True) as ledger:
        assert "Somebody" not in "".join(str(each.body) for each in ledger.entries())


def test_what_changed_since_the_review_was_opened_is_not_recorded(desk, sheet):
    bench = with_saved(desk, ("marks", MARK))
    digest = review(desk, bench).digest
    bench = with_saved(desk, ("questions", {"id": "q", "question": "A?"}))
    with pytest.raises(FaultsFound, match="changed since the review"):
        record(desk, bench, digest)
    assert not desk.ledger_path.exists()
    assert sheet.read_text(encoding="utf-8") == SHEET


def test_a_sheet_that_was_mended_by_hand_meanwhile_is_reviewed_anew(desk, sheet):
    bench = with_saved(desk, ("marks", MARK))
    digest = review(desk, bench).digest
    sheet.write_text(SHEET.replace("Opened", "Opened again"), encoding="utf-8")
    with pytest.raises(FaultsFound):
        record(desk, desk.take_up("steel"), digest)
    assert "Opened again" in sheet.read_text(encoding="utf-8")


def test_lines_that_are_not_finished_are_named_and_stay_in_the_draft(desk, sheet):
    bench = with_saved(desk, ("marks", MARK))
    typed = DraftLine(key="ffffffff", section="marks", fields={"text": "9"})
    desk.drafts.write("steel", with_line(bench.draft, typed))
    bench = desk.take_up("steel")
    assert [line.key for line in review(desk, bench).unfinished] == ["ffffffff"]
    settled(desk, bench)
    assert [line.key for line in desk.drafts.read("steel").lines] == ["ffffffff"]
    assert entries(desk)[-1] == ("record", "marks", "code")


def test_faults_are_told_with_the_line_they_are_in_and_nothing_can_be_recorded(desk, sheet):
    bench = with_saved(desk, ("marks", MARK | {"source": "gone"}))
    shown = review(desk, bench)
    assert shown.text == ""
    assert [fault.key for fault in shown.faults] == [bench.draft.lines[0].key]
    with pytest.raises(FaultsFound):
        record(desk, bench, shown.digest)


def test_a_picture_that_is_gone_is_told(desk, sheet):
    fields = {"id": "p", "file": "photographs/gone.jpg", "caption": "C"}
    shown = review(desk, with_saved(desk, ("exhibits", fields)))
    assert "no file of that name" in shown.faults[0].says


def test_a_section_within_brackets_is_written_anew(desk, sheet):
    text = SHEET + "questions: [{id: a, question: Why?}]\n"
    sheet.write_text(text, encoding="utf-8")
    bench = with_saved(desk, ("questions", {"id": "q", "question": "A?"}))
    assert review(desk, bench).is_rewritten
    settled(desk, bench)
    assert {line for _, _, line in entries(desk)} == {"instrument", "bench", "a", "q"}


def test_a_work_without_its_before_record_and_what_the_plan_asks_first_are_pointed_out(desk, sheet):
    sheet.write_text(SHEET + "    date: 2026-03-01\n", encoding="utf-8")
    work = {
        "id": "swap",
        "source": "bench",
        "action": "replaced",
        "positions": "pot.1",
        "date": "2026-03-04",
    }
    shown = review(desk, with_saved(desk, ("works", work)))
    assert any("nothing is recorded of pot.1 from before it" in each for each in shown.notices)
    (when, looks) = shown.gates[0]
    assert when == "before the work swap on pot.1"
    assert any("seals" in look.look_for for look in looks)


def test_what_was_seen_opened_asks_for_the_gates_and_what_was_seen_outside_does_not(desk, sheet):
    outside = MARK | {"id": "number", "position": "serial"}
    assert review(desk, with_saved(desk, ("marks", outside))).gates == ()
    shown = review(desk, with_saved(desk, ("marks", MARK)))
    ((when, looks),) = shown.gates
    assert when == "before anything was opened"
    assert all(look.is_gate and look.stage != "hardware off" for look in looks)


def test_the_instrument_described_anew_is_written_anew(desk, sheet):
    desk.drafts.write(
        "steel",
        Draft(about={"id": "steel", "kind": "lap-steel", "name": "Better", "invented": "yes"}),
    )
    bench = desk.take_up("steel")
    assert review(desk, bench).is_rewritten
    settled(desk, bench)
    assert read_sheet(sheet).sheet.instrument.name == "Better"


def test_recording_through_the_pages_tells_what_was_recorded_and_publishes(begun, desk):
    page = begun.get("/object/steel/review").text
    assert "This is what will be recorded" in page
    digest = re.findall(r'name="digest" value="(\w+)"', page)[0]
    refused = begun.post("/object/steel/record", {"digest": "0" * 64})
    assert refused.status_code == 409
    assert "changed since the review" in refused.text
    assert begun.get("/object/steel/recorded").status_code == 404
    answer = begun.post("/object/steel/record", {"digest": digest})
    page = begun.get(answer.headers["location"]).text
    assert "2 recorded" in page
    assert "What can be said by now" in page
    assert begun.get("/object/steel/recorded?counts=<b>").status_code == 200
    answer = begun.post("/object/steel/publish")
    assert answer.status_code == 303
    assert "Published to" in begun.get(answer.headers["location"]).text
    assert list(desk.site.glob("*.db"))
    assert "mend/bench" in begun.get("/object/steel").text


def test_a_line_of_the_sheet_is_mended_and_taken_out_through_the_pages(begun, desk):
    digest = review(desk, desk.take_up("steel")).digest
    begun.post("/object/steel/record", {"digest": digest})
    where, hidden = begun.form("/object/steel/mend/bench")
    assert hidden["mends"] == "bench"
    typed = {"id": "bench", "kind": "examination", "title": "Opened by daylight", "by": "A"}
    assert begun.post(where, hidden | typed).status_code == 303
    shown = review(desk, desk.take_up("steel"))
    assert [(line.act, line.id) for line in shown.lines] == [("changed", "bench")]
    assert begun.get("/object/steel/mend/bench").headers["location"] == where
    begun.post("/object/steel/undo")
    begun.post("/object/steel/line/held/out", {"mends": "bench"})
    shown = review(desk, desk.take_up("steel"))
    assert [(line.act, line.id) for line in shown.lines] == [("taken back", "bench")]


@pytest.fixture
def fail_once(monkeypatch):
    """The ledger takes nothing the next time, and what is given goes on after that."""
    record_files = workflow.record_files

    def refused(*_given):
        monkeypatch.setattr(workflow, "record_files", record_files)
        raise LedgerError("The disk is full.")

    return lambda: monkeypatch.setattr(workflow, "record_files", refused)


def test_where_the_ledger_fails_once_the_sheet_goes_back_and_all_is_recorded_after(
    desk, sheet, fail_once
):
    bench = with_saved(desk, ("marks", MARK))
    fail_once()
    with pytest.raises(LedgerError, match="disk is full"):
        settled(desk, bench)
    assert sheet.read_text(encoding="utf-8") == SHEET
    assert not desk.ledger_path.exists()
    bench = desk.take_up("steel")
    assert [line.id for line in bench.draft.lines] == ["code"]
    assert settled(desk, bench).recorded == 3
    assert desk.drafts.read("steel").lines == ()


def test_a_new_sheet_is_gone_again_where_the_ledger_fails(desk, fail_once):
    bench = desk.begin({"id": "steel", "kind": "lap-steel", "name": "A steel"})
    fail_once()
    with pytest.raises(LedgerError):
        settled(desk, bench)
    assert not (desk.folder / "steel.yaml").exists()
    assert settled(desk, desk.take_up("steel")).recorded == 1


@pytest.mark.parametrize("at", ["before-the-ledger", "after-the-ledger"])
def test_a_recording_that_was_cut_off_can_be_finished(desk, sheet, at):
    given = (
        ("sources", {"id": "told", "kind": "testimony", "title": "T", "first_hand": "no"}),
        ("marks", MARK | {"text": "  912 818"}),
    )
    bench = with_saved(desk, *given)
    cut_off = desk.drafts.read("steel")
    settled(desk, bench)
    desk.drafts.write("steel", cut_off)  # what a killed server leaves behind
    if at == "before-the-ledger":
        desk.ledger_path.unlink()
    shown = review(desk, desk.take_up("steel"))
    assert shown.faults == ()
    assert len(shown.lines) == (4 if at == "before-the-ledger" else 0)
    bench = with_saved(desk, ("questions", {"id": "q", "question": "A?"}))
    settled(desk, bench)
    assert desk.drafts.read("steel").lines == ()
    assert sorted(line for _, _, line in entries(desk)) == [
        "bench",
        "code",
        "instrument",
        "q",
        "told",
    ]


def test_an_id_that_the_sheet_gives_to_something_else_is_still_a_fault(desk, sheet):
    settled(desk, with_saved(desk, ("marks", MARK)))
    bench = with_saved(desk, ("marks", MARK | {"text": "134 428"}))
    (fault,) = review(desk, bench).faults
    assert "again" in fault.says
