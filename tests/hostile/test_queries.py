"""Whatever is asked of a site, it answers with a page, with data or with a plain refusal."""

from __future__ import annotations

import asyncio
import csv
import io
import json
import re
import sqlite3
import time
from contextlib import closing
from dataclasses import replace
from urllib.parse import quote, urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.basis.visible import visible
from ledger.publish.connection import LIMITS, close_off
from ledger.publish.csv_cells import inert_cell, inert_csv
from ledger.publish.guard import CONTENT_POLICY, LONGEST_PATH, LONGEST_QUERY, MOST_PARAMETERS
from ledger.publish.site import datasette_for

QUICK = settings(
    deadline=None, max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
PLAIN = (200, 301, 302, 400, 403, 404, 405, 414, 421, 503)
ELEMENT = re.compile(
    r"<(script|iframe|object|embed|svg [^>]*onload|img [^>]*onerror)", re.IGNORECASE
)
TABLES = ("line", "finding", "reference", "instrument", "source", "reading")
PARAMETERS = (
    "_search", "_sort", "_sort_desc", "_size", "_next", "_facet", "_facet_array", "_facet_date",
    "_facet_size", "_filter_column", "_filter_op", "_filter_value", "_col", "_nocol", "_shape",
    "_timelimit", "_labels", "_label", "_json", "_ttl", "_nl", "_dl", "_header", "_blob_column",
    "id", "id__exact", "id__contains", "id__like", "id__glob", "id__in", "id__arraycontains",
    "title__endswith", "sentence__not", "rowid", "sequence__gt", "sql", "_extra", "_nocount",
)  # fmt: skip
typed = st.one_of(
    st.text(max_size=60).filter(
        lambda text: not any("\ud800" <= sign <= "\udfff" for sign in text)
    ),
    st.text(alphabet="%_*?[]^\"'\\;-()=<>&|~.,0aA ", max_size=60),
    st.sampled_from(["max", "-1", "0", "9" * 40, "%" * 200, "*a" * 100, "[[[", '{"$ne":1}', "id"]),
)


def holds_up(answer):
    """What has to be so of every answer."""
    assert answer.status_code in PLAIN
    assert "Traceback" not in answer.text
    assert "sqlite3." not in answer.text
    assert ".py" not in answer.text
    if answer.status_code != 301 and answer.status_code != 302:  # noqa: PLR1714 - read as two
        assert answer.headers["content-security-policy"] in (
            CONTENT_POLICY,
            "default-src 'none'; sandbox",
        )
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "set-cookie" not in answer.headers
    if "html" in answer.headers.get("content-type", ""):
        assert not ELEMENT.search(answer.text)


@QUICK
@given(st.sampled_from(TABLES), st.dictionaries(st.sampled_from(PARAMETERS), typed, max_size=4),
       st.sampled_from(["", ".json", ".csv"]))  # fmt: skip
@pytest.mark.filterwarnings("ignore:coroutine '.*' was never awaited:RuntimeWarning")
def test_any_parameters_of_a_table_are_answered_or_refused(ask, table, asked, form):
    holds_up(ask(f"/witnessmark/{table}{form}?{urlencode(asked)}"))


@QUICK
@given(typed, typed, typed)
def test_any_search_is_answered(ask, query, kind, page):
    answer = ask(f"/search?{urlencode({'q': query, 'kind': kind, 'page': page})}")
    holds_up(answer)
    assert answer.status_code == 200


@QUICK
@given(typed, st.sampled_from(["", ".json", ".csv"]))
def test_any_parameter_of_a_question_is_answered(ask, text, form):
    for name, parameter in (("rests-on-reference", "reference"), ("open-matters", "instrument")):
        path = f"/witnessmark/{name}{form}" if form else f"/questions/{name}"
        answer = ask(f"{path}?{urlencode({parameter: text})}", follow_redirects=True)
        holds_up(answer)
        assert answer.status_code in (200, 302, 400)


@QUICK
@given(typed)
def test_any_name_of_anything_is_not_found_and_no_fault_of_ours(ask, name):
    part = quote(name, safe="")
    for path in (
        f"/{part}", f"/witnessmark/{part}", f"/witnessmark/{part}.json", f"/instrument/{part}",
        f"/instrument/dunnock-lap-steel/finding/{part}", f"/exhibit/{part}", f"/static/{part}",
        f"/questions/{part}", f"/witnessmark/line/{part}",
    ):  # fmt: skip
        holds_up(ask(path))


def test_whatever_a_hostile_hand_types_is_shown_as_text(ask, nasty):
    for text in nasty:
        for path in ("/search?" + urlencode({"q": text}),
                     "/questions/rests-on-reference?" + urlencode({"reference": text}),
                     "/witnessmark/line?" + urlencode({"title__contains": text})):  # fmt: skip
            holds_up(ask(path))


@pytest.mark.parametrize(
    "query",
    ["_trace=1", "_context=1", "_stream=on", "_where=1=1", "_through={}", "_TRACE=1&_trace=1",
     "%5ftrace=1", "_wher%65=sequence"],
)  # fmt: skip
@pytest.mark.parametrize("path", ["/", "/witnessmark/line", "/witnessmark/line.csv"])
def test_what_shows_how_the_server_works_or_takes_sql_is_refused(ask, path, query):
    assert ask(f"{path}?{query}").status_code == 400


@pytest.mark.parametrize("query", ["_facet=%00", "%00=1", "title__contains=%00"])
def test_a_table_is_not_asked_with_a_nul(ask, query):
    assert ask(f"/witnessmark/line?{query}").status_code == 400


@pytest.mark.parametrize(
    "path",
    ["/" + "a" * LONGEST_PATH, "/search?q=" + "a" * LONGEST_QUERY,
     "/witnessmark/line?" + "&".join(["_facet=id"] * (MOST_PARAMETERS + 1))],
    ids=["path", "query", "parameters"],
)  # fmt: skip
def test_what_asks_for_too_much_at_once_is_refused(ask, path):
    assert ask(path).status_code == 414


@pytest.mark.parametrize("operator", ["like", "glob", "contains", "endswith"])
def test_a_pattern_made_to_keep_the_database_busy_is_answered_soon(ask, operator):
    pattern = ("%a" if operator != "glob" else "*a") * 2_000
    began = time.perf_counter()
    answer = ask("/witnessmark/line?" + urlencode({f"sentence__{operator}": pattern}))
    assert time.perf_counter() - began < 3
    holds_up(answer)


def test_no_answer_has_more_rows_than_the_limit(ask):
    for path in ("/witnessmark/line.json?_size=max", "/witnessmark/line.csv?_size=max",
                 "/witnessmark/finding.json?_size=500"):  # fmt: skip
        answer = ask(path)
        if path.endswith("csv?_size=max"):
            assert len(list(csv.reader(io.StringIO(answer.text)))) <= 501
        else:
            assert len(answer.json()["rows"]) <= 500
    assert ask("/witnessmark/line.json?_size=501").status_code == 400


def test_every_question_is_held_to_the_limits(sample_site):
    site = datasette_for(sample_site)
    assert 0 < site.setting("sql_time_limit_ms") <= 1_000
    assert 0 < site.setting("max_returned_rows") <= 500
    slow = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT max(x) FROM c"
    wide = (
        "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c LIMIT 9999) SELECT x FROM c"
    )
    first = site.witnessmark_questions[0]
    for sql, said in ((slow, "took too long"), (wide, "The first 500 rows")):
        site.witnessmark_questions = (replace(first, name="another", sql=sql, parameters=()),)
        answer = asyncio.run(site.client.get("/questions/another"))
        assert said in " ".join(answer.text.split())


STATEMENTS = (
    "DELETE FROM line", "UPDATE line SET title = 'x'", "INSERT INTO head VALUES (1, 'x', 'x')",
    "DROP TABLE line", "CREATE TABLE t (x)", "CREATE TEMP TABLE t (x)", "ATTACH '/tmp/x' AS x",
    "PRAGMA writable_schema = ON", "PRAGMA query_only = OFF", "PRAGMA journal_mode = WAL",
    "VACUUM INTO '/tmp/x.db'", "SELECT load_extension('x')", "SELECT randomblob(900000000)",
    "SELECT zeroblob(900000000)", "DETACH main", "REINDEX", "ANALYZE",
    "ALTER TABLE line RENAME TO x", "SAVEPOINT a",
)  # fmt: skip


@pytest.mark.parametrize("sql", STATEMENTS)
def test_a_connection_of_the_site_reads_and_does_nothing_else(sample_site, sql):
    uri = f"{(sample_site / 'witnessmark.db').as_uri()}?immutable=1"
    with closing(sqlite3.connect(uri, uri=True)) as db:
        close_off(db)
        assert db.execute("SELECT count(*) FROM line").fetchone()[0] > 50
        assert db.execute(
            "SELECT count(*) FROM passage_fts WHERE passage_fts MATCH 'pot'"
        ).fetchone()
        with pytest.raises(sqlite3.DatabaseError):
            db.execute(sql)
        assert {limit: db.getlimit(limit) for limit in LIMITS} == LIMITS


# -- tables as CSV -------------------------------------------------------------------------------

FORMULAS = ("=1+1", "+1+1", "-1+cmd", "@SUM(A1)", "\t=1", "\r=1", " =1", "=cmd|' /C calc'!A0",
            "\N{FULLWIDTH EQUALS SIGN}1", "%0A=1", "|x")  # fmt: skip


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_cell_that_a_spreadsheet_could_run_is_made_text(formula):
    assert inert_cell(formula) == f"'{formula}"
    (_, (cell,)) = csv.reader(io.StringIO(inert_csv(_written([["a"], [formula]])), newline=""))
    assert cell == f"'{formula}"


@given(st.lists(st.lists(st.text(max_size=12), min_size=2, max_size=2), min_size=1, max_size=6))
def test_a_table_keeps_every_cell_and_no_cell_begins_a_formula(rows):
    rows = [[cell.replace("\0", "") for cell in row] for row in rows]
    made = list(csv.reader(io.StringIO(inert_csv(_written(rows)), newline="")))
    assert [[inert_cell(cell) for cell in row] for row in rows] == made
    figure = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
    for cell in (cell for row in made for cell in row):
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")) or figure.fullmatch(cell)


def test_nothing_that_divides_at_another_sign_finds_a_formula():
    made = inert_csv(_written([["a", "b"], ["x;=1+1", "y\t=1+1"]]))
    assert made.splitlines()[1] == '"x;=1+1","y\t=1+1"'


def _written(rows):
    written = io.StringIO()
    csv.writer(written).writerows(rows)
    return written.getvalue()


def test_a_table_of_the_site_leaves_as_a_file_with_inert_cells(ask):
    answer = ask("/witnessmark/line.csv?_size=max")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["content-disposition"].startswith("attachment")
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert rows[0][0] == "key"
    assert all(cell == inert_cell(cell) for row in rows for cell in row)


def test_data_says_what_cannot_be_seen_by_escapes(ask):
    answer = ask("/instrument/dunnock-lap-steel.json")
    assert json.loads(answer.text)["instrument"] == "dunnock-lap-steel"
    assert visible(answer.text.replace("\n", "")) == answer.text.replace("\n", "")
