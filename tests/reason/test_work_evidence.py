"""A dated work that is no part of the making puts completion before it, if its record is right.

That a repair is done to something finished is common practice, no source.
"""

from __future__ import annotations

import pytest

DOCKET = {"id": "docket", "kind": "document", "title": "Docket", "by": "B"}
LABEL = {"id": "label", "position": "pot.1", "text": "June 1958", "reads": "1958-06"}


def with_work(weigh_sheet, **work):
    done = {"id": "done", "source": "docket", "positions": ["bridge"], **work}
    return weigh_sheet(sources=[DOCKET], marks=[LABEL], works=[done])


@pytest.mark.parametrize("action", ["altered", "repaired", "refitted", "removed", "replaced"])
def test_every_dated_work_puts_completion_before_it(weigh_sheet, action):
    work = {"id": "done", "source": "docket", "action": action, "positions": ["bridge"]}
    found = weigh_sheet(sources=[DOCKET], works=[work | {"date": "1950-03-01"}])
    end = found.completed().not_after
    assert end.date in {"1950-03-01", "1950-02-28"}
    assert end.suppositions == ("sound:done",)


@pytest.mark.parametrize("action", ["altered", "repaired", "replaced"])
def test_a_work_before_the_part_that_is_the_first_was_made_is_a_conflict(weigh_sheet, action):
    found = with_work(weigh_sheet, action=action, date="1950-03-01")
    (conflict,) = (c for c in found.report.conflicts if "sound:label" in c.suppositions)
    assert set(conflict.suppositions) == {"first-fitted:pot.1", "sound:done", "sound:label"}


def test_a_work_after_it_is_none(weigh_sheet):
    found = with_work(weigh_sheet, action="repaired", date="1970")
    assert found.report.conflicts == ()


def test_an_undated_work_bounds_nothing(weigh_sheet):
    found = with_work(weigh_sheet, action="repaired")
    assert "sound:done" not in found.completed().not_after.suppositions


def test_what_put_in_a_neck_was_done_to_a_finished_body_and_says_nothing_of_the_new_neck(
    weigh_sheet,
):
    work = {"id": "done", "source": "docket", "action": "replaced", "positions": ["neck"]}
    found = weigh_sheet(sources=[DOCKET], works=[work | {"date": "1950"}])
    relations = {o for f in found.report.findings for o in f.orders if f.id.startswith("worked.")}
    assert {(o.earlier, o.later) for o in relations} == {("completed:body", "done:done")}


def test_a_work_that_comes_too_early_is_weighed_against_the_part_that_is_at_odds_with_it(
    weigh_sheet,
):
    def chance(date):
        found = with_work(weigh_sheet, action="repaired", date=date)
        (part,) = (p for p in found.report.chances.parts if p.positions == ("pot.1",))
        return part.chance

    assert chance("1950-03-01") < chance("1990") - 0.1


def test_a_work_that_is_at_odds_with_nothing_moves_no_chance(weigh_sheet):
    without = weigh_sheet(sources=[DOCKET], marks=[LABEL]).report.chances
    found = with_work(weigh_sheet, action="repaired", date="1990").report.chances
    assert found.dates == without.dates
