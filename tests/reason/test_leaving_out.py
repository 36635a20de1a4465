"""What a line is worth is what is lost by leaving it out, and what sways is what moves."""

from __future__ import annotations

import re

import pytest

from ledger.basis.verbal_scale import strength
from ledger.reason.in_full import reason_in_full
from ledger.reason.reasoner import reason

SAMPLES = ("dunnock-lap-steel", "whinchat-mandolin", "garganey-amplifier")


@pytest.fixture(scope="module")
def full(sample_case):
    """The full reports on the samples, each made once."""
    found = {}

    def report(name):
        if name not in found:
            case, packs = sample_case(name)
            found[name] = reason_in_full(case, packs)
        return found[name]

    return report


def chance_of(report, finding):
    by_finding = {part.finding: part.chance for part in report.chances.parts}
    return by_finding.get(finding)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_usual_report_says_the_same_chances_without_the_weights(full, sample_case, name):
    case, packs = sample_case(name)
    usual = reason(case, packs).chances
    assert not usual.weights
    assert not usual.sways
    assert [p.chance for p in usual.parts] == [p.chance for p in full(name).chances.parts]
    assert [d.region for d in usual.dates] == [d.region for d in full(name).chances.dates]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_ratio_is_that_of_the_odds_with_and_without_the_line(full, sample_case, name):
    """Held against a report on the case from which the line was really taken out."""
    report = full(name)
    case, packs = sample_case(name)
    tried = 0
    for weight in report.chances.weights:
        given = chance_of(report, weight.about)
        (line, *others) = weight.lines
        section = case.lines[line].section
        # A mark, trace, work or sighting that goes takes the axis, age or anatomy with it.
        if others or given is None or section not in ("papers", "testimony", "measurements"):
            continue
        lines = {key: value for key, value in case.lines.items() if key != line}
        without = reason(type(case)(case.instrument, case.sequence, lines), packs)
        left = chance_of(without, weight.about)
        if not (0 < given < 1 and 0 < left < 1):
            continue  # told to four places, which are the whole or nothing
        ratio = given / (1 - given) / (left / (1 - left))
        assert weight.ratio == pytest.approx(ratio, rel=0.02)
        tried += 1
    assert all(strength(w.ratio) == w.words for w in report.chances.weights)
    assert report.chances.weights or tried


@pytest.mark.parametrize("name", SAMPLES)
def test_ranges_hold_the_chance_and_full_ranges_hold_those(full, name):
    for part in full(name).chances.parts:
        assert part.low - 1e-4 <= part.chance <= part.high + 1e-4
        assert part.widest[0] <= part.low
        assert part.high <= part.widest[1]
        assert sum((part.chance, part.service, part.period, part.transplant)) == pytest.approx(
            1, abs=1e-3
        )
    for each in full(name).chances.suppositions:
        assert each.widest[0] <= each.chance <= each.widest[1] or each.chance == pytest.approx(
            each.widest[0], abs=1e-3
        )


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_is_said_to_be_likelier_where_a_range_straddles_even(full, name):
    for part in full(name).chances.parts:
        straddles = part.widest[0] <= 0.5 <= part.widest[1]
        assert (part.verdict == "cannot be told") == straddles


@pytest.mark.parametrize("name", SAMPLES)
def test_sways_come_most_influential_first(full, name):
    sways = full(name).chances.sways
    sizes = [abs(each.chance_at_high - each.chance_at_low) for each in sways]
    assert sizes == sorted(sizes, reverse=True)
    assert sways
    for each in sways:
        crossed = (each.chance_at_low - 0.5) * (each.chance_at_high - 0.5) <= 0
        assert ("across even" in each.sentence) == crossed


def test_lines_that_are_one_piece_of_evidence_are_left_out_together_as_well(full):
    weights = full("garganey-amplifier").chances.weights
    codes = {"mains-code", "output-code-read", "tone-code", "volume-code"}
    together = [w for w in weights if set(w.lines) == codes and w.about == "chance.completed"]
    alone = [w for w in weights if w.lines == ("tone-code",) and w.about == "chance.completed"]
    assert together
    assert together[0].ratio > alone[0].ratio
    # Four codes on parts fitted as one are not four: together far less than each for itself.
    product = 1.0
    for weight in weights:
        if (
            len(weight.lines) == 1
            and weight.lines[0] in codes
            and weight.about == "chance.completed"
        ):
            product *= weight.ratio
    assert together[0].ratio < 4 * product


@pytest.mark.parametrize("name", SAMPLES)
def test_no_chance_is_told_as_certain(full, name):
    told = [
        *(part.sentence for part in full(name).chances.parts),
        *(weight.sentence for weight in full(name).chances.weights),
    ]
    assert not [each for each in told if re.search(r"(?<![\d.])(100|0) %", each)]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_range_whose_ends_are_told_alike_is_told_once(full, name):
    said = " ".join(part.sentence for part in full(name).chances.parts)
    assert "under 0.1 % to under 0.1 %" not in said
    assert "over 99.9 % to over 99.9 %" not in said


def test_numbers_of_accounts_are_written_in_one_way(full):
    swaps = full("garganey-amplifier").swaps
    assert any("," in swap.sentence.partition("given up by ")[2][:8] for swap in swaps)
    assert not any(re.search(r"given up by \d{4}", swap.sentence) for swap in swaps)
