"""A mark read by everything that reads it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.marks import mark_readings
from ledger.knowledge.packs import Packs, built_in_packs

PACK = """
pack: corbel
title: Corbel
version: "1"
invented: yes
serial_tables:
  - id: numbers
    source: labels of nine examples
    confidence: medium
    scope: {maker: Corbel}
    pattern: "(?:No\\\\.? )?(\\\\d{4})"
    positions: [label, serial]
    ranges:
      - {first: 1000, last: 1999, date: 1916/1917}
      - {first: 1900, last: 2999, date: 1917/1919}
      - {first: 5000, last: 5999, date: 1925/..}
facts:
  - id: tuner-patent
    source: patent granted 1925-12-01 (invented)
    confidence: high
    mark: "pat(ent)? (no )?1563925"
    means: the tuner patent
    not_before: 1925-12-01
    not_after: 1942
    positions: [tuners]
matching_numbers:
  - id: pair
    source: practice of the works (invented)
    confidence: medium
    positions: [body, neck]
    what: batch number
"""


@pytest.fixture
def more(pack_from):
    return Packs.of((*built_in_packs(), pack_from(PACK)))


@pytest.fixture
def read(more, mandolin, mark):
    def reader(text, position="body", **kwargs):
        row = more.catalogue("mandolin").find(position)
        return mark_readings(mark(text, **kwargs), row, more, mandolin)

    return reader


def test_a_number_in_two_ranges_has_the_days_of_both(read):
    (reading,) = read("No. 1950", "label")
    assert reading.number == 1950
    assert str(reading.spans) == "1916-01-01/1919-12-31"
    assert (reading.reference, reading.bears_on) == ("corbel/numbers", "completed")
    assert reading.is_used


def test_a_number_outside_every_range_is_read_without_a_date_and_is_no_proof(read):
    (reading,) = read("4213", "serial")
    assert reading.number == 4213
    assert not reading.spans
    assert not reading.is_used
    assert "no proof" in reading.reason


def test_a_range_without_an_end_has_none(read):
    (reading,) = read("5100", "label")
    assert reading.spans.latest is None


def test_a_number_in_doubt_is_every_number_it_may_be(read):
    (reading,) = read("[12]95?", "label")
    assert reading.number is None
    assert "20 numbers from 1950 to 2959" in reading.reading
    (narrow,) = read("10?0", "label")
    assert str(narrow.spans) == "1916-01-01/1917-12-31"
    (reading,) = read("[14]213", "label")
    assert reading.is_used
    assert "1 of the numbers that fit are outside" in reading.reason


def test_a_number_of_which_too_little_is_legible_gives_no_date(read):
    (reading,) = read("????", "label")
    assert not reading.is_used
    assert "too little" in reading.reason


def test_a_table_speaks_only_of_its_positions(read):
    assert read("1950", "bridge") == ()


def test_a_date_in_words_is_one_reading_as_written(read):
    (reading,) = read("made by J., May 1917", "label", reads="1917-05")
    assert str(reading.spans) == "1917-05-01/1917-05-31"
    assert (reading.kind, reading.bears_on) == ("written", "completed")
    (on_part,) = read("5-17", "neck", reads="1917-05")
    assert on_part.bears_on == "made"
    (told,) = read("5-17", "neck", reads="1917-05", bears_on="completed")
    assert told.bears_on == "completed"


def test_a_source_date_is_not_tried_where_marks_date_the_completion(read):
    assert read("912 611", "label") == ()
    assert len(read("912 611", "tuners")) == 3
    assert read("912 611", "tuners", bears_on="completed") == ()


def test_a_source_date_is_not_tried_beside_a_date_in_words(read):
    (reading,) = read("912 611", "tuners", reads="1956")
    assert reading.kind == "written"


@pytest.mark.parametrize(
    "text",
    ["PAT. NO. 1,563,925", "pat 1563925", "Patent  No 1563925"],
    ids=["stops and commas", "bare", "spaces"],
)
def test_a_fact_is_found_whatever_the_capitals_stops_and_spaces(read, text):
    (reading,) = read(text, "tuners")
    assert str(reading.spans) == "1925-12-01/1942-12-31"
    assert (reading.kind, reading.bears_on) == ("fact", "made")
    assert read(text, "bridge") == ()


@pytest.mark.parametrize(
    ("text", "reference", "earliest"),
    [
        # laws and patents as named in each row's source
        ("Made in W. Germany", "standards/west-germany", "1949-05-23"),
        ("MADE IN CZECHO-SLOVAKIA", "standards/czechoslovakia", "1918-10-28"),
        ("Tone® strings", "standards/registered-sign", "1946-07-05"),
        ("12 Elm St., Chicago, Ill. 60601", "standards/zip-code", "1963-07-01"),
        ("Minneapolis 16, Minn.", "standards/postal-zone", "1943-05-01"),
        ("U.S. Pat. 2,046,343", "standards/patent-2046343", "1936-07-07"),
        ("Made in Italy", "standards/country-of-origin", "1891-03-01"),
    ],
    ids=str,
)
def test_general_facts_bound_what_bears_the_mark(read, text, reference, earliest):
    found = {r.reference: r for r in read(text, "bridge")}
    assert str(found[reference].spans).startswith(f"{earliest}/")


@pytest.mark.parametrize(
    "text",
    ["Corbel, serial 12345", "Batch, no 20514", "CE 1950", "June 12, Monday"],
    ids=["serial", "batch", "initials with a figure", "day and month"],
)
def test_figures_are_not_taken_for_postal_codes_or_legal_marks(read, text):
    assert read(text, "bridge") == ()


def test_a_scheme_is_the_only_one_used(read):
    assert read("1950", "label", scheme="none") == ()
    assert read("1950", "bridge", scheme="pair") == ()
    assert [r.kind for r in read("1950", "bridge", scheme="numbers")] == ["serial"]
    assert len(read("912 611", "label", scheme="source-date")) == 3
    assert len(read("912 611", "label", scheme="source-date-3-1-2")) == 3
    assert read("912 611", "label", scheme="source-date-3-2-2") == ()
    assert [r.kind for r in read("pat 1563925", scheme="tuner-patent")] == ["fact"]


def test_a_scheme_that_no_pack_has_is_said_and_nothing_is_read(read):
    (reading,) = read("1950", "label", scheme="nonesuch")
    assert not reading.is_used
    assert "no pack" in reading.reason.lower()


def test_a_mark_that_nothing_reads_has_no_reading(read):
    assert read("J. Smith", "neck") == ()


@given(st.text(max_size=200).filter(lambda text: text.strip()))
def test_any_mark_is_read_or_not_and_never_fails(packs, mandolin, mark, text):
    row = packs.catalogue("mandolin").find("tuners")
    readings = mark_readings(mark(text), row, packs, mandolin)
    assert readings == mark_readings(mark(text), row, packs, mandolin)
