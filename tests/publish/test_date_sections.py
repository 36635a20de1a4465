from __future__ import annotations

from dataclasses import asdict, replace

from ledger.findings import End, Finding, Further
from ledger.publish.pages import instrument_page


def two_accounts(report, **changes):
    """The report with its dating under two leading accounts, the second one changed."""
    second = replace(report.accounts[1], is_leading=True)
    other = replace(report.datings[0], account="account-2", **changes)
    return replace(report, accounts=(report.accounts[0], second), datings=(*report.datings, other))


def follower(report, moment):
    """The report with a dispatch that begins with completion, its premise bounding ``moment``."""
    own = Finding("bound/own", "bound", "By a leaf.", "paper", moment=moment)
    date = Finding("date/dispatched", "date", "Dispatched.", "earliest", ("bound/own",))
    lower = End("not before", "1976-03-19", "date/dispatched", "Dispatched not before it.")
    dispatched = replace(report.datings[0], event="dispatched", not_before=lower)
    return replace(
        report,
        findings=(*report.findings, own, date),
        datings=(*report.datings, dispatched),
    )


def test_what_an_improbable_part_would_add_stands_under_the_end(report):
    dating = report.datings[0]
    more = Further("first-fitted:jack", "1976-08-01", "If also the jack is the first: August 1976.")
    lower = replace(dating.not_before, further=(more,))
    page = instrument_page(asdict(replace(report, datings=(replace(dating, not_before=lower),))))
    assert page["events"][0]["lower"][0]["further"] == [more.sentence]


def test_an_end_that_all_accounts_share_is_shown_once_and_the_rest_apart(report):
    upper = End("not after", "1979-12-31", "bound/told", "Not after 1979.")
    page = instrument_page(asdict(two_accounts(report, not_after=upper)))
    completed = page["events"][0]
    assert [end["under"] for end in completed["lower"]] == ["in every leading account"]
    assert [(end["words"], end["under"]) for end in completed["upper"]] == [
        ("no upper bound known", "under account 1 only"),
        ("not after 31 December 1979", "under account 2 only"),
    ]


def test_an_end_that_only_follows_from_completion_is_one_line(report):
    page = instrument_page(asdict(follower(report, "made:pot.volume")))
    assert page["events"][1]["is_short"]
    assert page["events"][1]["lower"][0]["follows"] == "it was completed no earlier"


def test_an_end_with_a_paper_of_its_own_is_told_in_full_though_the_date_is_the_same(report):
    dispatched = instrument_page(asdict(follower(report, "dispatched")))["events"][1]
    assert not dispatched["is_short"]
    assert dispatched["lower"][0]["follows"] == ""


def test_a_shift_without_words_of_its_own_is_told_with_what_is_left_out(report):
    dating = report.datings[0]
    (shift,) = dating.not_before.shifts
    bare = replace(dating.not_before, shifts=(replace(shift, sentence="", date="1966-01-01"),))
    page = instrument_page(asdict(replace(report, datings=(replace(dating, not_before=bare),))))
    assert page["events"][0]["lower"][0]["moves"] == [
        "Leave out “Mark on the volume pot”: not before 1 January 1966."
    ]
