from __future__ import annotations

from dataclasses import asdict, replace

from ledger.findings import Account
from ledger.publish.pages import front_page, instrument_page


def test_what_all_leading_accounts_give_up_is_told_once_and_then_only_the_difference(report):
    jack, work, pan = "first-fitted:jack", "sound:rewired", "holds:corbel/pan"
    gives_up = [(jack, pan), (jack, work), *[(work, f"what {n}") for n in range(6)]]
    many = tuple(
        Account(f"account-{n}", "", given, is_leading=n < 3, odds_note="")
        for n, given in enumerate(gives_up, start=1)
    )
    accounts = instrument_page(asdict(replace(report, accounts=many)))["accounts"]
    assert accounts["common"] == ["The jack too."]
    assert [account["besides"] for account in accounts["leading"]] == [
        ["The pan row holds."],
        ["The work is told rightly."],
    ]
    assert (len(accounts["next"]), len(accounts["rest"])) == (3, 3)
    assert accounts["next"][0]["keeps"] == ["The jack too."]
    assert "keeps The jack too." in accounts["rest"][0]["brief"]


def test_conflicts_with_one_statement_tell_it_and_what_they_share_once(report):
    page = instrument_page(asdict(report))
    (group,) = page["conflict_groups"]
    assert [step["sentence"] for step in group["against"]["steps"]] == [
        "It was completed in 1970 or before, by what was told."
    ]
    assert group["suppositions"] == ["The work is told rightly."]
    assert [conflict["suppositions"] for conflict in group["conflicts"]] == [
        ["The jack too."],
        ["The volume pot left the works with it."],
    ]
    (chain,) = group["conflicts"][0]["chains"]
    assert [step["sentence"] for step in chain["links"]] == [
        "It was completed before it was dispatched."
    ]


def test_a_conflict_that_stands_alone_shows_all_its_chains(report):
    alone = replace(report, conflicts=report.conflicts[:1])
    (group,) = instrument_page(asdict(alone))["conflict_groups"]
    assert (group["against"], group["suppositions"]) == (None, [])
    assert len(group["conflicts"][0]["chains"]) == 2


def test_recorded_changes_stand_apart_from_conflicts_and_are_not_counted_as_such(report):
    (changed,) = instrument_page(asdict(report))["recorded_changes"]
    assert changed["subject"] == "Jack"
    assert [each["sentence"] for each in changed["records"]] == ["The jack was replaced in 1981"]
    assert front_page([asdict(report)])["instruments"][0]["conflict_count"] == 2
