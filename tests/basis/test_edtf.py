"""The date reader against the examples of the format's own specification.

Source of every example marked so: Library of Congress, "Extended Date/Time Format (EDTF)
Specification", 2019-02-04; its list of examples from memory. The bounds are calendar arithmetic
on the meanings stated there.
"""

import contextlib
import io
import re
import warnings

import edtf as published_package
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ledger.basis.edtf import MOST_CHARACTERS, DateUnreadable, EndKind, read_date
from ledger.basis.spans import EVER, Span, Spans, calendar_date, day_number, iso_date

# text, level, days
SPECIFICATION = """
1985-04-12                  0 1985-04-12/1985-04-12
1985-04                     0 1985-04-01/1985-04-30
1985                        0 1985-01-01/1985-12-31
1985-04-12T23:20:30         0 1985-04-12/1985-04-12
1985-04-12T23:20:30Z        0 1985-04-12/1985-04-12
1985-04-12T23:20:30-04      0 1985-04-12/1985-04-12
1985-04-12T23:20:30+04:30   0 1985-04-12/1985-04-12
1964/2008                   0 1964-01-01/2008-12-31
2004-06/2006-08             0 2004-06-01/2006-08-31
2004-02-01/2005-02-08       0 2004-02-01/2005-02-08
2004-02-01/2005-02          0 2004-02-01/2005-02-28
2004-02-01/2005             0 2004-02-01/2005-12-31
2005/2006-02                0 2005-01-01/2006-02-28
Y170000002                  1 170000002-01-01/170000002-12-31
Y-170000002                 1 -170000002-01-01/-170000002-12-31
1984?                       1 1984-01-01/1984-12-31
2004-06~                    1 2004-06-01/2004-06-30
2004-06-11%                 1 2004-06-11/2004-06-11
201X                        1 2010-01-01/2019-12-31
20XX                        1 2000-01-01/2099-12-31
2004-XX                     1 2004-01-01/2004-12-31
1985-04-XX                  1 1985-04-01/1985-04-30
1985-XX-XX                  1 1985-01-01/1985-12-31
1985-04-12/..               1 1985-04-12/..
1985-04/..                  1 1985-04-01/..
1985/..                     1 1985-01-01/..
../1985-04-12               1 ../1985-04-12
../1985-04                  1 ../1985-04-30
../1985                     1 ../1985-12-31
1985-04-12/                 1 1985-04-12/..
1985-04/                    1 1985-04-01/..
1985/                       1 1985-01-01/..
/1985-04-12                 1 ../1985-04-12
/1985-04                    1 ../1985-04-30
/1985                       1 ../1985-12-31
1984~/2004-06               1 1984-01-01/2004-06-30
1984/2004-06~               1 1984-01-01/2004-06-30
1984?/2004%                 1 1984-01-01/2004-12-31
-1985                       1 -1985-01-01/-1985-12-31
Y-17E7                      2 -170000000-01-01/-170000000-12-31
1950S2                      2 1900-01-01/1999-12-31
Y171010000S3                2 171000000-01-01/171999999-12-31
Y3388E2S3                   2 338000-01-01/338999-12-31
2001-34                     2 2001-04-01/2001-06-30
2001-33                     2 2001-01-01/2001-03-31
2001-35                     2 2001-07-01/2001-09-30
2001-36                     2 2001-10-01/2001-12-31
2001-37                     2 2001-01-01/2001-04-30
2001-38                     2 2001-05-01/2001-08-31
2001-39                     2 2001-09-01/2001-12-31
2001-40                     2 2001-01-01/2001-06-30
2001-41                     2 2001-07-01/2001-12-31
[1667,1668,1670..1672]      2 1667-01-01/1668-12-31 or 1670-01-01/1672-12-31
[..1760-12-03]              2 ../1760-12-03
[1760-12..]                 2 1760-12-01/..
[1760-01,1760-02,1760-12..] 2 1760-01-01/1760-02-29 or 1760-12-01/..
[1667,1760-12]              2 1667-01-01/1667-12-31 or 1760-12-01/1760-12-31
[..1984]                    2 ../1984-12-31
{1667,1668,1670..1672}      2 1667-01-01/1672-12-31
{1960,1961-12}              2 1960-01-01/1961-12-31
{..1984}                    2 ../1984-12-31
2004-06~-11                 2 2004-06-11/2004-06-11
2004?-06-11                 2 2004-06-11/2004-06-11
?2004-06-~11                2 2004-06-11/2004-06-11
2004-%06-11                 2 2004-06-11/2004-06-11
XXXX-12-XX                  2 0000-12-01/9999-12-31
1XXX-XX                     2 1000-01-01/1999-12-31
1984-1X                     2 1984-10-01/1984-12-31
2004-06-~01/2004-06-~20     2 2004-06-01/2004-06-20
2004-06-XX/2004-07-03       2 2004-06-01/2004-07-03
2004-06-11%/2004~-06        2 2004-06-11/2004-06-30
"""
EXAMPLES = [tuple(line.split(maxsplit=2)) for line in SPECIFICATION.strip().splitlines()]
TEXTS = [text for text, _, _ in EXAMPLES]
FURTHER = [
    *("156X-12-25", "15XX-12-25", "1XXX-12", "2001-21", "2001-22", "2001-23", "2001-24"),
    *("2001-25", "2001-29", "198X-24", "XXXX-21", "XXXX-02-29", "1950S2~", "-01XX"),
]


