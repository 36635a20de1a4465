"""Patent notices against the patent office's own milestones, and against the table row by row."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.spans import calendar_date, iso_date
from ledger.knowledge.patents import PatentTable, patent_readings
from ledger.references import PatentYear


@pytest.fixture(scope="module")
def table(packs):
    return PatentTable(packs.rows(PatentYear))


@pytest.fixture(scope="module")
def read(table):
    return lambda text: patent_readings(text, table)


# Numbers and years as told by the United States Patent and Trademark Office's milestones
# (uspto.gov/patents/milestones; harnessip.com), not taken from the table itself.
MILESTONES = {
    6_469: 1849,
    223_898: 1880,
    821_393: 1906,
    1_000_000: 1911,
    2_000_000: 1935,
    2_524_035: 1950,
    3_000_000: 1961,
    4_000_000: 1976,
    5_000_000: 1991,
    6_574_628: 2003,
    9_000_000: 2015,
    11_000_000: 2021,
    12_000_000: 2024,
}
# Patents with the dates on them: 105,338 of 1870-07-12 (cellulose nitrate), 942,699 of 1909-12-07
# (phenolic), 2,046,343 of 1936-07-07 (cross-recess screw), 2,130,948 of 1938-09-20 (nylon),
# 2,230,654 of 1941-02-04 (PTFE); the last two are the boundary of 1933 and 1934 by the table.
DATED = {
    105_338: 1870,
    942_699: 1909,
    2_046_343: 1936,
    2_130_948: 1938,
    2_230_654: 1941,
    1_941_448: 1933,
    1_941_449: 1934,
}


@pytest.mark.parametrize(("number", "year"), [*MILESTONES.items(), *DATED.items()], ids=str)
def test_a_number_falls_in_the_year_of_its_grant(read, number, year):
    for text in (f"PAT. {number:,}", f"U.S. Patent No. {number}", f"PATD. {number:,}"):
        (reading,) = read(text)
        assert reading.is_used
        assert reading.number == number
        assert calendar_date(reading.spans.earliest) == (year, 1, 1)
        assert reading.spans.latest is None
        assert reading.bears_on == "made"


def test_the_table_rises_and_every_row_has_its_source(packs):
    for series in ("utility", "design"):
        rows = [row.row for row in packs.rows(PatentYear) if row.row.series == series]
        assert [row.year for row in rows] == list(range(rows[0].year, rows[-1].year + 1))
        firsts = [row.first for row in rows]
        assert firsts == sorted(set(firsts))
    # 1836 to 2024 and 1843 to 2011; the two last utility years are from memory alone.
    low = {row.row.id for row in packs.rows(PatentYear) if row.row.confidence == "low"}
    assert {"utility-2023", "utility-2024", "utility-1839"} <= low


def test_where_published_copies_conflict_the_row_says_so(packs):
    rows = {row.row.id: row.row for row in packs.rows(PatentYear)}
    assert "1,106" in rows["utility-1839"].note
    assert rows["utility-1884"].first == 291_016


def test_every_first_and_last_number_of_a_year_is_of_that_year(table, packs):
    rows = [row.row for row in packs.rows(PatentYear) if row.row.series == "utility"]
    for row, after in pairwise(rows):
        assert table.year_of("utility", row.first).row.year == row.year
        assert table.year_of("utility", after.first - 1).row.year == row.year


@pytest.mark.parametrize(
    "text",
    [
        "PAT. NO. D-130,123",
        "DES. PAT. 130,123",
        "D130123 PAT. D130,123",
        "DESIGN PATENT No. 130123",
    ],
    ids=str,
)
def test_a_design_number_has_a_series_of_its_own(read, text):
    # 124,503 begins 1941 and 130,989 begins 1942: the office's table, from memory.
    reading = next(r for r in read(text) if r.is_used)
    assert (reading.reference, iso_date(reading.spans.earliest)) == (
        "patents/design-1941",
        "1941-01-01",
    )


def test_a_design_number_without_the_word_is_listed_and_not_used(read):
    (reading,) = read("D-130,123")
    assert not reading.is_used
    assert "No word says that it is a patent" in reading.reason


def test_of_several_numbers_the_latest_governs(read):
    found = read("PATS. 2,046,343 & 2,130,948 OTHERS PENDING")
    assert [r.is_used for r in found] == [False, True]
    assert "A later one in the same mark governs" in found[0].reason
    assert "governs" in found[1].reason


@pytest.mark.parametrize(
    "text",
    [
        "PAT. APPLIED FOR",
        "PAT. PEND.",
        "Patents Pending",
        "PAT APPL'D FOR",
        "MODEL 4520 PAT. PEND.",
    ],
    ids=str,
)
def test_a_patent_applied_for_is_a_weaker_thing_and_gives_no_date(read, text):
    (reading,) = read(text)
    assert not reading.is_used
    assert not reading.spans


def test_the_date_of_a_patent_in_words_is_a_bound(read):
    (reading,) = read("PATENTED AUG. 12, 1902")
    assert (str(reading.spans), reading.is_used) == ("1902-08-12/..", True)
    (short,) = read("PAT'D JULY 4 '88")
    assert str(short.spans) == "1888-07-04/.."
    assert "1988-07-04 fits too" in short.reason


@pytest.mark.parametrize(
    "text",
    ["BRIT. PAT. 432,123", "D.R.P. PAT. 432123", "PAT. RE 23,456"],
    ids=["British", "German", "reissue"],
)
def test_a_number_of_another_series_is_listed_without_a_date(read, text):
    (reading,) = read(text)
    assert not reading.is_used
    assert not reading.spans


def test_a_figure_in_doubt_is_bound_by_the_lowest_it_may_be(read):
    (reading,) = read("PAT. 2,0?6,343")
    # 2,006,343 is of 1935 and 2,096,343 of 1937 by the table.
    assert iso_date(reading.spans.earliest) == "1935-01-01"
    assert "1935 to 1937" in reading.reading
    assert reading.number is None


def test_four_figures_that_may_be_a_year_are_said_to(read):
    (reading,) = read("PATENTED 1925")
    assert calendar_date(reading.spans.earliest)[0] == 1841
    assert "If it is the year 1925" in reading.reason


def test_a_number_never_yet_granted_gives_no_date(read):
    (reading,) = read("PAT. 99,999,999")
    assert not reading.spans
    assert not reading.is_used


@pytest.mark.parametrize(
    "text",
    ["REG. U.S. PAT. OFF.", "PATTERN 4520", "SPAT 2,046,343", "2,046,343", "Patrick 1945", ""],
    ids=str,
)
def test_what_is_no_notice_is_not_read(read, text):
    assert read(text) == []


def test_a_notice_stands_among_other_words(read):
    found = read("ELM WORKS REG. U.S. PAT. OFF. PAT. NO. 2,046,343 CHICAGO 16 ILL.")
    assert [r.number for r in found] == [2_046_343]


@given(st.integers(1000, 13_000_000))
def test_a_printed_notice_is_read_back(read, number):
    for text in (
        f"PAT. NO. {number:,}",
        f"U. S. PAT. {number}",
        f"PATENT {number:,} MADE IN U.S.A.",
    ):
        assert [r.number for r in read(text)] == [number]


@given(st.text(max_size=200) | st.text("PATD.,0123456789? ESNO'JUL", max_size=60))
def test_any_text_is_read_or_not_and_never_fails(read, text):
    for reading in read(text):
        assert reading.spans or not reading.is_used
