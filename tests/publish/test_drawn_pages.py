from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing

import pytest

from ledger.publish.rendering import packed, unpacked
from ledger.publish.site import datasette_for
from ledger.publish.sitedb import DATABASE_FILE, publish_site

PATHS = ["/", "/instrument/corbel-lap-steel", "/instrument/corbel-mandolin"]


def without_stored_pages(folder):
    """The same site, in which every page has to be drawn when it is asked for."""
    with closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        database.execute("DELETE FROM page")
        database.commit()
    return folder


@pytest.mark.parametrize("path", PATHS)
def test_a_stored_page_is_the_page_that_the_server_would_draw(ask, tmp_path, publication, path):
    plain = datasette_for(without_stored_pages(publish_site(tmp_path / "plain", publication)))
    drawn = asyncio.run(plain.client.get(path))
    assert drawn.status_code == 200
    assert ask(path).text == drawn.text


def test_a_reader_who_takes_no_packed_pages_gets_them_unpacked(ask):
    plain = ask(PATHS[1], headers={"accept-encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.text.startswith("<!DOCTYPE html>")
    assert plain.text == ask(PATHS[1], headers={"accept-encoding": "gzip"}).text


def test_packing_gives_the_same_bytes_and_loses_nothing():
    assert packed("page µ") == packed("page µ")
    assert unpacked(packed("page µ")).decode() == "page µ"


def test_the_history_of_the_record_stands_on_the_page(ask):
    page = ask(PATHS[1]).text
    assert page.index("2 lines recorded.") < page.index("5 lines recorded.")
    assert "The end moved." in page


def test_a_finding_opens_on_its_decisive_path_and_folds_the_rest(ask):
    page = ask("/instrument/corbel-lap-steel/finding/bound/pot").text
    assert "Open: the decisive path" in page
    assert "not decisive" in page
    assert "The whole chain as a drawing" in page
