"""The likeliest weeks, and how far the chances move within the ranges of the starting values."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.reason import weighing
from ledger.reason.derive import derive
from ledger.reason.evidence import Terms
from ledger.reason.factors import Factor
from ledger.reason.priors import fitments, suppositions
from ledger.reason.ranges import (
    CLOSE_WEEKS,
    ends_of,
    holding,
    movable,
    moved,
    read_each,
    read_off,
    region,
)
from ledger.reason.sums import Weighing
from ledger.reason.weighing import scales_of
from ledger.reason.windows import Window


def all_moved(scales):
    values = movable(scales)
    return tuple(moved(values, read_each(scales, ends_of(values))))


weights = st.lists(st.floats(0, 1), min_size=1, max_size=60).filter(lambda each: sum(each) > 0.1)


@pytest.fixture(scope="module")
def scales(case_and_packs):
    case, packs = case_and_packs("tessmar-solid")
    derivation = derive(case, packs)
    fitment = fitments(derivation.draft)
    found = scales_of(
        derivation.draft,
        derivation.readings,
        suppositions(derivation.draft, fitment),
        fitment,
    )
    assert found is not None
    return found


@given(weights, st.floats(0.5, 0.99))
def test_the_region_holds_its_share_and_no_week_outside_is_likelier_than_all_inside(given_, share):
    weeks = np.array(given_) / sum(given_)
    inside = np.zeros(len(weeks), bool)
    for first, last in region(weeks, share):
        inside[first : last + 1] = True
    assert weeks[inside].sum() >= share - 1e-9
    if not inside.all():
        assert weeks[~inside].max() <= weeks.max()
        assert weeks[~inside].sum() <= 1 - share + 1e-9


@given(weights, st.floats(0.5, 0.99))
def test_runs_of_a_region_lie_at_least_half_a_year_apart(given_, share):
    runs = region(np.array(given_), share)
    assert all(later[0] - earlier[1] > CLOSE_WEEKS for earlier, later in pairwise(runs))


def test_two_far_peaks_are_two_spans():
    weeks = np.zeros(200)
    weeks[[10, 11, 150]] = 0.3, 0.3, 0.4
    assert region(weeks, 0.95) == [(10, 11), (150, 150)]


def test_moving_a_value_and_back_changes_nothing(scales):
    usual = read_off(scales, scales.on())
    for name, value in scales.evidence.values.items():
        again = read_off(scales, scales.on(Terms(moved={name: value.middle})))
        assert again.holding == pytest.approx(usual.holding, abs=1e-12)


def test_a_value_is_moved_only_where_something_rests_on_it(scales):
    turned = {turn.value.id for turn in all_moved(scales)}
    assert turned
    asked = set().union(*scales.asked.values())
    assert turned <= asked
    for turn in all_moved(scales):
        assert turn.at_low.holding != turn.at_high.holding or not np.allclose(
            turn.at_low.weeks, turn.at_high.weeks, atol=0
        )


def test_a_supposition_moves_in_odds_as_its_own_prior_does(scales):
    """A prior enters the joint chance as a factor, so its odds carry over to the posterior's."""

    def odds(chance):
        return chance / (1 - chance)

    usual = read_off(scales, scales.on())
    tried = 0
    for turn in all_moved(scales):
        variable = turn.value.id.removeprefix("prior of ")
        if variable not in usual.holding or variable.startswith("first-fitted:"):
            continue
        tried += 1
        by_prior = odds(turn.value.low) / odds(turn.value.middle)
        before, after = usual.holding[variable], turn.at_low.holding[variable]
        assert odds(after) / odds(before) == pytest.approx(by_prior, rel=1e-6)
    assert tried


def test_a_part_is_likelier_the_first_the_likelier_practice_thinks_it(scales):
    """Not to the same odds: how often such parts are the first also depends on the age."""
    tried = 0
    for turn in all_moved(scales):
        variable = f"way:{turn.value.id.removeprefix('prior of first-fitted:')}"
        if variable in turn.at_low.holding:
            tried += 1
            assert turn.at_low.holding[variable] <= turn.at_high.holding[variable] + 1e-12
    assert tried


# -- fewer weeks and fewer sums, the same chances ---------------------------------------------------


def terms_of(scales):
    """Every starting value at both ends of its range, and every line left out."""
    for name, value in sorted(scales.evidence.values.items()):
        yield from (Terms(moved={name: end}) for end in (value.low, value.high))
    lines = sorted({line for piece in scales.evidence.pieces for line in piece.lines})
    yield from (Terms(without=frozenset({line})) for line in lines)


