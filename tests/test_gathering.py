from __future__ import annotations

import shutil

import pytest

from ledger.gathering import RECORDINGS_COMPARED, gather, recordings
from ledger.holdings import sample_data
from ledger.record.store import Ledger
from ledger.reporting import weigh
from ledger.workflow import record_files

INSTRUMENT = "whinchat-mandolin"
TIMES = [f"2026-03-0{day}T10:00:00Z" for day in range(1, 7)]


@pytest.fixture
def grown(tmp_path):
    """A ledger in which the sheet of one instrument was recorded line by line over days."""
    path = tmp_path / "ledger.db"
    record_files(path, [sample_data() / "calverock-pack.yaml"], "the example", TIMES[0])
    sheet = tmp_path / "sheet.yaml"
    text = (sample_data() / "whinchat-mandolin.yaml").read_text(encoding="utf-8")
    sheet.write_text(text, encoding="utf-8")
    shutil.copytree(sample_data() / "exhibits", tmp_path / "exhibits")
    record_files(path, [sheet], "the example", TIMES[1])
    for number, time in enumerate(TIMES[2:], start=2):
        changed = text.replace("name: ", f"name: Look {number}, ", 1)
        sheet.write_text(changed, encoding="utf-8")
        record_files(path, [sheet], "the example", time)
    return path


def test_what_falls_and_what_is_decisive_are_those_of_the_report(grown):
    with Ledger.open(grown, read_only=True) as ledger:
        report = weigh(ledger, INSTRUMENT)
        found = gather(report, ledger.entries(), ledger.opened())
    findings = {finding.id for finding in report.findings}
    lines = {f"line:{line.id}" for line in report.lines}
    assert {each.finding for each in found.withdrawals} <= findings
    assert {each.effect for each in found.withdrawals} <= {"falls", "weakened"}
    assert any(each.kind == "source" for each in found.withdrawals)
    assert any(each.kind == "reference" for each in found.withdrawals)
    for grounds in found.decisive.values():
        assert {name for name in grounds if name.startswith("line:")} <= lines


def test_what_falls_without_a_source_is_what_would_be_said_otherwise_without_it(tmp_path):
    path = tmp_path / "ledger.db"
    record_files(path, sorted(sample_data().glob("*.yaml")), "the example", TIMES[0])
    with Ledger.open(path, read_only=True) as ledger:
        report = weigh(ledger, "dunnock-lap-steel")
        found = gather(report, ledger.entries(), ledger.opened())
    effects = {
        each.finding: each.effect for each in found.withdrawals if each.without == "photo-1951"
    }
    assert effects["state.knobs"] == "falls"
    # Nothing was ever seen of the number plate but that it is gone; the scale is presumed anyhow.
    assert effects["state.serial"] == "weakened"
    assert effects["state.fret-scale"] == "weakened"


def test_only_the_last_recordings_are_compared_and_nobody_is_named(grown):
    with Ledger.open(grown, read_only=True) as ledger:
        told = recordings(ledger.entries(), INSTRUMENT, ledger.opened())
    assert [each.recorded_at for each in told] == TIMES[1:]
    compared = [each.is_compared for each in told]
    assert sum(compared) == RECORDINGS_COMPARED
    assert compared[-RECORDINGS_COMPARED:] == [True] * RECORDINGS_COMPARED
    assert not any("the example" in each.sentence for each in told)
    assert told[0].sentence.startswith("Of this instrument ")
