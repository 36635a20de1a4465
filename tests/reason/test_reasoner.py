"""What holds of every report, whatever was recorded.

The sheets are made up by the machine for two kinds of instrument; everything in them is invented.
The week codes are those of the register ("EIA Source Codes", https://ecianow.org): three figures
of maker, one or two of year, two of week. That week 58 is no week is arithmetic.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from ledger.errors import UnknownName
from ledger.findings import FORMAT
from ledger.holdings import schema_file
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.knowledge.practice_limits import RATIO, limits_of
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.explain import explain
from ledger.reason.in_full import reason_in_full
from ledger.reason.reasoner import reason
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.references import PackFile, Practice
from ledger.reporting import report_json

ROOT = Path(__file__).parents[2]
KINDS = {
    "solid-body-electric": ("body", "neck", "pot.1", "pot.2", "pickup.1", "serial", "neck-plate"),
    "valve-amplifier": ("chassis", "cabinet", "pot.1", "speaker-frame.1", "serial-plate", "choke"),
}
TRACES = (
    "undisturbed-joints",
    "reworked-joint",
    "shadow-mismatch",
    "single-footprint",
    "uniform-later-joints",
    "wear-continuous",
    "overspray",
)
TEXTS = ("912-6614", "912-629", "912-6558", "912-58?", "912-6[38]11", "HATCH", "PAT 77", "A1204")
DATES = ("1956", "1958-03", "1958-03-04", "1961~", "1965/1967", "196X", "1972?", "../1959")
SOURCE = "common practice, no source (invented case)"
PACK = {
    "pack": "made-up",
    "title": "Made up for these tests",
    "version": "1",
    "invented": "yes",
    "timelines": [
        {
            "id": f"{position}-{value}",
            "position": position,
            "feature": "shape",
            "value": value,
            "source": SOURCE,
            "confidence": confidence,
            **ends,
        }
        for position, value, confidence, ends in (
            ("body", "early", "high", {"begins": "1955", "ends": "1957"}),
            ("body", "late", "medium", {"begins": "1964"}),
            ("pot", "early", "low", {"ends": "1960"}),
            ("chassis", "early", "high", {"begins": "1955", "ends": "1957"}),
        )
    ],
    "specifications": [
        {
            "id": "pot-track",
            "position": "pot",
            "quantity": "resistance",
            "low": "200 k",
            "high": "300 k",
            "source": SOURCE,
            "confidence": "medium",
        }
    ],
    "serial_tables": [
        {
            "id": "numbers",
            "pattern": r"A(\d{4})",
            "positions": ["serial", "serial-plate", "neck-plate"],
            "ranges": [{"first": 1000, "last": 1999, "date": "1958/1959"}],
            "source": SOURCE,
            "confidence": "medium",
        }
    ],
    "facts": [
        {
            "id": "granted",
            "mark": "PAT 77",
            "means": "a patent was granted",
            "not_before": "1951",
            "source": SOURCE,
            "confidence": "high",
        }
    ],
}
PACKS = Packs.of((*built_in_packs(), PackFile.model_validate(PACK)))


# -- sheets ---------------------------------------------------------------------------------------


def some(values, least=1, most=2):
    return st.lists(st.sampled_from(values), min_size=least, max_size=most, unique=True)


def lines(prefix, most, **fields):
    """Up to ``most`` lines with ids of their own; a field drawn as None is left out."""

    def named(drawn):
        return [
            {"id": f"{prefix}-{i}", **{k: v for k, v in each.items() if v is not None}}
            for i, each in enumerate(drawn, 1)
        ]

    return st.lists(st.fixed_dictionaries(fields), max_size=most).map(named)


dates = st.sampled_from(DATES)
maybe_dates = st.one_of(st.none(), dates)
maybe_events = st.sampled_from([None, "completed", "dispatched", "first sold"])
yes_no = st.sampled_from(["yes", "no", "cannot be told"])
sources = st.sampled_from(["bench", "memory"])


def hidden(*fields):
    """Which of the fields are withheld, of a line whose withheld texts begin with SECRET."""
    return st.one_of(st.none(), some(fields, 1, len(fields)))


@st.composite
def sheets(draw):
    kind = draw(st.sampled_from(sorted(KINDS)))
    places = KINDS[kind]
    place, several = st.sampled_from(places), some(places)
    removed = draw(st.booleans())
    found = {
        "bench_sheet": "1",
        "instrument": {"id": "made-up", "kind": kind, "name": "Made up", "invented": "yes"},
        "sources": [
            {"id": "bench", "kind": "examination", "title": "Sitting", "date": "2026-01-05"},
            {
                "id": "memory",
                "kind": "testimony",
                "title": "A telling",
                "hand": draw(st.sampled_from(["first-hand", "relayed"])),
            },
        ],
        "parts": [{"id": "old", "position": "pot.1", "name": "old pot"}] if removed else [],
        "identity": draw(
            lines("id", 1, source=sources, what=st.just("serial"), value=st.just("A1204"))
        ),
        "marks": draw(
            lines(
                "mark",
                4,
                source=sources,
                position=place,
                text=st.sampled_from(TEXTS),
                legibility=st.sampled_from(["clear", "worn", "partial"]),
                reads=st.one_of(st.none(), st.none(), dates),
                withhold=hidden("text"),
            )
        ),
        "measurements": draw(
            lines(
                "measure",
                1,
                source=st.just("bench"),
                position=st.just("pot.1"),
                quantity=st.just("resistance"),
                value=st.sampled_from(["250 k", "510 k"]),
            )
        ),
        "features": draw(
            lines(
                "feature",
                2,
                source=st.just("bench"),
                position=place,
                feature=st.just("shape"),
                value=st.sampled_from(["early", "late", "other"]),
            )
        ),
        "traces": draw(
            lines(
                "trace",
                3,
                source=st.just("bench"),
                trace=st.sampled_from(TRACES),
                positions=several,
            )
        ),
        "works": draw(
            lines(
                "work",
                2,
                source=sources,
                action=st.sampled_from(["replaced", "altered", "repaired", "added", "refitted"]),
                positions=several,
                date=maybe_dates,
                by=st.sampled_from(["works", "workshop", "unknown"]),
                removed=st.just(["old"]) if removed else st.none(),
                destroyed=st.sampled_from(["", "SECRET LOSS"]),
                withhold=st.just(["destroyed"]),
            )
        ),
        "custody": draw(
            lines(
                "custody",
                2,
                source=sources,
                holder=st.sampled_from(["SECRET HOLDER", "SECRET HEIR"]),
                place=st.sampled_from(["", "SECRET TOWN"]),
                begins=maybe_dates,
                ends=maybe_dates,
            )
        ),
        "sightings": draw(
            lines(
                "sighting",
                1,
                source=sources,
                date=dates,
                same_instrument=yes_no,
                shows=st.lists(
                    st.fixed_dictionaries(
                        {
                            "position": place,
                            "feature": st.just("shape"),
                            "value": st.just("early"),
                            "same_as_now": yes_no,
                        }
                    ),
                    max_size=1,
                ),
            )
        ),
        "papers": draw(
            lines(
                "paper",
                2,
                source=sources,
                paper=st.just("SECRET RECEIPT"),
                says=st.just("SECRET WORDING"),
                event=maybe_events,
                date=maybe_dates,
                names_this_object=yes_no,
                withhold=st.just(["paper", "says"]),
            )
        ),
        "testimony": draw(
            lines(
                "told",
                1,
                source=st.just("memory"),
                says=st.just("SECRET TALE"),
                event=maybe_events,
                date=maybe_dates,
                withhold=st.just(["says"]),
            )
        ),
        "non_values": draw(
            lines(
                "none",
                1,
                source=st.just("bench"),
                positions=several,
                value=st.sampled_from(["searched, not found", "not legible"]),
                what=st.just("SECRET WHAT"),
                method=st.just("by eye"),
                withhold=st.just(["what"]),
            )
        ),
        "questions": draw(
            lines(
                "question", 1, question=st.just("SECRET QUESTION?"), withhold=st.just(["question"])
            )
        ),
    }
    return BenchSheet.model_validate(found)


def case_of(sheet):
    found = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            at = len(found) + 2
            hiding = withheld_fields(section, line)
            found[line.id] = Recorded(line, section, at, f"{at:064x}", hiding)
    return Case(sheet.instrument, len(found) + 1, found)


def report_on(sheet):
    return reason(case_of(sheet), PACKS)


# -- what holds of every report -------------------------------------------------------------------

many = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.data_too_large, HealthCheck.too_slow],
)


def nodes(node):
    yield node
    for below in node.below:
        yield from nodes(below)


@many
@given(sheets())
def test_every_finding_unfolds_to_lines_and_rows_that_are_there(sheet):
    report = report_on(sheet)
    for finding in report.findings:
        told = explain(report, finding.id)
        assert {node.kind for node in nodes(told.top)} & {"missing", "circle"} == set()
        assert {s.id for s in told.supposes} >= set(finding.suppositions)


@many
@given(sheets())
def test_every_name_in_a_report_is_that_of_something_in_it(sheet):
    report = report_on(sheet)
    findings = {finding.id for finding in report.findings}
    supposed = {supposition.id for supposition in report.suppositions}
    found = {
        *findings,
        *(f"line:{line.id}" for line in report.lines),
        *(f"reference:{row.id}" for row in report.references),
    }
    ends = [end for dating in report.datings for end in (dating.not_before, dating.not_after)]
    premises = {p for finding in report.findings for p in finding.premises}
    suppositions = {
        *(s for finding in report.findings for s in finding.suppositions),
        *(s for conflict in report.conflicts for s in conflict.suppositions),
        *(s for account in report.accounts for s in account.gives_up),
        *(s for end in ends for s in end.suppositions),
    }
    named_findings = {
        *report.conclusion,
        *report.identity,
        *(end.finding for end in ends if end.finding),
        *(position.finding for position in report.positions),
        *(swap.finding for swap in report.swaps),
        *(step for c in report.conflicts for chain in c.chains for step in chain.steps),
        *(each.id for each in (*report.conflicts, *report.accounts, *report.surprises)),
        *(item.finding for item in report.timeline if item.finding),
    }
    lines_there = {line.id for line in report.lines}
    assert len(findings) == len(report.findings)
    assert premises <= found
    assert suppositions <= supposed
    assert {name for name in named_findings if not name.startswith("reading.")} <= findings
    assert {shift.without for end in ends for shift in end.shifts} <= found
    assert {reading.line for reading in report.readings} <= lines_there
    assert {s.line for s in report.surprises} <= lines_there


@many
@given(sheets())
def test_every_end_of_an_event_stands_beside_its_partner(sheet):
    report = report_on(sheet)
    assert report.datings
    for dating in report.datings:
        assert (dating.not_before.side, dating.not_after.side) == ("not before", "not after")
        for end, unknown in (
            (dating.not_before, "no lower bound known"),
            (dating.not_after, "no upper bound known"),
        ):
            assert (end.date is None) == (end.finding is None) == (unknown in end.sentence)
        first, last = dating.possible[0][0], dating.possible[-1][1]
        assert (first, last) == (dating.not_before.date, dating.not_after.date)
    told = next(f.sentence for f in report.findings if f.id == "conclusion.date")
    assert "not before" in told or "no lower bound known" in told
    assert "not after" in told or "no upper bound known" in told


@many
@given(sheets())
def test_every_report_fits_the_published_schema(sheet):
    report = report_on(sheet)
    schema = json.loads(schema_file("report.schema.json").read_text(encoding="utf-8"))
    given_back = json.loads(report_json(report))
    assert list(Draft202012Validator(schema).iter_errors(given_back)) == []
    assert given_back["format"] == FORMAT


@many
@given(sheets(), st.data())
def test_that_something_was_not_examined_changes_no_date(sheet, data):
    places = data.draw(some(KINDS[sheet.instrument.kind]))
    unlooked = {
        "id": "unlooked",
        "source": "bench",
        "positions": places,
        "value": "not examined",
        "what": "marks",
        "why": "not opened",
    }
    line = SECTIONS["non_values"].model_validate(unlooked)
    wider = sheet.model_copy(update={"non_values": (*sheet.non_values, line)})
    before, after = report_on(sheet), report_on(wider)
    assert after.datings == before.datings
    assert [a.gives_up for a in after.accounts] == [a.gives_up for a in before.accounts]


@many
@given(sheets())
def test_what_is_withheld_is_nowhere_in_the_report(sheet):
    text = report_json(report_on(sheet))
    assert "SECRET" not in text
    shown = {mark.text for mark in sheet.marks if "text" not in mark.withhold}
    shown.update(identity.value for identity in sheet.identity)
    for mark in sheet.marks:
        if "text" in mark.withhold and mark.text not in shown:
            for written in (mark.text, mark.text.replace("-", "")):
                assert not _is_said(written, text), written


def _is_said(written, text):
    """Whether the report says it outside the rows of packs, which are not the owner's."""
    report = json.loads(text)
    report.pop("references")
    report.pop("suppositions")
    return written in json.dumps(report, ensure_ascii=False)


