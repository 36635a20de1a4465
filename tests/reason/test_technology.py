from __future__ import annotations

import re
from datetime import date

import pytest

from ledger.basis.edtf import read_date
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.reason.rules import RULES
from ledger.reason.technology import RULE
from ledger.references import Technology

ROWS = Packs.of(built_in_packs()).rows(Technology)
PATENT = re.compile(r"United States patents? [\d,]+[^;()]*?issued (\d{4}-\d{2}-\d{2})")


def seen(line_id, position, feature, value, **other):
    return {"id": line_id, "position": position, "feature": feature, "value": value, **other}


def bounds(found):
    return [f for f in found.report.findings if f.rule == RULE and f.kind == "bound"]


# -- the rows ------------------------------------------------------------------------------------------


def test_every_patent_was_issued_on_a_tuesday():
    # The Patent Office issues patents on Tuesdays, and did throughout these years: an outside
    # check on the days that are from memory.
    days = [day for row in ROWS for day in PATENT.findall(row.row.source)]
    assert len(days) > 15
    assert {date.fromisoformat(day).strftime("%A") for day in days} == {"Tuesday"}


@pytest.mark.parametrize(
    ("row_id", "not_before"),
    [
        ("screw-cross-recess", "1936-07-07"),
        ("cellulose-nitrate", "1870-07-12"),
        ("nylon", "1938-09-20"),
        ("fluoroplastic", "1941-02-04"),
        ("bar-code", "1973-04-03"),
    ],
)
def test_rows_have_the_published_dates(row_id, not_before):
    (row,) = (row.row for row in ROWS if row.row.id == row_id)
    assert row.not_before == not_before


def test_a_row_from_memory_alone_is_never_of_high_confidence_but_where_a_patent_backs_it():
    for row in ROWS:
        if row.row.source.startswith("common practice"):
            assert row.row.confidence in ("low", "medium"), row.id
            assert "from memory" in row.row.source, row.id


def test_what_is_common_comes_after_the_bound_and_before_what_fades():
    for row in ROWS:
        ends = [row.row.not_before, row.row.common_from, row.row.fades]
        days = [read_date(end).spans.earliest for end in ends if end]
        assert days == sorted(days), row.id


def test_the_rule_is_among_those_that_the_site_prints():
    assert RULE in RULES


# -- what they bound -------------------------------------------------------------------------------------


def test_a_material_bounds_the_making_of_its_part(weigh_sheet):
    found = weigh_sheet(features=[seen("tip", "switch-tip", "material", "nylon")])
    (bound,) = bounds(found)
    assert "holds:technology/nylon" in bound.suppositions
    assert "sound:tip" in bound.suppositions
    dating = found.completed()
    assert dating.not_before.date == "1938-09-20"
    assert dating.not_after.date is None
    assert "first-fitted:switch-tip" in dating.not_before.suppositions


def test_a_fastening_bounds_the_fitting_only_if_it_was_not_renewed(weigh_sheet):
    found = weigh_sheet(features=[seen("screws", "guard", "screw heads", "cross-recess, plated")])
    (bound,) = bounds(found)
    assert "holds:technology/screw-cross-recess#screws" in bound.suppositions
    assert "not renewed since" in bound.sentence
    assert found.completed().not_before.date == "1936-07-07"


def test_a_root_is_bounded_only_if_it_is_as_made(weigh_sheet):
    (bound,) = bounds(weigh_sheet(features=[seen("rod", "body", "reinforcement", "carbon fibre")]))
    assert "as-made:body" in bound.suppositions


def test_a_screw_too_late_for_its_label_is_a_conflict_with_the_renewal_among_its_ways_out(
    weigh_sheet,
):
    marks = [{"id": "label", "position": "label", "text": "1917", "reads": "1917"}]
    lines = [seen("screws", "tuners", "screws", "cross recess")]
    found = weigh_sheet("mandolin", marks=marks, features=lines)
    ways = {name for account in found.report.accounts for name in account.gives_up}
    assert "holds:technology/screw-cross-recess#screws" in ways
    leading = {name for account in found.leading for name in account.gives_up}
    assert "sound:label" not in leading


@pytest.mark.parametrize(
    "value", ["nylon?", "not nylon", "bone or nylon", "nylonite"], ids=lambda value: value
)
def test_what_is_in_doubt_or_another_word_bounds_nothing(weigh_sheet, value):
    found = weigh_sheet(features=[seen("nut-kind", "nut", "material", value)])
    assert bounds(found) == []
    assert found.completed_ends() == {(None, None)}


def test_the_feature_named_counts_where_a_word_has_two_meanings(weigh_sheet):
    wire = weigh_sheet(features=[seen("kind", "pot.1", "wire", "vinyl")])
    assert [b.id for b in bounds(wire)] == ["technology.kind.technology/vinyl-wire"]
    assert bounds(weigh_sheet(features=[seen("kind", "pot.1", "record", "vinyl")])) == []


def test_an_overlap_widens_the_bound(weigh_sheet):
    found = weigh_sheet(features=[seen("magnets", "pickup.1", "magnet", "ceramic")])
    # Not before 1951, with 365 days of overlap.
    assert found.completed().not_before.date == "1950-01-01"
    assert "allowing 365 days" in bounds(found)[0].sentence


def test_a_row_that_only_fades_bounds_nothing(weigh_sheet):
    found = weigh_sheet(features=[seen("wires", "pot.1", "wire", "cloth covered")])
    assert bounds(found) == []
    assert any(f.rule == RULE and f.kind == "comparison" for f in found.report.findings)


def test_a_recorded_work_that_explains_it_takes_the_bound_away(weigh_sheet):
    line = seen("tip", "switch-tip", "material", "nylon")
    work = {"id": "new-tip", "action": "replaced", "positions": ["switch-tip"], "by": "owner"}
    found = weigh_sheet(features=[line], works=[work | {"explains": ["tip"]}])
    assert bounds(found) == []


def test_a_withheld_material_is_not_told_by_its_row(weigh_sheet):
    line = seen("tip", "switch-tip", "material", "nylon", withhold=["value"])
    assert bounds(weigh_sheet(features=[line])) == []
