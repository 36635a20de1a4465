"""The plugin that makes a reading room of the server: our pages, our face, and closed doors.

Its hooks are called for every Datasette in the process and answer for sites of ours only.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Generator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.database import QueryInterrupted  # type: ignore[import-untyped]  # ships no types
from datasette.utils import tilde_encode  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    Base400,
    Request,
    Response,
)
from datasette.views.base import DatasetteError  # type: ignore[import-untyped]  # ships no types
from markupsafe import Markup
from pluggy import HookimplMarker

from ledger.basis.visible import visible
from ledger.exchange.asking import GraphQuestion
from ledger.knowledge.packs import Packs
from ledger.publish.connection import Connection, close_off
from ledger.publish.guard import LOOPBACK_HOSTS, App, Receive, Scope, Send, guarded
from ledger.publish.mark_views import MARK_ROUTES
from ledger.publish.naming import NAME_ROUTES
from ledger.publish.question_views import QUESTION_ROUTES
from ledger.publish.questions import Question
from ledger.publish.reference_views import REFERENCE_ROUTES
from ledger.publish.search_views import SEARCH_ROUTES
from ledger.publish.tables import DATABASE, Table
from ledger.publish.views import ROUTES, page_of

hookimpl = HookimplMarker("datasette")  # the server's own marker, with types

STATIC: Final = "/static"

# Everything a visitor might be allowed and is not, whatever a setting says.
REFUSED: Final = frozenset(
    {"execute-sql", "view-database-download", "debug-menu", "permissions-debug"}
)
_log = logging.getLogger("ledger.publish")


class Site(Datasette):  # type: ignore[misc]  # the server ships no types
    """A site of ours, told from any other Datasette by its class."""

    witnessmark_questions: tuple[Question, ...] = ()
    witnessmark_of_the_graph: tuple[GraphQuestion, ...] = ()  # asked of the graph alone
    witnessmark_tables: Mapping[str, Table] = MappingProxyType({})
    witnessmark_is_invented: bool = False
    witnessmark_hosts: frozenset[str] = LOOPBACK_HOSTS
    witnessmark_may_be_taken: bool = False
    witnessmark_reports: Mapping[str, Any] = MappingProxyType({})  # a dictionary of its own each
    witnessmark_packs: Packs | None = None
    witnessmark_runs: dict[str, tuple[int, int]] | None = None


@hookimpl
def register_routes(datasette: Datasette) -> Sequence[Any]:
    """Our own pages, which stand before those of the server."""
    if not isinstance(datasette, Site):
        return ()
    return (
        *NAME_ROUTES,
        *SEARCH_ROUTES,
        *REFERENCE_ROUTES,
        *MARK_ROUTES,
        *QUESTION_ROUTES,
        *ROUTES,
    )


@hookimpl
def asgi_wrapper(datasette: Datasette) -> Callable[[App], App]:
    """The guard that stands before everything."""
    if not isinstance(datasette, Site):
        return _unchanged

    def wrapped(app: App) -> App:
        async def answer(scope: Scope, receive: Receive, send: Send) -> None:
            # The server is made ready before it is told what it may do: that is read when asked.
            opened = (f"/{DATABASE}.db",) if datasette.witnessmark_may_be_taken else ()
            await guarded(app, datasette.witnessmark_hosts, opened)(scope, receive, send)

        return answer

    return wrapped


@hookimpl
def prepare_connection(conn: Connection, database: str, datasette: Datasette) -> None:
    """Every connection to the site database reads and does nothing else."""
    if isinstance(datasette, Site) and database == DATABASE:
        close_off(conn)


@hookimpl
def permission_allowed(datasette: Datasette, action: str, resource: object) -> bool | None:
    """What nobody may do: any SQL, the whole file, debugging, tables that are not for browsing."""
    if not isinstance(datasette, Site):
        return None
    if action == "view-database-download" and datasette.witnessmark_may_be_taken:
        return None
    if action in REFUSED:
        return False
    if action == "view-database" and resource != DATABASE:
        return False
    if action == "view-table" and isinstance(resource, tuple):
        table = datasette.witnessmark_tables.get(resource[1])
        return None if table is not None and table.is_open else False
    return None


@hookimpl
def extra_template_vars(datasette: Datasette) -> dict[str, Any]:
    """What every template can say of the site and its tables."""
    if not isinstance(datasette, Site):
        return {}
    return {
        "static": STATIC,
        "table_words": datasette.witnessmark_tables,
        "open_tables": [t.name for t in datasette.witnessmark_tables.values() if t.is_open],
        "page_of": page_of,
        "site_is_invented": datasette.witnessmark_is_invented,
        "site_may_be_taken": datasette.witnessmark_may_be_taken,
    }


@hookimpl
def render_cell(value: object, column: str, table: str, datasette: Datasette) -> Markup | None:
    """A link from a value that names a row of another table."""
    # A page of a table links what names another row by itself, a page of one row does not.
    if not isinstance(datasette, Site) or not isinstance(value, str | int):
        return None
    words = datasette.witnessmark_tables.get(table)
    other = words.links.get(column) if words else None
    if other is None:
        return None
    href = f"/{DATABASE}/{other}/{tilde_encode(str(value))}"
    return Markup('<a href="{}">{}</a>').format(href, visible(str(value)))


@hookimpl(wrapper=True)
def handle_exception(
    datasette: Datasette, request: Request, exception: Exception
) -> Generator[None, Any, Any]:
    """Our own page for whatever went wrong, in place of the server's."""
    # The server's own answer prints the fault with everything around it and tells the
    # visitor its text; ours stands alone.
    others = yield
    if not isinstance(datasette, Site):
        return others
    return [_error_page(datasette, request, exception)]


