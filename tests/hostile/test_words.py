"""Marks, dates and quantities as a hostile or careless hand would type them."""

from __future__ import annotations

import time
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.edtf import DateUnreadable, read_date
from ledger.basis.quantities import QuantityUnreadable, read_measurement, read_quantity
from ledger.errors import WitnessmarkError
from ledger.knowledge.marks import read_mark, read_value
from ledger.knowledge.packs import Packs, built_in_packs

PACKS = Packs.of(built_in_packs())
QUICK = settings(deadline=3_000, max_examples=60)
BOUNDED_SECONDS = 5

mark_texts = st.one_of(
    st.text(max_size=80),
    st.text(alphabet="0123456789?[]()-/. ABWKXMCDLIVabcpatnoweek", max_size=60),
    st.sampled_from(
        ["[", "]", "[0123456789]" * 40, "?" * 400, "[" * 400, "[]", "[[1]2]", "9" * 4000]
    ),
)
date_texts = st.one_of(
    st.text(max_size=60),
    st.text(alphabet="0123456789XY-/~?%.,[]{}ES+:TZ", max_size=40),
)


def _bounded(work):
    began = time.perf_counter()
    found = work()
    assert time.perf_counter() - began < BOUNDED_SECONDS
    return found


@QUICK
@given(mark_texts)
def test_any_mark_is_read_in_bounded_time_or_not_at_all(text):
    try:
        readings = _bounded(lambda: read_mark(text, PACKS))
        _bounded(lambda: read_value(text, PACKS))
    except WitnessmarkError:
        return
    assert len(readings) < 2_000


def test_whatever_a_hostile_hand_types_is_read_as_a_mark_or_refused(nasty):
    for text in nasty:
        test_any_mark_is_read_in_bounded_time_or_not_at_all.hypothesis.inner_test(text)


@settings(deadline=2_000, max_examples=200)
@given(date_texts)
def test_any_date_is_read_or_refused_in_words(text):
    try:
        found = _bounded(lambda: read_date(text))
    except DateUnreadable:
        return
    assert len(list(found.spans)) < 5_000


@pytest.mark.parametrize(
    "text",
    ["9" * 5_000, "Y" + "9" * 500, "Y1E999999999", "-" * 500, "[" * 500, "{1900..9999}",
     "[0000..9999]", "X" * 400, "1999-99-99", "../..", "/" * 300, "1/1/1/1",
     "\N{FULLWIDTH DIGIT ONE}955", "\N{ARABIC-INDIC DIGIT ONE}955", "1955\0", "XXXX-XX-XX",
     "{" + ",".join(str(year) for year in range(1000, 9000)) + "}"],
    ids=lambda text: text[:12],
)  # fmt: skip
def test_a_date_that_asks_for_too_much_is_refused_or_bounded(text):
    test_any_date_is_read_or_refused_in_words.hypothesis.inner_test(text)


@settings(deadline=2_000, max_examples=200)
@given(
    st.one_of(
        st.text(max_size=40),
        st.text(alphabet="0123456789.,-+eE/ mkMΩnpfFinµu±%", max_size=30),
        st.sampled_from(["9" * 5_000, "1e999999999 mm", "1e-999999999 k", "0x10 mm", "1/0 in"]),
    )
)
def test_any_quantity_is_read_or_refused_in_words(text):
    for read in (read_quantity, lambda each: read_measurement(each, each)):
        with suppress(QuantityUnreadable):
            _bounded(lambda read=read: read(text))
