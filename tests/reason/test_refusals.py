"""What the reasoner must not conclude, each with a tiny invented sheet.

Source of all facts: common practice, no source (invented cases). Weeks of codes are those of
the register, Sunday to Saturday (its example: week 10 of 1999 is March 7 to 13,
https://ecianow.org, "EIA Source Codes").
"""

from __future__ import annotations

import re
from graphlib import TopologicalSorter

import pytest

FIRST = {"first-fitted", "presumed first-fitted (untested)"}
OPEN = "no upper bound known"

POT = {"id": "code", "position": "pot.1", "text": "912-6614"}
# A patent invented for these tests: it can only say "not before".
PATENT = {"id": "granted", "mark": "PAT 77", "means": "a patent was granted", "not_before": "1951"}
PATENT_MARK = {"id": "patent", "position": "bridge", "text": "PAT 77"}


def timeline(row_id, position, begins=None, ends=None, feature="kind"):
    row = {"id": row_id, "position": position, "feature": feature, "value": "early"}
    return row | {k: v for k, v in (("begins", begins), ("ends", ends)) if v}


def feature(line_id, position, feature="kind"):
    return {"id": line_id, "position": position, "feature": feature, "value": "early"}


# -- 1. the date of a part is not the date of completion ------------------------------------------


def test_the_week_of_a_code_is_not_given_as_the_week_of_completion(weigh_sheet):
    found = weigh_sheet(marks=[POT])
    dating = found.completed()
    # 1966 week 14 of the register begins on Sunday 1966-04-03 (ISO: Monday 1966-04-04).
    assert dating.not_before.date == "1966-04-03"
    assert dating.not_after.date is None or dating.not_after.date > "1966-12-31"


def test_a_code_bounds_completion_only_if_its_part_is_the_first(weigh_sheet):
    found = weigh_sheet(marks=[POT])
    end = found.completed().not_before
    assert "first-fitted:pot.1" in end.suppositions
    shifts = {shift.without: shift.date for shift in end.shifts}
    assert shifts["line:code"] is None


def test_a_replaced_part_does_not_date_the_instrument(weigh_sheet):
    work = {"id": "new-pot", "action": "replaced", "positions": ["pot.1"], "by": "workshop"}
    found = weigh_sheet(marks=[POT], works=[work])
    assert found.completed_ends() == {(None, None)}


# -- 2. neither the earliest code nor an average of codes is the bound ----------------------------


@pytest.mark.parametrize(
    "codes",
    [("6603", "6611", "6629"), ("6629", "6603", "6611")],
    ids=["rising", "latest first"],
)
def test_the_latest_first_fitted_code_governs(weigh_sheet, codes):
    marks = [
        {"id": f"code-{n}", "position": f"pot.{n}", "text": f"912-{code}"}
        for n, code in enumerate(codes, 1)
    ]
    found = weigh_sheet(marks=marks)
    end = found.completed().not_before
    assert end.date == "1966-07-17"
    latest = codes.index("6629") + 1
    assert found.rests_on(f"code-{latest}", end.suppositions)
    assert [s for s in end.suppositions if s.startswith("sound:")] == [f"sound:code-{latest}"]


def test_a_latest_code_on_a_part_that_is_hardly_the_first_is_told_besides(weigh_sheet):
    # Two codes of one month, and one more than a year later: what the third would add stands there
    # with how likely it is, and neither the earliest code nor an average governs.
    codes = ("6511", "6512", "6629")
    found = weigh_sheet(
        marks=[
            {"id": f"code-{n}", "position": f"pot.{n}", "text": f"912-{code}"}
            for n, code in enumerate(codes, 1)
        ]
    )
    end = found.completed().not_before
    (third,) = (part for part in found.report.chances.parts if part.event == "pot.3")
    assert third.chance < 0.15
    # 1965 week 12 of the register begins on 1965-03-21.
    assert end.date == "1965-03-21"
    assert [each.date for each in end.further] == ["1966-07-17"]
    assert "gives a chance of 13 %" in end.further[0].sentence


# -- 3. no lower bound without its partner --------------------------------------------------------