@hookimpl
def forbidden(datasette: Datasette, request: Request) -> Any:  # noqa: ANN401 - as it is asked
    """Our own page for what is closed."""
    if not isinstance(datasette, Site):
        return None
    return _told(datasette, request, 403, "This is not open to visitors.")


def _unchanged(app: App) -> App:
    return app


def _status_and_sentence(exception: Exception, request: Request) -> tuple[int, str]:
    if isinstance(exception, Base400):
        said = str(exception.args[0]) if exception.args else ""
        if exception.status == 404:
            plain = said if said.startswith("There is no ") else ""
            return 404, plain or "There is nothing at this address."
        return exception.status, said or "This cannot be answered."
    if isinstance(exception, DatasetteError | QueryInterrupted):
        return _refusal_from_below(exception)
    if request.path.startswith(f"{STATIC}/") and isinstance(exception, OSError | ValueError):
        return 404, "There is nothing at this address."
    is_of_a_table = request.path.startswith(f"/{DATABASE}") and bool(request.query_string)
    if is_of_a_table and isinstance(exception, ValueError | LookupError | TypeError):
        # The server below does not look at what it is given, such as letters for a number.
        _log.warning("a request for a table could not be understood: %r", exception)
        return 400, "The address of this page cannot be understood."
    _log.error("a page could not be made", exc_info=exception)
    return 500, "Something went wrong here. It has been noted on the server."


def _refusal_from_below(exception: Any) -> tuple[int, str]:  # noqa: ANN401 - the server ships no types
    too_long = "This would take too long to answer; ask for less."
    if isinstance(exception, QueryInterrupted):
        return 503, too_long
    # Faults of the question, such as a column that is not there, come as 500 from below.
    status = 400 if exception.status == 500 else exception.status
    said = "" if exception.message_is_html else str(exception.message)
    return status, said or too_long


async def _error_page(site: Datasette, request: Request, exception: Exception) -> Response:
    status, sentence = _status_and_sentence(exception, request)
    return await _told(site, request, status, sentence)


async def _told(site: Datasette, request: Request, status: int, sentence: str) -> Response:
    if request.path.endswith((".json", ".csv")):
        body = json.dumps({"ok": False, "status": status, "error": sentence})
        return Response(body, status=status, content_type="application/json; charset=utf-8")
    template = site.jinja_env.get_template("error.html")
    title = {404: "Not here", 403: "Not open", 400: "Not understood"}.get(status, "Not working")
    page = await template.render_async(
        {"page_title": title, "status": status, "sentence": sentence, "static": STATIC}
    )
    return Response.html(page, status=status)
