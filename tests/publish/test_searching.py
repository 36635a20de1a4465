from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.publish import search_views
from ledger.publish.searching import KINDS, marked, match_expression
from ledger.publish.sitedb import DATABASE_FILE


@pytest.mark.parametrize(
    "typed",
    ['"', '""', '"unclosed', "NEAR(", "AND OR NOT", "title:x", "*", "a*", "^pot", "-pot", "(",
     "pot' OR 1=1 --", "\x00pot", "pot\x02", "<b>pot</b>", "é\u0301", "😀", "a" * 5000,
     "pot " * 500, "{pot} : x", "+", "\\", "%00", "; DROP TABLE passage"],
)  # fmt: skip
def test_whatever_is_typed_can_be_searched_for(ask, typed):
    answer = ask("/search", params={"q": typed, "kind": typed, "page": typed})
    assert answer.status_code == 200
    assert "<b>pot" not in answer.text


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.text(max_size=40))
def test_the_index_understands_every_expression_that_is_made(site_folder, typed):
    expression = match_expression(typed)
    if expression:
        with closing(sqlite3.connect(site_folder / DATABASE_FILE)) as database:
            database.execute(
                "select count(*) from passage_fts where passage_fts match ?", [expression]
            ).fetchall()


@given(st.text(alphabet="\x02\x03<>&ab", max_size=30))
def test_marked_snippets_are_safe_and_their_marks_are_paired(snippet):
    html = str(marked(snippet))
    plain = html.replace("<mark>", "").replace("</mark>", "")
    assert "<" not in plain
    assert ">" not in plain
    assert re.fullmatch(r"([^<]*<mark>[^<]*</mark>)*[^<]*", html)


def test_search_finds_marks_and_can_be_narrowed_to_a_kind(ask):
    page = ask("/search?q=jack").text
    assert "<mark>jack</mark>" in page.lower()
    narrowed = ask("/search?q=completed&kind=finding").text
    hits = re.findall(r'<li><p><a href="([^"]+)"', narrowed)
    assert hits
    assert all("/finding/" in href for href in hits)
    for href in hits:
        assert ask(href).status_code == 200


def test_search_keeps_words_in_quotes_together(ask):
    assert "1 found" not in ask('/search?q="pot volume"').text
    assert "Nothing was found" in ask('/search?q="pot volume"').text
    assert "Nothing was found" not in ask('/search?q="volume pot"').text


def test_what_only_links_or_is_set_aside_does_not_crowd_the_hits(site_folder, report):
    with closing(sqlite3.connect(site_folder / DATABASE_FILE)) as database:
        told = [text for (text,) in database.execute("select text from passage")]
        kinds = [kind for (kind,) in database.execute("select kind from passage order by id")]
    left_out = {"relation", "state", "reading", "swap"}
    for finding in report.findings:
        assert (finding.sentence in told) == (finding.kind not in left_out), finding.kind
    assert list(dict.fromkeys(kinds)) == [kind for kind in KINDS if kind in kinds]
    assert kinds == sorted(kinds, key=list(KINDS).index)


def test_where_very_much_is_found_it_is_said_and_the_first_kinds_come_first(ask, monkeypatch):
    monkeypatch.setattr(search_views, "MOST_COUNTED", 1)
    page = ask("/search?q=pot").text
    assert "not put in order" in page
    assert "over 1" in page
    assert "and more found" in page
    ranked = ask("/search?q=corbel-mandolin").text
    assert "The lap steel" in ranked


def test_a_hit_names_its_instrument_and_what_it_is(ask):
    page = ask("/search?q=3047612").text
    assert "line of a bench sheet · The lap steel corbel-lap-steel" in page


@pytest.mark.parametrize(
    ("typed", "number"),
    [("9" * 5_000, 20), ("0" * 5_000 + "2", 2), ("0", 1), ("", 1), ("21", 20), ("7", 7), ("²", 1),
     ("-3", 1), ("1e3", 1)],
    ids=lambda value: str(value)[:8],
)  # fmt: skip
def test_a_page_that_is_asked_for_is_one_that_there_can_be(typed, number):
    assert search_views._page_number(typed or "1") == number


def test_a_page_number_of_any_length_is_answered(ask):
    assert ask("/search", params={"q": "pot", "page": "9" * 5_000}).status_code == 200
