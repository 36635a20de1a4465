"""Canonical JSON, held to RFC 8785 and its published test data.

The values are those of RFC 8785 (section 3.2.2, 3.2.3 and appendix B, the last from memory and
computed again) and of cyberphone/json-canonicalization, testdata/ (Apache License 2.0, commit
19d51d7).
"""

from __future__ import annotations

import struct

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.hashing import canonical_json, sha256_hex

PUBLISHED = {
    "arrays": (
        [56, {"d": True, "10": None, "1": []}],
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
    ),
    "structures": (
        {
            "1": {"f": {"f": "hi", "F": 5}, "\n": 56.0},
            "10": {},
            "": "empty",
            "a": {},
            "111": [{"e": "yes", "E": "no"}],
            "A": {},
        },
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
    ),
    "unicode": (
        {"Unnormalized Unicode": "A\u030a"},
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
    ),
    "values": (
        {
            "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
            "literals": [None, True, False],
        },
        "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
    ),
}
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}

plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)
anything = st.recursive(
    plain | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_published_values(name):
    value, digest = PUBLISHED[name]
    assert sha256_hex(canonical_json(value)) == digest


@pytest.mark.parametrize("bits", NUMBERS)
def test_the_published_numbers(bits):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_json(number).decode() == NUMBERS[bits]


def test_the_published_order_of_keys():
    # RFC 8785, 3.2.3: by UTF-16 units, so that the emoji comes before the Hebrew letter.
    value = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    text = canonical_json(value).decode()
    order = ["Carriage", "One", "Control", "Latin", "Euro", "Emoji", "Hebrew"]
    assert sorted(order, key=text.index) == order


@given(anything)
def test_the_short_way_gives_the_bytes_of_the_long_one(value):
    assert canonical_json(value) == rfc8785.dumps(value)


@pytest.mark.parametrize(
    "value",
    [float("nan"), float("inf"), 2**53, {1: 2}, {"a": "\ud800"}, {"a": b"x"}, {("a",): 1}],
    ids=["nan", "infinite", "large", "number-as-key", "half-a-character", "bytes", "tuple-as-key"],
)
def test_what_json_cannot_carry_exactly_is_refused(value):
    with pytest.raises(ValueError, match=r"."):
        canonical_json(value)


def test_what_is_nested_without_end_is_refused():
    value = []
    for _ in range(100_000):
        value = [value]
    with pytest.raises(ValueError, match="nested"):
        canonical_json(value)
