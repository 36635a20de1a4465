"""How rows of packs read."""

from __future__ import annotations

import pytest

from ledger.reason.row_wording import row_sentence
from ledger.references import SerialTable


def table(*ranges):
    return SerialTable.model_validate(
        {
            "id": "t",
            "source": "invented",
            "confidence": "high",
            "pattern": "(.*)",
            "bears_on": "completed",
            "ranges": [dict(zip(("first", "last", "date"), each, strict=True)) for each in ranges],
        }
    )


@pytest.mark.parametrize(
    ("ranges", "said"),
    [
        (
            [("4000", "4999", "1927"), ("1000", "1100", "1955/1957"), ("2000", "3999", "1930")],
            "Numbers 1000 to 4999, 1927 to 1957.",
        ),
        (
            [("1", "900", "1946-03/1947-02"), ("880", "990", "1947")],
            "Numbers 1 to 990, 1946-03 to 1947.",
        ),
        ([("1", "900", "1946/..")], "Numbers 1 to 900, 1946 to an end not known."),
        ([("1", "900", "1946")], "Numbers 1 to 900, 1946."),
    ],
    ids=["out of order", "intervals", "an open end", "one range"],
)
def test_a_serial_table_tells_its_least_and_greatest(ranges, said):
    assert row_sentence(table(*ranges)) == said
