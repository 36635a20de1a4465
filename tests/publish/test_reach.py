"""Where a site is served, to whom it answers, and what may be taken of it."""

from __future__ import annotations

import asyncio
import json
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from click.testing import CliRunner

from ledger.cli import main
from ledger.errors import PublicationError
from ledger.publish.guard import LOOPBACK_HOSTS
from ledger.publish.site import datasette_for, open_socket, reach
from ledger.publish.sitedb import DATABASE_FILE, SETTINGS_FILE, publish_site


def test_a_site_is_served_on_loopback_unless_an_address_is_named():
    assert reach(None).address == "127.0.0.1"
    assert reach(None).hosts == LOOPBACK_HOSTS
    assert not reach(None).is_wide
    assert not reach("::1").is_wide


def test_serving_wider_says_what_that_means_and_which_names_are_answered():
    wide = reach("192.0.2.7", ["Shop.Example."])
    assert wide.is_wide
    assert wide.hosts == LOOPBACK_HOSTS | {"192.0.2.7", "shop.example"}
    said = wide.in_words()
    for part in ("beyond this machine", "without a password", "unencrypted", "192.0.2.7",
                 "shop.example", "TLS"):  # fmt: skip
        assert part in said
    assert reach("2001:db8::7").hosts == LOOPBACK_HOSTS | {"[2001:db8::7]"}


@pytest.mark.parametrize(
    ("address", "names", "said"),
    [
        ("0.0.0.0", (), "say by which name"),  # noqa: S104 - to be refused
        ("::", (), "say by which name"),
        ("shop.example", (), "no address"),
        ("192.0.2.7/24", (), "no address"),
        ("192.0.2.7", ("*",), "no name of a host"),
        ("192.0.2.7", ("a b",), "no name of a host"),
        (None, ("http://shop.example",), "no name of a host"),
        ("192.0.2.7", ("",), "no name of a host"),
    ],
    ids=str,
)
def test_what_names_no_place_to_serve_is_refused(address, names, said):
    with pytest.raises(PublicationError, match=said):
        reach(address, names)


def test_an_address_of_another_machine_is_told():
    with pytest.raises(PublicationError, match="no address of this machine"):
        open_socket(18_731, "192.0.2.7")


def test_the_command_refuses_before_it_serves(site_folder):
    words = ["show", "--site", str(site_folder), "--listen", "0.0.0.0"]  # noqa: S104 - to be refused
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 1
    assert "say by which name" in result.output


def test_a_name_that_is_told_is_answered_and_no_other(site_folder):
    site = datasette_for(site_folder, reach(None, ["shop.example"]).hosts)
    for host, status in (("shop.example", 200), ("shop.example:8140", 200), ("SHOP.EXAMPLE", 200),
                         ("localhost", 200), ("elsewhere.example", 421),
                         ("shop.example.elsewhere.example", 421), ("xshop.example", 421),
                         ("shop.example@elsewhere.example", 421)):  # fmt: skip
        answer = asyncio.run(site.client.get("/", headers={"host": host}))
        assert answer.status_code == status, host


def test_the_database_is_not_given_away_unless_the_publisher_says_so(tmp_path, publication):
    closed = publish_site(tmp_path / "closed", publication)
    opened = publish_site(tmp_path / "open", replace(publication, may_be_taken=True))
    for folder, status in ((closed, 404), (opened, 200)):
        site = datasette_for(folder)
        for path in ("/witnessmark.db",):
            answer = asyncio.run(site.client.get(path))
            assert answer.status_code == status
        assert ("/witnessmark.db" in asyncio.run(site.client.get("/witnessmark")).text) == (
            status == 200
        )
    assert "attachment" in answer.headers["content-disposition"]
    taken = tmp_path / "taken.db"
    taken.write_bytes(answer.content)
    assert answer.content == (opened / DATABASE_FILE).read_bytes()
    with closing(sqlite3.connect(taken)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.parametrize(
    "path", ["/_internal.db", "//witnessmark.db", "/witnessmark%2Edb", "/witnessmark.db/x",
             "/-/databases.json", "/_memory.db"],
)  # fmt: skip
def test_opening_the_database_opens_nothing_else(tmp_path, publication, path):
    folder = publish_site(tmp_path / "open", replace(publication, may_be_taken=True))
    site = datasette_for(folder)
    answer = asyncio.run(
        site.client.request("get", f"http://localhost{path}", avoid_path_rewrites=True)
    )
    assert answer.status_code == 404


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{", '{"allow_download": "yes"}', '{"allow_download": 1}', "[" * 100_000, "null"],
    ids=lambda text: text[:22],
)
def test_settings_that_do_not_say_so_plainly_give_nothing_away(tmp_path, publication, text):
    folder = publish_site(tmp_path / "site", publication)
    (folder / SETTINGS_FILE).write_text(text)
    assert asyncio.run(datasette_for(folder).client.get("/witnessmark.db")).status_code == 404


def test_the_settings_say_what_the_publisher_chose(tmp_path, publication):
    folder = publish_site(tmp_path / "site", replace(publication, may_be_taken=True))
    assert json.loads((folder / SETTINGS_FILE).read_text())["allow_download"] is True


def test_a_file_that_is_kept_back_is_not_shown_as_a_picture(tmp_path, publication):
    folder = publish_site(tmp_path / "site", replace(publication, exhibits=[]))
    page = asyncio.run(datasette_for(folder).client.get("/instrument/corbel-lap-steel"))
    assert page.status_code == 200
    assert "/exhibit/" not in page.text


def test_every_address_is_told_by_a_name_that_is_answered():
    every = reach("0.0.0.0", ["shop.example"])  # noqa: S104 - with a name it is allowed
    assert every.shown == "shop.example"
    assert "at any of its addresses" in every.in_words()
