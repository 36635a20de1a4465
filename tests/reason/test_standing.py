"""What falls and what stands between two reports. Invented cases; common practice, no source."""

from __future__ import annotations

import pytest

from ledger.reason.reasoner import reason
from ledger.reason.standing import difference
from ledger.reason.suppose import Supposing, suppose


def said(texts, *words):
    return [text for text in texts if all(word in text for word in words)]


@pytest.mark.parametrize(
    ("name", "holds"),
    [("quillon-banjo", "joined:rim+neck"), ("corbel-mandolin", "first-fitted:tuners")],
    ids=["union", "part"],
)
def test_a_conflict_with_one_supposition_settled_is_the_same_one_narrowed(
    case_and_packs, name, holds
):
    case, packs = case_and_packs(name)
    before = reason(case, packs)
    assert any(holds in each.suppositions for each in before.conflicts)
    after = suppose(case, packs, Supposing(holds=(holds,)))
    told = difference(before, after)
    assert not said(told.conflicts, "would no longer stand")
    assert not said(told.conflicts, "would arise")
    assert said(told.stands, "A conflict stands as before", "can no longer be given up in it")


def test_a_conflict_that_goes_and_leaves_none_behind_is_still_told(case_and_packs):
    case, packs = case_and_packs("corbel-mandolin")
    after = suppose(case, packs, Supposing(fails=("first-fitted:tuners",)))
    told = difference(reason(case, packs), after)
    assert said(told.conflicts, "would no longer stand")
    assert not said(told.stands, "A conflict stands")
