from __future__ import annotations

import pytest
from pydantic import ValidationError

from ledger.masks import Mask


def _mask(left="0.1", top="0", width="0.5", height="1"):
    return Mask(left=left, top=top, width=width, height=height)


def test_a_region_is_typed_in_shares_of_the_picture():
    assert _mask() == Mask(left=0.1, top=0, width=0.5, height=1)
    assert _mask("0.7", "0.123456", "0.3", "0.876544").top == 0.123456


@pytest.mark.parametrize(
    "edges",
    [("0.6", "0", "0.5", "1"), ("0", "0.1", "1", "1"), ("0", "0", "0", "1"), ("-0.1", "0", "1", "1"),
     ("1.1", "0", "1", "1"), ("50%", "0", "1", "1"), ("0,5", "0", "1", "1"), ("1e-1", "0", "1", "1"),
     (True, "0", "1", "1"), ("nan", "0", "1", "1"), (float("nan"), "0", "1", "1")],
    ids=str,
)  # fmt: skip
def test_a_region_that_is_not_in_the_picture_is_refused(edges):
    with pytest.raises(ValidationError):
        _mask(*edges)