def refusal(text):
    with pytest.raises(DateUnreadable) as caught:
        read_date(text)
    return caught.value


@pytest.mark.parametrize(("text", "level", "days"), EXAMPLES, ids=[text for text, *_ in EXAMPLES])
def test_the_examples_of_the_specification_give_their_days(text, level, days):
    statement = read_date(text)
    assert str(statement.spans) == days
    assert statement.level == int(level)
    assert statement.text == str(statement) == text
    assert not statement.is_hull or text in ("XXXX-12-XX", *(t for t in TEXTS if t[0] == "{"))
    assert statement.is_interval == ("/" in text)
    assert statement.is_all_of == text.startswith("{")
    assert statement.is_one_of == text.startswith("[")


@pytest.mark.parametrize("text", TEXTS + FURTHER)
def test_a_statement_reads_again_to_an_equal_statement(text):
    statement = read_date(text)
    assert read_date(str(statement)) == statement
    assert hash(read_date(text)) == hash(statement)


def test_partial_digits_give_separate_days_as_the_specification_says():
    # LoC specification, level 2: "December 25 sometime during the 1560s", "during the 1500s"
    # and "some December during the 1000s".
    christmases = read_date("156X-12-25").spans.parts
    assert christmases == tuple(
        Span(d, d) for d in (day_number(y, 12, 25) for y in range(1560, 1570))
    )
    assert len(read_date("15XX-12-25").spans.parts) == 100
    decembers = read_date("1XXX-12").spans
    assert len(decembers.parts) == 1000
    assert day_number(1500, 12, 1) in decembers
    assert day_number(1500, 11, 30) not in decembers


def test_unions_of_too_many_parts_become_their_hull_and_say_so():
    for text, days in {
        "XXXX-12-XX": "0000-12-01/9999-12-31",
        "XXXX-02-29": "0000-02-29/9996-02-29",
        "XXXX-XX-25": "0000-01-25/9999-12-25",
        "XXXX-33": "0000-01-01/9999-03-31",
        "[1XXX-12,1XXX-10,1XXX-08]": "1000-08-01/1999-12-31",
        "[1000,XXXX-12-XX]": "0000-12-01/9999-12-31",
    }.items():
        statement = read_date(text)
        assert (str(statement.spans), statement.is_hull) == (days, True)


def winters(*years):
    return tuple(Span(day_number(y, 12, 1), day_number(y + 1, 3, 21)) for y in years)


def test_seasons_cover_every_plausible_convention():
    # The specification names seasons without months; the months are common practice.
    northern = {
        25: [((2001, 3, 1), (2001, 6, 22))],
        26: [((2001, 6, 1), (2001, 9, 24))],
        27: [((2001, 9, 1), (2001, 12, 23))],
    }
    for code, days in northern.items():
        wanted = Spans.of(Span(day_number(*a), day_number(*b)) for a, b in days)
        assert read_date(f"2001-{code}").spans == wanted
        southern = read_date(f"2001-{29 + (code - 25 + 2) % 4}").spans
        assert southern == wanted
        anywhere = read_date(f"2001-{code - 4}").spans
        assert anywhere == wanted.union(read_date(f"2001-{code + 4}").spans)
    assert read_date("2001-28").spans.parts == winters(2000, 2001)
    assert read_date("2001-30").spans == read_date("2001-28").spans
    anywhere = read_date("2001-24")
    for winter in winters(2000, 2001):
        assert anywhere.spans.intersection(Spans((winter,))) == Spans((winter,))
    assert (anywhere.level, read_date("2001-25").level, anywhere.is_season) == (1, 2, True)


