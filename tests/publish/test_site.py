from __future__ import annotations

import asyncio
import gc
import json
import re
import shutil
import socket
import sqlite3
import threading
import urllib.request
from contextlib import closing
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from datasette.app import Datasette
from datasette.utils import tilde_encode

from ledger.errors import PublicationError
from ledger.publish import drawn_pages, question_views
from ledger.publish import site as site_module
from ledger.publish.guard import SAFE_HEADERS
from ledger.publish.site import datasette_for, open_socket, serve
from ledger.publish.sitedb import DATABASE_FILE, ExhibitFile, publish_site

PAGES = (
    "/",
    "/instrument/corbel-lap-steel",
    "/instrument/corbel-lap-steel/finding/bound/pot",
    "/questions",
    "/questions/open-matters",
    "/questions/rests-on-reference?reference=corbel/source-304",
    "/search",
    "/search?q=jack",
    "/search?q=nothing-of-the-kind",
    "/words",
    "/witnessmark",
    "/witnessmark/line",
    "/witnessmark/line?section=marks&_sort_desc=title&_facet=id",
    "/witnessmark/line?_filter_column=section&_filter_op=exact&_filter_value=nothing",
    "/witnessmark/reference/corbel~2Fpan",
    "/witnessmark/instrument/corbel-lap-steel",
    "/witnessmark/open-matters?instrument=",
    "/not-here",
)


class Shape(HTMLParser):
    """What has to be looked at in a page: its elements and their attributes, in order."""

    def __init__(self, text):
        super().__init__()
        self.elements = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def all(self, *tags):
        return [attrs for tag, attrs in self.elements if tag in tags]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_there_and_wears_our_face_only(ask, path):
    answer = ask(path, follow_redirects=True)
    assert answer.status_code == (404 if path == "/not-here" else 200)
    page = Shape(answer.text)
    assert page.all("html")[0]["lang"] == "en"
    assert len(page.all("h1")) == 1
    assert page.all("script", "iframe", "object", "style") == []
    assert [attrs for _, attrs in page.elements if "style" in attrs or "onclick" in attrs] == []
    assert "datasette" not in answer.text.lower()
    assert all(attrs["href"].startswith("/static/") for attrs in page.all("link"))


@pytest.mark.parametrize("path", PAGES)
def test_every_input_has_a_label_and_every_table_a_caption(ask, path):
    page = Shape(ask(path, follow_redirects=True).text)
    labelled = {attrs.get("for") for attrs in page.all("label")}
    fields = [attrs for attrs in page.all("input", "select") if attrs.get("type") != "hidden"]
    assert {attrs["id"] for attrs in fields} <= labelled
    assert len(page.all("table")) == len(page.all("caption"))
    assert len({attrs["id"] for attrs in fields}) == len(fields)


@pytest.mark.parametrize(
    "path",
    [
        *PAGES,
        "/favicon.ico",
        "/static/site.css",
        "/instrument/corbel-lap-steel.json",
        "/witnessmark/line.json",
        "/witnessmark/line.csv",
        "/-/versions",
        "/witnessmark?sql=x",
    ],
)
def test_every_answer_carries_the_safe_headers(ask, path):
    answer = ask(path)
    for name, value in SAFE_HEADERS:
        assert answer.headers[name] == value
    assert "set-cookie" not in answer.headers
    assert answer.headers["cache-control"] == (
        "no-store" if answer.status_code >= 300 else answer.headers["cache-control"]
    )


@pytest.mark.parametrize(
    "path",
    [
        "/witnessmark?sql=select+1",
        "/witnessmark.json?sql=select+1",
        "/witnessmark.csv?sql=select+1",
        "/witnessmark/line?_where=1=1",
        "/witnessmark/report",
        "/witnessmark/report.json",
        "/witnessmark/exhibit_file",
        "/witnessmark/passage",
        "/witnessmark/passage_fts_data",
        "/witnessmark/REPORT",
        "/witnessmark/report/corbel-lap-steel",
        "/witnessmark/exhibit_file/x.blob?_blob_column=content",
        "/witnessmark/sqlite_master/1",
    ],
)
def test_sql_of_a_visitor_and_tables_that_are_not_for_browsing_are_refused(ask, path):
    assert ask(path).status_code in (400, 403, 404)


def test_streaming_the_whole_table_is_refused(ask):
    assert ask("/witnessmark/line.csv?_stream=on").status_code == 400


