"""A page of ours as an answer, drawn by the same templates as the pages of a finished site.

The server's own drawing waits at every step for what might have to be awaited; ours has all that it
needs before it begins.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import Response  # type: ignore[import-untyped]  # ships no types

from ledger.publish.rendering import render


def page(site: Datasette, template: str, context: Mapping[str, Any]) -> Response:
    """The page that the template makes of the context."""
    known = {"site_is_invented": site.witnessmark_is_invented}
    return Response.html(render(template, {**known, **context}))
