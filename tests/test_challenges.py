"""What a challenge and an answer may hold, and what of them is withheld unasked."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from ledger.challenges import Answer, Challenge
from ledger.record.case import withheld_fields

DOUBT = {"id": "doubt", "says": "It is not so."}
ANSWER = {"id": "answer", "challenge": "doubt", "date": "2026-01-05", "says": "It is so."}


@pytest.mark.parametrize(
    "named",
    [
        {"lines": ["code"]},
        {"sources": ["bench"]},
        {"positions": ["pot.1"]},
        {"parts": ["old-pot"]},
        {"suppositions": ["sound:code"]},
        {"insists": ["first-fitted:pot.1"]},
        {"findings": ["state.pot.1"]},
        {"references": ["pack/row"]},
        {"mark": "code", "mark_reads": "912 6?4"},
    ],
    ids=lambda named: next(iter(named)),
)
def test_a_challenge_names_what_it_doubts(named):
    assert Challenge.model_validate(DOUBT | named)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ({}, "nothing that is doubted"),
        ({"mark": "code"}, "mark without mark_reads"),
        ({"mark_reads": "912", "lines": ["code"]}, "mark_reads without mark"),
        ({"suppositions": ["code"]}, "suppositions"),
        ({"references": ["row"]}, "references"),
        ({"says": "", "lines": ["code"]}, "says"),
    ],
    ids=["nothing", "half a mark", "other half", "no kind", "no pack", "no words"],
)
def test_a_challenge_that_names_nothing_or_half_is_refused(line, said):
    with pytest.raises(ValidationError, match=said):
        Challenge.model_validate(DOUBT | line)


def test_who_raises_a_challenge_in_private_and_who_was_told_are_withheld():
    private = Challenge.model_validate(DOUBT | {"lines": ["code"], "by": "somebody"})
    public = private.model_copy(update={"raised": "in public"})
    assert withheld_fields("challenges", private) == {"by"}
    assert withheld_fields("challenges", public) == frozenset()
    answer = Answer.model_validate(ANSWER | {"corrects": "what was said", "told": "somebody"})
    assert withheld_fields("answers", answer) == {"told"}


def test_only_an_erratum_has_somebody_to_tell():
    with pytest.raises(ValidationError, match="told without corrects"):
        Answer.model_validate(ANSWER | {"told": "somebody"})
    with pytest.raises(ValidationError, match="date"):
        Answer.model_validate({k: v for k, v in ANSWER.items() if k != "date"})
