"""Advice as a reader meets it: what is advised, what never is, and in which words."""

from __future__ import annotations

import numpy as np
import pytest

from ledger.basis.spans import day_number
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.advising import ADVISED_AT_MOST, LEAST_BITS, advise, advised, survey
from ledger.reason.derive import derive
from ledger.reason.examination import REACHES
from ledger.reason.foreseen_traces import chances_of_traces
from ledger.reason.given import Given
from ledger.reason.next_steps import next_steps
from ledger.reason.priors import fitments, suppositions
from ledger.reason.stretches import stretches_of
from ledger.reason.weighing import scales_of
from ledger.record.case import Case, Recorded, withheld_fields
from ledger.references import PackFile

PACKS = Packs.of(built_in_packs())
BENCH = {"id": "bench", "kind": "examination", "title": "Sitting", "by": "A", "date": "2020-01-06"}
POT = {"id": "pot", "position": "pot.volume", "text": "912 5541"}
UNDEFINED = ("original", "authentic", "genuine", "mint", "untouched", "confirmed")


def _case(kind="lap-steel", **sections):
    head = {"id": "tiny", "kind": kind, "name": "A tiny case", "maker": "M", "invented": "yes"}
    lines = {
        name: [{"source": "bench", **line} if name != "parts" else line for line in given]
        for name, given in sections.items()
    }
    sheet = BenchSheet.model_validate(
        {"bench_sheet": "1", "instrument": head, "sources": [BENCH], **lines}
    )
    found = {}
    for section in SECTIONS:
        for line in getattr(sheet, section):
            hidden = withheld_fields(section, line)
            found[line.id] = Recorded(line, section, len(found) + 2, "0" * 64, hidden, "")
    return Case(sheet.instrument, len(found) + 1, found)


def _scales(case, packs=PACKS):
    derivation = derive(case, packs)
    fitment = fitments(derivation.draft)
    supposed = suppositions(derivation.draft, fitment)
    return scales_of(derivation.draft, derivation.readings, supposed, fitment)


def _advice(packs=PACKS, kind="lap-steel", **sections):
    scales = _scales(_case(kind, **sections), packs)
    return advise(scales, scales.on(), scales.evidence.draft)


def _ids(advice):
    return {each.id for each in advice}


def _pack(**sections):
    rows = {
        name: [
            {"source": "common practice, no source (invented case)", "confidence": "high", **row}
            for row in given
        ]
        for name, given in sections.items()
    }
    own = {"pack": "tiny", "title": "Tiny", "version": "1", "invented": "yes", **rows}
    return Packs.of((*built_in_packs(), PackFile.model_validate(own)))


def test_a_mark_that_was_read_is_not_advised_again_and_one_that_was_not_is():
    found = _ids(_advice(marks=[POT]))
    assert "mark.pot.volume" not in found
    assert "mark.capacitor" in found


def test_parts_of_one_of_several_pickups_are_advised_on_though_nobody_says_of_which():
    # The catalogue's coil and cover hang from a pickup; the record has two, and neither by itself.
    pickups = [
        {"id": f"code-{which}", "position": f"pickup.{which}", "text": "137-6218"}
        for which in ("bridge", "neck")
    ]
    found = _advice(kind="solid-body-electric", marks=pickups)
    assert any(each.positions == ("pickup-cover",) for each in found)


def test_a_removed_part_of_a_part_that_nothing_is_said_of_is_weighed_with_it():
    scales = _scales(
        _case(
            "solid-body-electric",
            parts=[{"id": "old-coil", "position": "pickup-coil.bridge", "name": "old coil"}],
            marks=[
                {"id": "coil-code", "part": "old-coil", "text": "137-6218"},
                {"id": "pickup-code", "position": "pickup.neck", "text": "137-6220"},
            ],
        )
    )
    chances = scales.on().chances("way:part/old-coil")
    assert chances.sum() == pytest.approx(1)
    # An integral part is the first no more often than what it belongs to.
    assert chances[0] <= scales.on().chances("way:pickup.bridge")[0] + 1e-9


