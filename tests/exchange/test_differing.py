"""What is different between two reports, in sentences."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.exchange.differing import difference_of, leaves_beneath
from ledger.findings import Account, Conflict, Surprise


@pytest.fixture
def report(samples):
    return samples["dunnock-lap-steel"].report


def told(before, after, kind):
    found = difference_of(before, after)
    return [found.with_reasons(c) for c in (*found.done, *found.follows) if c.kind == kind]


def moved(report, side, date):
    """The report with an end of completion elsewhere under every account."""
    name = {"not before": "not_before", "not after": "not_after"}[side]
    datings = tuple(
        replace(d, **{name: replace(getattr(d, name), date=date)}) if d.event == "completed" else d
        for d in report.datings
    )
    return replace(report, datings=datings)


def test_a_report_is_not_different_from_itself(sample):
    found = difference_of(sample.report, sample.report)
    assert found.is_empty
    assert found.sentences() == ()


def test_new_numbers_of_entries_conflicts_and_accounts_are_no_difference(report):
    conflicts = tuple(
        replace(c, id=f"conflict.{n}") for n, c in enumerate(reversed(report.conflicts), 1)
    )
    found = difference_of(report, replace(report, sequence=999, conflicts=conflicts))
    assert found.is_empty


@pytest.mark.parametrize(
    ("side", "date", "said"),
    [
        ("not before", "1949-09-01", "The earliest day of the completion moves later, from"),
        ("not before", "1947-01-01", "The earliest day of the completion moves earlier, from"),
        ("not after", "1951-01-01", "The latest day of the completion moves later, from"),
        ("not after", None, "Nothing closes the latest side of the completion any more; it was"),
    ],
    ids=["up", "down", "late", "open"],
)
def test_an_end_that_moves_is_told_from_where_to_where(report, side, date, said):
    (sentence,) = told(report, moved(report, side, date), "end")
    assert sentence.startswith(said)


def test_an_end_that_was_open_is_told_as_new(report):
    (sentence,) = told(moved(report, "not after", None), report, "end")
    assert sentence == (
        "The completion is now not after 1950-12-30; before, nothing closed that side."
    )


def test_a_state_that_changes_is_told_with_both(report):
    positions = tuple(
        replace(p, label="missing", states=("missing",)) if p.position == "legs" else p
        for p in report.positions
    )
    assert told(report, replace(report, positions=positions), "state") == [
        "Legs: was cannot be told, is now missing."
    ]
    gone = tuple(p for p in report.positions if p.position not in ("legs", "nut"))
    assert told(report, replace(report, positions=gone), "state") == [
        "Legs: was cannot be told, is no longer told of."
    ]
    assert told(replace(report, positions=gone), report, "state") == [
        "Legs: was not examined, is now cannot be told."
    ]


def test_conflicts_that_come_and_go_are_told_by_what_they_exclude(report):
    one = Conflict("conflict.99", "Clash.", ("first-fitted:knobs", "as-made:body"), ())
    after = replace(report, conflicts=(*report.conflicts[1:], one))
    came, went = told(report, after, "conflict")
    assert came.startswith("Not all of this can be so, it now appears: the knobs left the works")
    assert came.endswith("as the works made it, not altered since.")
    assert went.startswith("Nothing forbids any more that all of this is so: ")


def test_accounts_that_lead_or_lead_no_more_are_told(report):
    leading = [account for account in report.accounts if account.is_leading]
    new = Account("account.1", "Give up nothing.", ("as-made:body",), is_leading=True, odds_note="")
    after = replace(report, accounts=(new, *report.accounts[1:]))
    came, went, others = told(report, after, "account")
    assert came == "Now among the leading accounts (it is new): Give up nothing."
    assert went == (f"No longer among the leading accounts (it is gone): {leading[0].sentence}")
    assert others == "Of the accounts that are listed, 1 account came and 1 account went."
    lower = tuple(replace(account, is_leading=False) for account in report.accounts)
    assert told(replace(report, accounts=lower), report, "account")[0] == (
        f"Now among the leading accounts: {leading[0].sentence}"
    )


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        (None, (True, None), "New surprise, which nothing explains: Odd."),
        ((True, None), (False, "work"), "Explained by work: Odd."),
        ((False, "work"), (True, None), "Open again, for want of what explained it: Odd."),
        ((False, "work"), (False, "other"), "Explained otherwise, by other: Odd."),
        ((True, None), None, "No longer a surprise: Odd."),
        ((False, "work"), None, None),
        ((True, None), (True, None), None),
    ],
    ids=["new", "explained", "open-again", "otherwise", "gone", "gone-explained", "same"],
)
def test_surprises_that_come_go_or_are_explained_are_told(report, was, now, said):
    def one(state):
        given = () if state is None else (Surprise("surprise.x", "Odd.", "x", *state),)
        return replace(report, surprises=given)

    assert told(one(was), one(now), "surprise") == ([] if said is None else [said])


def test_what_is_supposed_for_the_sake_of_argument_is_told(report):
    after = replace(report, supposing=("the knobs are the first",))
    assert told(report, after, "supposing") == [
        "Supposed for the sake of argument: the knobs are the first"
    ]
    assert told(after, report, "supposing") == ["No longer supposed: the knobs are the first"]


def test_lines_added_changed_and_withdrawn_are_told_with_their_entries(report):
    (first, *rest) = report.lines
    changed = replace(first, hash="0" * 64, sequence=500, sentence="Another sentence.")
    assert told(report, replace(report, lines=(changed, *rest)), "line") == [
        f"Changed (entry 500): “{first.sentence}” became “Another sentence.”"
    ]
    noted = replace(first, hash="0" * 64, sequence=500)
    assert told(report, replace(report, lines=(noted, *rest)), "line") == [
        f"Changed (entry 500): {first.sentence}"
    ]
    less = replace(report, lines=tuple(rest))
    assert told(report, less, "line") == [
        f"Withdrawn (it was entry {first.sequence}): {first.sentence}"
    ]
    assert told(less, report, "line") == [f"Added (entry {first.sequence}): {first.sentence}"]


CODE = {"id": "code", "position": "pot.1", "text": "912-5614"}


def test_a_new_mark_is_named_beneath_the_end_that_it_moves(weigh_lines):
    other = {"id": "later", "position": "pot.2", "text": "912-5640"}
    before = weigh_lines(marks=[CODE]).report
    after = weigh_lines(marks=[CODE, other]).report
    found = difference_of(before, after)
    (change,) = [c for c in found.follows if c.kind == "end" and "earliest" in c.sentence][:1]
    assert change.rests_on == ("line:later",)
    assert "Beneath it changed: “912-5640” on the potentiometer (2)." in " ".join(found.sentences())
    (back,) = [c for c in difference_of(after, before).follows if c.kind == "end"][:1]
    assert back.rests_on == ("line:later",)


def test_a_row_that_changed_is_named_beneath_what_it_moves(weigh_lines):
    row = {
        "id": "early",
        "position": "body",
        "feature": "shape",
        "value": "early",
        "begins": "1955",
        "ends": "1957",
    }
    shape = {"id": "shape", "position": "body", "feature": "shape", "value": "early"}
    before = weigh_lines(pack={"timelines": [row]}, features=[shape]).report
    after = weigh_lines(pack={"timelines": [{**row, "ends": "1958"}]}, features=[shape]).report
    found = difference_of(before, after)
    assert found.done[0].kind == "reference"
    assert found.done[0].sentence.startswith("Row tiny-pack/early changed: ")
    (change,) = [c for c in found.follows if c.kind == "end"]
    assert change.rests_on == ("reference:tiny-pack/early",)
    assert "Beneath it changed: the row tiny-pack/early." in found.with_reasons(change)


def test_leaves_beneath_are_lines_and_rows_by_their_short_names(report):
    end = next(d.not_before for d in report.datings if d.event == "completed")
    leaves = leaves_beneath(report, (end.finding,))
    assert leaves == {shift.without for shift in end.shifts}
    full = tuple(
        replace(f, premises=(f"line:{report.instrument}/body-job",)) if f.id == end.finding else f
        for f in report.findings
    )
    assert leaves_beneath(replace(report, findings=full), (end.finding,)) == {"line:body-job"}