def test_a_lower_bound_alone_is_not_shown_without_its_partner(weigh_sheet):
    found = weigh_sheet(marks=[PATENT_MARK], pack={"facts": [PATENT]})
    dating = found.completed()
    assert dating.not_before.date == "1951-01-01"
    assert dating.not_after.date is None
    assert OPEN in dating.not_after.sentence


def test_every_sentence_of_the_conclusion_with_one_end_has_the_other(weigh_sheet):
    found = weigh_sheet(marks=[PATENT_MARK], pack={"facts": [PATENT]})
    told = [text for text in found.conclusion() if "1951" in text]
    assert told
    assert all(OPEN in text for text in told)


# -- 4. no single year digit resolved without the other decades -----------------------------------


def test_no_decade_of_a_single_year_digit_is_left_out(weigh_sheet):
    found = weigh_sheet(marks=[POT | {"text": "912-629"}])
    assert {1946, 1956, 1966} <= found.years_read("code")
    assert all(reading.reason for reading in found.readings("code"))


def test_no_decade_is_chosen_where_nothing_else_tells(weigh_sheet):
    found = weigh_sheet(marks=[POT | {"text": "912-629"}])
    assert [account.gives_up for account in found.leading] == [()]
    spans = found.completed().possible
    for day in ("1946-08-01", "1956-08-01", "1966-08-01"):
        assert any((a is None or a <= day) and (b is None or day <= b) for a, b in spans)


def test_a_decade_ruled_out_by_other_evidence_stays_listed(weigh_sheet):
    rows = [timeline("early-route", "body", "1956", "1957")]
    found = weigh_sheet(
        marks=[POT | {"text": "912-629"}],
        features=[feature("route", "body")],
        pack={"timelines": rows},
    )
    assert found.completed().not_before.date == "1956-07-15"
    readings = [reading.days[0][0][:4] for reading in found.readings("code") if reading.days]
    assert {"1946", "1956", "1966"} <= set(readings)


# -- 5. a part of the right type is not the very part -----------------------------------------------


def test_a_part_of_the_right_type_is_not_thereby_first_fitted(weigh_sheet):
    found = weigh_sheet(
        features=[feature("knob-type", "knobs")],
        pack={"timelines": [timeline("early-knobs", "knobs", "1954", "1958")]},
    )
    assert "first-fitted" not in found.states("knobs")
    assert "first-fitted:knobs" in found.completed().not_before.suppositions
    assert "first-fitted:knobs" in found.completed().not_after.suppositions


def test_the_years_of_a_type_do_not_date_the_making_of_the_part(weigh_sheet):
    found = weigh_sheet(
        features=[feature("knob-type", "knobs")],
        pack={"timelines": [timeline("early-knobs", "knobs", "1954", "1958")]},
    )
    assert found.position("knobs").made in (None, (None, None))


# -- 6. no trace found is not no event ----------------------------------------------------------------

SEARCHED = {
    "id": "no-holes",
    "positions": ["tuners"],
    "value": "searched, not found",
    "what": "a second set of screw holes",
    "method": "plates lifted, whole footprint seen",
}
PLATES = {"id": "plates", "position": "tuners", "feature": "casing", "value": "open"}


def chance_of(found, event):
    """The chance of a part being the first, where the evidence has been weighed."""
    parts = found.report.chances.parts if found.report.chances is not None else ()
    return {part.event: part.chance for part in parts}.get(event)


def test_a_search_that_found_nothing_shows_no_first_fitting(weigh_sheet):
    plain = weigh_sheet(features=[PLATES])
    searched = weigh_sheet(features=[PLATES], non_values=[SEARCHED])
    assert "first-fitted" not in searched.states("tuners")
    assert searched.states("tuners") == plain.states("tuners")
    assert searched.report.suppositions == plain.report.suppositions
    assert chance_of(searched, "tuners") == chance_of(plain, "tuners")


def test_a_trace_that_was_found_does_move_what_a_search_in_vain_does_not(weigh_sheet):
    plain = weigh_sheet(features=[PLATES])
    trace = {"id": "holes", "trace": "filled-holes", "positions": ["tuners"]}
    found = weigh_sheet(features=[PLATES], traces=[trace])
    assert found.states("tuners") != plain.states("tuners")


