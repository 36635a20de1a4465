"""The built-in starting values hold together; they are common practice, no source."""

from __future__ import annotations

import pytest

from ledger.basis.conformity import Passing
from ledger.references import Practice, TraceKind

# By item: the shortest tenth, the median, the longest tenth and the longest fortieth.
LAGS = {
    "component": (3, 10, 32, 58),
    "component-slow": (8, 26, 100, 208),
    "wood-stamp": (2, 6, 20, 40),
    "transformer": (2, 8, 26, 52),
    "loudspeaker": (1, 6, 20, 52),
}


@pytest.mark.parametrize(("item", "weeks"), LAGS.items(), ids=LAGS)
def test_every_lag_is_a_distribution_with_its_tail(packs, item, weeks):
    middle = packs.practice(f"lag-{item}-median-weeks").row
    tail = packs.practice(f"lag-{item}-longest-fortieth-weeks").row
    assert (middle.low, middle.value, middle.high, tail.value) == weeks
    assert list(weeks) == sorted(weeks)


def test_the_lag_of_a_growth_ring_has_a_tail_too(packs):
    ring = packs.practice("lag-growth-ring-years").row
    tail = packs.practice("lag-growth-ring-longest-fortieth-years").row
    assert (ring.low, ring.value, ring.high, tail.value) == (3, 15, 40, 100)
    assert "no upper bound" in tail.note


@pytest.mark.parametrize("kind", ["mix", "mix-collected"])
def test_each_mix_of_replacements_adds_up(packs, kind):
    parts = [packs.practice(f"{kind}-{part}").row for part in ("service", "matching", "transplant")]
    assert sum(part.value for part in parts) == pytest.approx(1)


def test_a_matching_code_tells_little_once_the_mix_is_taken_in(packs):
    # 0.85 / (0.7 x 0.02 + 0.3 x 0.8) = 3.35, not the 42 of a service part alone.
    shares = [
        packs.practice(name).row.value
        for name in (
            "code-in-window-first-fitted",
            "mix-service",
            "code-in-window-service",
            "code-in-window-matching",
        )
    ]
    first, service, of_service, of_matching = shares
    ratio = first / (service * of_service + (1 - service) * of_matching)
    assert ratio == pytest.approx(3.35, abs=0.01)
    assert first / of_service == pytest.approx(42.5)


def test_passing_what_nearly_all_pass_is_a_ratio_of_about_one(packs):
    names = ("passing-first-fitted", "passing-replacements")
    assert Passing(*(packs.practice(name).row.value for name in names)).tells_nothing


def test_every_starting_value_has_a_range_and_says_what_it_is(packs):
    for row in packs.rows(Practice):
        assert row.row.low < row.row.high, row.id
        assert row.row.note, row.id
        assert row.row.confidence != "high", row.id
        if row.row.unit.startswith("share"):
            assert row.row.low > 0, row.id
            assert row.row.high < 1, row.id


def test_a_trace_against_a_part_says_what_it_points_to(packs):
    for row in packs.rows(TraceKind):
        if row.row.against_service[1] < 1:
            assert row.row.suggests, row.id