def test_a_worn_mark_is_advised_to_be_read_again_and_a_clear_one_is_not():
    assert "again.pot" in _ids(_advice(marks=[{**POT, "legibility": "worn"}]))
    assert "again.pot" not in _ids(_advice(marks=[POT]))


def test_of_a_glyph_that_cannot_be_read_each_reading_is_an_outcome():
    mark = {**POT, "text": "912 55?1", "legibility": "partial"}
    again = next(each for each in _advice(marks=[mark]) if each.id == "again.pot")
    words = [outcome.outcome for outcome in again.outcomes]
    assert any("912 55" in word for word in words)
    assert sum(outcome.chance for outcome in again.outcomes) <= 1.001


def test_the_glyphs_of_a_mark_that_is_withheld_are_not_told():
    mark = {**POT, "text": "912 55?1", "legibility": "partial", "withhold": ["text"]}
    for each in _advice(marks=[mark]):
        said = " ".join((each.what, each.sentence, *(o.sentence for o in each.outcomes)))
        assert "912" not in said


def test_a_search_that_found_nothing_is_not_advised_again_and_one_that_was_left_says_why():
    searched = {
        "id": "none",
        "positions": ["capacitor"],
        "value": "searched, not found",
        "what": "date code",
        "method": "loupe, all sides",
    }
    left = {
        "id": "left",
        "positions": ["pickup-magnet"],
        "value": "not examined",
        "what": "ink mark",
        "why": "the windings would have to come off",
    }
    found = {each.id: each for each in _advice(marks=[POT], non_values=[searched, left])}
    assert "mark.capacitor" not in found
    assert "the windings would have to come off" in found["mark.pickup-magnet"].sentence


def test_what_does_not_apply_or_is_missing_is_not_advised():
    gone = {"id": "gone", "position": "knobs", "feature": "presence", "value": "missing"}
    none = {
        "id": "none",
        "positions": ["capacitor", "switch"],
        "value": "not applicable",
        "what": "parts",
    }
    found = _advice(marks=[POT], features=[gone], non_values=[none])
    assert not {p for each in found for p in each.positions} & {"knobs", "capacitor", "switch"}


def test_the_least_invasive_come_first_and_what_cannot_be_ordered_up_last():
    found = _advice(kind="solid-body-electric", marks=[POT])
    order = [(not each.is_to_be_had, REACHES.index(each.reach)) for each in found]
    assert order == sorted(order)
    assert {each.reach for each in found} >= {"look", "open", "remove"}
    assert not found[-1].is_to_be_had
    assert len(found) <= ADVISED_AT_MOST


def test_whatever_goes_further_than_looking_names_what_it_can_cost():
    for kind in ("lap-steel", "solid-body-electric", "valve-amplifier"):
        for each in _advice(kind=kind, marks=[POT]):
            if each.is_to_be_had and each.reach != "look":
                assert each.loses
                assert each.loses.rstrip(".").casefold() in each.sentence.casefold()


def test_an_amplifier_is_advised_with_its_cautions():
    found = _advice(kind="valve-amplifier", marks=[POT])
    opened = [each for each in found if "mains-transformer" in each.positions]
    assert opened
    assert all("stored-charge" in each.cautions for each in opened)


def test_every_sentence_is_plain_and_no_chance_is_out_of_range():
    for each in _advice(kind="solid-body-electric", marks=[{**POT, "legibility": "worn"}]):
        assert each.date_bits >= 0
        assert each.state_bits >= 0
        assert max(each.date_bits, each.state_bits) >= LEAST_BITS / 2
        assert 0 < sum(outcome.chance for outcome in each.outcomes) <= 1.001
        for text in (each.sentence, *(outcome.sentence for outcome in each.outcomes)):
            assert text.endswith(".")
            assert not any(word in text.casefold() for word in UNDEFINED), text
            assert "nan" not in text.split()