# -- 7. a test that nearly everything passes is no support ----------------------------------------------

COIL = {"id": "coil", "position": "pickup.1", "quantity": "coil resistance", "value": "7.5 k"}


@pytest.mark.parametrize(
    ("value", "is_support"), [("7.5 k", False), ("3.1 k", None)], ids=["passes", "fails"]
)
def test_a_resistance_in_range_supports_nothing_and_out_of_range_asks(
    weigh_sheet, value, is_support
):
    row = {
        "id": "coils",
        "position": "pickup",
        "quantity": "coil resistance",
        "low": "7.0 k",
        "high": "8.5 k",
        "nearly_all_pass": "yes",
        "outside": "contradicts",
    }
    plain = weigh_sheet(features=[{**PLATES, "id": "cover", "position": "pickup.1"}])
    found = weigh_sheet(
        features=[{**PLATES, "id": "cover", "position": "pickup.1"}],
        measurements=[COIL | {"value": value}],
        pack={"specifications": [row]},
    )
    comparison = [f for f in found.report.findings if f.id.startswith("specification.coil")]
    assert len(comparison) == 1
    if is_support is None:
        # The test can fail: outside its limits it clashes with the first fitting.
        assert "first-fitted:pickup.1" in comparison[0].suppositions
        return
    assert comparison[0].suppositions == ()
    assert found.states("pickup.1") == plain.states("pickup.1")
    before, after = chance_of(plain, "pickup.1"), chance_of(found, "pickup.1")
    if before is not None and after is not None:
        assert abs(after - before) < 0.01


# -- 8. the whole does not prove the part, nor the part the whole -----------------------------------------

LABEL = {"id": "label", "position": "serial", "text": "Jan 1962", "reads": "1962-01"}


def test_a_dated_whole_does_not_make_its_parts_the_first(weigh_sheet):
    found = weigh_sheet(
        marks=[LABEL],
        features=[{"id": "jack-kind", "position": "jack", "feature": "kind", "value": "plain"}],
    )
    assert found.completed().not_before.date is not None
    assert "first-fitted" not in found.states("jack")


def test_parts_that_all_fit_do_not_make_the_roots_belong_together(weigh_sheet):
    places = ["jack", "switch", "knobs", "tuners", "nut", "frets"]
    found = weigh_sheet(
        marks=[LABEL],
        features=[feature("neck-kind", "neck"), *(feature(f"f-{p}", p) for p in places)],
        pack={"timelines": [timeline(f"row-{p}", p, "1960", "1964") for p in [*places, "neck"]]},
    )
    assert found.states("neck") == {"presumed first-fitted (untested)"}
    before = weigh_sheet(marks=[LABEL], features=[feature("neck-kind", "neck")])
    prior = {s.id: s.prior for s in before.report.suppositions}["joined:body+neck"]
    # Older by its earliest date, never likelier by its parts.
    assert {s.id: s.prior for s in found.report.suppositions}["joined:body+neck"] <= prior


def test_no_statement_of_a_report_rests_on_itself(weigh):
    for name in ("kestwick-arrow", "tessmar-solid", "circular-range-variant", "quillon-banjo"):
        below = {f.id: f.premises for f in weigh(name).findings}
        assert list(TopologicalSorter(below).static_order())


# -- 9. no evidence across roots without a union ------------------------------------------------------


def test_a_dated_neck_does_not_date_the_body_without_their_union(weigh_sheet):
    stamp = {"id": "stamp", "position": "neck", "text": "MAR 62", "reads": "1962-03"}
    end = weigh_sheet(marks=[stamp]).completed().not_before
    assert end.date == "1962-03-01"
    assert "joined:body+neck" in end.suppositions
    assert {shift.date for shift in end.shifts if shift.without == "line:stamp"} == {None}