def test_a_season_that_looks_like_two_years_is_pointed_out():
    assert read_date("1930-31").may_be_year_pair
    assert not read_date("1930-32").may_be_year_pair
    assert not read_date("1930").may_be_year_pair
    assert not read_date("193X-31").may_be_year_pair


def test_unknown_and_open_ends_are_told_apart_and_neither_is_a_bound():
    cases = {
        "1985/": (EndKind.GIVEN, EndKind.UNKNOWN),
        "1985/..": (EndKind.GIVEN, EndKind.OPEN),
        "/1985": (EndKind.UNKNOWN, EndKind.GIVEN),
        "../1985": (EndKind.OPEN, EndKind.GIVEN),
        "1985/1986": (EndKind.GIVEN, EndKind.GIVEN),
        "[..1985]": (EndKind.OPEN, EndKind.GIVEN),
        "{1985..}": (EndKind.GIVEN, EndKind.OPEN),
    }
    for text, kinds in cases.items():
        statement = read_date(text)
        assert (statement.start, statement.end) == kinds
        assert (statement.spans.earliest is None) == (kinds[0] is not EndKind.GIVEN)
        assert (statement.spans.latest is None) == (kinds[1] is not EndKind.GIVEN)


def test_qualifiers_are_kept_and_move_no_bound():
    for text, doubts in {
        "1984?": (True, False),
        "1984~": (False, True),
        "1984%": (True, True),
        "?2004-06-~11": (True, True),
        "2004-%06-11": (True, True),
        "2004-06~-11": (False, True),
        "1984?/2004": (True, False),
        "[1984,1985~]": (False, True),
        "{1984%..}": (True, True),
        "2001-21~": (False, True),
        "Y170000002?": (True, False),
        "1950S2%": (True, True),
    }.items():
        statement = read_date(text)
        bare = read_date("".join(mark for mark in text if mark not in "?~%"))
        assert (statement.is_uncertain, statement.is_approximate) == doubts
        assert statement.spans == bare.spans
        assert (bare.is_uncertain, bare.is_approximate) == (False, False)


def test_significant_digits_keep_the_year_that_was_estimated():
    assert read_date("1950S2").estimated_year == 1950
    assert read_date("Y3388E2S3").estimated_year == 338_800
    assert str(read_date("-1950S2").spans) == "-1999-01-01/-1900-12-31"
    assert str(read_date("0050S2").spans) == "0000-01-01/0099-12-31"
    assert read_date("Y17E7").estimated_year is None


def test_years_before_the_year_1_follow_the_calendar_with_a_year_zero():
    assert str(read_date("0000-02-29").spans) == "0000-02-29/0000-02-29"
    assert str(read_date("-0099").spans) == "-0099-01-01/-0099-12-31"
    assert str(read_date("-004X").spans) == "-0049-01-01/-0040-12-31"
    assert str(read_date("-000X").spans) == "-0009-01-01/-0001-12-31"
    assert read_date("-0044-03-15").level == 1


def test_days_that_some_of_the_months_have_are_kept_for_those_months():
    months = [calendar_date(part.earliest)[1] for part in read_date("1984-XX-31").spans]
    assert months == [1, 3, 5, 7, 8, 10, 12]
    assert str(read_date("1985-02-2X").spans) == "1985-02-20/1985-02-28"
    assert str(read_date("1984-10-3X").spans) == "1984-10-30/1984-10-31"
    assert str(read_date("2004-0X").spans) == "2004-01-01/2004-09-30"
    assert str(read_date("19XX-02-29").spans).startswith("1904-02-29/1904-02-29 or 1908")