@many
@given(sheets())
def test_the_same_case_gives_the_same_report(sheet):
    assert report_json(report_on(sheet)) == report_json(report_on(sheet))


def within(limits):
    """Three values within the limits of a unit, in order, the ends among them."""
    least = limits.low if limits.has_low else limits.low + 1e-6
    most = limits.high if limits.has_high else limits.high - 1e-6
    return st.lists(st.floats(least, most), min_size=3, max_size=3).map(sorted)


@st.composite
def practice_packs(draw):
    """A pack with other starting values and strengths of traces, all such as a pack may have."""
    every = st.sampled_from(PACKS.rows(Practice))
    rows = draw(st.lists(every, max_size=12, unique_by=lambda row: row.id))
    given = []
    for row in rows:
        low, value, high = draw(within(limits_of(row.row.id, row.row.unit)))
        about = {"unit": row.row.unit, "source": SOURCE, "confidence": "low"}
        given.append({"id": row.row.id, "low": low, "value": value, "high": high, **about})
    ratios = st.tuples(*2 * [st.floats(RATIO.low, RATIO.high)]).map(sorted)
    kinds = [
        PACKS.trace_kind(name).row.model_dump(mode="json")
        | {"against_service": draw(ratios), "against_matching": draw(ratios)}
        for name in draw(st.lists(st.sampled_from(TRACES), max_size=3, unique=True))
    ]
    head = {"pack": "other-values", "title": "Other values", "version": "1"}
    pack = PackFile.model_validate({**head, "practices": given, "trace_kinds": kinds})
    return Packs.of((*PACKS.files, pack))