def test_roots_that_no_union_joins_do_not_date_one_another(weigh_sheet):
    prior = {"years": "50", "low": "0.8", "middle": "0.9", "high": "0.95"}
    position = {"link": "root", "priors": [prior], "examine": "look"}
    catalogue = {
        "kind": "pair",
        "name": "pair",
        "source": "common practice, no source (invented case)",
        "anchor": "one",
        "positions": [
            position | {"id": "one", "name": "one"},
            position | {"id": "other", "name": "other"},
        ],
    }
    stamp = {"id": "stamp", "position": "other", "text": "MAR 62", "reads": "1962-03"}
    found = weigh_sheet("pair", marks=[stamp], pack={"catalogues": [catalogue]})
    assert found.completed_ends() == {(None, None)}


@pytest.mark.parametrize("member", ["speaker-frame", "output-transformer"])
def test_joints_that_span_two_roots_do_not_stand_in_for_their_union(weigh_sheet, member):
    marks = [{"id": "code", "position": member, "text": "940-6214"}]
    joints = {
        "id": "joints",
        "trace": "undisturbed-joints",
        "positions": ["speaker-frame", "output-transformer"],
    }
    end = weigh_sheet("valve-amplifier", marks=marks, traces=[joints]).completed().not_before
    crosses = member == "speaker-frame"
    assert end.date is not None
    assert ("joined:chassis+cabinet" in end.suppositions) is crosses


def test_a_foreign_cabinet_lends_its_date_to_no_chassis(weigh_sheet):
    numbers = {"id": "one-number", "positions": ["chassis", "cabinet"], "what": "one number"}
    marks = [
        {"id": "chassis-number", "position": "chassis", "text": "2041"},
        {"id": "cabinet-number", "position": "cabinet", "text": "1876"},
        {"id": "chart", "position": "chart", "text": "June 1953", "reads": "1953-06"},
    ]
    found = weigh_sheet("valve-amplifier", marks=marks, pack={"matching_numbers": [numbers]})
    assert found.leading[0].gives_up == ("joined:chassis+cabinet",)
    assert found.completed(found.leading[0]).not_before.date is None
    assert found.completed(found.leading[0]).not_after.date is None


# -- 10. no multiplying within one fitting event, one sitting or copied papers ------------------------------


def harness(count):
    places = [f"pot.{n}" for n in range(1, count + 1)]
    marks = [
        {"id": f"code-{n}", "position": place, "text": f"912-66{10 + n}"}
        for n, place in enumerate(places, 1)
    ]
    joints = {"id": "joints", "trace": "undisturbed-joints", "positions": [*places, "jack"]}
    return marks, joints


def test_four_controls_fitted_as_one_are_one_supposition(weigh_sheet):
    marks, joints = harness(4)
    found = weigh_sheet(marks=marks, traces=[joints])
    events = {found.position(f"pot.{n}").fitting_event for n in range(1, 5)}
    assert len(events) == 1
    own = [s for s in found.report.suppositions if s.id.startswith("first-fitted:pot")]
    assert own == []


def test_more_codes_of_one_fitting_event_do_not_multiply(weigh_sheet):
    event, chances = "", []
    for count in (1, 4):
        marks, joints = harness(4)
        found = weigh_sheet(marks=[*marks[:count], LABEL], traces=[joints])
        event = found.position("pot.1").fitting_event
        chances.append(chance_of(found, event))
    if None not in chances:
        odds = [chance / (1 - chance) for chance in chances]
        # Each code by itself says up to 3.35 to 1; four of them as four would say 126 to 1.
        assert odds[1] < odds[0] * 3.35


def test_two_traces_that_one_sitting_saw_count_as_the_stronger(weigh_sheet):
    trace = {"trace": "single-footprint", "positions": ["tuners"]}
    one = weigh_sheet(traces=[{"id": "one", **trace}])
    two = weigh_sheet(traces=[{"id": "one", **trace}, {"id": "again", **trace}])
    priors = [
        {s.id: s.prior for s in found.report.suppositions}["first-fitted:tuners"]
        for found in (one, two)
    ]
    assert priors[0] == priors[1]


