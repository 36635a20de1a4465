"""What the tests of reasoning share: weighing a sheet, and asking the report about it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from ledger.disputes import Dispute
from ledger.findings import Account, EventDating, PositionFinding, Reading, Report
from ledger.holdings import sample_data
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.in_full import reason_in_full
from ledger.reason.reasoner import reason
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.references import PackFile

UNSOURCED = "common practice, no source (invented case)"
CASES = Path(__file__).parent / "cases"


@dataclass(frozen=True)
class Readout:
    """A report with the questions the tests put to it."""

    report: Report

    @property
    def leading(self) -> tuple[Account, ...]:
        return tuple(account for account in self.report.accounts if account.is_leading)

    def completed(self, account: Account | None = None) -> EventDating:
        """The dating of completion under an account; without one, under the first leading."""
        wanted = (account or self.leading[0]).id
        found = [d for d in self.report.datings if d.event == "completed" and d.account == wanted]
        assert len(found) == 1, f"{len(found)} datings of completion under {wanted}"
        return found[0]

    def completed_ends(self) -> set[tuple[str | None, str | None]]:
        """Both ends of completion under every leading account."""
        datings = [self.completed(account) for account in self.leading]
        return {(dating.not_before.date, dating.not_after.date) for dating in datings}

    def position(self, name: str) -> PositionFinding:
        found = [p for p in self.report.positions if p.position == name]
        assert len(found) == 1, f"{len(found)} findings on {name}"
        return found[0]

    def states(self, name: str) -> set[str]:
        return set(self.position(name).states)

    def fitted_with_it(self, name: str) -> str:
        """The supposition that the part in a position, or its fitting event, came first."""
        return f"first-fitted:{self.position(name).fitting_event or name}"

    def readings(self, line: str) -> tuple[Reading, ...]:
        return tuple(r for r in self.report.readings if r.line.rpartition("/")[2] == line)

    def years_read(self, line: str) -> set[int]:
        """The years in which the used readings of a mark begin."""
        spans = [span for r in self.readings(line) if r.is_used for span in r.days]
        return {int(first[:4]) for first, _ in spans if first}

    def rests_on(self, line: str, suppositions: Iterable[str]) -> bool:
        """Whether the soundness of a line is among the suppositions."""
        return any(s.startswith("sound:") and _tail(s) == line for s in suppositions)

    def conclusion(self) -> tuple[str, ...]:
        """The sentences of the conclusion."""
        found = {finding.id: finding.sentence for finding in self.report.findings}
        return tuple(found[name] for name in self.report.conclusion)

    def texts(self) -> tuple[str, ...]:
        """Every sentence a reader meets."""
        report = self.report
        ends = [end for d in report.datings for end in (d.not_before, d.not_after)]
        found = [
            *report.identity,
            *report.questions,
            *(end.sentence for end in ends),
            *(shift.sentence for end in ends for shift in end.shifts),
            *(reason for p in report.positions for reason in (p.label, *p.reasons)),
            *(c.sentence for c in report.conflicts),
            *(text for a in report.accounts for text in (a.sentence, a.odds_note)),
            *(s.sentence for s in report.swaps),
            *(s.sentence for s in report.surprises),
            *(look.sentence for look in report.looks),
            *(f.sentence for f in report.findings),
        ]
        return tuple(found)


def _tail(supposition: str) -> str:
    return supposition.partition(":")[2].rpartition("/")[2]


def _case_of(sheet: BenchSheet) -> Case:
    lines: dict[str, Recorded[Any]] = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            assert line.id not in lines, f"{line.id} twice"
            lines[line.id] = Recorded(
                line,
                section,
                len(lines) + 2,
                f"{len(lines) + 2:064x}",
                withheld_fields(section, line),
                f"{len(lines) + 2:064x}" if section == "exhibits" else "",
            )
    return Case(sheet.instrument, len(lines) + 1, lines)


def _weigh(
    sheet: dict[str, Any],
    pack: dict[str, Any] | None,
    by: Callable[[Case, Packs], Report] = reason,
) -> Report:
    case = _case_of(BenchSheet.model_validate(sheet))
    if pack is None:
        return by(case, _built_in())
    return by(case, Packs.of((*built_in_packs(), PackFile.model_validate(pack))))


@cache
def _built_in() -> Packs:
    return Packs.of(built_in_packs())


def _from_bench(section: str) -> dict[str, str]:
    """The source of a line whose test does not name one, where it needs one."""
    return {"source": "bench"} if "source" in SECTIONS[section].model_fields else {}


def _unsourced(section: str) -> dict[str, str]:
    """What every row of a pack needs; a catalogue says it in its own words."""
    return {} if section == "catalogues" else {"source": UNSOURCED, "confidence": "high"}


def _unsourced(section: str) -> dict[str, str]:
    """What a row carries whose test does not say; a catalogue has no confidence of its own."""
    found = {"source": UNSOURCED, "confidence": "high"}
    return {"source": UNSOURCED} if section == "catalogues" else found


def _typed(path: Path) -> dict[str, Any]:
    """The file with every scalar as the text that was typed."""
    found: dict[str, Any] = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506 - BaseLoader makes nothing but text
    return found


@pytest.fixture(scope="session")
def weigh() -> Callable[[str], Report]:
    """The report on one of the invented cases, by the name of its sheet."""
    known: dict[str, Report] = {}

    def weighed(name: str) -> Report:
        if name not in known:
            sheet, pack = CASES / f"{name}.yaml", CASES / f"{name}-pack.yaml"
            known[name] = _weigh(_typed(sheet), _typed(pack))
        return known[name]

    return weighed


@pytest.fixture(scope="session")
def read(weigh) -> Callable[[str], Readout]:
    """The readout of one of the invented cases."""
    return lambda name: Readout(weigh(name))


@pytest.fixture(scope="session")
def weigh_sheet() -> Callable[..., Readout]:
    """The readout of a sheet and a pack built in the test; heads and sources are filled in."""

    def weighed(
        kind: str = "solid-body-electric",
        pack: dict[str, Any] | None = None,
        about: dict[str, Any] | None = None,
        bench_date: str | None = "2026-01-05",
        **sections: list[dict[str, Any]],
    ) -> Readout:
        head = {"id": "tiny", "kind": kind, "name": "A tiny case", "maker": "M", "invented": "yes"}
        head |= about or {}
        bench = {"id": "bench", "kind": "examination", "title": "Sitting", "by": "A"}
        dated = {"date": bench_date} if bench_date else {}
        sources = [{**bench, **dated}, *sections.pop("sources", [])]
        lines = {
            section: [{**_from_bench(section), **line} for line in given]
            for section, given in sections.items()
        }
        sheet = {"bench_sheet": "1", "instrument": head, "sources": sources, **lines}
        if pack is not None:
            rows = {
                section: [{**_unsourced(section), **row} for row in given]
                for section, given in pack.items()
            }
            pack = {"pack": "tiny-pack", "title": "Tiny", "version": "1", "invented": "yes", **rows}
        by = reason_in_full if "challenges" in sections else reason
        return Readout(_weigh(sheet, pack, by))

    return weighed


@pytest.fixture(scope="session")
def dispute() -> Callable[..., Dispute]:
    """The one challenge put to an invented case, of the tests or of the sample data, answered.

    Lines given besides are added to the sheet.
    """

    def answered(name: str, challenge: dict[str, Any], **more: list[dict[str, Any]]) -> Dispute:
        sheet, pack = _found(name)
        raised = {"id": "raised", "says": "It is not so.", **challenge}
        for section, given in more.items():
            sheet[section] = [*sheet.get(section, []), *given]
        sheet["challenges"] = [raised]
        (found,) = _weigh(sheet, pack, by=reason_in_full).challenges
        return found

    return answered


def _found(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The sheet and the pack of a case of the tests, or of the sample data."""
    if (CASES / f"{name}.yaml").exists():
        return _typed(CASES / f"{name}.yaml"), _typed(CASES / f"{name}-pack.yaml")
    sheet = _typed(sample_data() / f"{name}.yaml")
    sheet["answers"] = [{**each, "challenge": "raised"} for each in sheet.get("answers", [])]
    return sheet, _typed(sample_data() / "calverock-pack.yaml")


