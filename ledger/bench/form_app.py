"""The application of the form: which address is answered by what, all of it behind the door.

Starlette reads requests and routes them; it needs little and brings no pages of its own.
"""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.routing import Route
from starlette.types import ASGIApp

from ledger.bench import form_entering, form_lines, form_objects, form_settling
from ledger.bench.form_asked import Bench, not_answered, route
from ledger.bench.form_door import guarded

ROUTES = (
    Route("/enter", form_entering.enter, methods=["GET"]),
    Route("/enter", form_entering.exchange, methods=["POST"]),
    Route("/enter/again", form_entering.ask_again, methods=["POST"]),
    Route("/static/{file}", form_entering.static, methods=["GET"]),
    route("/", form_objects.home),
    route("/begin", form_objects.begin, posts=True),
    route("/words", form_entering.words, posts=True),
    route("/telephone", form_entering.telephone, near_only=True),
    route("/telephone", form_entering.telephone_code, posts=True, near_only=True),
    route("/object/{name}", form_objects.show),
    route("/object/{name}/sheet", form_objects.write_sheet, posts=True, near_only=True),
    route("/object/{name}/about", form_objects.about),
    route("/object/{name}/about", form_objects.describe, posts=True),
    route("/object/{name}/at/{position}", form_objects.at),
    route("/object/{name}/pictures", form_objects.pictures),
    route("/object/{name}/pictures", form_objects.take_pictures, posts=True),
    route("/object/{name}/picture", form_objects.picture),
    route("/object/{name}/new/{kind}", form_lines.new),
    route("/object/{name}/mend/{line}", form_lines.mended),
    route("/object/{name}/again/{line}", form_lines.again),
    route("/object/{name}/line/{key}", form_lines.opened),
    route("/object/{name}/line/{key}", form_lines.save, posts=True),
    route("/object/{name}/line/{key}/typed", form_lines.keep, posts=True),
    route("/object/{name}/line/{key}/out", form_lines.take_out, posts=True),
    route("/object/{name}/line/{key}/read", form_lines.read),
    route("/object/{name}/undo", form_lines.undo, posts=True),
    route("/object/{name}/review", form_settling.look_over),
    route("/object/{name}/record", form_settling.settle, posts=True, near_only=True),
    route("/object/{name}/recorded", form_settling.recorded),
    route("/object/{name}/publish", form_settling.put_out, posts=True, near_only=True),
)


def application(bench: Bench, hosts: frozenset[str]) -> ASGIApp:
    """The application for a bench; ``hosts`` are the names that it answers to."""
    app = Starlette(
        routes=list(ROUTES), exception_handlers={HTTPException: not_answered, 404: not_answered}
    )
    app.state.bench = bench
    return guarded(app, hosts)
