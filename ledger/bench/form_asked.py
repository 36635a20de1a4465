"""One request of somebody who was let in: what was asked, and the ways to answer.

Every request goes one way: session, then for a form its token, then the answer; an error of ours
becomes a page that says so.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from ledger.bench.form_desk import Desk, OnBench
from ledger.bench.form_door import (
    LONGER_THAN_TOLD,
    NOT_POSSIBLE,
    Doors,
    Session,
    brings_token,
    session_of,
)
from ledger.bench.form_kinds import form_kinds
from ledger.bench.form_pages import draw
from ledger.bench.form_pictures import MOST_AT_ONCE
from ledger.errors import FaultsFound, UnknownName, WitnessmarkError

MOST_FIELDS: Final = 400
LONGEST_FIELD_BYTES: Final = 100_000
# What a page says of what was just done; an address names it, and nothing else can be said so.
DONE: Final[Mapping[str, str]] = {
    "saved": "Saved. It waits in the draft; nothing is recorded yet.",
    "out": "Taken out. It can be put back until the rest is recorded.",
    "back": "Put back.",
    "undone": "The last step was undone.",
    "published": "Published.",
    "taken": "The pictures were taken.",
}

_NOT_ANSWERED: Final[Mapping[int, str]] = {
    400: "What was sent cannot be read as a form of this bench: it is damaged, or has more fields, "
    "files or text in a field than one can have.",
    404: "There is no such page on this bench.",
    405: NOT_POSSIBLE,
    413: LONGER_THAN_TOLD,
}


@dataclass
class Bench:
    """What the server works with: the desk, the doors, and how to print to whoever started it."""

    desk: Desk
    doors: Doors
    say: Callable[[str], None]
    near: str = ""
    far: str = ""
    site_shown: str = field(default="")


@dataclass(frozen=True)
class Asked:
    """A request with its session and, for a form, what was typed."""

    request: Request
    bench: Bench
    session: Session
    typed: FormData

    @property
    def desk(self) -> Desk:
        """The desk."""
        return self.bench.desk

    @property
    def name(self) -> str:
        """The instrument that the address names."""
        return str(self.request.path_params.get("name", ""))

    def taken_up(self) -> OnBench:
        """The instrument that the address names.

        Raises:
            UnknownName: it is not here.
        """
        return self.desk.take_up(self.name)

    def text(self, name: str) -> str:
        """A field of the form as it was typed; nothing where there is none."""
        value = self.typed.get(name)
        return value if isinstance(value, str) else ""

    def query(self, name: str) -> str:
        """What the address says beside its path."""
        return self.request.query_params.get(name, "")

    def page(
        self,
        template: str,
        context: Mapping[str, Any],
        on_bench: OnBench | None = None,
        status: int = 200,
    ) -> Response:
        """A page; with ``on_bench`` it is one of that instrument."""
        waiting = 0 if on_bench is None else len(on_bench.draft.lines)
        given = {
            "form_token": self.session.form_token,
            "is_far": self.session.is_far,
            "object": on_bench,
            "address": "" if on_bench is None else f"/object/{on_bench.id}",
            "waiting": waiting,
            "done": DONE.get(self.query("done"), ""),
            "kinds": tuple(form_kinds().values()),
            **context,
        }
        return HTMLResponse(draw(template, given), status)


Answer = Callable[[Asked], Awaitable[Response]]


def route(path: str, answer: Answer, *, posts: bool = False, near_only: bool = False) -> Route:
    """A route that answers those who were let in.

    Args:
        path: of the address.
        answer: gives the page.
        posts: whether it takes a form and changes something; otherwise it only shows.
        near_only: whether it is refused to those who come from another machine.
    """

    async def endpoint(request: Request) -> Response:
        bench: Bench = request.app.state.bench
        session = session_of(request, bench.doors)
        if session is None:
            refused = _said(403, "You have not been let in, or no longer are.")
            return refused if posts else RedirectResponse("/enter", 303)
        if near_only and session.is_far:
            says = "What is recorded for good is recorded at the machine that the bench runs on."
            return _said(403, says)
        typed = await _typed(request) if posts else FormData()
        try:
            if posts and not brings_token(session, typed):
                return _said(403, "This does not come from a form of this session.")
            return await _answered(answer, Asked(request, bench, session, typed))
        finally:
            await typed.close()

    return Route(path, endpoint, methods=["POST"] if posts else ["GET"])


async def _answered(answer: Answer, asked: Asked) -> Response:
    """The answer, or a page that says what kept it from being given."""
    try:
        return await answer(asked)
    except UnknownName as error:
        return _said(404, str(error))
    except FaultsFound as error:
        return _said(422, *(str(fault) for fault in error.faults))
    except WitnessmarkError as error:
        return _said(500, str(error))


async def _typed(request: Request) -> FormData:
    return await request.form(
        max_files=MOST_AT_ONCE, max_fields=MOST_FIELDS, max_part_size=LONGEST_FIELD_BYTES
    )


def _said(status: int, *sentences: str) -> Response:
    """A page that says why nothing was done."""
    return HTMLResponse(draw("said.html", {"status": status, "sentences": sentences}), status)


def not_answered(_: Request, error: Exception) -> Response:
    """The page for what leads nowhere or cannot be taken, with what it is."""
    status = error.status_code if isinstance(error, HTTPException) else 404
    return _said(status, _NOT_ANSWERED.get(status, "This cannot be answered."))