@pytest.fixture(scope="session")
def weigh_sample() -> Callable[..., Report]:
    """The report on one of the invented instruments of the sample data, sections as given."""

    def weighed(name: str, **sections: list[dict[str, Any]]) -> Report:
        sheet = _typed(sample_data() / f"{name}.yaml")
        sheet.update(sections)
        return _weigh(sheet, _typed(sample_data() / "calverock-pack.yaml"))

    return weighed


def _packs_with(pack: dict[str, Any]) -> Packs:
    return Packs.of((*built_in_packs(), PackFile.model_validate(pack)))


@pytest.fixture(scope="session")
def case_and_packs() -> Callable[[str], tuple[Case, Packs]]:
    """One of the invented cases, and the packs that it is weighed with."""

    @cache
    def found(name: str) -> tuple[Case, Packs]:
        sheet = BenchSheet.model_validate(_typed(CASES / f"{name}.yaml"))
        return _case_of(sheet), _packs_with(_typed(CASES / f"{name}-pack.yaml"))

    return found


@pytest.fixture(scope="session")
def sample_case() -> Callable[[str], tuple[Case, Packs]]:
    """One of the invented instruments of the sample data, and the packs it is weighed with."""

    @cache
    def found(name: str) -> tuple[Case, Packs]:
        sheet = BenchSheet.model_validate(_typed(sample_data() / f"{name}.yaml"))
        return _case_of(sheet), _packs_with(_typed(sample_data() / "calverock-pack.yaml"))

    return found
