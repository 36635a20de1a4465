from __future__ import annotations

import re

from hypothesis import example, given
from hypothesis import strategies as st

from ledger.bench.columns import tabs
from ledger.bench.row_ids import RowIds, id_part
from ledger.lines import ID_PATTERN
from ledger.models import SECTIONS


@given(st.text(max_size=100))
@example("\U0001d468.b .c")
def test_what_is_made_of_any_text_is_part_of_an_id_or_nothing(text):
    made = id_part(text)
    assert not made or re.fullmatch(ID_PATTERN, made)


@given(
    st.sampled_from(sorted(SECTIONS)),
    st.lists(st.dictionaries(st.sampled_from(
        sorted({column.field for tab in tabs().values() for column in tab.columns})),
        st.text(min_size=1, max_size=90))),
)  # fmt: skip
def test_every_row_gets_an_id_of_its_own_and_the_same_each_time(section, rows):
    made = [RowIds({"mark"}).made(section, row) for row in rows]
    ids = RowIds({"mark"})
    together = [ids.made(section, row) for row in rows]
    assert len(set(together)) == len(together)
    assert "mark" not in together
    assert all(re.fullmatch(ID_PATTERN, name) and len(name) <= 80 for name in together + made)
    again = RowIds({"mark"})
    assert together == [again.made(section, row) for row in rows]


def test_an_id_says_where_and_of_what_the_row_is():
    ids = RowIds()
    assert ids.made("marks", {"position": "pot.1", "text": "912"}) == "pot.1-mark"
    assert ids.made("measurements", {"position": "body", "quantity": "Weight"}) == "body-weight"
    assert ids.made("exhibits", {"file": "photographs/Tuners (1).JPG"}) == "tuners-1"
    assert ids.made("non_values", {"positions": "a, b", "what": "code"}) == "a-code"
    assert ids.made("questions", {"question": "日本"}) == "question"