@settings(many, max_examples=12)
@given(sheets(), practice_packs())
def test_no_starting_values_that_a_pack_may_have_break_the_reasoning(sheet, packs):
    report = reason(case_of(sheet), packs)
    chances = report.chances
    if chances is not None:
        shown = [share for part in chances.parts for share in (part.low, part.chance, part.high)]
        assert all(0 <= share <= 1 for share in shown)


@settings(many, max_examples=15)
@given(sheets())
def test_the_full_report_adds_to_the_usual_one_and_never_claims_more(sheet):
    """More values moved can only widen a range, so that a state can only become less certain."""
    usual, full = report_on(sheet), reason_in_full(case_of(sheet), PACKS)
    assert full.datings == usual.datings
    assert [a.gives_up for a in full.accounts] == [a.gives_up for a in usual.accounts]
    assert "SECRET" not in report_json(full)
    parts = list(zip(usual.chances.parts, full.chances.parts, strict=True))
    assert all(one.chance == other.chance for one, other in parts)
    for one, wide in parts:
        assert wide.widest is not None
        low, high = wide.widest
        # The ends are told to four places.
        assert low <= one.low + 5e-5
        assert one.high - 5e-5 <= high
    before = {each.position: set(each.states) for each in usual.positions}
    for each in full.positions:
        assert before[each.position] <= set(each.states) or "cannot be told" in each.states


