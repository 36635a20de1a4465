"""The door of the form: who is let in, and what every answer says to the browser.

A token is printed and good for one entrance; it is exchanged for a session, whose name is in a cookie
that no script reads and that no other site's request carries. A request is answered only under a name
of this server, and one that changes something only if it comes from a page of this server and brings
the form's own token. Somebody who comes from beyond this machine has a token of another kind, which
does not open what records for good.
"""

from __future__ import annotations

import hmac
import ipaddress
import re
import secrets
import time
from collections.abc import Callable, Mapping, MutableMapping
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ledger.publish.guard import LOOPBACK_HOSTS

CONTENT_POLICY: Final = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
SAFE_HEADERS: Final = (
    ("content-security-policy", CONTENT_POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    # Without one of its own pages as origin a browser would send "null" with a form.
    ("referrer-policy", "same-origin"),
    ("permissions-policy", "geolocation=(), payment=(), usb=(), camera=(), microphone=()"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-embedder-policy", "require-corp"),
    ("cache-control", "no-store"),
)
GREATEST_FORM_BYTES: Final = 2_000_000
GREATEST_UPLOAD_BYTES: Final = 210_000_000
UNKNOWN_LENGTH: Final = "This does not say how long it is."
NOT_POSSIBLE: Final = "This is not possible here."
LONGER_THAN_TOLD: Final = "More was sent than was said at its beginning."
MOST_WRONG_TRIES: Final = 5
MOST_SESSIONS: Final = 20
SESSION_SECONDS: Final = 12 * 60 * 60
# Typed by hand on a telephone: without letters and digits that look alike. 31^10 is above 2^49.
_BY_HAND: Final = "23456789abcdefghjkmnpqrstuvwxyz"
_BY_HAND_LENGTH: Final = 10
_MOST_FIGURES: Final = 12
_HOST: Final = re.compile(r"(?P<name>\[[0-9a-f:.]+\]|[a-z0-9.-]+)(?::(?P<port>[0-9]{1,5}))?")


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody who was let in; ``form_token`` stands in each form that they are given.

    At ``ends`` of the clock of the doors it is over, whatever the browser still sends.
    """

    form_token: str
    is_far: bool
    ends: float


@dataclass
class Doors:
    """The tokens that are out, and the sessions they were exchanged for.

    There is one token at a time for this machine and one for another; a new one voids the old.
    ``clock`` tells seconds from any beginning, and only ever goes on.
    """

    new_token: Callable[[], str] = lambda: secrets.token_urlsafe(32)
    new_code: Callable[[], str] = lambda: "".join(
        secrets.choice(_BY_HAND) for _ in range(_BY_HAND_LENGTH)
    )
    clock: Callable[[], float] = time.monotonic
    _near: str = ""
    _far: str = ""
    _wrong_tries: int = 0
    _sessions: dict[str, Session] = field(default_factory=dict)

    def open_near(self) -> str:
        """A token for one entrance from this machine."""
        self._near = self.new_token()
        return self._near

    def open_far(self) -> str:
        """A token for one entrance from another machine, short enough to be typed."""
        self._far, self._wrong_tries = self.new_code(), 0
        return self._far

    @property
    def is_near_open(self) -> bool:
        """Whether a token for this machine is out and not spent."""
        return bool(self._near)

    def exchange(self, token: str, *, is_far: bool) -> str | None:
        """The name of a new session for an unspent token of that kind, which is then spent.

        After some wrong tries from another machine its token is void.
        """
        wanted = self._far if is_far else self._near
        typed = token.strip()
        if is_far:
            typed = "".join(typed.split()).lower()
        if not wanted or not hmac.compare_digest(wanted.encode(), typed.encode()):
            self._wrong_tries += is_far
            if self._wrong_tries >= MOST_WRONG_TRIES:
                self._far = ""
            return None
        if is_far:
            self._far = ""
        else:
            self._near = ""
        name = secrets.token_urlsafe(32)
        ends = self.clock() + SESSION_SECONDS
        self._sessions[name] = Session(secrets.token_urlsafe(32), is_far, ends)
        while len(self._sessions) > MOST_SESSIONS:
            del self._sessions[next(iter(self._sessions))]
        return name

    def session(self, name: str, *, is_far: bool) -> Session | None:
        """The session of that name, met from the side from which it was entered, and not over."""
        found = self._sessions.get(name)
        if found is not None and self.clock() >= found.ends:
            del self._sessions[name]
            return None
        return found if found is not None and found.is_far == is_far else None

    def close_far(self) -> None:
        """Send out everybody who came from another machine, and void their token."""
        self._far = ""
        self._sessions = {
            name: session for name, session in self._sessions.items() if not session.is_far
        }


def is_far(scope: Mapping[str, Any]) -> bool:
    """Whether a request arrived at another address of this machine than its loopback.

    What cannot be told is taken for far.
    """
    server = scope.get("server")
    try:
        return not ipaddress.ip_address(str(server[0]) if server else "").is_loopback
    except ValueError:
        return True


def refusal(scope: Scope, hosts: frozenset[str]) -> tuple[int, str] | None:
    """Why a request is refused whoever makes it: status and sentence; None where it is not."""
    headers = _headers(scope)
    host = headers.get("host", [])
    match = _HOST.fullmatch(host[0].lower()) if len(host) == 1 else None
    near = not is_far(scope)
    answered = LOOPBACK_HOSTS if near else hosts - LOOPBACK_HOSTS
    if match is None or match["name"] not in answered:
        return 421, "This server does not answer to that name."
    if scope["method"] not in ("GET", "HEAD", "POST"):
        return 405, NOT_POSSIBLE
    if "transfer-encoding" in headers:  # it hides the length, and outweighs one that is told
        return 411, UNKNOWN_LENGTH
    is_deed = scope["method"] == "POST"
    if (says := _foreign(headers, f"http://{host[0]}", is_deed=is_deed)) is not None:
        return 403, says
    return _too_large(scope, headers) if is_deed else None


def _foreign(headers: Mapping[str, list[str]], own: str, *, is_deed: bool) -> str | None:
    """What tells that a request comes from no page of this server; None where nothing does."""
    origin = headers.get("origin", [])
    if origin and origin != [own]:
        return "This comes from a page of another site, and is refused."
    if is_deed and not origin and headers.get("sec-fetch-site") != ["same-origin"]:
        return "This does not say from which page it comes, and is refused."
    return None


def _too_large(scope: Scope, headers: Mapping[str, list[str]]) -> tuple[int, str] | None:
    length = headers.get("content-length", [])
    if len(length) != 1 or not length[0].isascii() or not length[0].isdigit():
        return 411, UNKNOWN_LENGTH
    most = GREATEST_FORM_BYTES
    if str(scope["path"]).endswith("/pictures"):
        most = GREATEST_UPLOAD_BYTES
    if len(length[0]) > _MOST_FIGURES or int(length[0]) > most:
        return 413, f"This is more than {most // 1_000_000} million bytes: send less at once."
    return None


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return found


def guarded(app: ASGIApp, hosts: frozenset[str]) -> ASGIApp:
    """The application behind the door: what is refused never reaches it."""

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        refused = refusal(scope, hosts)
        sender = _with_safe_headers(send)
        if refused is not None:
            status, says = refused
            await PlainTextResponse(says, status)(scope, receive, sender)
        else:
            await app(scope, _counted(receive, _told_length(scope)), sender)

    return answer


def _told_length(scope: Scope) -> int:
    """How many bytes a request says that it brings; what says nothing brings none."""
    told = _headers(scope).get("content-length", [""])[0]
    is_told = told.isascii() and told.isdigit() and len(told) <= _MOST_FIGURES
    return int(told) if is_told else 0


def _counted(receive: Receive, most: int) -> Receive:
    """What is received, up to so many bytes: what was said of the length is not relied on."""
    left = most

    async def counting() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise HTTPException(413, LONGER_THAN_TOLD)
        return message

    return counting


def _with_safe_headers(send: Send) -> Send:
    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.encode() for name, _ in SAFE_HEADERS}
            kept = [(n, v) for n, v in message["headers"] if n.lower() not in own]
            safe = [(name.encode(), value.encode()) for name, value in SAFE_HEADERS]
            message = {**message, "headers": [*kept, *safe]}
        await send(message)

    return sender


def cookie_name(request: Request) -> str:
    """The name of the cookie: benches at several ports of one machine do not share it."""
    return f"witnessmark-bench-{request.url.port or 80}"


def session_of(request: Request, doors: Doors) -> Session | None:
    """The session of a request, if it has one from its side."""
    name = request.cookies.get(cookie_name(request), "")
    return doors.session(name, is_far=is_far(request.scope)) if name else None


def let_in(request: Request, answer: Response, session: str) -> Response:
    """The answer with the cookie of the session."""
    answer.set_cookie(
        cookie_name(request),
        session,
        max_age=SESSION_SECONDS,
        path="/",
        httponly=True,
        samesite="strict",
    )
    return answer


def brings_token(session: Session, typed: MutableMapping[str, Any] | Mapping[str, Any]) -> bool:
    """Whether a form brings the token of the session that it was given to."""
    token = typed.get("form_token")
    return isinstance(token, str) and hmac.compare_digest(
        session.form_token.encode(), token.encode()
    )