def two_papers(weigh_sheet, *, copied, count=2):
    """The chance that the papers, and not the stamp, are given up."""
    titles = ["first", "second"][:count]
    kind = {"kind": "publication", "title": "A list", "date": "1990"}
    copies = {"second": {"copied_from": "first"}} if copied else {}
    said = {"event": "completed", "date": "1950", "names_this_object": "yes", "paper": "book"}
    found = weigh_sheet(
        sources=[{"id": name, **kind, **copies.get(name, {})} for name in titles],
        papers=[{"id": f"said-{n}", "source": n, "says": "Made in 1950", **said} for n in titles],
        marks=[{"id": "stamp", "position": "body", "text": "7 JUN 1962", "reads": "1962-06-07"}],
    )
    lost = {f"sound:said-{name}" for name in titles}
    (account,) = [a for a in found.report.accounts if set(a.gives_up) == lost]
    return account


def test_a_paper_that_repeats_another_adds_nothing(weigh_sheet):
    one = two_papers(weigh_sheet, copied=False, count=1)
    copied = two_papers(weigh_sheet, copied=True)
    independent = two_papers(weigh_sheet, copied=False)
    assert copied.is_leading == one.is_leading
    if one.chance is not None and copied.chance is not None and independent.chance is not None:
        assert copied.chance == pytest.approx(one.chance, abs=0.01)
        assert independent.chance < one.chance / 2


# -- 11. no range tested on the examples that it was made from ---------------------------------------------


def test_a_range_is_not_tested_on_an_example_that_it_rests_on(weigh_sheet):
    others = [
        {"instrument": f"other-{n}", "source": "census", "date": date}
        for n, date in enumerate(("1955", "1956", "1957", "1958"), 1)
    ]
    own = {"instrument": "tiny", "source": "census", "date": "1968"}
    row = timeline("knob-span", "knobs", "1955", "1968")
    with_it = weigh_sheet(
        features=[feature("now", "knobs")], pack={"timelines": [row | {"examples": [*others, own]}]}
    )
    without = weigh_sheet(
        features=[feature("now", "knobs")],
        pack={"timelines": [timeline("knob-span", "knobs", "1955", "1958") | {"examples": others}]},
    )
    told = [f for f in with_it.report.findings if f.kind == "dependency"]
    assert told
    assert not [f for f in without.report.findings if f.kind == "dependency"]
    # Four others: their range is extended by (1 - 0.95) ** (-1 / 3) - 1 of it (Strauss and Sadler
    # 1989), and the end that this instrument alone gave is not used.
    assert with_it.completed().not_after.date != "1968-12-31"


# -- 12. matching codes are no support where the part was matched to the period -----------------------

MATCHED_WORK = {
    "id": "matched-pot",
    "action": "replaced",
    "positions": ["pot.1"],
    "date": "2011",
    "by": "workshop",
    "replacement": "period",
}


def test_a_fitting_code_does_not_make_a_period_matched_part_the_first(weigh_sheet):
    stamp = {"id": "stamp", "position": "body", "text": "5-66", "reads": "1966-05"}
    found = weigh_sheet(marks=[POT, stamp], works=[MATCHED_WORK])
    assert found.states("pot.1") == {"period replacement"}


def test_the_code_of_a_period_matched_part_does_not_bound_completion(weigh_sheet):
    stamp = {"id": "stamp", "position": "body", "text": "2-66", "reads": "1966-02"}
    found = weigh_sheet(marks=[POT, stamp], works=[MATCHED_WORK])
    assert found.completed().not_before.date == "1966-02-01"
    assert not found.rests_on("code", found.completed().not_before.suppositions)


def test_a_fitting_code_says_less_for_a_part_of_a_piece_that_collectors_seek(weigh_sheet):
    # Common practice, no source: in such pieces as many replacements are chosen to match as are not
    # (0.4, 0.4 and 0.2 for 0.7, 0.2 and 0.1).
    stamp = {"id": "stamp", "position": "body", "text": "5-66", "reads": "1966-05"}
    odds = []
    for collected in ("no", "yes"):
        found = weigh_sheet(about={"collected": collected}, marks=[POT, stamp]).report
        (pot,) = (part for part in found.chances.parts if part.event == "pot.1")
        odds.append(pot.chance / (1 - pot.chance))
    assert 1 < odds[1] < 0.75 * odds[0]


