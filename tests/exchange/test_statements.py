from __future__ import annotations

from ledger.exchange.statements import NOT_TOLD, SLOTS, TOLD_APART, told_instrument
from ledger.models import ALWAYS_WITHHELD, SECTIONS


def test_every_field_of_every_section_is_told_or_known_not_to_be():
    for section, model in SECTIONS.items():
        told = set(SLOTS[section]) | TOLD_APART | NOT_TOLD
        assert set(model.model_fields) - told <= set(ALWAYS_WITHHELD.get(section, ())), section
        assert set(SLOTS[section]) <= set(model.model_fields), section
        terms = [slot.term for slot in SLOTS[section].values()]
        assert len(terms) == len(set(terms)), "a field can be told from another by its term"


def test_a_withheld_field_is_named_and_its_value_is_not_there(samples):
    one = samples["whinchat-mandolin"]
    told = {line.id: line for line in told_instrument(one.case, one.report).lines}
    assert told["label-number"].withheld == ("text",)
    assert "text" not in dict(told["label-number"].values)
    custody = [line for line in told.values() if line.section == "custody"]
    assert custody
    for line in custody:
        assert "holder" in line.withheld
        assert not {"holder", "place"} & set(dict(line.values))


def test_who_raises_a_challenge_in_private_is_not_told(weigh_lines):
    marks = [{"id": "code", "position": "pot.volume", "text": "137 428"}]
    doubt = {"by": "N. N.", "says": "That is a later one.", "lines": ["code"]}
    one = weigh_lines(
        marks=marks,
        challenges=[
            {"id": "letter", **doubt},
            {"id": "column", **doubt, "raised": "in public"},
        ],
    )
    told = {line.id: line for line in told_instrument(one.case, one.report).lines}
    assert told["letter"].withheld == ("by",)
    assert "by" not in dict(told["letter"].values)
    assert dict(told["column"].values)["by"] == ("N. N.",)
    assert dict(told["letter"].values)["lines"] == ("code",)
