"""What stands between a visitor and the server: what may be asked, and what every answer says.

Only reading is possible (GET and HEAD). The server's own pages about itself are not there for
visitors. A request whose Host is not one of ours is refused, so that a page elsewhere cannot
reach a server on loopback under a name of its own. Every answer carries headers that let a
browser do nothing with it but show it.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any
from urllib.parse import unquote

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


def guarded(app: App, hosts: Iterable[str] = LOOPBACK_HOSTS) -> App:
    """The application behind the guard; ``hosts`` are the names it answers to, without port."""
    known = frozenset(hosts)

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
        elif _is_closed(scope):
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


def _is_closed(scope: Scope) -> bool:
    raw = (scope.get("raw_path") or b"").decode("latin-1").partition("?")[0]
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
    """Passes an answer on with the headers every answer has, and without body for HEAD."""

    def __init__(self, send: Send, *, is_head: bool) -> None:
        self._send = send
        self._is_head = is_head

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": _headers(message)}
        elif message["type"] == "http.response.body" and self._is_head:
            message = {**message, "body": b""}
        await self._send(message)


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