def test_nothing_can_be_written(site, site_folder):
    before = (site_folder / DATABASE_FILE).read_bytes()
    database = site.get_database("witnessmark")
    assert database.is_mutable is False

    def write(connection):
        connection.execute("DELETE FROM line")

    with pytest.raises(sqlite3.DatabaseError, match="not authorized"):
        asyncio.run(database.execute_fn(write))
    assert (site_folder / DATABASE_FILE).read_bytes() == before


def test_what_is_hostile_in_a_record_is_shown_as_text(ask, hostile):
    for path in (
        "/instrument/corbel-lap-steel",
        "/witnessmark/line",
        "/search?q=destroyed",
        "/questions/works-and-parts",
    ):
        text = ask(path).text
        assert "<script" not in text
        assert "&lt;script&gt;" in text


def test_the_report_is_given_as_data(ask, report):
    answer = ask("/instrument/corbel-lap-steel.json")
    assert answer.headers["content-type"].startswith("application/json")
    assert answer.json()["name"] == report.name


@pytest.mark.parametrize(
    "path",
    [
        "/instrument/nobody",
        "/instrument/nobody.json",
        "/instrument/corbel-lap-steel/finding/nothing",
        "/questions/nothing",
        "/exhibit/" + "0" * 64,
        "/exhibit/../../etc/passwd",
        "/static/../site.py",
        "/static/%2e%2e/site.py",
        "/witnessmark/nothing",
        "/instrument/%00",
        "/instrument/%ff%fe",
    ],
)
def test_what_is_not_there_is_not_found(ask, path):
    assert ask(path, follow_redirects=True).status_code == 404


def test_an_error_tells_no_tale(ask, site, monkeypatch, capfd):
    async def broken(*_, **__):
        raise RuntimeError("secret of the house")

    monkeypatch.setattr(site, "render_template", broken)
    answer = ask("/term/")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text
    assert answer.headers["cache-control"] == "no-store"


# When one step of a table's page fails the server drops the steps that were to come after it.
@pytest.mark.filterwarnings("ignore:coroutine '.*' was never awaited:RuntimeWarning")
@pytest.mark.parametrize(
    "query",
    ["_timelimit=x", "_sort=nothing", "_sort_desc=nothing", "_size=x", "_size=99999", "_col=x",
     "_facet=nothing", "_through=x", "_filter_column=x&_filter_op=y&_filter_value=z",
     "id__nothing=1", "_fts_table=nothing&_search=x", "_search_nothing=x", "_labels=x",
     "section__in=[", "_sort=id&_sort_desc=id", "_facet_array=id", "_next=%00"],
)  # fmt: skip
def test_a_question_to_a_table_that_makes_no_sense_is_no_fault_of_ours(ask, query):
    for path in ("/witnessmark/line", "/witnessmark/line.json"):
        answer = ask(f"{path}?{query}", follow_redirects=True)
        assert answer.status_code in (200, 400, 403)
        assert "Traceback" not in answer.text
    gc.collect()


def test_filters_and_pages_and_sorting_work_by_links_and_plain_forms(ask):
    page = ask("/witnessmark/line?_size=3&_sort=title")
    further = re.search(r'rel="next" href="([^"]+)"', page.text)
    assert further
    assert ask(further[1].replace("&amp;", "&")).status_code == 200
    filtered = ask(
        "/witnessmark/line?_filter_column=section&_filter_op=exact&_filter_value=marks",
        follow_redirects=True,
    )
    assert "4 rows where section" in filtered.text
    counted = Shape(ask("/witnessmark/line").text)
    assert any("section=marks" in (each.get("href") or "") for each in counted.all("a"))


def test_a_value_that_names_a_row_links_to_it(ask):
    assert '"/witnessmark/source/corbel-lap-steel~2Fbench"' in ask("/witnessmark/line").text
    row = ask("/witnessmark/line/corbel-lap-steel~2Fpot-code").text
    assert '"/witnessmark/source/corbel-lap-steel~2Fbench"' in row
    assert '"/witnessmark/support?line=corbel-lap-steel/pot-code"' in row


def test_a_link_from_a_row_to_the_rows_that_name_it_leads_to_them(ask):
    row = Shape(ask("/witnessmark/line/corbel-lap-steel~2Fpot-code").text)
    (href,) = [a["href"] for a in row.all("a") if "/support?" in a.get("href", "")]
    assert "1 row where" in ask(href).text