@pytest.mark.parametrize(
    ("collected", "shares"),
    [("no", ("70 %", "20 %", "10 %")), ("yes", ("40 %", "40 %", "20 %"))],
    ids=["not collected", "collected"],
)
def test_the_report_states_how_replacements_are_taken_to_divide(weigh_sheet, collected, shares):
    granted = weigh_sheet(about={"collected": collected}, marks=[POT]).report.taken_for_granted
    (said,) = (each for each in granted if each.startswith("Of parts that were replaced"))
    assert [said.index(share) for share in shares]


# -- 13. the years of a catalogue are no hard ends for parts ---------------------------------------------------


def test_a_part_older_than_its_model_is_old_stock_and_not_impossible(weigh_sheet):
    rows = [timeline("introduced", "body", "1956", None)]
    found = weigh_sheet(
        marks=[{"id": "code", "position": "pot.1", "text": "912-4629"}],
        features=[feature("outline", "body")],
        pack={"timelines": rows},
    )
    for conflict in found.report.conflicts:
        assert any("shelf-life" in name for name in conflict.suppositions)
    made = found.position("pot.1").made
    assert made is None or made[0] is None or made[0] < "1956"


@pytest.mark.parametrize(
    ("begins", "ends"), [("1956", None), (None, "1957")], ids=["introduced", "discontinued"]
)
def test_the_years_of_a_row_bound_completion_and_only_while_the_row_holds(
    weigh_sheet, begins, ends
):
    found = weigh_sheet(
        features=[feature("outline", "knobs")],
        pack={"timelines": [timeline("years", "knobs", begins, ends)]},
    )
    bounds = [f for f in found.report.findings if f.kind == "bound"]
    assert bounds
    for bound in bounds:
        assert bound.moment == "completed:body"
        assert "holds:tiny-pack/years" in bound.suppositions
        assert "first-fitted:knobs" in bound.suppositions


# -- 14. nothing unexpected is dropped, and nothing read is not evidence ---------------------------------


def test_an_unexplained_trace_stays_open(weigh_sheet):
    trace = {"id": "holes", "trace": "filled-holes", "positions": ["tuners"]}
    surprises = weigh_sheet(traces=[trace]).report.surprises
    assert [s.is_open for s in surprises if s.line.endswith("holes")] == [True]


def test_a_trace_is_closed_only_by_a_work_that_accounts_for_it(weigh_sheet):
    trace = {"id": "holes", "trace": "filled-holes", "positions": ["tuners"]}
    work = {"id": "new-tuners", "action": "replaced", "positions": ["tuners"], "by": "owner"}
    unrelated = {"id": "new-jack", "action": "replaced", "positions": ["jack"], "by": "owner"}
    explained = weigh_sheet(traces=[trace], works=[work | {"explains": ["holes"]}])
    unexplained = weigh_sheet(traces=[trace], works=[unrelated])
    assert not [s for s in explained.report.surprises if s.is_open and s.line.endswith("holes")]
    assert [s for s in unexplained.report.surprises if s.is_open and s.line.endswith("holes")]


@pytest.mark.parametrize(
    "line",
    [
        {"value": "not legible", "why": "solder over it"},
        {"value": "not examined", "why": "the can was not opened"},
        {"value": "searched, not found", "method": "loupe"},
    ],
    ids=["not legible", "not examined", "not found"],
)
def test_a_nothing_moves_no_date_and_no_account(weigh_sheet, line):
    marks = [
        POT,
        {"id": "label", "position": "serial", "text": "Jan 1962", "reads": "1962-01"},
    ]
    nothing = {"id": "nothing", "positions": ["pot.2"], "what": "a code", **line}
    plain, more = weigh_sheet(marks=marks), weigh_sheet(marks=marks, non_values=[nothing])
    accounts = [
        [(a.gives_up, a.is_leading, a.odds_note) for a in found.report.accounts]
        for found in (plain, more)
    ]
    assert accounts[0] == accounts[1]
    assert plain.completed_ends() == more.completed_ends()
    assert plain.states("pot.1") == more.states("pot.1")


# -- 15. votes are not counted ----------------------------------------------------------------------------

OFTEN_CHANGED = (
    "jack",
    "switch",
    "switch-tip",
    "strap-buttons",
    "knobs",
    "nut",
    "frets",
    "tuners",
    "covers",
)


