"""A mark read by everything that reads it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import UnknownName
from ledger.knowledge.marks import Made, mark_readings, read_mark, read_value
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import Instrument

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


def test_a_number_that_may_lie_outside_every_range_gives_no_date(read):
    (reading,) = read("[14]213", "label")
    assert str(reading.spans) == "1916-01-01/1917-12-31"
    assert not reading.is_used
    assert "1 of the numbers that fit is outside every range, so no date" in reading.reason
    (reading,) = read("?050", "label")
    assert not reading.is_used
    assert "7 of the numbers that fit are outside" in reading.reason


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
    reading, by_table = read(text, "tuners")
    assert str(reading.spans) == "1925-12-01/1942-12-31"
    assert (reading.kind, reading.bears_on, reading.is_used) == ("fact", "made", True)
    assert not by_table.is_used
    assert "which governs" in by_table.reason
    (only,) = read(text, "bridge")
    assert (only.reference, str(only.spans)) == ("patents/utility-1925", "1925-01-01/..")


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
        ("U.S.-Zone Germany", "legal-marks/us-zone-germany", "1945-05-08"),
        ("Reg. U.S. Pat. Off.", "legal-marks/us-pat-off", "1905-02-20"),
        ("REG. U.S. PAT. & TM. OFF.", "legal-marks/us-pat-and-tm-off", "1975-01-02"),
        ("D.R.G.M. 123456", "legal-marks/drgm", "1891-10-01"),
        ("Breveté S.G.D.G.", "legal-marks/sgdg", "1844-07-05"),
        ("Rd. No. 712345", "legal-marks/registered-design", "1884-01-01"),
        ("RoHS compliant", "legal-marks/rohs", "2003-01-27"),
        ("Chicago, IL 60601", "legal-marks/state-codes", "1963-06-01"),
        ("Nippon", "legal-marks/nippon", "1891-03-01"),
        ("117 V 60 Hz", "legal-marks/hertz", "1930-01-01"),
        ("Contains no PCB's", "legal-marks/no-pcbs", "1976-10-11"),
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


def test_of_several_facts_the_strictest_of_those_as_sure_is_used(read):
    found = {r.reference: r for r in read("Made in W. Germany", "bridge")}
    assert found["standards/west-germany"].is_used
    assert not found["standards/country-of-origin"].is_used
    assert "which governs" in found["standards/country-of-origin"].reason


def test_an_amplifier_part_in_its_place_has_its_coded_date_used(packs, mark):
    amplifier = Instrument(id="a", kind="valve-amplifier", name="A")
    view = packs.catalogue("valve-amplifier")

    def read(text, position):
        return mark_readings(mark(text), view.find(position), packs, amplifier)

    # Letter and month of IEC 60062, from memory of the standard.
    assert [r.reading for r in read("J8", "coupling-capacitor.1") if r.is_used] == [
        "1977-08",
        "1997-08",
        "2017-08",
    ]
    for text, place in (("J8", "cabinet"), ("K4", "resistor"), ("3-62", "handle")):
        assert not [r for r in read(text, place) if r.is_used]
    assert [r.reading for r in read("3-62", "chassis")] == ["1862-03", "1962-03"]


def test_every_order_of_a_stamp_is_used_and_none_is_picked(read):
    found = read("10-7-62", "neck")
    assert all(r.is_used and r.kind == "date code" for r in found)
    assert {r.reading for r in found} == {"1862-07-10", "1962-07-10", "1862-10-07", "1962-10-07"}


def test_a_stamp_is_read_where_its_date_is_that_of_the_part(read):
    assert [r.reading for r in read("MAR 62", "neck")] == ["1862-03", "1962-03"]
    assert read("MAR 62", "label") == ()
    (written,) = read("MAR 62", "neck", reads="1962-03")
    assert written.kind == "written"


def test_a_scheme_has_a_coded_date_used_that_is_otherwise_left(read):
    assert read("9610", "neck") == ()
    (reading,) = read("9610", "neck", scheme="iec-year-week")
    assert (reading.reading, reading.is_used) == ("1996, week 10", True)
    (typed,) = read("1955~", "neck", scheme="edtf")
    assert (str(typed.spans), typed.is_used) == ("1955-01-01/1955-12-31", True)
    assert read("no date", "neck", scheme="edtf") == ()
    (patent,) = read("PAT. 2,046,343", "neck", scheme="patent")
    assert patent.reference == "patents/utility-1936"


def test_a_patent_applied_for_dates_nothing_and_is_no_unreadable_mark(read, packs):
    (listed,) = read("PAT. APPLIED FOR", "bridge")
    assert (listed.kind, listed.is_used) == ("fact", False)
    (reading,) = read_mark("PAT. APPLIED FOR", packs)
    assert not reading.is_used
    assert not reading.spans


def test_a_makers_own_scheme_is_a_row_of_a_pack(pack_from, mark):
    text = r"""
pack: corbel
title: Corbel
version: "1"
invented: yes
date_codes:
  - id: letter-week-batch
    source: invented
    confidence: medium
    scope: {maker: Corbel}
    pattern: "(?P<year>[AB])(?P<week>\\d\\d)-(?P<batch>\\d+)"
    reading: letter of the year, week, batch
    positions: [label]
    bears_on: completed
    first_year: 1920
    last_year: 1940
    years: signs
    year_signs: [{sign: A, means: [1921, 1931]}, {sign: B, means: [1922]}]
    weeks: register
