from __future__ import annotations

import asyncio

import pytest

from ledger.publish.guard import CONTENT_POLICY

CLOSED = (
    "/-/versions",
    "/-/versions.json",
    "/-/databases",
    "/-/databases.json",
    "/-/metadata",
    "/-/metadata.json",
    "/-/settings",
    "/-/plugins",
    "/-/threads",
    "/-/actor",
    "/-/permissions",
    "/-/allow-debug",
    "/-/messages",
    "/-/logout",
    "/-/auth-token",
    "/-/patterns",
    "/-/static/app.css",
    "/-",
    "/%2D/versions",
    "/%252D/versions",
    "//-/versions",
    "/.json",
    "/.jsono",
    "/_internal",
    "/_internal/databases",
    "/_memory",
    "/:memory:",
    "/witnessmark.db",
    "//elsewhere.example/",
)


def test_the_content_policy_lets_nothing_run_and_nothing_in_from_elsewhere():
    assert "default-src 'none'" in CONTENT_POLICY
    assert "script-src 'none'" in CONTENT_POLICY
    assert "unsafe" not in CONTENT_POLICY


@pytest.mark.parametrize("path", CLOSED)
def test_what_the_server_says_of_itself_is_closed(site, path):
    answer = asyncio.run(
        site.client.request("get", f"http://localhost{path}", avoid_path_rewrites=True)
    )
    assert answer.status_code == 404
    assert "There is nothing at this address." in answer.text
    assert "location" not in answer.headers


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "LOCK"])
@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/questions/open-matters",
        "/witnessmark/open-matters",
        "/witnessmark/line",
        "/-/logout",
        "/search",
    ],
)
def test_only_reading_is_possible(site, method, path):
    answer = asyncio.run(site.client.request(method, path))
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"
    assert answer.headers["content-security-policy"] == CONTENT_POLICY


@pytest.mark.parametrize("path", ["/", "/witnessmark/line", "/instrument/corbel-lap-steel.json"])
def test_head_answers_as_get_does_without_the_body(site, path):
    head = asyncio.run(site.client.head(path))
    got = asyncio.run(site.client.get(path))
    assert head.status_code == 200
    assert head.content == b""
    assert head.headers["content-type"] == got.headers["content-type"]


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "", "[::2]"])
def test_a_name_that_is_not_ours_is_refused(ask, host):
    assert ask("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8001", "localhost", "LOCALHOST:9", "[::1]:8001"])
def test_the_names_of_loopback_are_answered(ask, host):
    assert ask("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("asked", ["_facet=%00", "%00=1", "_sort=id&title=a%00b"])
def test_an_address_of_a_table_with_a_null_character_is_not_understood(ask, asked):
    answer = ask(f"/witnessmark/line?{asked}")
    assert answer.status_code == 400
    assert "cannot be understood" in answer.text
