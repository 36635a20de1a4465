"""A page of ours as an answer, drawn by the same templates as the pages of a finished site.

The server's own drawing waits at every step for what might have to be awaited; ours has all that it
needs before it begins.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    Request,
    Response,
)

from ledger.publish.rendering import render, unpacked
from ledger.publish.tables import DATABASE

STORED_SQL: Final = "SELECT body FROM page WHERE path = :path"


def page(site: Datasette, template: str, context: Mapping[str, Any]) -> Response:
    """The page that the template makes of the context."""
    known = {"site_is_invented": site.witnessmark_is_invented}
    return Response.html(render(template, {**known, **context}))


async def stored_page(site: Datasette, request: Request, path: str) -> Response | None:
    """A page that was drawn when the site was made, packed as it is where the browser takes that."""
    database = site.get_database(DATABASE)
    rows = (await database.execute(STORED_SQL, {"path": path})).rows
    if not rows:
        return None
    body: bytes = rows[0][0]
    headers = {"vary": "accept-encoding"}
    if "gzip" in (request.headers.get("accept-encoding") or ""):
        headers["content-encoding"] = "gzip"
    else:
        body = unpacked(body)
    return Response(body, content_type="text/html; charset=utf-8", headers=headers)