def test_outcomes_name_what_they_would_change():
    found = {each.id: each for each in _advice(marks=[POT])}
    told = " ".join(outcome.sentence for outcome in found["mark.capacitor"].outcomes)
    assert "the date narrows to" in told
    assert "the capacitor left the works with it with a chance of" in told


@pytest.mark.parametrize(
    ("sections", "wanted"),
    [
        (
            {
                "timelines": [
                    {
                        "position": "bridge",
                        "id": "long",
                        "feature": "bracket",
                        "value": "long",
                        "begins": "1954",
                        "ends": "1955",
                    }
                ]
            },
            "feature.bridge.bracket",
        ),
        (
            {
                "specifications": [
                    {
                        "position": "nut",
                        "id": "wide",
                        "quantity": "width",
                        "low": "50 mm",
                        "high": "52 mm",
                    }
                ]
            },
            "measure.nut.width",
        ),
        (
            {
                "matching_numbers": [
                    {"id": "pair", "positions": ["body", "tuner-pan"], "what": "a job number"}
                ]
            },
            "numbers.body.tuner-pan",
        ),
    ],
    ids=["timeline", "specification", "numbers"],
)
def test_a_row_of_a_pack_that_nobody_looked_at_is_advised_and_cited(sections, wanted):
    found = {each.id: each for each in _advice(_pack(**sections), marks=[POT])}
    assert wanted in found
    assert any(row.startswith("tiny/") for row in found[wanted].rows)


def test_a_timeline_built_on_this_very_instrument_is_not_advised_as_a_test_of_it():
    row = {
        "position": "bridge",
        "id": "long",
        "feature": "bracket",
        "value": "long",
        "begins": "1954",
        "ends": "1955",
        "examples": [{"instrument": "tiny", "source": "invented", "date": "1954"}],
    }
    assert "feature.bridge.bracket" not in _ids(_advice(_pack(timelines=[row]), marks=[POT]))


def test_a_range_that_only_starts_an_open_question_is_not_advised():
    row = {
        "position": "capacitor",
        "id": "value",
        "quantity": "capacitance",
        "low": "40 nF",
        "high": "60 nF",
    }
    found = _ids(_advice(_pack(specifications=[row]), marks=[POT]))
    assert "measure.capacitor.capacitance" not in found


def test_advising_changes_nothing_of_what_was_weighed():
    scales = _scales(_case(marks=[POT]))
    outcome = scales.on()
    before = (outcome.weeks().copy(), sorted(scales.evidence.sizes), len(scales.evidence.pieces))
    doubts = sorted(scales.evidence.draft.doubts)
    first = advised(survey(outcome))
    assert advised(survey(outcome)) == first
    after = (outcome.weeks(), sorted(scales.evidence.sizes), len(scales.evidence.pieces))
    assert np.array_equal(before[0], after[0])
    assert before[1:] == after[1:]
    assert sorted(scales.evidence.draft.doubts) == doubts


def test_the_rows_that_advice_rests_on_are_written_on_the_draft():
    scales = _scales(_case(marks=[POT]))
    draft = scales.evidence.draft
    found = advise(scales, scales.on(), draft)
    assert {row for each in found for row in each.rows} <= set(draft.rows)


def test_what_is_supposed_for_the_sake_of_argument_is_advised_upon():
    case = _case(marks=[POT])
    plain = {each.id: each for each in next_steps(case, PACKS).advice}
    given = Given(fails=("first-fitted:pot.volume",))
    argued = {each.id: each for each in next_steps(case, PACKS, given=given).advice}
    assert argued["mark.capacitor"].date_bits > plain["mark.capacitor"].date_bits