def test_a_link_to_what_names_a_row_leads_to_it_whatever_signs_are_in_its_key(
    tmp_path, publication, report
):
    odd = "holds:practice/years#pot.volume"
    more = replace(report.suppositions[0], id=odd)
    account = replace(report.accounts[0], gives_up=(odd,))
    told = replace(report, suppositions=(more, *report.suppositions), accounts=(account,))
    site = datasette_for(publish_site(tmp_path / "s", replace(publication, reports=[told])))

    def asked(path):
        return asyncio.run(site.client.get(path)).text

    page = asked("/witnessmark/supposition/" + tilde_encode(f"{report.instrument}/{odd}"))
    hrefs = [a["href"] for a in Shape(page).all("a") if "account_gives_up?" in a.get("href", "")]
    assert [href.count("#") for href in hrefs] == [0]
    assert "1 row where" in asked(hrefs[0])


@pytest.mark.parametrize("path", PAGES)
def test_no_heading_skips_a_step(ask, path):
    steps = [int(tag[1]) for tag, _ in Shape(ask(path, follow_redirects=True).text).elements
             if re.fullmatch("h[1-6]", tag)]  # fmt: skip
    assert all(after <= before + 1 for before, after in pairwise([0, *steps]))


def test_a_number_that_is_none_is_said_to_be_none(ask):
    page = ask("/questions/hard-to-tell?least=abc&most=-5").text
    assert "“abc” is no number: A chance of at least (percent)." in page
    assert "“-5” is no number between 0 and 100: A chance of at most (percent)." in page
    assert "Nothing fits" not in page
    assert "is no number" not in ask("/questions/hard-to-tell?least=20.5&most=80").text


def test_questions_to_the_graph_are_named_with_how_to_ask_them_and_lead_nowhere(ask):
    page = ask("/questions").text
    assert "witnessmark ask component-lag --param code=…" in page
    assert "witnessmark ask features-changing-together --param fewest=1" in page
    assert "witnessmark ask legibility" not in page  # it has a page
    for href in re.findall(r'href="(/questions/[^"]+)"', page):
        assert ask(href).status_code == 200


def test_the_page_of_words_says_what_is_withheld_and_how_far_it_can_be_narrowed_down(ask):
    page = ask("/words").text
    assert '<h2 id="withheld">' in page
    assert "which numbers of that table give those" in page


def test_a_question_shows_its_form_with_the_defaults_and_its_answer_as_data(ask):
    page = ask("/questions/thin-references").text
    assert re.search(r'name="fewest" value="3"', page)
    data = re.search(r'href="(/witnessmark/thin-references\.json\?[^"]+)"', page)
    assert data
    rows = ask(data[1].replace("&amp;", "&")).json()["rows"]
    assert [row[0] for row in rows] == ["corbel/pan"]
    assert ask("/witnessmark/thin-references.csv?fewest=3").text.startswith("reference,section")


def test_a_question_that_takes_too_long_says_so(ask, site, monkeypatch):
    monkeypatch.setitem(site._settings, "sql_time_limit_ms", 1)
    monkeypatch.setattr(site, "sql_time_limit_ms", 1)
    slow = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT count(*) FROM c"
    first = site.witnessmark_questions[0]
    monkeypatch.setattr(
        site,
        "witnessmark_questions",
        (type(first)(**{**fields_of(first), "sql": slow, "name": "slow"}),),
    )
    answer = ask("/questions/slow")
    assert answer.status_code == 200
    assert "took too long" in answer.text


def test_a_question_as_first_met_is_drawn_with_the_site_as_it_would_be_drawn_when_asked(
    ask, site, monkeypatch
):
    """A question across everything may take longer than a visitor is given."""
    first = {each.name: ask(f"/questions/{each.name}").text for each in site.witnessmark_questions}
    monkeypatch.setattr(question_views, "first_asked", lambda _: None)
    assert first == {
        each.name: ask(f"/questions/{each.name}").text for each in site.witnessmark_questions
    }


def test_a_form_sent_as_it_was_gets_the_page_that_was_drawn(ask, site, monkeypatch):
    monkeypatch.setattr(site, "sql_time_limit_ms", 1)
    question = next(each for each in site.witnessmark_questions if each.name == "open-matters")
    assert (
        ask(f"/questions/{question.name}?instrument=").text == ask("/questions/open-matters").text
    )


def test_the_tables_are_listed_with_what_a_row_is_and_how_many_there_are(ask, site):
    text = ask("/witnessmark").text
    for table in site.witnessmark_tables.values():
        assert (f'href="/witnessmark/{table.name}"' in text) == table.is_open
    rows = ask("/witnessmark/line.json?_size=0").json()["filtered_table_rows_count"]
    assert f'<td class="figure" data-label="Rows">{rows:,}</td>' in text
    assert ask("/witnessmark.html").text == text


def fields_of(question):
    return {name: getattr(question, name) for name in question.__slots__}


