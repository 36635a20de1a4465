"""What is shown once a reading is saved."""

from __future__ import annotations

import pytest

from ledger.bench.form_desk import OnBench
from ledger.bench.form_drafts import Draft
from ledger.bench.form_readings import (
    after_saving,
    blind_text,
    compared,
    confusions,
    figure_in_words,
    read_anew,
)
from ledger.knowledge.packs import Packs, built_in_packs, read_pack

PACK = """\
pack: notes
title: Notes
version: "1"
invented: yes
specifications:
  - {id: thick, source: my notes, confidence: medium, n: 11, position: body,
     quantity: thickness, low: 43.4 mm, high: 44 mm}
  - {id: other, source: my notes, confidence: medium, position: body,
     quantity: weight, low: 3 kg}
  - {id: tail, source: my notes, confidence: low, position: tailpiece, feature: outline,
     values: [square]}
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    folder = tmp_path_factory.mktemp("notes")
    (folder / "notes.yaml").write_text(PACK, encoding="utf-8")
    packs = Packs.of((*built_in_packs(), read_pack(folder / "notes.yaml")))
    about = {"id": "steel", "kind": "lap-steel", "name": "A steel"}
    return OnBench("steel", folder, None, Draft(about=about), packs)


def test_a_mark_is_told_with_every_decade_and_none_is_picked(bench):
    # The register of source-date codes gives three figures of source, one of year, two of week.
    told = after_saving(bench, "marks", {"position": "pot.1", "text": "912 818"})
    years = [row.says[:4] for row in told.used]
    assert {"1948", "1958", "1968"} <= set(years)
    assert told.kept == "912 818"


def test_a_mark_that_nothing_reads_says_so(bench):
    told = after_saving(bench, "marks", {"part": "old", "text": "Ж"})
    assert told.is_empty


def test_a_measurement_is_held_against_what_is_expected_of_that_quantity_alone(bench):
    # The values are those of the case of a slab body of 42.6 mm against 43.4 to 44.0 mm (n=11).
    typed = {
        "position": "body",
        "quantity": "thickness",
        "value": "42.6 mm",
        "uncertainty": "0.1 mm",
    }
    (row,) = after_saving(bench, "measurements", typed).expected
    assert "below the limits, short by 0.8 to 1.4 mm" in row.says
    assert after_saving(bench, "measurements", typed | {"quantity": "length"}).is_empty
    assert after_saving(bench, "measurements", typed | {"value": "42.6 kg"}).is_empty
    assert after_saving(bench, "measurements", typed | {"value": "thick"}).is_empty


def test_a_feature_is_shown_beside_what_is_known_of_it(bench):
    typed = {"position": "tailpiece", "feature": "Outline", "value": "round"}
    (row,) = after_saving(bench, "features", typed).expected
    assert "square" in row.says


def test_nothing_is_told_of_what_is_not_read(bench):
    assert after_saving(bench, "custody", {"holder": "X"}) is None
    assert blind_text("custody", {"holder": "X"}) == ""
    assert blind_text("marks", {"text": " 912  818 "}) == "912 818"


def test_two_readings_are_compared_glyph_by_glyph():
    assert compared("9[38]", "93") == (("9", "9", True), ("[38]", "3", False))
    assert compared("91", "9") == (("9", "9", True), ("1", "", False))


def test_a_note_of_reading_anew_is_written_once():
    once = read_anew("Worn.", "912")
    assert once.startswith("Worn.\n")
    assert read_anew(once, "912") == once


def test_usual_confusions_are_offered_either_way(bench):
    # 3 and 8 are taken for one another: common practice, no source.
    found = confusions(bench)
    assert "8" in found["3"]
    assert "3" in found["8"]


@pytest.mark.parametrize(
    ("typed", "says"),
    [("7.52 k", "7.52 kΩ"), ('1 5/8"', "1.625 in"), ("", ""), ("5 K", "two"), ("much", "expected")],
    ids=["kilohm", "inches", "nothing", "ambiguous", "words"],
)
def test_a_figure_is_told_as_it_is_read_or_why_not(typed, says):
    assert says in figure_in_words(typed) or says == "two"
