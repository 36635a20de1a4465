from __future__ import annotations

import re

import pytest

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.references import Caution

ROWS = Packs.of(built_in_packs()).rows(Caution)


def shown(found):
    return {caution.id: caution for caution in found.report.cautions}


@pytest.mark.parametrize(
    ("section", "line", "caution"),
    [
        (
            "features",
            {"position": "fingerboard", "feature": "wood", "value": "Brazilian rosewood, by sight"},
            "species-brazilian-rosewood",
        ),
        (
            "features",
            {"position": "nut", "feature": "material", "value": "ivory or bone"},
            "species-ivory",
        ),
        (
            "works",
            {"positions": ["finish"], "action": "altered", "materials": "acetone"},
            "solvents",
        ),
        (
            "non_values",
            {
                "positions": ["finish"],
                "value": "searched, not found",
                "what": "retouch",
                "method": "UV-A, 365 nm",
            },
            "ultraviolet",
        ),
        (
            "measurements",
            {
                "position": "pot.1",
                "quantity": "resistance",
                "value": "500 k",
                "circuit": "leg unsoldered",
            },
            "lead-solder",
        ),
        ("marks", {"position": "knobs", "text": "A", "note": "luminous dial"}, "luminous-paint"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_caution_stands_beside_the_line_whose_words_call_for_it(
    weigh_sheet, section, line, caution
):
    plain = weigh_sheet()
    found = weigh_sheet(**{section: [{"id": "line", **line}]})
    place = line.get("position") or line["positions"][0]
    assert caution in found.position(place).cautions
    assert caution in shown(found)
    before = {name for position in plain.report.positions for name in position.cautions}
    if caution not in before:
        assert {p.position for p in found.report.positions if caution in p.cautions} == {place}


def test_a_removed_part_is_named_beside_its_caution(weigh_sheet):
    part = {"id": "old-guard", "position": "guard", "name": "guard of tortoise-shell"}
    found = weigh_sheet(parts=[part])
    assert shown(found)["species-tortoiseshell"].about == "guard of tortoise-shell"


def test_withheld_words_call_for_nothing(weigh_sheet):
    line = {"id": "nut-kind", "position": "nut", "feature": "material", "value": "ivory"}
    found = weigh_sheet(features=[line | {"withhold": ["value"]}])
    assert "species-ivory" not in shown(found)


def test_an_amplifier_is_never_shown_without_its_danger(weigh_sheet):
    assert "stored-charge" in shown(weigh_sheet("valve-amplifier"))


# -- the rows ----------------------------------------------------------------------------------------------


def test_no_caution_clears_anything():
    said = " ".join(row.row.says for row in ROWS).lower()
    assert not re.search(r"\b(is|are|has been|have been) (cleared|safe|legal|allowed)\b", said)
    for row in ROWS:
        if row.row.id.startswith("species-"):
            assert "look up the law now in force" in row.row.says, row.id
            assert "not verified" in row.row.says, row.id


@pytest.mark.parametrize(
    ("row_id", "day"),
    [
        # Convention on International Trade in Endangered Species, days of the appendices; from
        # memory but for the annotation of 2019.
        ("species-brazilian-rosewood", "1992-06-11"),
        ("species-dalbergia", "2017-01-02"),
        ("species-dalbergia", "2019-11-26"),
        ("species-ivory", "1990-01-18"),
        ("species-tortoiseshell", "1977-02-04"),
    ],
)
def test_dated_rules_have_the_published_days(row_id, day):
    (row,) = (row.row for row in ROWS if row.row.id == row_id)
    assert day in row.says


def test_every_caution_has_a_source_and_words_or_a_position():
    view_cautions = {
        name
        for pack in built_in_packs()
        for catalogue in pack.catalogues
        for name in (*catalogue.cautions, *(n for p in catalogue.positions for n in p.cautions))
    }
    for row in ROWS:
        assert row.row.source, row.id
        assert row.row.words or row.row.id in view_cautions, row.id