def test_weeks_that_are_left_out_and_sums_that_are_kept_move_no_chance(scales):
    for terms in terms_of(scales):
        outcome = scales.on(terms)
        summed = read_off(scales, outcome)
        whole = scales.joined(outcome.factors)
        np.testing.assert_allclose(summed.weeks, whole.main.weights(), rtol=0, atol=1e-10)
        for name, chance in summed.holding.items():
            assert chance == pytest.approx(whole.chances(name)[holding(name)], abs=1e-10)
        assert outcome.log_total() == pytest.approx(whole.main.log_total(), abs=1e-9)


def test_all_terms_at_once_give_the_chances_of_each_weighed_anew(scales):
    turns = tuple(terms_of(scales))
    for terms, found in zip(turns, read_each(scales, turns), strict=True):
        whole = scales.joined(scales.on(terms).factors)
        np.testing.assert_allclose(found.weeks, whole.main.weights(), rtol=0, atol=1e-10)
        assert found.holding.keys() == scales.evidence.sizes.keys()
        for name, chance in found.holding.items():
            assert chance == pytest.approx(whole.chances(name)[holding(name)], abs=1e-10)


def test_so_many_terms_that_they_are_taken_in_several_lots_change_nothing(scales, monkeypatch):
    turns = tuple(terms_of(scales))
    together = read_each(scales, turns)
    monkeypatch.setattr(weighing, "CELLS_AT_ONCE", 1)
    monkeypatch.setattr("ledger.reason.turns.CELLS_AT_ONCE", 1)
    for one, other in zip(together, read_each(scales, turns), strict=True):
        np.testing.assert_allclose(one.weeks, other.weeks, rtol=0, atol=1e-12)
        assert one.holding == pytest.approx(other.holding, abs=1e-12)


def test_of_no_other_terms_there_is_nothing_to_say(scales):
    found = scales.on().on_each([], dict.fromkeys(scales.evidence.sizes, 0))
    assert found.chances.shape == (0, len(scales.evidence.sizes))
    assert not len(found.weeks)


def test_terms_beyond_what_the_weeks_taken_can_tell_are_weighed_over_all(scales, monkeypatch):
    turns = tuple(terms_of(scales))
    together = read_each(scales, turns)
    monkeypatch.setattr(Window, "is_enough", lambda *_: False)
    for one, other in zip(together, read_each(scales, turns), strict=True):
        np.testing.assert_allclose(one.weeks, other.weeks, rtol=0, atol=1e-10)
        assert one.holding == pytest.approx(other.holding, abs=1e-10)


def test_on_other_terms_with_a_choice_held_more_terms_are_those_together(scales):
    line = min(line for piece in scales.evidence.pieces for line in piece.lines)
    names = [name for name in sorted(scales.evidence.sizes) if not name.startswith("way:")]
    held = {names[0]: (1,)}
    values = {name: holding(name) for name in scales.evidence.sizes}
    turns = [each for each in terms_of(scales) if not each.without][:20]
    outcome = scales.on(Terms(without=frozenset({line})), held)
    found = outcome.on_each(turns, values)
    for i, terms in enumerate(turns):
        both = Terms(moved=terms.moved, without=frozenset({line}))
        anew = scales.joined(scales.on(both, held).factors)
        np.testing.assert_allclose(found.weeks[i], anew.weights(), rtol=0, atol=1e-10)
        for name, chance in zip(found.names, found.chances[i], strict=True):
            assert chance == pytest.approx(anew.chances(name)[values[name]], abs=1e-10)


def test_weeks_that_could_gain_more_than_can_be_told_are_never_left_out():
    logs = np.full(1000, -5000.0)
    logs[400:420] = 0.0
    window = Window.of(Weighing({}, [Factor((), logs)], 1000))
    assert (window.first, window.end) == (400, 420)
    assert window.is_enough(window.log_total, 10.0)
    assert not window.is_enough(window.log_total, 1e4)
    assert not window.is_enough(window.log_total - 1e4, 0.0)


def test_a_window_that_would_leave_out_little_is_none():
    assert Window.of(Weighing({}, [Factor((), np.zeros(50))], 50)) is None
    assert Window.of(Weighing({}, [Factor((), np.full(50, -np.inf))], 50)) is None