def test_without_a_date_there_is_no_advice_and_the_note_says_so():
    trace = {"id": "seen", "trace": "extra-holes", "positions": ["tuners"]}
    found = next_steps(_case(traces=[trace]), PACKS)
    assert found.advice == ()
    assert "Nothing recorded has a date" in found.note


@pytest.mark.parametrize("asked", ["date", "capacitor", "pot.volume"])
def test_a_question_has_its_proposal(asked):
    found = next_steps(_case(marks=[POT]), PACKS, asked)
    assert found.proposal is not None
    assert 0 <= found.proposal.chance_now <= found.proposal.chance + 1e-9 <= 1 + 1e-9
    assert found.proposal.sentence.endswith(".")


def test_the_root_that_all_is_counted_from_needs_no_examination():
    proposal = next_steps(_case(marks=[POT]), PACKS, "body").proposal
    assert proposal.examinations == ()
    assert proposal.would_settle


@pytest.mark.parametrize("seen", [0.35, 0.6, 0.85])
def test_foreseen_traces_keep_the_strengths_of_practice(seen):
    """The ratios are the practice pack's own, common practice, no source."""
    strengths = [(31.6, 6.3), (0.045, 0.17), (0.18, 0.18)]
    table = chances_of_traces(strengths, seen)
    assert table.sum(axis=0) == pytest.approx(1)
    assert table.min() >= 0
    for row, (service, matching) in zip(table, strengths, strict=False):
        assert row[0] / row[1] == pytest.approx(service)
        assert row[0] / row[2] == pytest.approx(matching)
        assert row[2] == pytest.approx(row[3])


def test_what_is_foreseen_of_a_stretch_is_what_its_codes_one_by_one_are_weighed_at():
    """A control fitted as one with another whose code is known: way by way and week by week.

    Weeks of codes do not begin where a stretch does, hence the margin.
    """
    known = {**POT, "text": "912 5527"}
    joints = {
        "id": "joints",
        "trace": "undisturbed-joints",
        "positions": ["pot.volume", "pot.tone"],
    }

    def event(*more):
        scales = _scales(_case(marks=[known, *more], traces=[joints]))
        return scales, np.exp(scales.base["event harness"].table)

    scales, before = event()
    made = survey(scales.on())
    read = next(each for each, _ in made.found if each.id == "mark pot.tone")
    year = read.years.index((1955, 1955))
    last = max(i for i, told in enumerate(read.told) if told == year)
    stretches = stretches_of(scales.evidence.axis.first_day, scales.on().weeks())
    first_day = scales.evidence.axis.days(stretches.ends[last])[0]
    week = (first_day - day_number(1955)) // 7 + 1
    ratios = 0.0
    for number in range(week, 53):
        code = {"id": "tone", "position": "pot.tone", "text": f"912 55{number:02d}"}
        ratios = ratios + event(code)[1] / before
    readable = 1 - scales.evidence.draft.packs.practice("illegible-pot").row.value
    weeks = np.argsort(-scales.on().weeks())[:300]
    foreseen = read.table[last] / readable
    assert foreseen[:, weeks] == pytest.approx(ratios[:, weeks], rel=0.05, abs=0.01)


def test_stretches_lie_close_where_the_date_is_open_and_cover_the_whole_axis():
    weeks = np.zeros(3000)
    weeks[1000:1100] = 0.01
    stretches = stretches_of(700_000, weeks)
    assert stretches.ends[0] == 0
    assert stretches.ends[-1] == 3000
    inside = [b - a for a, b in zip(stretches.ends, stretches.ends[1:], strict=False)]
    assert max(inside[1:-1]) <= 53
    lags = np.array([0.5, 0.3, 0.2])
    made = stretches.made_within(lags)
    assert made.sum(axis=0) == pytest.approx(1)
    first = stretches.ends[1]
    # Fitted in the first week of a stretch: half was made in it, the rest before.
    assert made[1, first] == pytest.approx(0.5)
    assert made[0, first] == pytest.approx(0.5)
