"""What no reasoning could make use of is refused with the pack; the built-in rows all pass."""

from __future__ import annotations

import math

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from ledger.errors import FaultsFound
from ledger.knowledge.packs import Packs, built_in_packs, read_pack
from ledger.knowledge.practice_limits import BY_UNIT, RATIO, limits_of, refusals, units_of
from ledger.references import PackFile, Practice

HEAD = """\
pack: mine
title: Mine
version: "1"
"""
ROW = """\
practices:
  - id: {id}
    source: a register
    confidence: low
    low: {low}
    value: {value}
    high: {high}
    unit: {unit}
"""
KIND = """\
trace_kinds:
  - id: seat
    source: a register
    confidence: low
    name: a seat
    against_service: {service}
    against_matching: {matching}
"""


@pytest.fixture
def faults(tmp_path):
    """The faults of a pack that ends in the given text."""

    def _faults(text):
        path = tmp_path / "mine.yaml"
        path.write_text(HEAD + text, encoding="utf-8")
        with pytest.raises(FaultsFound) as raised:
            read_pack(path)
        return raised.value.faults

    return _faults


def test_every_row_of_the_built_in_packs_passes():
    units = units_of(built_in_packs())
    assert [each for pack in built_in_packs() for each in refusals(pack, units)] == []


def test_every_unit_of_the_built_in_rows_has_its_limits(packs):
    units = {row.row.unit for row in packs.rows(Practice)}
    assert units == set(BY_UNIT)


REFUSED = {
    "a-lag-of-no-time": ("lag-component-median-weeks", 0, 0, 4, "weeks", {"low", "value"}),
    "a-negative-lag": ("lag-component-median-weeks", -3, 2, 4, "weeks", {"low"}),
    "nothing-of-the-mix": ("mix-service", 0, 0, 0.5, "share", {"low", "value"}),
    "no-spread": ("spread-matching-years", 0, 0, 1, "years", {"low", "value"}),
    "no-codes": ("codes-with-two-figures-of-year", 0, 0, 0, "codes", {"low", "value", "high"}),
    "more-than-the-whole": ("comparison-error", 0.1, 0.2, 2, "share", {"high"}),
    "the-whole": ("holds-high", 0.9, 0.95, 1, "share", {"high"}),
    "a-band-that-leads-nowhere": ("leading-account-band", 0.2, 1, 5, "to one", {"low"}),
    "an-endless-axis": ("axis-margin-years", 8, 12, 1_000_000, "years", {"high"}),
    "no-sigma": ("lag-component-sigma", 0, 1, 2, "of the natural logarithm", {"low"}),
    "a-negative-allowance": ("label-allowance", -1, 0, 5, "days", {"low"}),
    "colder-than-can-be": ("bench-temperature", -300, 20, 30, "degrees Celsius", {"low"}),
    "a-row-of-ones-own": ("own", 0, 1, 2, "weeks", {"low"}),
}


@pytest.mark.parametrize("given", REFUSED.values(), ids=REFUSED)
def test_a_value_that_cannot_be_reckoned_with_is_a_fault_at_its_line(faults, given):
    name, low, value, high, unit, where = given
    found = faults(ROW.format(id=name, low=low, value=value, high=high, unit=unit))
    lines = {"low": 8, "value": 9, "high": 10}
    assert {fault.line for fault in found} == {lines[each] for each in where}
    assert {fault.path for fault in found} == {f"practices[1].{each}" for each in where}
    assert all(name in fault.found and unit in fault.expected and fault.advice for fault in found)


RATIOS = {
    "nothing": ("[0, 0]", "[1, 2]", "against_service"),
    "below-nothing": ("[-1, 2]", "[1, 2]", "against_service"),
    "turned-round": ("[1, 2]", "[4, 2]", "against_matching"),
    "beyond-all-measure": ("[1, 2]", "[1, 99999999999]", "against_matching"),
}


@pytest.mark.parametrize(("service", "matching", "at"), RATIOS.values(), ids=RATIOS)
def test_a_strength_that_is_no_ratio_is_a_fault_at_its_line(faults, service, matching, at):
    (fault,) = faults(KIND.format(service=service, matching=matching))
    assert fault.path == f"trace_kinds[1].{at}"
    assert "two ratios" in fault.expected
    assert fault.advice


def test_a_row_in_another_unit_than_the_one_it_replaces_is_a_fault(faults):
    row = ROW.format(id="lag-component-median-weeks", low=1, value=2, high=3, unit="years")
    (fault,) = faults(row)
    assert (fault.path, fault.expected) == ("practices[1].unit", "'weeks'")


def test_a_row_of_ones_own_in_a_unit_of_ones_own_is_taken(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + ROW.format(id="own", low=-5, value=0, high=7, unit="floors"))
    assert read_pack(path).practices[0].low == -5


def test_a_label_may_be_dated_to_the_day():
    assert limits_of("label-allowance", "days").take(0)
    assert not limits_of("shelf-life-years", "days").take(0)


def test_a_value_that_was_recorded_before_is_told_and_not_reckoned_with():
    row = {"id": "own-lag", "low": 0, "value": 0, "high": 1, "unit": "weeks"}
    about = {"source": "a register", "confidence": "low"}
    pack = PackFile.model_validate(
        {"pack": "mine", "title": "Mine", "version": "1", "practices": [row | about]}
    )
    with pytest.raises(FaultsFound) as raised:
        Packs.of((*built_in_packs(), pack))
    assert [fault.path for fault in raised.value.faults] == [
        "practices[1].low",
        "practices[1].value",
    ]


@drawn(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(sorted(BY_UNIT)))
def test_what_is_taken_is_finite_and_no_share_is_certain(value, unit):
    if BY_UNIT[unit].take(value):
        assert math.isfinite(value)
        assert not unit.startswith("share") or 0 < value < 1
    assert not RATIO.take(value) or math.isfinite(math.log(value))