@pytest.mark.parametrize(
    ("text", "position"),
    [
        *(("2003-02-29", 8), ("1900-02-29", 8), ("2005-04-31", 8), ("1985-13", 5)),
        *(("1985-00", 5), ("1985-04-00", 8), ("1984-2X", 5), ("XXXX-02-30", 8)),
        *(("2001-20", 5), ("2001-42", 5), ("2001-21-01", 8), ("20X", 0), ("", 0)),
        *(("2008/2004", 5), ("1985/1984/1983", 9), ("../..", 0), ("/", 0), ("../", 0)),
        *(("unknown", 0), ("198u", 0), ("y17e7", 0), ("2004-06-uu", 7), ("-0000", 0)),
        *(("Y1985", 0), ("Y01985", 0), ("Y", 0), ("Y17E0", 3), ("Y9E99", 0), ("Y9E999", 0)),
        *(("1950S5", 5), ("1950S0", 4), ("1950S", 4), ("195XS2", 4), ("Y3388E2S7", 8)),
        *(("[]", 1), ("{}", 1), ("[..]", 3), ("[1985", 5), ("[1985}", 6), ("1985]", 4)),
        *(("[1980,..1760]", 6), ("[1980..,1990]", 1), ("[1672..1670]", 7), ("[1667,]", 6)),
        *(("[1985/1986]", 5), ("[[1985]]", 1), ("[1667, 1668]", 6), ("[1985-13]", 6)),
        *(("1985-04-12T23:20", 10), ("1985-04-12T24:00:00", 10), ("1985T23:20:30", 4)),
        *(("1985-04-12T23:20:30/1986", 10), ("1985-02-30T23:20:30", 8)),
        *(("1985??", 5), ("1985 ", 4), (" 1985", 0), ("\uff11985", 0), ("1985-W15-5", 4)),
        *(("1985-W15", 4), ("1985W15", 4), ("1985-102", 7), ("19850412", 4), ("1985-04-12-1", 10)),
    ],
    ids=repr,
)
def test_what_the_format_or_the_calendar_lacks_is_refused_at_its_place(text, position):
    fault = refusal(text)
    assert fault.position == position
    assert fault.found
    assert fault.expected
    assert isinstance(fault, ValueError)
    assert f"at character {position + 1}: found {fault.found}; expected" in str(fault)


def test_a_text_without_end_is_refused_by_its_length():
    text = "[" + ",".join(["1985"] * 300) + "]"
    assert refusal(text).found == f"{len(text)} characters"
    assert len(text) > MOST_CHARACTERS


def test_a_day_the_month_lacks_is_told_with_the_length_of_the_month():
    assert refusal("1900-02-29").advice == "1900-02 has 28 days"
    assert refusal("XXXX-02-30").advice == ""


@pytest.mark.parametrize(
    ("text", "suggestions"),
    [
        ("circa 1955", ("1955~",)),
        ("c.1955", ("1955~",)),
        ("about 1955-06", ("1955-06~",)),
        ("circa 1950s", ("195X~",)),
        ("1956-57", ("[1956..1957]", "1956/1957")),
        ("1956/57", ("[1956..1957]", "1956/1957")),
        ("12/3/1956", ("1956-12-03", "1956-03-12")),
    ],
    ids=lambda part: part if isinstance(part, str) else "",
)
def test_common_wordings_are_refused_with_what_to_type(text, suggestions):
    fault = refusal(text)
    assert fault.suggestions == suggestions
    for suggestion in suggestions:
        assert suggestion in fault.advice
        read_date(suggestion)


def test_no_advice_is_given_that_cannot_be_read_itself():
    # Each of these is near a wording of the table, but has no day or year there.
    for text in ("29 February 1900", "1985-2-30", "before 0000", "99 9 9"):
        assert refusal(text).suggestions == ()


PIECES = st.sampled_from(
    [*"0123456789X?~%-/[]{},.TZYES+: ", "..", "19", "1985", "04", "X", "-12", "E7", "S3", "circa "]
)
ANYTHING = st.one_of(
    st.text(max_size=200),
    st.lists(PIECES, max_size=40).map("".join),
    st.sampled_from(TEXTS + FURTHER).flatmap(
        lambda text: st.tuples(st.just(text), st.integers(0, len(text)), PIECES).map(
            lambda cut: cut[0][: cut[1]] + cut[2] + cut[0][cut[1] + 1 :]
        )
    ),
)


def statement_or_fault(text):
    try:
        return read_date(text)
    except DateUnreadable as fault:
        return fault


@settings(deadline=None)  # how fast the machine is says nothing about the reader
@given(ANYTHING)
@example("Y" + "9" * 199)
@example("1985S" + "9" * 195)
@example("Y1E" + "9" * 197)
@example("[" + ",".join(["1XXX-12"] * 24) + "]")
def test_every_text_gives_a_statement_or_a_refusal(text):
    found = statement_or_fault(text)
    if isinstance(found, DateUnreadable):
        assert 0 <= found.position <= len(text)
        assert all(suggestion in found.advice for suggestion in found.suggestions)
        assert not any(
            isinstance(statement_or_fault(suggestion), DateUnreadable)
            for suggestion in found.suggestions
        )
    else:
        assert found.text == text
        assert found.spans
        assert read_date(str(found)) == found
        assert 0 <= found.level <= 2