# -- byte for byte --------------------------------------------------------------------------------

IN_A_PROCESS = """
import sys
from pathlib import Path
from ledger.basis.modelfaults import read_model
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS
from ledger.reason.reasoner import reason
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.reporting import report_json
from ledger.record.sheet import read_sheet
from ledger.references import PackFile

sheet, pack = Path(sys.argv[1]), Path(sys.argv[2])
read = read_sheet(sheet).sheet
lines = {}
for section in SECTIONS:
    for line in getattr(read, section):
        hiding = withheld_fields(section, line)
        lines[line.id] = Recorded(line, section, len(lines) + 2, "0" * 64, hiding)
packs = Packs.of((*built_in_packs(), read_model(pack.read_bytes(), str(pack), PackFile)))
report = reason(Case(read.instrument, len(lines) + 1, lines), packs)
sys.stdout.buffer.write(report_json(report).encode())
"""


@pytest.mark.parametrize("sheet", ["whinchat-mandolin", "garganey-amplifier", "dunnock-lap-steel"])
def test_a_report_is_the_same_to_the_byte_for_every_seed_of_hashing(sheet):
    folder = ROOT / "sample_data"
    given_names = [str(folder / f"{sheet}.yaml"), str(folder / "calverock-pack.yaml")]
    told = {
        subprocess.run(
            [sys.executable, "-c", IN_A_PROCESS, *given_names],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "4242")
    }
    assert len(told) == 1
    assert json.loads(told.pop())["instrument"] == sheet


# -- at the door ----------------------------------------------------------------------------------


def test_a_kind_that_no_pack_knows_is_refused_by_name():
    about = {"id": "odd", "kind": "nose-flute", "name": "Odd", "invented": "yes"}
    sheet = BenchSheet.model_validate({"bench_sheet": "1", "instrument": about})
    with pytest.raises(UnknownName, match="nose-flute"):
        report_on(sheet)


def test_an_exhibit_is_told_by_the_hash_of_its_file():
    sheet = BenchSheet.model_validate(
        {
            "bench_sheet": "1",
            "instrument": {"id": "odd", "kind": "banjo", "name": "Odd", "invented": "yes"},
            "exhibits": [{"id": "photo", "file": "photo.jpg", "caption": "Inside"}],
        }
    )
    case = case_of(sheet)
    hashed = replace(case.lines["photo"], content_hash="ab" * 32)
    report = reason(replace(case, lines={"photo": hashed}), PACKS)
    assert [line.exhibits for line in report.lines] == [("ab" * 32,)]
    assert [line.exhibits for line in reason(case, PACKS).lines] == [()]
