"""What would follow, were something otherwise. Every case is invented; common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import UnknownName
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.reasoner import reason
from ledger.reason.standing import difference, ends_in_words
from ledger.reason.suppose import Supposing, leaving_out, suppose, supposition_of
from ledger.reporting import report_json

NAMES = ("corbel-mandolin", "kestwick-arrow", "violin-1743")


@pytest.fixture(scope="module")
def ask(case_and_packs):
    """The report on a case of the tests with something supposed."""

    def asked(name, **what):
        return suppose(*case_and_packs(name), Supposing(**what))

    return asked


def completed(report):
    return ends_in_words(report, "completed")


def test_supposing_nothing_gives_the_report_that_there_is(case_and_packs):
    case, packs = case_and_packs("corbel-mandolin")
    assert report_json(suppose(case, packs, Supposing())) == report_json(reason(case, packs))


def test_a_part_that_is_supposed_not_to_be_the_first_carries_no_date(ask):
    report = ask("kestwick-arrow", fails=("first-fitted:harness",))
    assert completed(report) == "not before 1956-01-01; not after 1957-06-30"
    states = {each.position: each for each in report.positions}
    assert "first-fitted" not in states["pot.tone"].states
    assert any("supposed here, not shown" in text for text in states["pot.tone"].reasons)


def test_what_is_supposed_to_hold_is_given_up_by_no_account(ask):
    report = ask("corbel-mandolin", holds=("first-fitted:tuners",))
    assert report.accounts
    assert all("first-fitted:tuners" not in account.gives_up for account in report.accounts)
    assert any("first-fitted:label" in account.gives_up for account in report.accounts)


def test_what_is_supposed_not_to_hold_stands_in_no_conflict(ask):
    report = ask("corbel-mandolin", fails=("first-fitted:tuners",))
    assert report.conflicts == ()
    assert [account.gives_up for account in report.accounts] == [()]


def test_what_cannot_be_supposed_is_told_with_its_conflict_and_nothing_is_concluded(ask):
    report = ask(
        "corbel-mandolin",
        holds=(
            "first-fitted:label",
            "sound:label-date",
            "first-fitted:tuners",
            "sound:tuner-patent",
            "holds:corbel-mandolin-pack/plate-patent",
        ),
    )
    assert report.accounts == ()
    assert report.datings == ()
    (conflict,) = report.conflicts
    assert set(conflict.suppositions) == {
        "first-fitted:label",
        "sound:label-date",
        "first-fitted:tuners",
        "sound:tuner-patent",
        "holds:corbel-mandolin-pack/plate-patent",
    }
    (told,) = report.conclusion
    sentence = {f.id: f.sentence for f in report.findings}[told]
    assert "cannot be" in sentence
    assert "1925-12-01" in sentence


def test_a_line_that_is_left_out_is_as_if_it_had_not_been_recorded(ask, case_and_packs):
    case, packs = case_and_packs("tessmar-solid")
    report = ask("tessmar-solid", without_lines=("number",))
    assert "number" not in {line.id for line in report.lines}
    assert report.supposing == ("Left out: “number”.",)
    assert completed(report) == "not before 1962-03-01; not after 1967-02-28"
    assert completed(reason(case, packs)) == "not before 1962-03-01; not after 1962-12-31"


def test_a_source_goes_with_all_that_it_says_and_with_what_repeats_it(sample_case):
    case, packs = sample_case("whinchat-mandolin")
    report = suppose(case, packs, Supposing(without_sources=("column-2017",)))
    told = {line.id for line in report.lines}
    # The dealer at the fair had it from the column.
    assert not {"columnist", "column-maker", "dealer"} & told
    assert {"column-2017", "fair-2019", "keys-were-there"} <= told


def test_a_row_that_is_left_out_bounds_nothing(ask):
    report = ask("kestwick-arrow", without_rows=("kestwick-arrow-pack/early-route",))
    assert "kestwick-arrow-pack/early-route" not in {row.id for row in report.references}
    assert completed(report).startswith("not before 1956-07-15")
    assert "1957-06-30" not in completed(report)


def test_a_mark_read_otherwise_dates_otherwise(ask):
    report = ask("kestwick-arrow", marks_read=(("tone-code", "912-619"),))
    # Week 19 of 1956 begins on Sunday 1956-05-06 (the register's weeks run Sunday to Saturday).
    assert completed(report) == "not before 1956-05-06; not after 1957-06-30"


def test_one_of_several_readings_can_be_taken(ask, case_and_packs):
    plain = reason(*case_and_packs("kestwick-arrow"))
    wanted = next(
        each.id
        for each in plain.readings
        if each.line == "tone-code" and each.days and each.days[0][0].startswith("1966")
    )
    report = ask("kestwick-arrow", readings=(wanted,))
    used = {each.id for each in report.readings if each.line == "tone-code" and each.is_used}
    assert used == {wanted}
    # 1966 stands against the route that ended in 1957: that is a conflict now.
    assert len(report.conflicts) > len(plain.conflicts)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ({"fails": ("first-fitted:nothing",)}, "no supposition"),
        ({"without_lines": ("nothing",)}, "no line that can be left out"),
        ({"without_lines": ("bench",)}, "no line that can be left out"),
        ({"without_sources": ("nothing",)}, "no source"),
        ({"without_rows": ("no/row",)}, "no row that can be left out"),
        ({"without_rows": ("practice/shelf-life-years",)}, "no row that can be left out"),
        ({"marks_read": (("nothing", "1"),)}, "no mark"),
        ({"readings": ("reading.nothing.1",)}, "no reading"),
    ],
    ids=[
        "supposition",
        "line",
        "a source as a line",
        "source",
        "row",
        "practice",
        "mark",
        "reading",
    ],
)
def test_what_is_not_there_cannot_be_supposed(ask, what, said):
    with pytest.raises(UnknownName, match=said):
        ask("corbel-mandolin", **what)


def test_a_position_is_named_by_the_supposition_that_it_stands_under(case_and_packs):
    report = reason(*case_and_packs("tessmar-solid"))
    assert supposition_of(report, "pot.2") == "first-fitted:harness"
    assert supposition_of(report, "neck") == "joined:body+neck"
    assert supposition_of(report, "body") == "as-made:body"
    with pytest.raises(UnknownName):
        supposition_of(report, "zither")


def test_names_that_are_left_out_are_lines_sources_or_rows(case_and_packs):
    case, _ = case_and_packs("tessmar-solid")
    assert leaving_out(case, ("number", "bench", "a/b")) == Supposing(
        without_lines=("number",), without_sources=("bench",), without_rows=("a/b",)
    )


def test_what_falls_and_what_stands_are_told_apart(ask, case_and_packs):
    before = reason(*case_and_packs("corbel-mandolin"))
    found = difference(before, ask("corbel-mandolin", without_lines=("label-date",)), ("tuners",))
    assert found.is_dating_moved
    assert any("It would become: not before 1925-12-01" in text for text in found.falls)
    nothing = difference(before, before)
    assert nothing.falls == ()
    assert nothing.conflicts == ()
    assert nothing.stands


@settings(max_examples=2, deadline=None)  # each weighs a case three times
@given(data=st.data())
def test_what_is_settled_either_way_stays_settled(case_and_packs, data):
    name = data.draw(st.sampled_from(NAMES))
    case, packs = case_and_packs(name)
    plain = reason(case, packs)
    ids = [each.id for each in plain.suppositions]
    one = data.draw(st.sampled_from(ids))
    holding = suppose(case, packs, Supposing(holds=(one,)))
    failing = suppose(case, packs, Supposing(fails=(one,)))
    for report in (holding, failing):
        assert report.accounts
        assert all(one not in account.gives_up for account in report.accounts)
        assert all(one not in conflict.suppositions for conflict in report.conflicts)
    # Every account that keeps it is still one when it is given to hold, and the other way round.
    kept = {a.gives_up for a in plain.accounts if one not in a.gives_up}
    assert kept <= {a.gives_up for a in holding.accounts}


def test_a_report_with_something_supposed_answers_no_challenges(sample_case):
    case, packs = sample_case("dunnock-lap-steel")
    assert suppose(case, packs, Supposing(without_lines=("underside",))).challenges == ()


def test_every_section_can_be_in_a_sheet_that_is_supposed_about():
    assert {"challenges", "answers"} <= set(SECTIONS) & set(BenchSheet.model_fields)