PATTERNS = st.tuples(
    st.sampled_from(["1956", "195X", "19X6", "1X56", "2000", "190X"]),
    st.sampled_from(["02", "0X", "1X", "X2", "XX"]),
    st.sampled_from(["XX", "0X", "29", "3X", "X1", "15"]),
)
DAYS_SEEN = {iso_date(day): day for day in range(day_number(1856), day_number(2002))}


@settings(deadline=None, max_examples=60)
@given(PATTERNS)
def test_partial_digits_agree_with_a_search_day_by_day(pattern):
    wanted = re.compile("-".join(pattern).replace("X", "[0-9]"))
    named = {day for date, day in DAYS_SEEN.items() if wanted.fullmatch(date)}
    found = statement_or_fault("-".join(pattern))
    if isinstance(found, DateUnreadable):
        assert not named
    else:
        days = {day for part in found.spans for day in range(part.earliest, part.latest + 1)}
        assert days & set(DAYS_SEEN.values()) == named


@given(st.dates(), st.dates())
def test_intervals_and_sets_of_days_hold_the_days_they_name(one, two):
    first, last = sorted((one, two))
    days = Spans.between(first.toordinal(), last.toordinal())
    assert read_date(f"{first}/{last}").spans == days
    assert read_date(f"[{first}..{last}]").spans == days
    either = read_date(f"[{first},{last}]").spans
    assert either == Spans.of(Span(d.toordinal(), d.toordinal()) for d in (first, last))
    assert read_date(f"[..{first}]").spans.union(read_date(f"[{first}..]").spans) == EVER
    if first != last:
        assert refusal(f"{last}/{first}").advice == "Put the earlier date first"


def bounds_by_package(text):
    """What the published package says, as ISO days; raises whatever it raises."""
    with contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = published_package.parse_edtf(text)
        ends = (found.lower_strict(), found.upper_strict())
    return tuple(
        f"{'-' if end.tm_year < 0 else ''}{abs(end.tm_year):04d}-{end.tm_mon:02d}-{end.tm_mday:02d}"
        for end in ends
    )


DIFFERENT_IN_PACKAGE = {
    # text: what PyPI edtf 5.0.2 answers (bounds, or the name of what it raises), our days
    "1984-1X": ("AttributeError", "1984-10-01/1984-12-31"),
    "2004-0X": ("AttributeError", "2004-01-01/2004-09-30"),
    "1985/": (("1985-01-01", "1995-01-01"), "1985-01-01/.."),
    "/1985": (("1975-12-31", "1985-12-31"), "../1985-12-31"),
    "1985-04-12/": (("1985-04-12", "1995-04-12"), "1985-04-12/.."),
    "/1985-04-12": (("1975-04-12", "1985-04-12"), "../1985-04-12"),
    "2003-02-29": (("2003-02-29", "2003-02-29"), None),
    "1900-02-29": (("1900-02-29", "1900-02-29"), None),
    "2008/2004": (("2008-01-01", "2004-12-31"), None),
    "1950S2": (("1950-01-01", "1950-12-31"), "1900-01-01/1999-12-31"),
    "2004-06-11%/2004~-06": ("EDTFParseException", "2004-06-11/2004-06-30"),
    "2001-28": (("2001-12-01", "2001-12-31"), "2000-12-01/2001-03-21 or 2001-12-01/2002-03-21"),
    "[1667,1670..1672]": (
        ("1667-01-01", "1672-12-31"),
        "1667-01-01/1667-12-31 or 1670-01-01/1672-12-31",
    ),
}


@pytest.mark.parametrize(
    ("text", "theirs", "ours"),
    [(text, *answers) for text, answers in DIFFERENT_IN_PACKAGE.items()],
    ids=DIFFERENT_IN_PACKAGE,
)
def test_where_we_differ_from_the_published_package_the_difference_is_known(text, theirs, ours):
    try:
        found = bounds_by_package(text)
    except Exception as error:  # noqa: BLE001 - it raises undocumented kinds, and that is the point
        found = type(error).__name__
    assert found == theirs
    if ours is None:
        refusal(text)
    else:
        assert str(read_date(text).spans) == ours


AGREEING = [
    text
    for text, _, days in EXAMPLES
    if ".." not in days
    and text not in DIFFERENT_IN_PACKAGE
    and text not in ("XXXX-12-XX", "Y171010000S3", "Y3388E2S3", "[1667,1668,1670..1672]")
    and not text.startswith("{1667")
]


@pytest.mark.parametrize("text", AGREEING)
def test_everywhere_else_the_published_package_finds_the_same_bounds(text):
    spans = read_date(text).spans
    assert bounds_by_package(text) == (iso_date(spans.earliest), iso_date(spans.latest))