@pytest.mark.parametrize("count", [1, 3, 9], ids=["one", "three", "nine"])
def test_many_weak_agreements_do_not_outvote_one_firm_contradiction(weigh_sheet, count):
    places = OFTEN_CHANGED[:count]
    found = weigh_sheet(
        marks=[{"id": "stamp", "position": "body", "text": "7 JUN 1962", "reads": "1962-06-07"}],
        features=[feature(f"early-{place}", place) for place in places],
        pack={"timelines": [timeline(f"row-{place}", place, "1955", "1957") for place in places]},
    )
    assert found.completed(found.leading[0]).not_before.date == "1962-06-07"
    assert "sound:stamp" not in found.leading[0].gives_up


def test_both_sides_of_a_contradiction_are_shown_with_the_premise_to_give_way(weigh_sheet):
    found = weigh_sheet(
        marks=[{"id": "stamp", "position": "body", "text": "7 JUN 1962", "reads": "1962-06-07"}],
        features=[feature("early-jack", "jack"), feature("early-knobs", "knobs")],
        pack={
            "timelines": [
                timeline("row-jack", "jack", "1955", "1957"),
                timeline("row-knobs", "knobs", "1955", "1957"),
            ]
        },
    )
    conflicts = {conflict.suppositions for conflict in found.report.conflicts}
    assert len(conflicts) == 2
    assert all("sound:stamp" in suppositions for suppositions in conflicts)
    assert all(len(conflict.chains) > 1 for conflict in found.report.conflicts)
    ways = [set(account.gives_up) for account in found.report.accounts]
    assert {"sound:stamp"} in ways
    assert {"first-fitted:jack", "first-fitted:knobs"} in ways


@pytest.mark.parametrize("action", ["replaced", "altered"])
def test_the_record_of_one_work_is_not_outvoted_by_the_parts_it_names(weigh_sheet, action):
    places = ["headstock-face", "fingerboard", "inlays", "truss-rod", "pickup.1", "guard"]
    work = {"id": "overhaul", "action": action, "positions": places, "date": "1974"}
    docket = {"id": "docket", "kind": "document", "title": "Docket", "by": "B", "date": "1974"}
    work |= {"source": "docket", "by": "workshop"}
    found = weigh_sheet(sources=[docket], works=[work])
    assert all("sound:overhaul" not in account.gives_up for account in found.leading)
    for place in places:
        assert not found.states(place) & FIRST
        assert found.states(place) != {"cannot be told"}


# -- 16. a contradiction is not deceit, and a paper on the object is none on its parts ---------------------


def test_a_contradiction_is_not_called_deceit(weigh_sheet):
    marks = [
        {"id": "label", "position": "label", "text": "1911", "reads": "1911"},
        {"id": "patent", "position": "body", "text": "PAT 77"},
    ]
    found = weigh_sheet("mandolin", marks=marks, pack={"facts": [PATENT]})
    assert found.report.conflicts
    accusing = re.compile(r"\b(fak|forg|fraud|decei|deceptive|lie[sd]?\b|lying|counterfeit|bogus)")
    assert not [text for text in found.texts() if accusing.search(text.lower())]


SOLD = {
    "id": "receipt",
    "paper": "receipt",
    "says": "One guitar, sold",
    "event": "first sold",
    "date": "1966-11-02",
}


def test_a_paper_about_the_object_says_nothing_about_its_parts(weigh_sheet):
    plain = weigh_sheet(marks=[POT])
    papered = weigh_sheet(marks=[POT], papers=[SOLD | {"names_this_object": "yes"}])
    assert papered.completed().not_after.date == "1966-11-02"
    for before, after in zip(plain.report.positions, papered.report.positions, strict=True):
        assert before.position == after.position
        assert before.states == after.states


@pytest.mark.parametrize("named", ["no", "cannot be told"])
def test_a_paper_that_does_not_name_the_object_dates_nothing(weigh_sheet, named):
    found = weigh_sheet(papers=[SOLD | {"names_this_object": named}])
    assert {(d.not_before.date, d.not_after.date) for d in found.report.datings} == {(None, None)}
