"""The pages of the folder and of an instrument."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from ledger.bench.form_drafts import Drafts
from ledger.bench.form_kinds import form_kinds
from ledger.cli import main


def test_the_folder_is_named_even_where_one_stands_in_it(visitor, desk, monkeypatch):
    monkeypatch.chdir(desk.folder)
    monkeypatch.setattr(desk, "folder", Path())
    said = f"lie in the folder <code>{Path.cwd().name}</code>."
    assert said in visitor.get("/").text


def test_an_empty_folder_offers_to_begin(visitor):
    page = visitor.get("/").text
    assert "Begin" in page
    assert "On the bench" not in page


FAULTY = {
    "no-name": ({"name": "", "kind": "lap-steel"}, "name"),
    "no-kind": ({"name": "A steel", "kind": ""}, "kind"),
    "unknown-kind": ({"name": "A steel", "kind": "lute"}, "kind"),
    "bad-id": ({"name": "A steel", "kind": "lap-steel", "id": "A Steel!"}, "id"),
    "id-that-leads-out": ({"name": "A steel", "kind": "lap-steel", "id": "../out"}, "id"),
}


@pytest.mark.parametrize(("typed", "at"), FAULTY.values(), ids=FAULTY)
def test_an_instrument_that_is_not_described_is_told_at_its_fields(visitor, desk, typed, at):
    answer = visitor.post("/begin", typed)
    assert answer.status_code == 422
    assert f'id="{at}-fault"' in answer.text
    assert list(desk.folder.iterdir()) == []


def test_an_id_is_made_from_the_name_and_used_once(visitor):
    typed = {"name": "A Lap Steel", "kind": "lap-steel"}
    assert visitor.post("/begin", typed).headers["location"] == "/object/a-lap-steel"
    again = visitor.post("/begin", typed)
    assert again.status_code == 422
    assert "on this bench already" in again.text
    assert "A Lap Steel" in visitor.get("/").text


def test_every_position_is_on_the_map_and_in_the_list(begun, packs):
    page = begun.get("/object/steel").text
    for name, row in packs.catalogue("lap-steel").positions.items():
        expected = 2 if row.place is not None else 1
        assert page.count(f'href="/object/steel/at/{name}"') == expected, name


def test_every_position_has_its_page_with_its_looks(begun, packs):
    for name in packs.catalogue("lap-steel").names():
        answer = begun.get(f"/object/steel/at/{name}")
        assert answer.status_code == 200, name
    assert "Lead solder" in begun.get("/object/steel/at/pot").text
    assert "pot.volume" in begun.get("/object/steel/at/pot.volume").text


def test_every_kind_has_its_form(begun):
    for kind in form_kinds():
        assert begun.get(f"/object/steel/new/{kind}").status_code == 200, kind


def test_an_amplifier_says_first_that_it_can_kill(visitor):
    visitor.post("/begin", {"name": "An amplifier", "kind": "valve-amplifier", "id": "amp"})
    for path in ("/object/amp", "/object/amp/at/chassis"):
        page = visitor.get(path).text
        assert "Stored charge" in page, path
        assert "First comes:" in page, path


def test_what_was_read_is_on_no_page_that_leads_to_reading(begun):
    where, hidden = begun.form("/object/steel/new/mark")
    typed = {"position": "pot.1", "text": "912 8277", "source": "bench"}
    begun.post(where, hidden | typed)
    for path in ("/object/steel", "/object/steel/at/pot", "/object/steel/new/mark?position=pot.1"):
        page = begun.get(path).text
        assert "8277" not in page, path
    assert "1 line speaks of it" in begun.get("/object/steel/at/pot").text


def test_the_instrument_can_be_described_anew_but_for_its_id_and_kind(begun, desk):
    assert "A steel" in begun.get("/object/steel/about").text
    typed = {"name": "A better name", "maker": "Corbel", "id": "other", "kind": "banjo"}
    assert begun.post("/object/steel/about", typed).status_code == 303
    about = desk.take_up("steel").about
    assert (about["name"], about["maker"], about["id"]) == ("A better name", "Corbel", "steel")
    assert about["kind"] == "lap-steel"
    answer = begun.post("/object/steel/about", {"name": ""})
    assert answer.status_code == 422
    assert 'id="name-fault"' in answer.text


def test_a_sheet_with_faults_is_told_and_left_alone(visitor, desk):
    path = desk.folder / "broken.yaml"
    path.write_text("bench_sheet: 1\ninstrument: {id: x}\n", encoding="utf-8")
    (desk.folder / "list.yaml").write_text("- nothing of ours\n", encoding="utf-8")
    (desk.folder / "not.yaml").write_text("bench_sheet: [\n", encoding="utf-8")
    page = visitor.get("/").text
    assert page.count("A sheet that has faults") == 2
    assert "broken.yaml" in page
    assert path.read_text(encoding="utf-8").endswith("{id: x}\n")


def test_two_sheets_of_one_instrument_are_told_and_neither_is_chosen(visitor, desk):
    for name in ("one", "two"):
        (desk.folder / f"{name}.yaml").write_text(
            "bench_sheet: 1\ninstrument: {id: steel, kind: lap-steel, name: A steel}\n",
            encoding="utf-8",
        )
    answer = visitor.get("/object/steel")
    assert answer.status_code == 422
    assert "one.yaml and two.yaml" in answer.text


def test_a_draft_that_is_damaged_does_not_close_the_bench(begun, desk):
    (desk.folder / "drafts" / "other.json").write_text("{", encoding="utf-8")
    assert begun.get("/").status_code == 200
    answer = begun.get("/object/other")
    assert answer.status_code == 422
    assert "damaged" in answer.text


def test_an_instrument_of_the_ledger_is_not_begun_twice_and_its_sheet_is_written_from_there(
    visitor, desk
):
    elsewhere = desk.folder.parent / "sheet.yaml"
    elsewhere.write_text(
        "bench_sheet: 1\ninstrument: {id: steel, kind: lap-steel, name: A steel}\n"
        "sources:\n  - {id: bench, kind: examination, title: Opened}\n",
        encoding="utf-8",
    )
    words = ["record", str(elsewhere), "--ledger", str(desk.ledger_path)]
    assert CliRunner().invoke(main, words).exit_code == 0
    typed = {"name": "A steel", "kind": "lap-steel", "id": "steel"}
    assert "in the ledger already" in visitor.post("/begin", typed).text
    assert "without a sheet here" in visitor.get("/").text
    assert visitor.post("/object/steel/sheet").status_code == 303
    assert "title: Opened" in (desk.folder / "steel.yaml").read_text(encoding="utf-8")
    assert "Nothing new" in visitor.get("/object/steel/review").text
    assert visitor.post("/object/steel/sheet").status_code == 404


def test_the_drafts_of_a_folder_are_named_by_their_instruments(begun, desk):
    assert Drafts(desk.folder).names() == ("steel",)
    assert desk.names() == {"steel": "A steel"}
