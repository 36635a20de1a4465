from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from ledger.publish.shortening import shortened


@given(st.text(max_size=400), st.integers(min_value=3, max_value=300))
def test_a_sentence_is_never_longer_than_asked_by_more_than_its_ellipsis(sentence, most):
    assert len(shortened(sentence, most)) <= most + 2


def test_a_sentence_with_two_runs_of_days_is_left_as_it_is():
    told = "Made 1947-06-01 to 1947-06-14 or 1957-06-02 to 1957-06-15, by the mark."
    assert shortened(told) == told


def test_many_runs_of_days_are_counted():
    runs = " or ".join(f"19{n}7-06-01 to 19{n}7-06-14" for n in range(4, 9))
    assert shortened(f"Made {runs}.") == (
        "Made 1947-06-01 to 1947-06-14 or 1957-06-01 to 1957-06-14 or 3 more runs of days."
    )
