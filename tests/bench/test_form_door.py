"""The door: who is let in, under which name, from which page, and with which token."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.bench.form_asked import MOST_FIELDS
from ledger.bench.form_door import (
    GREATEST_FORM_BYTES,
    MOST_SESSIONS,
    MOST_WRONG_TRIES,
    SESSION_SECONDS,
    Doors,
    is_far,
    refusal,
)

HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]", "192.0.2.7"})


def scope(method="GET", server="127.0.0.1", path="/", **headers):
    given = {"host": f"{server}:8140"} | headers
    return {
        "type": "http",
        "method": method,
        "path": path,
        "server": (server, 8140) if server else None,
        "headers": [
            (name.replace("_", "-").encode(), value.encode())
            for name, value in given.items()
            if value is not None
        ],
    }


def posted(**more):
    own = {"origin": "http://127.0.0.1:8140", "content_length": "10"}
    return scope("POST", **(own | more))


def test_a_page_of_this_server_is_answered():
    assert refusal(scope(), HOSTS) is None
    assert refusal(scope(host="localhost:8140"), HOSTS) is None
    assert refusal(posted(), HOSTS) is None
    assert refusal(posted(origin=None, sec_fetch_site="same-origin"), HOSTS) is None


REFUSED = {
    "another-name": (scope(host="bench.example:8140"), 421),
    "no-name": (scope(host=None), 421),
    "a-name-that-begins-like-ours": (scope(host="127.0.0.1.example"), 421),
    "the-far-name-on-loopback": (scope(host="192.0.2.7:8140"), 421),
    "the-near-name-from-afar": (scope(server="192.0.2.7", host="localhost:8140"), 421),
    "foreign-origin": (posted(origin="http://shop.example"), 403),
    "foreign-origin-that-only-looks": (scope(origin="http://shop.example"), 403),
    "another-port": (posted(origin="http://127.0.0.1:9000"), 403),
    "another-scheme": (posted(origin="https://127.0.0.1:8140"), 403),
    "null-origin": (posted(origin="null"), 403),
    "no-origin": (posted(origin=None), 403),
    "no-origin-cross-site": (posted(origin=None, sec_fetch_site="cross-site"), 403),
    "no-length": (posted(content_length=None), 411),
    "strange-length": (posted(content_length="ten"), 411),
    "too-long": (posted(content_length=str(GREATEST_FORM_BYTES + 1)), 413),
    "length-that-is-not-relied-on": (posted(transfer_encoding="chunked"), 411),
    "chunked-without-length": (posted(content_length=None, transfer_encoding="chunked"), 411),
    "chunked-page": (scope(transfer_encoding="chunked"), 411),
    "far-too-long": (posted(content_length="9" * 40), 413),
    "another-method": (scope("DELETE"), 405),
}


@pytest.mark.parametrize(("asked", "status"), REFUSED.values(), ids=REFUSED)
def test_whatever_is_not_from_a_page_of_this_server_is_refused(asked, status):
    assert refusal(asked, HOSTS)[0] == status


def test_pictures_may_be_larger_than_words():
    length = str(GREATEST_FORM_BYTES + 1)
    assert refusal(posted(path="/object/a/pictures", content_length=length), HOSTS) is None


@given(st.text(max_size=30))
def test_no_other_name_is_answered(name):
    if name.lower().partition(":")[0] not in HOSTS and name.isascii():
        found = refusal(scope(host=name.encode("ascii", "ignore").decode() or "x"), HOSTS)
        assert found is not None


def test_a_token_opens_once():
    doors = Doors()
    token = doors.open_near()
    assert doors.is_near_open
    name = doors.exchange(token, is_far=False)
    assert name
    assert not doors.is_near_open
    assert doors.exchange(token, is_far=False) is None
    assert doors.session(name, is_far=False) is not None


@given(st.text(max_size=50))
def test_no_other_token_opens(typed):
    doors = Doors()
    token = doors.open_near()
    if typed.strip() != token:
        assert doors.exchange(typed, is_far=False) is None
    assert Doors().exchange(typed, is_far=False) is None


def test_the_token_of_this_machine_does_not_open_from_another_nor_the_other_way_round():
    doors = Doors()
    near, far = doors.open_near(), doors.open_far()
    assert doors.exchange(near, is_far=True) is None
    assert doors.exchange(far, is_far=False) is None


def test_a_session_holds_only_from_the_side_from_which_it_was_entered():
    doors = Doors()
    name = doors.exchange(doors.open_far(), is_far=True)
    assert doors.session(name, is_far=True).is_far
    assert doors.session(name, is_far=False) is None


def test_a_code_is_taken_however_it_is_spaced_and_is_void_after_some_wrong_tries():
    doors = Doors()
    code = doors.open_far()
    assert doors.exchange(f" {code[:4].upper()} {code[4:]} ", is_far=True)
    code = doors.open_far()
    for _ in range(MOST_WRONG_TRIES):
        assert doors.exchange("wrong", is_far=True) is None
    assert doors.exchange(code, is_far=True) is None


def test_every_telephone_can_be_sent_out_and_nobody_else_is():
    doors = Doors()
    near = doors.exchange(doors.open_near(), is_far=False)
    far = doors.exchange(doors.open_far(), is_far=True)
    code = doors.open_far()
    doors.close_far()
    assert doors.session(near, is_far=False)
    assert doors.session(far, is_far=True) is None
    assert doors.exchange(code, is_far=True) is None


def test_a_session_is_over_after_its_time_and_not_before():
    seconds = [0.0]
    doors = Doors(clock=lambda: seconds[0])
    name = doors.exchange(doors.open_near(), is_far=False)
    seconds[0] = SESSION_SECONDS - 1.0
    assert doors.session(name, is_far=False) is not None
    seconds[0] = float(SESSION_SECONDS)
    assert doors.session(name, is_far=False) is None
    seconds[0] = 0.0
    assert doors.session(name, is_far=False) is None


def test_the_oldest_session_gives_way():
    doors = Doors()
    names = [doors.exchange(doors.open_near(), is_far=False) for _ in range(MOST_SESSIONS + 1)]
    assert doors.session(names[0], is_far=False) is None
    assert doors.session(names[-1], is_far=False)


def test_tokens_and_codes_are_long_enough_not_to_be_guessed():
    doors = Doors()
    # 32 bytes and, for typing by hand, ten of 31 signs: above 2**49, with five tries.
    assert len({doors.open_near() for _ in range(20)}) == 20
    assert len(doors.open_near()) >= 43
    assert len(doors.open_far()) == 10
    assert set(doors.open_far()).isdisjoint("01ilo")


@pytest.mark.parametrize(
    ("server", "far"),
    [("127.0.0.1", False), ("::1", False), ("192.0.2.7", True), ("", True), ("a-socket", True)],
    ids=["loopback", "loopback-6", "elsewhere", "untold", "no-address"],
)
def test_what_cannot_be_told_to_be_near_is_far(server, far):
    assert is_far(scope(server=server, host="x")) is far


# --- through the application ---------------------------------------------------------------------

PAGES = ("/", "/telephone", "/object/steel", "/object/steel/review", "/object/steel/pictures")
DEEDS = (
    "/begin",
    "/words",
    "/telephone",
    "/object/steel/about",
    "/object/steel/pictures",
    "/object/steel/line/aaaaaaaa",
    "/object/steel/line/aaaaaaaa/typed",
    "/object/steel/line/aaaaaaaa/out",
    "/object/steel/undo",
    "/object/steel/record",
    "/object/steel/publish",
    "/object/steel/sheet",
)


@pytest.mark.parametrize("path", PAGES, ids=PAGES)
def test_a_page_without_a_session_leads_to_the_door(strangers, path):
    answer = strangers().get(path)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/enter"


@pytest.mark.parametrize("path", DEEDS, ids=DEEDS)
def test_nothing_is_done_without_a_session(strangers, path):
    assert strangers().post(path).status_code == 403


@pytest.mark.parametrize("path", DEEDS, ids=DEEDS)
def test_nothing_is_done_without_the_token_of_the_form(begun, path):
    before = begun.get("/object/steel").text
    assert begun.post(path, {"form_token": ""}).status_code == 403
    assert begun.post(path, {"form_token": "x" * 43}).status_code == 403
    assert "bench" in before


@pytest.mark.parametrize("path", DEEDS, ids=DEEDS)
def test_nothing_is_done_for_a_page_of_another_site(begun, path):
    answer = begun.post(path, headers={"origin": "http://shop.example"})
    assert answer.status_code == 403
    assert begun.post(path, headers={"origin": None}).status_code == 403


def test_another_name_of_this_machine_is_not_answered(begun):
    answer = begun.get("/", headers={"host": "rebound.example:8140"})
    assert answer.status_code == 421


def test_the_cookie_is_for_no_script_and_for_no_other_site(strangers, bench):
    answer = strangers().enter(bench.doors.open_near())
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "8140" in cookie.partition("=")[0]


def test_every_answer_lets_a_page_do_little(strangers, begun):
    for answer in (begun.get("/"), strangers().get("/enter"), begun.get("/static/form.js")):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "server" not in answer.headers


def test_no_page_holds_a_script_or_a_style_of_its_own(begun):
    for path in ("/", "/object/steel", "/object/steel/new/mark", "/object/steel/review"):
        page = begun.get(path).text
        assert page.count("<script") == 1
        assert " style=" not in page
        assert " onclick" not in page


def test_a_spent_address_is_told_and_a_new_one_is_printed_where_the_bench_was_started(
    strangers, bench
):
    stranger = strangers()
    token = bench.doors.open_near()
    assert "opens the bench once" in stranger.get(f"/enter?token={token}").text
    assert stranger.enter(token).status_code == 303
    other = strangers()
    assert other.enter(token).status_code == 403
    answer = other.post("/enter/again")
    assert token not in answer.text
    (printed,) = bench.printed
    assert printed.startswith("To enter anew: http://127.0.0.1:8140/enter?token=")
    other.post("/enter/again")
    assert len(bench.printed) == 1  # the one that is out is not spent yet
    assert other.enter(printed.partition("token=")[2]).status_code == 303
    assert other.get("/enter").headers["location"] == "/"


def test_a_telephone_enters_by_its_own_code_and_records_nothing_for_good(strangers, bench, begun):
    bench.far = "http://192.0.2.7:8140/"
    page = begun.post("/telephone", {"act": "open"}).text
    code = page.partition('class="code" role="status">')[2].partition("<")[0]
    telephone = strangers("192.0.2.7:8140")
    assert "Code" in telephone.get("/enter").text
    assert telephone.enter(code).status_code == 303
    assert "A steel" in telephone.get("/").text
    for path in ("/object/steel/record", "/object/steel/publish", "/object/steel/sheet"):
        assert telephone.post(path).status_code == 403
    assert "at the machine that the bench runs on" in telephone.get("/object/steel/review").text
    assert telephone.post("/enter/again").status_code == 403
    begun.post("/telephone", {"act": "close"})
    assert telephone.get("/").status_code == 303


def test_without_a_wider_address_no_code_is_made(begun):
    assert "--listen" in begun.get("/telephone").text
    assert 'class="code"' not in begun.post("/telephone", {"act": "open"}).text


def test_a_form_that_cannot_be_taken_apart_changes_nothing(begun):
    answer = begun.ask(
        "POST", "/begin", headers={"content-type": "multipart/form-data", "content-length": "0"}
    )
    assert answer.status_code == 400
    assert "cannot be read as a form" in answer.text
    assert "no such page" not in answer.text


def test_more_fields_than_a_form_has_are_told_as_that(begun, strangers):
    many = {f"field-{number}": "x" for number in range(MOST_FIELDS + 1)}
    answer = begun.post("/begin", many)
    assert answer.status_code == 400
    assert "more fields" in answer.text
    answer = strangers().post("/enter", {f"field-{number}": "x" for number in range(9)})
    assert answer.status_code == 400
    assert "cannot be read as a form" in answer.text


@pytest.mark.parametrize("path", ["/enter", "/begin"])
def test_what_is_longer_than_it_says_is_not_read_on(begun, path):
    answer = begun.post(path, {"token": "x" * 200}, headers={"content-length": "10"})
    assert answer.status_code == 413
    assert "More was sent" in answer.text


def test_what_is_not_possible_at_an_address_is_told_as_that(begun):
    answer = begun.get("/begin")
    assert answer.status_code == 405
    assert "not possible" in answer.text
    assert "no such page" in begun.get("/nowhere").text


def test_an_outlived_cookie_leads_to_the_door(bench, strangers):
    seconds = [0.0]
    bench.doors = Doors(clock=lambda: seconds[0])
    visitor = strangers()
    visitor.enter(bench.doors.open_near())
    assert visitor.get("/").status_code == 200
    seconds[0] = SESSION_SECONDS + 1.0
    assert visitor.get("/").headers["location"] == "/enter"
    assert visitor.post("/begin").status_code == 403
