"""What would be said instead, were something left out. The case is of the invented sample data."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.exchange.left_out import IMPOSSIBLE, NARROWED, NOTHING, SAME, said_instead


@pytest.fixture
def report(samples):
    """The report on the lap steel."""
    return samples["dunnock-lap-steel"].report


def test_a_report_says_the_same_as_itself_of_every_statement(report):
    assert {said_instead(report, report, each.id) for each in report.findings} == {SAME}


def test_a_state_is_known_by_its_label_and_not_by_its_reasons(report):
    other = [replace(each, reasons=("Otherwise.",)) for each in report.positions]
    after = replace(report, positions=tuple(other))
    assert said_instead(report, after, "finding:state.knobs") == SAME
    after = replace(report, positions=tuple(replace(each, label="missing") for each in other))
    assert said_instead(report, after, "state.knobs") == "it would be: missing"


def test_a_date_is_known_by_its_ends_whatever_the_accounts_are_called(report):
    named = {each.id: f"{each.id}.again" for each in report.accounts}
    after = replace(
        report,
        accounts=tuple(replace(each, id=named[each.id]) for each in report.accounts),
        datings=tuple(replace(d, account=named[d.account]) for d in report.datings),
        findings=(),
    )
    for finding in ("conclusion.date", "completed.not-before.account.1"):
        assert said_instead(report, after, finding) == SAME
    after = replace(report, datings=())
    assert "no lower bound known" in said_instead(report, after, "conclusion.date")


def test_a_conflict_is_known_by_what_cannot_all_be(report):
    first = report.conflicts[0]
    renamed = replace(report, conflicts=(replace(first, id="conflict.99"),))
    assert said_instead(report, renamed, first.id) == SAME
    fewer = replace(first, suppositions=first.suppositions[1:])
    assert said_instead(report, replace(report, conflicts=(fewer,)), first.id) == NARROWED
    assert said_instead(report, replace(report, conflicts=()), first.id) == NOTHING


def test_where_nothing_can_be_concluded_that_is_said(report):
    assert said_instead(report, replace(report, accounts=()), "conclusion.date") == IMPOSSIBLE
