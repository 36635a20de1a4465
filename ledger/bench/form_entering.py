"""Entering: the token becomes a session; and a telephone in the same room is let in."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse, Response

from ledger.bench.form_asked import Asked, Bench
from ledger.bench.form_dates import date_help
from ledger.bench.form_door import is_far, let_in, session_of
from ledger.bench.form_pages import draw
from ledger.bench.form_readings import figure_in_words

STATIC: Final = Path(__file__).parent / "static"
_SHARED: Final = Path(__file__).parent.parent / "publish" / "static"
FILES: Final = {
    "form.css": STATIC / "form.css",
    "form.js": STATIC / "form.js",
    "site.css": _SHARED / "site.css",
    "favicon.svg": _SHARED / "favicon.svg",
}


async def enter(request: Request) -> Response:
    """The page on which a token is exchanged, filled in where the address brings one."""
    bench: Bench = request.app.state.bench
    if session_of(request, bench.doors) is not None:
        return RedirectResponse("/", 303)
    return _entering(request, request.query_params.get("token", ""), "")


async def exchange(request: Request) -> Response:
    """The session for a token, in a cookie; or why there is none."""
    bench: Bench = request.app.state.bench
    typed = await _plain_form(request)
    token = typed.get("token")
    far = is_far(request.scope)
    name = bench.doors.exchange(token, is_far=far) if isinstance(token, str) else None
    if name is None:
        return _entering(request, "", "That is not open: it was used already, or mistyped.", 403)
    return let_in(request, RedirectResponse("/", 303), name)


async def ask_again(request: Request) -> Response:
    """Print a new address where the bench was started; only from the machine itself.

    Whoever reads that terminal is who started it; what asks for it learns nothing.
    """
    bench: Bench = request.app.state.bench
    if is_far(request.scope):
        return _entering(request, "", "A new code is made at the machine of the bench.", 403)
    if not bench.doors.is_near_open:
        bench.say(f"To enter anew: {near_address(bench)}")
    says = "An address to enter by stands in the window in which the bench was started."
    return _entering(request, "", says)


def near_address(bench: Bench) -> str:
    """The address to enter by from this machine, with a new token."""
    return f"{bench.near}enter?token={bench.doors.open_near()}"


def _entering(request: Request, token: str, says: str, status: int = 200) -> Response:
    context = {"token": token, "says": says, "is_far": is_far(request.scope)}
    return HTMLResponse(draw("enter.html", context), status)


async def _plain_form(request: Request) -> FormData:
    return await request.form(max_files=0, max_fields=5, max_part_size=2_000)


async def static(request: Request) -> Response:
    """A style, script or sign of the pages."""
    path = FILES.get(str(request.path_params["file"]))
    if path is None:
        return HTMLResponse(
            draw("said.html", {"status": 404, "sentences": ["There is no such file."]}), 404
        )
    return FileResponse(path)


async def telephone(asked: Asked) -> Response:
    """How to let in a telephone, and whether the bench can be reached from one at all."""
    return asked.page("telephone.html", {"far": asked.bench.far, "code": ""})


async def telephone_code(asked: Asked) -> Response:
    """A new code for a telephone, or the door shut to all of them."""
    if asked.text("act") == "close":
        asked.bench.doors.close_far()
        return asked.page("telephone.html", {"far": asked.bench.far, "code": ""})
    code = asked.bench.doors.open_far() if asked.bench.far else ""
    return asked.page("telephone.html", {"far": asked.bench.far, "code": code})


async def words(asked: Asked) -> Response:
    """What would be recorded for a date or a figure as it is typed; of a mark nothing is told."""
    typed = asked.text("text")
    if asked.text("of") == "date":
        told = date_help(typed)
        offers = [{"text": offer.text, "says": offer.says} for offer in told.offers]
        return JSONResponse({"says": told.says, "offers": offers})
    return JSONResponse({"says": figure_in_words(typed, asked.text("doubt")), "offers": []})
