"""What stands between a visitor and the server: what may be asked, and what every answer says.

Only reading is possible (GET and HEAD). The server's own pages about itself are not there for
visitors. A request whose Host is not one of ours is refused, so that a page elsewhere cannot
reach a server on loopback under a name of its own. Questions of great length are refused before
anybody looks at them, and tables leave as CSV only with cells that no spreadsheet runs. Every
answer carries headers that let a browser do nothing with it but show it.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any, Final
from urllib.parse import parse_qsl, unquote

from ledger.publish.csv_cells import inert_csv
from ledger.publish.tables import DATABASE

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOOPBACK_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
CONTENT_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'none'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
SAFE_HEADERS: tuple[tuple[str, str], ...] = (
    ("content-security-policy", CONTENT_POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-embedder-policy", "require-corp"),
)
CACHE = "public, max-age=60"
NO_STORE = "no-store"

# Pages the server has about itself, its other databases and its old addresses. A path that
# begins with two slashes could be taken for the name of another host.
_CLOSED = re.compile(r"^(?:/-(?:/|$)|//|/_|/:|/\.|/[^/]*\.db(?:$|/))")
_METHODS = ("GET", "HEAD")

LONGEST_PATH: Final = 2_000
LONGEST_QUERY: Final = 20_000
MOST_PARAMETERS: Final = 60
# By these the server would show how it works, or answer at length.
_CLOSED_PARAMETERS: Final = frozenset({"_trace", "_context", "_stream", "_where", "_through"})


def guarded(app: App, hosts: Iterable[str] = LOOPBACK_HOSTS, open_paths: Iterable[str] = ()) -> App:
    """The application behind the guard.

    Args:
        app: what answers to those who are let through.
        hosts: the names it answers to, in small letters and without port.
        open_paths: paths that are open although they would be closed.
    """
    known, opened = frozenset(hosts), frozenset(open_paths)

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        sender = _Sender(send, is_head=scope["method"] == "HEAD")
        if _host(scope) not in known:
            await _refuse(sender, 421, "This server does not answer to that name.")
        elif scope["method"] not in _METHODS:
            await _refuse(sender, 405, "Only reading is possible here.")
        elif _is_too_long(scope):
            await _refuse(sender, 414, "This asks for too much at once.")
        elif _asks_what_is_closed(scope):
            await _refuse(sender, 400, "The address of this page cannot be understood.")
        elif _is_closed(scope, opened):
            await app(_elsewhere(scope), receive, sender)
        else:
            await app({**scope, "method": "GET"}, receive, sender)

    return answer


def _host(scope: Scope) -> str:
    values = [value for name, value in scope["headers"] if name.lower() == b"host"]
    if len(values) != 1:
        return ""
    host = values[0].decode("latin-1").lower()
    return re.sub(r":\d{1,5}$", "", host)


def _is_too_long(scope: Scope) -> bool:
    query: bytes = scope.get("query_string") or b""
    path: bytes = scope.get("raw_path") or b""
    return (
        len(path.partition(b"?")[0]) > LONGEST_PATH
        or len(query) > LONGEST_QUERY
        or query.count(b"&") >= MOST_PARAMETERS
    )


def _asks_what_is_closed(scope: Scope) -> bool:
    query: bytes = scope.get("query_string") or b""
    asked = parse_qsl(query.decode("latin-1"), keep_blank_values=True)
    # The server puts what is asked of a table into its SQL, which takes no NUL.
    is_of_table = scope["path"].startswith(f"/{DATABASE}")
    return any(
        name in _CLOSED_PARAMETERS or (is_of_table and "\0" in name + value)
        for name, value in asked
    )


def _is_closed(scope: Scope, opened: frozenset[str]) -> bool:
    raw = (scope.get("raw_path") or b"").decode("latin-1").partition("?")[0]
    if scope["path"] in opened and raw in ("", scope["path"]):
        return False
    return any(_CLOSED.match(path) for path in (scope["path"], raw, unquote(unquote(raw))) if path)


def _elsewhere(scope: Scope) -> Scope:
    """The same request for a page that does not exist: the answer is our own page saying so."""
    return {
        **scope,
        "method": "GET",
        "path": "/not-here",
        "raw_path": b"/not-here",
        "query_string": b"",
    }


async def _refuse(sender: _Sender, status: int, sentence: str) -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    if status == 405:
        headers.append((b"allow", b"GET, HEAD"))
    await sender({"type": "http.response.start", "status": status, "headers": headers})
    await sender({"type": "http.response.body", "body": sentence.encode()})


class _Sender:
    """Passes an answer on with the headers every answer has, and without body for HEAD.

    A table as CSV, which the server sends as plain text, is gathered and leaves with inert cells;
    the limit of rows keeps it small.
    """

    def __init__(self, send: Send, *, is_head: bool) -> None:
        self._send = send
        self._is_head = is_head
        self._table: list[bytes] | None = None

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": _headers(message)}
            if message["status"] == 200 and _is_table(message["headers"]):
                self._table = []
                message["headers"] = _headers_of_a_table(message["headers"])
        elif message["type"] == "http.response.body":
            if self._table is not None:
                self._table.append(message.get("body", b""))
                if message.get("more_body"):
                    return
                whole = b"".join(self._table).decode("utf-8", "replace")
                message = {**message, "body": inert_csv(whole).encode()}
            if self._is_head:
                message = {**message, "body": b""}
        await self._send(message)


def _is_table(headers: list[tuple[bytes, bytes]]) -> bool:
    kind = dict(headers).get(b"content-type", b"")
    return kind.startswith((b"text/csv", b"text/plain"))


def _headers_of_a_table(headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """The same headers for a file that a browser keeps and does not show."""
    replaced = (b"content-type", b"content-length", b"content-disposition")
    return [
        *((name, value) for name, value in headers if name not in replaced),
        (b"content-type", b"text/csv; charset=utf-8"),
        (b"content-disposition", b'attachment; filename="table.csv"'),
    ]


def _headers(message: Message) -> list[tuple[bytes, bytes]]:
    found = [(bytes(name).lower(), bytes(value)) for name, value in message["headers"]]
    names = {name for name, _ in found}
    # A policy of ours for a single answer is stricter than the general one, and is kept.
    found += [
        (name.encode(), value.encode())
        for name, value in SAFE_HEADERS
        if name.encode() not in names
    ]
    is_good = message["status"] in (200, 304)
    if b"cache-control" not in names or not is_good:
        found = [(name, value) for name, value in found if name != b"cache-control"]
        found.append((b"cache-control", (CACHE if is_good else NO_STORE).encode()))
    return [(name, value) for name, value in found if name not in (b"set-cookie", b"server")]
