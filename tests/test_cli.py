"""Every command, on the invented sample data: what it says when all is well and when not."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from ledger.cli import COMMANDS, main
from ledger.holdings import sample_data, schema_file
from ledger.record.store import Ledger

ROOT = Path(__file__).resolve().parent.parent
SHEETS = ("dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")
FILES = [str(path) for path in sorted(sample_data().glob("*.yaml"))]
ESCAPE = "\x1b"


def run(*words, status=0):
    """What a command prints; it has to end by itself, with that status."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    assert "Traceback" not in result.output
    return result.output


def python(*words, **settings):
    """A run of the command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "ledger", *(str(word) for word in words)],
        check=False,
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), **settings},
    )


@pytest.fixture(scope="session")
def recorded(tmp_path_factory):
    """A ledger with all the sample data. No test adds to it."""
    path = tmp_path_factory.mktemp("ledger") / "ledger.db"
    run("record", *FILES, "--ledger", path, "--recorder", "examiner")
    return path


@pytest.fixture
def own_folder(tmp_path):
    """A copy of the sample data to edit, as a person would."""
    return Path(shutil.copytree(sample_data(), tmp_path / "own"))


def count(path):
    with Ledger.open(path, read_only=True) as ledger:
        return len(ledger.entries())


def test_recording_tells_what_was_recorded_and_recording_again_says_nothing_new(tmp_path):
    path = tmp_path / "ledger.db"
    said = run("record", *FILES, "--ledger", path)
    assert "pack calverock" in said
    for sheet in SHEETS:
        assert f"instrument {sheet}: " in said
    before = count(path)
    again = run("record", *FILES, "--ledger", path).splitlines()
    assert len(again) == len(FILES)
    assert all("nothing new" in line for line in again)
    assert count(path) == before


def test_a_changed_line_supersedes_and_a_removed_one_retracts(recorded, tmp_path, own_folder):
    path = tmp_path / "ledger.db"
    shutil.copy(recorded, path)
    sheet = own_folder / "dunnock-lap-steel.yaml"
    text = sheet.read_text(encoding="utf-8")
    asked, challenges, rest = text.partition("\nchallenges:")
    cut = asked.rindex("\n  - id: ")  # the last question
    shorter = f"{asked[:cut]}\n{challenges}{rest}"
    sheet.write_text(shorter.replace("title: ", "title: Again, ", 1), encoding="utf-8")
    said = run("record", sheet, "--ledger", path)
    assert "1 superseded, 1 retracted." in said
    assert count(path) == count(recorded) + 2


def test_all_faults_of_all_files_are_told_with_their_places_and_nothing_is_recorded(
    recorded, tmp_path, own_folder
):
    path = tmp_path / "ledger.db"
    shutil.copy(recorded, path)
    one, other = own_folder / "dunnock-lap-steel.yaml", own_folder / "whinchat-mandolin.yaml"
    text = one.read_text(encoding="utf-8")
    text = text.replace("bench_sheet: 1", "bench_sheet: 1\nmakrs: []", 1)
    one.write_text(text.replace("legibility: partial", "legibility: parshal", 1), encoding="utf-8")
    text = other.read_text(encoding="utf-8")
    other.write_text(text.replace("kind: mandolin", "kind: mandoline", 1), encoding="utf-8")
    good = own_folder / "garganey-amplifier.yaml"
    good.write_text(good.read_text(encoding="utf-8").replace("title: ", "title: x "), "utf-8")
    said = run("record", good, one, other, "--ledger", path, status=1)
    assert said.startswith("Error: 3 faults found; nothing was recorded:\n")
    places = {
        line.split(": ")[0].strip(): line for line in said.splitlines() if line.startswith("  ")
    }
    found = dict(_places(one, "makrs", "parshal") | _places(other, "mandoline"))
    assert set(places) == set(found)
    assert "marks" in places[found_place(found, "makrs")]
    assert "mandolin" in places[found_place(found, "mandoline")]
    assert count(path) == count(recorded)
    assert run("check", one, "--ledger", path, status=1).count(str(one)) == 2


def _places(path, *words):
    """Where in a file each word stands first: ``file:line:column`` and the word."""
    lines = path.read_text(encoding="utf-8").splitlines()
    found = set()
    for word in words:
        row = next(number for number, line in enumerate(lines) if word in line)
        found.add((f"{path}:{row + 1}:{lines[row].index(word) + 1}", word))
    return found


def found_place(found, word):
    return next(place for place, given in found.items() if given == word)


def test_a_sheet_without_a_fault_checks_and_leaves_no_ledger_behind(tmp_path):
    path = tmp_path / "none.db"
    assert run("check", *FILES, "--ledger", path) == "No fault found.\n"
    assert not path.exists()


def test_a_pack_in_the_ledger_counts_when_a_sheet_is_checked(recorded):
    assert run("check", FILES[1], "--ledger", recorded) == "No fault found.\n"


def test_the_instruments_are_listed_with_their_names(recorded):
    said = run("instruments", "--ledger", recorded)
    assert [line.split("  ")[0] for line in said.splitlines()] == list(SHEETS)


def test_the_words_a_sheet_may_use_are_listed_without_a_ledger(tmp_path):
    path = tmp_path / "none.db"
    said = run("catalogue", "--ledger", path)
    for word in ("lap-steel", "valve-amplifier", "undisturbed-joints"):
        assert word in said
    said = run("catalogue", "lap-steel", "--ledger", path)
    assert "tailpiece" in said
    assert ESCAPE not in said
    assert not path.exists()


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_report_prints_plainly_with_both_ends_of_every_date(recorded, sheet):
    said = run("weigh", sheet, "--ledger", recorded)
    assert ESCAPE not in said
    assert "(an invented example)" in said
    flat = " ".join(said.split())
    assert "Completed not before" in flat
    assert "not after" in flat
    assert f"witnessmark explain {sheet}/completed.not-before.account.1" in flat


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_json_report_fits_the_published_schema(recorded, sheet):
    schema = json.loads(schema_file("report.schema.json").read_text(encoding="utf-8"))
    report = json.loads(run("weigh", sheet, "--ledger", recorded, "--json"))
    assert list(Draft202012Validator(schema).iter_errors(report)) == []
    assert report["instrument"] == sheet


def test_what_was_known_at_an_earlier_entry_can_be_weighed_again(recorded):
    now = json.loads(run("weigh", SHEETS[0], "--ledger", recorded, "--json"))
    then = json.loads(run("weigh", SHEETS[0], "--ledger", recorded, "--json", "--at", "45"))
    assert then["sequence"] == 45
    assert len(then["lines"]) < len(now["lines"])
    last = count(recorded)
    told = run("weigh", SHEETS[0], "--ledger", recorded, "--json", "--at", last)
    assert json.loads(told) == now


def test_every_finding_of_a_report_can_be_explained(recorded):
    report = json.loads(run("weigh", SHEETS[0], "--ledger", recorded, "--json"))
    names = [finding["id"] for finding in report["findings"]]
    assert len(names) == len(set(names)) > 50
    kinds = {finding["kind"]: finding["id"] for finding in report["findings"]}
    for name in kinds.values():
        said = run("explain", f"{SHEETS[0]}/{name}", "--ledger", recorded)
        assert said.strip(), name
        assert "missing:" not in said, name


def test_a_chain_goes_down_to_an_entry_a_source_and_a_reference_row(recorded):
    name = f"{SHEETS[0]}/completed.not-after.account.1"
    said = " ".join(run("explain", name, "--ledger", recorded).split())
    for part in ("[line: ", "entry ", "[source: ", "[reference: "):
        assert part in said
    assert "This supposes that" in said


def test_a_published_site_is_a_folder_with_its_database_and_tells_the_next_step(recorded, tmp_path):
    said = run("publish", "--ledger", recorded, "--site", tmp_path / "site")
    assert f"witnessmark show --site {tmp_path / 'site'}" in said
    names = {path.name for path in (tmp_path / "site").iterdir()}
    assert {"witnessmark.db", "metadata.json", "settings.json"} <= names


def test_the_demonstration_builds_all_and_a_second_run_adds_nothing(tmp_path):
    said = run("demo", "--no-serve", "--folder", tmp_path / "demo")
    assert "invented" in said.splitlines()[0]
    assert said.count("Completed not before") == 3
    assert (tmp_path / "demo" / "site" / "witnessmark.db").is_file()
    again = run("demo", "--no-serve", "--folder", tmp_path / "demo")
    assert again.count("nothing new") == len(FILES)


BAD_REQUESTS = {
    "unknown-instrument": (["weigh", "dunnok-lap-steel"], "Did you mean 'dunnock-lap-steel'?"),
    "unknown-kind": (["catalogue", "lapsteel"], "Did you mean 'lap-steel'?"),
    "odd-name": (["weigh", "../'; DROP TABLE"], "There is no instrument named"),
    "unknown-finding": (["explain", f"{SHEETS[0]}/state.nothing"], "There is no finding named"),
    "no-finding": (["explain", SHEETS[0]], "names no finding. Say INSTRUMENT/FINDING"),
    "no-instrument": (["explain", "/completed"], "There is no instrument named"),
    "before-the-first": (["weigh", SHEETS[0], "--at", "-1"], "There is no instrument named"),
    "missing-file": (["record", "nowhere.yaml"], "nowhere.yaml: found No such file"),
    "folder": (["record", str(ROOT)], "found Is a directory"),
    "picture": (["record", str(sample_data() / "exhibits/whinchat-label.png")], "not UTF-8"),
    "prose": (["check", str(sample_data() / "README.md")], "nothing was recorded"),
}


@pytest.mark.parametrize(("words", "said"), BAD_REQUESTS.values(), ids=BAD_REQUESTS)
def test_what_cannot_be_answered_is_told_in_a_sentence(recorded, words, said):
    before = count(recorded)
    assert said in run(*words, "--ledger", recorded, status=1)
    assert count(recorded) == before


@pytest.mark.parametrize(
    "words", [["weigh", "x"], ["explain", "x/y"], ["instruments"], ["publish"]]
)
def test_a_missing_ledger_is_told_and_not_made(tmp_path, words):
    path = tmp_path / "none.db"
    assert run(*words, "--ledger", path, status=1) == f"Error: There is no ledger at {path}.\n"
    assert not path.exists()


def _another_database(path):
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE entry (sequence INTEGER)")
    db.close()


def _prose(path):
    path.write_text("Not a database at all, but long enough to be looked at.\n" * 40)


@pytest.mark.parametrize("make", [_another_database, _prose, Path.mkdir, Path.touch])
@pytest.mark.parametrize(
    "words", [["record", FILES[0]], ["check", FILES[0]], ["instruments"], ["weigh", "x"]]
)
def test_what_is_not_a_ledger_is_left_as_it_is(tmp_path, make, words):
    path = tmp_path / "other"
    make(path)
    before = path.read_bytes() if path.is_file() else None
    said = run(*words, "--ledger", path, status=1)
    assert said.startswith("Error: ")
    assert str(path) in said
    assert (path.read_bytes() if path.is_file() else None) == before


def test_a_file_that_may_not_be_read_is_told(recorded, monkeypatch):
    given = Path.open

    def refuse(path, *words, **settings):
        if path.name == Path(FILES[1]).name:
            raise PermissionError(13, "Permission denied")
        return given(path, *words, **settings)

    monkeypatch.setattr(Path, "open", refuse)
    assert "found Permission denied" in run("check", FILES[1], "--ledger", recorded, status=1)


def test_a_site_that_is_not_there_is_told(tmp_path):
    said = run("show", "--site", tmp_path / "none", status=1)
    assert said == f"Error: There is no site in {tmp_path / 'none'}; publish one there first.\n"


def test_a_site_cannot_take_the_place_of_a_file(recorded, tmp_path):
    place = tmp_path / "kept"
    place.write_text("kept")
    assert "a site is a folder" in run("publish", "--ledger", recorded, "--site", place, status=1)
    assert "cannot be made" in run("demo", "--no-serve", "--folder", place, status=1)
    assert place.read_text() == "kept"


def test_the_help_names_every_command_and_says_what_each_does():
    said = run("--help")
    for name, late in COMMANDS.items():
        command = late.command()
        assert f"\n  {name} " in said
        assert command.help
        assert all(getattr(each, "help", "") for each in command.params if each.opts[0][0] == "-")
        assert run(name, "-h") == run(name, "--help")
        assert run(name, "-h").startswith(f"Usage: main {name} ")


def test_a_process_of_its_own_prints_the_same_bytes_whatever_the_hash_seed(recorded):
    words = ("weigh", SHEETS[1], "--ledger", recorded, "--json")
    one, other = (python(*words, PYTHONHASHSEED=seed) for seed in ("1", "4242"))
    assert (one.returncode, one.stderr) == (other.returncode, other.stderr) == (0, "")
    assert one.stdout == other.stdout


def test_a_process_of_its_own_prints_plainly_into_a_pipe(recorded):
    done = python("weigh", SHEETS[2], "--ledger", recorded, PYTHONIOENCODING="utf-8")
    assert (done.returncode, done.stderr) == (0, "")
    assert ESCAPE not in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= 100


def test_a_process_of_its_own_tells_a_fault_on_the_error_stream_without_a_traceback(tmp_path):
    done = python("record", tmp_path / "none.yaml", "--ledger", tmp_path / "ledger.db")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("Error: 1 fault found; nothing was recorded:")
    assert list(tmp_path.iterdir()) == []
    assert "Traceback" not in done.stderr


def test_the_help_imports_nothing_that_a_command_needs_only_later():
    code = (
        "import sys; from ledger.cli import main\n"
        "late = {'pydantic', 'rich', 'datasette', 'sqlite_utils', 'yaml', 'PIL', 'uvicorn'}\n"
        "print(sorted(late & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=ROOT
    )
    assert done.stdout == "[]\n"


# -- reading a mark ------------------------------------------------------------------------------


def test_read_mark_lists_every_decade_with_the_bound_it_would_give(tmp_path):
    # The weeks are those of the register, Sunday to Saturday (https://ecianow.org, "EIA Source
    # Codes"); that these two marks stand on controls is common practice, no source.
    first = run("read-mark", "134 408", "--ledger", tmp_path / "none.db")
    later = run("read-mark", "134 423", "--ledger", tmp_path / "none.db")
    for year in (1944, 1954, 1964):
        assert f"{year}, week 08" in first
        assert f"{year}, week 23" in later
    assert "not before 1954-02-21" in first
    assert "not before 1954-06-06" in later


def test_read_mark_tries_the_tables_of_one_model_where_it_is_told(tmp_path):
    ledger = tmp_path / "ledger.db"
    pack = sample_data() / "calverock-pack.yaml"
    run("record", pack, "--ledger", ledger, "--recorder", "examiner A")
    where = ("--kind", "valve-amplifier", "--position", "chassis", "--maker", "Calverock")
    assert "number 1624" not in run("read-mark", "C 1624", *where, "--ledger", ledger)
    told = run("read-mark", "C 1624", *where, "--model", "Garganey", "--ledger", ledger)
    assert "number 1624" in told


def test_read_mark_gives_the_same_as_json(tmp_path):
    found = run("read-mark", "134 4?8", "--json", "--ledger", tmp_path / "none.db")
    said = json.loads(found)
    assert said["mark"] == "134 4?8"
    weeks = {reading["reading"] for reading in said["readings"] if reading["is_used"]}
    assert {"1954, week 08", "1954, week 18", "1954, week 48"} <= weeks
    assert all(reading["reason"] and reading["source"] for reading in said["readings"])


def test_read_mark_reads_a_value_as_well(tmp_path):
    # IEC 60062: 4K7 is 4.7 kilohm.
    found = run("read-mark", "4K7", "--ledger", tmp_path / "none.db")
    assert "4.7 k" in found


def test_read_mark_refuses_a_position_that_is_not_there(tmp_path):
    ledger = tmp_path / "none.db"
    lost = run("read-mark", "134 408", "--position", "pot", "--ledger", ledger, status=2)
    assert "--kind" in lost
    where = ("--kind", "valve-amplifier", "--position", "pott")
    wrong = run("read-mark", "134 408", *where, "--ledger", ledger, status=1)
    assert "Did you mean 'pot'" in wrong
