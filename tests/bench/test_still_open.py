from __future__ import annotations

import pytest
import yaml
from click.testing import CliRunner

from ledger.bench.still_open import still_open
from ledger.cli import main
from ledger.holdings import sample_data
from ledger.models import BenchSheet
from ledger.record.sheet import read_sheet

SOURCE = {"id": "bench", "kind": "examination", "title": "Bench", "date": "2026-03-02"}
PLATE = {
    "id": "plate",
    "source": "bench",
    "position": "label",
    "text": "C 41624",
    "withhold": ["text"],
}


def sheet(marks=(PLATE,), **sections):
    return {
        "bench_sheet": "1",
        "instrument": {"id": "i", "kind": "lap-steel", "name": "I", **sections.pop("about", {})},
        "sources": [SOURCE],
        "marks": list(marks),
        **sections,
    }


def told(**given):
    return [
        f"{each.line}: {each.says}"
        for each in still_open(BenchSheet.model_validate(sheet(**given)))
    ]


def identity(value, **more):
    return {"id": "serial", "source": "bench", "what": "serial", "value": value, **more}


@pytest.mark.parametrize("written", ["C 41624", "c41624", "C-41624", "41624", "No. 41624, worn"])
def test_a_withheld_number_that_stands_openly_elsewhere_is_pointed_out(written):
    (found,) = told(identity=[identity(written)])
    assert found.startswith("plate: text is withheld here")
    assert "openly in serial, value" in found
    assert "41624" not in found


def test_it_is_found_both_ways_in_notes_in_the_name_and_in_the_same_line():
    for given in (
        {"marks": [{**PLATE, "note": "It says 41624."}]},
        {"about": {"note": "Sold as number 41624"}},
        {"about": {"name": "Lap steel C41624"}},
        {"marks": [{**PLATE, "withhold": []}], "identity": [identity("41624", withhold=["value"])]},
        {"marks": [PLATE, {"id": "m", "source": "bench", "position": "nut", "text": "41624"}]},
    ):
        assert len(told(**given)) == 1, given


def test_what_is_withheld_everywhere_or_something_else_is_not_pointed_out():
    for given in (
        {},
        {"identity": [identity("C 41624", withhold=["value"])]},
        {"identity": [identity("C 416241")]},
        {"identity": [identity("141624")]},
        {"identity": [identity("C 4162")]},
        {"marks": [{**PLATE, "text": "A"}], "about": {"note": "A lap steel."}},
        # A year is written for many reasons.
        {"marks": [{**PLATE, "text": "No. 1955"}], "about": {"note": "Bought in 1955."}},
    ):
        assert told(**given) == [], given


def test_a_withheld_name_is_looked_for_and_a_town_is_not():
    owner = {
        "id": "owner",
        "source": "bench",
        "holder": "A. N. Owner",
        "place": "A Town",
        "begins": "1950",
    }
    assert told(custody=[owner], about={"note": "From A Town."}) == []
    (found,) = told(custody=[owner], about={"note": "Told by A.N. Owner himself."})
    assert found.startswith("owner: holder is withheld here")


HERMIONE = {"id": "k1", "source": "bench", "holder": "Hermione Quillfeather"}


@pytest.mark.parametrize(
    "written",
    ["Hermione bought it", "From Mrs Quillfeather", "Quillfeather's own", "HERMIONE'S LUTE"],
)
def test_a_part_of_a_withheld_name_that_stands_openly_may_give_it_away(written):
    (found,) = told(custody=[HERMIONE], about={"note": written})
    assert found.startswith("k1: holder is withheld here, and a part of it may stand openly")
    assert "in instrument, note" in found
    assert "If it is the same person" in found
    assert "ermione" not in found
    assert "uillfeather" not in found


def test_the_whole_name_is_pointed_out_once_and_not_as_a_part_besides():
    (found,) = told(custody=[HERMIONE], about={"note": "By Hermione Quillfeather, she says"})
    assert "and the same stands openly" in found


@pytest.mark.parametrize(
    ("holder", "written"),
    [
        pytest.param("Hermione Quillfeather", "a quillfeather in the case", id="no-capital"),
        pytest.param("Mrs A. Quillfeather", "Mrs Somebody brought it", id="a-title"),
        pytest.param("The Bo Society", "The bow is by Bo", id="short-words"),
        pytest.param("Hermione Quillfeather", "Hermiones and Quills", id="other-words"),
    ],
)
def test_what_is_no_part_of_a_name_is_let_be(holder, written):
    assert told(custody=[{**HERMIONE, "holder": holder}], about={"note": written}) == []


def test_a_teller_who_is_withheld_is_looked_for_by_parts_and_a_marking_is_not():
    teller = {**SOURCE, "by": "Hermione Quillfeather", "withhold": ["by"]}
    given = sheet(marks=[{**PLATE, "text": "Made In Nowhere"}], about={"note": "Made for Hermione"})
    given["sources"] = [teller]
    (found,) = still_open(BenchSheet.model_validate(given))
    assert (found.line, "a part of it may" in found.says) == ("bench", True)


def test_check_points_it_out(tmp_path):
    path = tmp_path / "sheet.yaml"
    path.write_text(yaml.safe_dump(sheet(identity=[identity("41624")])), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(path)])
    assert done.exit_code == 0, done.output
    assert "i/plate: text is withheld here" in " ".join(done.output.split())


def test_the_samples_say_openly_nothing_that_they_withhold():
    for path in sorted(sample_data().glob("*-*.yaml")):
        if "pack" not in path.name:
            assert still_open(read_sheet(path).sheet) == ()