def test_an_exhibit_is_a_picture_in_a_sandbox(ask, picture_bytes):
    page = ask("/instrument/corbel-lap-steel").text
    href = re.search(r'"(/exhibit/[0-9a-f]{64})"', page)
    assert href
    for path in (href[1], f"{href[1]}/thumbnail"):
        answer = ask(path)
        assert answer.content == picture_bytes
        assert answer.headers["content-type"] == "image/png"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "sandbox" in answer.headers["content-security-policy"]


def test_a_file_that_is_no_picture_is_not_served(tmp_path, publication):
    page = ExhibitFile("cd" * 32, "text/html", b"<script>alert(1)</script>")
    drawing = ExhibitFile("ef" * 32, "image/svg+xml", b"<svg onload='x'/>")
    folder = publish_site(tmp_path / "s", replace(publication, exhibits=[page, drawing]))
    served = datasette_for(folder)
    for each in (page, drawing):
        answer = asyncio.run(served.client.get(f"/exhibit/{each.sha256}"))
        assert answer.status_code == 404


def test_every_link_of_the_main_pages_leads_somewhere(ask):
    seen = {}
    waiting = list(PAGES[:-1])
    while waiting and len(seen) < 250:
        path = waiting.pop(0).partition("#")[0]
        if path in seen or not path.startswith("/"):
            continue
        answer = ask(path, follow_redirects=True)
        seen[path] = answer.status_code
        if "html" in answer.headers["content-type"] and path in PAGES:
            shape = Shape(answer.text)
            waiting += [a["href"] for a in shape.all("a") if "href" in a]
            waiting += [a["src"] for a in shape.all("img")]
    assert {path: status for path, status in seen.items() if status != 200} == {}


def test_another_server_of_the_same_kind_is_left_as_it_is(site):
    other = Datasette(memory=True)
    answer = asyncio.run(other.client.get("/-/versions.json"))
    assert answer.status_code == 200
    assert "content-security-policy" not in answer.headers


def test_a_folder_without_a_site_is_refused(tmp_path):
    with pytest.raises(PublicationError, match="There is no site"):
        datasette_for(tmp_path)


def test_a_site_of_another_version_is_told_to_be_published_anew(site_folder, tmp_path):
    shutil.copytree(site_folder, tmp_path / "older")
    with closing(sqlite3.connect(tmp_path / "older" / "witnessmark.db")) as db:
        db.execute("ALTER TABLE reference DROP COLUMN scope")
        db.commit()
    with pytest.raises(PublicationError, match=r"reference has no scope\. Publish it anew"):
        datasette_for(tmp_path / "older")


def test_a_port_that_is_taken_is_stepped_over():
    with closing(open_socket(18_431)) as first:
        taken = first.getsockname()[1]
        with closing(open_socket(taken)) as second:
            assert second.getsockname()[0] == "127.0.0.1"
            assert second.getsockname()[1] > taken


def test_ports_that_are_all_taken_are_told(monkeypatch):
    with closing(open_socket(18_531)) as first:
        monkeypatch.setattr(site_module, "PORTS_TRIED", 1)
        with pytest.raises(PublicationError, match="No port"):
            open_socket(first.getsockname()[1])


def test_serving_tells_the_address_and_answers_on_loopback_only(site_folder, monkeypatch):
    told = threading.Event()
    addresses = []
    servers = []
    made = site_module.uvicorn.Server

    def remembered(config):
        servers.append(made(config))
        return servers[-1]

    def say(address):
        addresses.append(address)
        told.set()

    monkeypatch.setattr(site_module.uvicorn, "Server", remembered)
    thread = threading.Thread(target=serve, args=(site_folder, 18_631, say), daemon=True)
    thread.start()
    assert told.wait(20)
    with urllib.request.urlopen(  # noqa: S310 - an address on loopback
        f"{addresses[0]}instrument/corbel-lap-steel.json", timeout=20
    ) as got:
        assert json.load(got)["instrument"] == "corbel-lap-steel"
        assert "server" not in {name.lower() for name in got.headers}
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", addresses[0])
    servers[0].should_exit = True
    thread.join(20)
    assert not thread.is_alive()
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", int(addresses[0].split(":")[2].strip("/"))), 5)


def test_instruments_that_do_not_fit_on_the_front_page_are_counted_there(
    ask, monkeypatch, tmp_path, publication
):
    assert " more instrument" not in ask("/").text
    monkeypatch.setattr(drawn_pages, "MOST_ON_FRONT", 1)
    small = datasette_for(publish_site(tmp_path / "small", publication))
    assert "1 more instrument is in" in asyncio.run(small.client.get("/")).text
