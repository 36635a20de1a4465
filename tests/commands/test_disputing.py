"""What would follow otherwise, and what there is to say to a challenge, from the command line."""

from __future__ import annotations

import json
import shutil

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from ledger.cli import main
from ledger.holdings import sample_data, schema_file
from ledger.record.entries import Entry
from ledger.record.store import Ledger

HEADINGS = (
    "The challenge",
    "Claim challenged",
    "What was observed",
    "By which rules",
    "Rival explanations",
    "If the challenger is right",
    "What falls then",
    "What stands all the same",
    "Conceded",
    "What would change this answer",
    "Answered",
    "As of",
)


def run(*words, status=0):
    result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    return " ".join(result.output.split())


@pytest.fixture(scope="module")
def ledger(tmp_path_factory):
    path = tmp_path_factory.mktemp("disputed") / "ledger.db"
    run("record", *sorted(sample_data().glob("*.yaml")), "--ledger", path)
    return path


def test_an_answer_follows_the_form_from_the_claim_to_the_version(ledger):
    said = run("answer", "dunnock-lap-steel/another-steel", "--ledger", ledger)
    places = [said.index(heading) for heading in HEADINGS]
    assert places == sorted(places)
    assert "somebody whose name is withheld" in said
    assert "SHA-256" in said
    assert "a collector who was offered it" not in said


def test_an_erratum_says_what_is_withdrawn_and_not_who_was_told(ledger):
    said = run("answer", "garganey-amplifier/chosen-to-match", "--ledger", ledger)
    assert "Erratum of 2024-06-27" in said
    assert "called the loudspeaker original" in said
    assert "Those concerned were told" in said
    assert "All who had asked" not in said


def test_an_answer_as_json_has_every_part_with_version_and_packs(ledger):
    text = CliRunner().invoke(
        main, ["answer", "whinchat-mandolin/never-keyed", "--json", "--ledger", str(ledger)]
    )
    found = json.loads(text.output)
    assert found["format"] == "witnessmark answer 1"
    assert found["sequence"] >= found["challenge"]["sequence"]
    assert {pack["id"] for pack in found["packs"]} >= {"calverock", "practice"}
    for part in ("claims", "observations", "rules", "rivals", "conceded", "would_change"):
        assert found["challenge"][part], part


def test_an_instrument_alone_lists_its_challenges(ledger):
    said = run("answer", "whinchat-mandolin", "--ledger", ledger)
    assert "whinchat-mandolin/never-keyed" in said
    assert "1 answer on record" in said


def test_a_challenge_that_is_not_there_is_named_with_those_that_are(ledger):
    said = run("answer", "whinchat-mandolin/never-keyd", "--ledger", ledger, status=1)
    assert "Did you mean 'never-keyed'?" in said


def test_what_the_claim_said_when_it_was_answered_is_told_where_it_was_otherwise(tmp_path):
    folder = tmp_path / "own"
    shutil.copytree(sample_data(), folder)
    path = tmp_path / "ledger.db"
    sheet = folder / "dunnock-lap-steel.yaml"
    text = sheet.read_text(encoding="utf-8")
    without = text[: text.index("sightings:")] + text[text.index("papers:") :]
    sheet.write_text(without.split("\n# Invented like the rest")[0], encoding="utf-8")
    pack = folder / "calverock-pack.yaml"
    run("record", pack, sheet, "--ledger", path)
    with Ledger.open(path, read_only=True) as opened:
        entries: tuple[Entry, ...] = opened.entries()
    later = text.replace("findings: [conclusion.date]", f"at_entry: {len(entries)}")
    sheet.write_text(later, encoding="utf-8")
    run("record", sheet, "--ledger", path)
    said = run("answer", "dunnock-lap-steel/another-steel", "--ledger", path)
    assert f"After entry {len(entries)}, from which an answer was written, it read:" in said


def test_what_falls_and_what_stands_is_said_and_nothing_is_recorded(ledger):
    before = ledger.read_bytes()
    said = run("suppose", "tessmar", "--first", "jack", "--ledger", ledger, status=1)
    assert "no instrument" in said
    said = run(
        *("suppose", "dunnock-lap-steel", "--leave-out", "underside", "--not-first", "knobs"),
        *("--ledger", ledger),
    )
    assert "Supposed, for the sake of argument" in said
    assert "1951-07-31" in said
    assert "What stands all the same" in said
    assert "Nothing of this was recorded" in said
    assert ledger.read_bytes() == before


def test_a_source_a_row_and_a_reading_can_be_supposed_too(ledger):
    said = run(
        *("suppose", "whinchat-mandolin", "--leave-out", "works-leaf", "--leave-out"),
        *("calverock/design-311774", "--read-as", "block-batch", "B 285", "--ledger", ledger),
    )
    assert "works-leaf" in said
    assert "calverock/design-311774" in said
    assert "B 285" in said


def test_a_supposed_report_as_json_keeps_the_published_schema_and_says_what_is_supposed(ledger):
    schema = json.loads(schema_file("report.schema.json").read_text(encoding="utf-8"))
    words = ["suppose", "garganey-amplifier", "--fails", "first-fitted:handle", "--json"]
    text = CliRunner().invoke(main, [*words, "--ledger", str(ledger)]).output
    report = json.loads(text)
    assert list(Draft202012Validator(schema).iter_errors(report)) == []
    assert report["supposing"]


def test_supposing_nothing_and_what_is_not_there_are_refused(ledger):
    said = run("suppose", "garganey-amplifier", "--ledger", ledger, status=2)
    assert "Say what is to be supposed" in said
    said = run(
        "suppose", "garganey-amplifier", "--not-first", "zither", "--ledger", ledger, status=1
    )
    assert "no position" in said


def test_what_contradicts_itself_is_said_not_to_be_possible(ledger):
    said = run(
        *("suppose", "garganey-amplifier", "--first", "grille-cloth", "--holds"),
        *("sound:cloth-1986", "--ledger", ledger),
    )
    assert "This cannot be" in said
    assert "1986-03-11" in said