serial_tables:
  - id: named
    source: invented
    confidence: medium
    scope: {maker: Corbel}
    pattern: "(?P<letter>[A-Z])-(?P<number>\\d{3})"
    positions: [serial]
    ranges: [{first: 100, last: 499, date: 1926}]
"""
    packs = Packs.of((*built_in_packs(), pack_from(text)))
    mandolin = Instrument(id="a", kind="mandolin", name="A", maker="corbel")
    view = packs.catalogue("mandolin")
    found = mark_readings(mark("A07-12"), view.find("label"), packs, mandolin)
    assert [r.reading for r in found] == ["1921, week 07, batch 12", "1931, week 07, batch 12"]
    assert all(r.is_used and r.bears_on == "completed" for r in found)
    (number,) = mark_readings(mark("C-123"), view.find("serial"), packs, mandolin)
    assert (number.number, str(number.spans)) == (123, "1926-01-01/1926-12-31")
    assert (
        read_mark("A07-12", packs, made=Made("Corbel"), kind="mandolin", position="label") == found
    )
    assert read_mark("A07-12", packs) == ()


def test_the_last_ring_is_a_bound_from_below_alone(read):
    (reading,) = read("last ring 1781 treble, 1779 bass", "top", scheme="tree-rings")
    assert str(reading.spans) == "1782-01-01/.."
    assert reading.bears_on == "made"


def test_a_mark_in_hand_is_listed_with_all_that_fits_and_says_why_it_is_not_used(packs):
    found = read_mark("J8", packs)
    assert [r.reading for r in found] == ["1977-08", "1997-08", "2017-08"]
    assert not any(r.is_used for r in found)
    assert "only at these places" in found[0].reason
    placed = read_mark("J8", packs, position="resistor")
    assert all(r.is_used for r in placed)
    elsewhere = read_mark("J8", packs, position="neck")
    assert "not expected in this place" in elsewhere[0].reason
    year, *_ = read_mark("1950", packs)
    assert (year.reading, year.is_used) == ("1950", False)
    assert "year-alone" in year.reason


def test_a_typed_date_in_hand_is_read_by_the_standard_format(packs):
    (decade,) = read_mark("195X", packs)
    assert (str(decade.spans), decade.is_used) == ("1950-01-01/1959-12-31", True)
    (interval,) = read_mark("1955/1957", packs)
    assert str(interval.spans) == "1955-01-01/1957-12-31"


def test_a_date_that_is_also_a_source_code_is_read_as_both(packs, read):
    assert [r.reading for r in read("1956-07", "tuners") if r.is_used][-1] == "1956-07"
    used = [r.reading for r in read_mark("1956-07", packs) if r.is_used]
    assert used == ["1946, week 07", "1956, week 07", "1966, week 07", "1956-07"]


def test_a_kind_that_nobody_describes_is_said(packs):
    with pytest.raises(UnknownName, match="mandolin"):
        read_mark("J8", packs, kind="mandolim", position="label")


def test_a_colour_band_is_no_date_and_a_date_no_colour(packs):
    assert read_mark("yellow violet red gold", packs) == ()
    assert read_value("10-7-62", packs) == ()
    assert read_value("yellow violet red gold", packs)[0].reading == "4.7 kΩ ±5 %"


@given(st.text(max_size=200))
def test_any_mark_in_hand_is_read_or_not_and_never_fails(packs, text):
    for reading in read_mark(text, packs):
        assert reading.reading
        assert reading.reason
        assert reading.spans or not reading.is_used
    for value in read_value(text, packs):
        assert value.reason
        assert value.source


LIKELY = st.text("0123456789ABJKMR?[]-./ PATNOpnµ,", max_size=30)


@given(LIKELY, st.sampled_from([None, "pot", "resistor", "neck", "label"]))
def test_any_likely_mark_is_read_or_not_and_never_fails(packs, text, position):
    for reading in read_mark(text, packs, position=position):
        assert reading.spans or not reading.is_used
    read_value(text, packs)


@pytest.mark.parametrize("scheme", [None, "edtf"])
@pytest.mark.parametrize("kind", ["Not A Kind", "no-such-kind", "x" * 500])
def test_a_kind_that_nobody_describes_is_said_without_a_place_as_well(packs, kind, scheme):
    with pytest.raises(UnknownName, match="no kind of instrument named"):
        read_mark("134 448", packs, kind=kind, scheme=scheme)


@pytest.mark.parametrize("scheme", ["x y", "no-such-scheme", "", "X", "x" * 500])
def test_a_scheme_that_no_pack_has_reads_nothing_and_says_so(packs, scheme):
    (found,) = read_mark("134 448", packs, scheme=scheme)
    assert found.reading == "not read"
    assert f"no scheme named {scheme!r}" in found.reason.replace("No pack at hand has a", "no")


@pytest.mark.parametrize("scheme", [None, "edtf", "patent", "source-date", "tree-rings", "none"])
@settings(max_examples=40)
@given(text=st.text(max_size=30), maker=st.text(max_size=5))
def test_whatever_is_typed_is_read_or_not_and_nothing_else(packs, text, maker, scheme):
    for typed in (text, text * 300, text + "\udcff"):
        read_mark(typed, packs, made=Made(maker + typed[-1:]), scheme=scheme)
