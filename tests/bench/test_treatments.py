from __future__ import annotations

import pytest

from ledger.bench.treatments import notices
from ledger.models import BenchSheet

BEFORE = {"id": "before", "kind": "examination", "title": "Before", "date": "2026-03-02"}
AFTER = {"id": "after", "kind": "examination", "title": "After", "date": "2026-04-20"}
TOLD = {"id": "told", "kind": "testimony", "title": "Told", "date": "2026-03-01"}
WHOLE = {
    "id": "w",
    "source": "after",
    "action": "replaced",
    "positions": ["pot.1"],
    "date": "2026-04-10",
    "removed": ["old-pot"],
    "retained": "yes",
    "destroyed": "The first joints",
    "reversible": "no",
}
PICTURE = {
    "id": "e",
    "file": "a.png",
    "caption": "Pot",
    "positions": ["pot.1"],
    "date": "2026-03-02",
}


def mark(name, source, position="pot.1"):
    return {"id": name, "source": source, "position": position, "text": "912 818"}


def said(works, **sections):
    sheet = BenchSheet.model_validate(
        {
            "bench_sheet": "1",
            "instrument": {"id": "i", "kind": "lap-steel", "name": "I"},
            "sources": [BEFORE, AFTER, TOLD],
            "parts": [{"id": "old-pot", "position": "pot.1", "name": "Old pot"}],
            "works": works,
            **sections,
        }
    )
    return [notice.says for notice in notices(sheet)]


def test_a_treatment_recorded_before_and_after_is_not_pointed_out():
    marks = [mark("m", "before"), mark("n", "after")]
    assert said([WHOLE], marks=marks, exhibits=[PICTURE]) == []


def test_a_treatment_without_its_before_record_is_pointed_out():
    found = said([WHOLE], marks=[mark("n", "after")], exhibits=[PICTURE])
    assert len(found) == 1
    assert "nothing is recorded of pot.1 from before it" in found[0]


def test_what_was_only_found_not_examined_is_no_before_record():
    nothing = {
        "id": "n", "source": "before", "positions": ["pot.1"], "value": "not examined",
        "what": "code", "why": "no time",
    }  # fmt: skip
    found = said([WHOLE], non_values=[nothing], marks=[mark("n2", "after")], exhibits=[PICTURE])
    assert "from before it" in found[0]


def test_an_observation_of_the_same_sitting_as_the_work_is_no_before_record():
    work = {**WHOLE, "source": "before", "date": "2026-03-02"}
    found = said([work], marks=[mark("m", "before")])
    assert "from before it" in found[0]
    assert "no picture" not in " ".join(found) or "picture" in " ".join(found)


def test_all_that_is_missing_is_said():
    bare = {
        "id": "w",
        "source": "after",
        "action": "replaced",
        "positions": ["pot.1", "jack"],
        "date": "2026-04-10",
    }
    found = " ".join(said([bare]))
    for words in (
        "pot.1, jack from before it",
        "no picture of pot.1, jack",
        "from after it",
        "does not name what came off",
        "what evidence it destroyed",
        "whether it can be undone",
    ):
        assert words in found


@pytest.mark.parametrize(
    "change",
    [{"date": "1961/1964"}, {"date": None}, {"date": "../2025"}],
    ids=["long ago", "undated", "not after"],
)
def test_work_done_before_anybody_here_saw_it_is_history(change):
    assert said([{**WHOLE, "source": "told", **change}]) == []


def test_without_a_dated_examination_nobody_had_it_in_hand():
    undated = {key: value for key, value in BEFORE.items() if key != "date"}
    assert said([WHOLE], sources=[undated, {**AFTER, "kind": "document"}, TOLD]) == []


def test_a_picture_of_all_of_several_is_one_of_each():
    marks = [mark("m", "before"), mark("n", "after")]
    assert said([WHOLE], marks=marks, exhibits=[{**PICTURE, "positions": ["pot"]}]) == []
    found = said([WHOLE], marks=marks, exhibits=[{**PICTURE, "positions": ["pot.2"]}])
    assert "no picture" in found[0]
