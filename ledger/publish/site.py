"""The server of a site: read-only, on loopback, with our own pages and nothing of the stock face.

The server is Datasette with this module as its plugin. The plugin is added when a site is built
here; another Datasette in the same process is left as it is.
"""

from __future__ import annotations

import contextlib
import json
import logging
import socket
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import uvicorn
from datasette import hookimpl  # type: ignore[import-untyped]  # ships no types
from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.plugins import pm  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    Base400,
    Request,
    Response,
)
from datasette.views.base import DatasetteError  # type: ignore[import-untyped]  # ships no types

from ledger.errors import PublicationError
from ledger.holdings import query_files, schema_file
from ledger.publish.guard import App, guarded
from ledger.publish.questions import Question, read_questions
from ledger.publish.sitedb import DATABASE_FILE, SETTINGS, TITLE
from ledger.publish.tables import DATABASE, Table, metadata_of, read_tables
from ledger.publish.views import ROUTES, page_of

HOST: Final = "127.0.0.1"
PORTS_TRIED: Final = 50
PLUGIN: Final = "witnessmark"
ROOM: Final = Path(__file__).parent
STATIC: Final = "/static"

# Everything a visitor might be allowed and is not, whatever a setting says.
REFUSED: Final = frozenset(
    {"execute-sql", "view-database-download", "debug-menu", "permissions-debug"}
)
_log = logging.getLogger("ledger.publish")


def datasette_for(folder: Path) -> Datasette:
    """The application that serves the site in ``folder``, which it opens as unchangeable.

    Raises:
        PublicationError: there is no site in that folder.
    """
    file = folder / DATABASE_FILE
    if not file.is_file():
        raise PublicationError(f"There is no site in {folder}; publish one there first.")
    if not pm.has_plugin(PLUGIN):
        pm.register(_Plugin(), name=PLUGIN)
    tables = read_tables(schema_file("site.sql").read_text(encoding="utf-8"))
    questions = read_questions(query_files())
    site = _Site(
        files=[],
        immutables=[str(file)],
        metadata=_metadata(tables, questions),
        settings=dict(SETTINGS),
        template_dir=str(ROOM / "templates"),
        static_mounts=[("static", str(ROOM / "static"))],
    )
    site.witnessmark_questions = questions
    site.witnessmark_tables = {table.name: table for table in tables}
    site.witnessmark_is_invented = _is_all_invented(file)
    return site


class _Site(Datasette):  # type: ignore[misc]  # the server ships no types
    """A site of ours, told from any other Datasette by its class."""

    witnessmark_questions: tuple[Question, ...] = ()
    witnessmark_tables: Mapping[str, Table] = MappingProxyType({})
    witnessmark_is_invented: bool = False


def _is_all_invented(file: Path) -> bool:
    with contextlib.closing(sqlite3.connect(f"{file.resolve().as_uri()}?immutable=1", uri=True)) as db:
        counts = db.execute("SELECT count(*), sum(invented = 'yes') FROM instrument").fetchone()
    return bool(counts[0]) and counts[0] == counts[1]


def _metadata(tables: Sequence[Table], questions: Sequence[Question]) -> dict[str, Any]:
    metadata = metadata_of(tuple(tables), TITLE)
    database = metadata["databases"][DATABASE]
    for table in tables:
        if table.facets:
            database["tables"][table.name]["facets"] = list(table.facets)
    database["queries"] = {
        question.name: {
            "sql": question.sql,
            "title": question.title,
            "description": question.description,
            "params": [parameter.name for parameter in question.parameters],
        }
        for question in questions
    }
    return metadata


class _Plugin:
    """What the server asks of a plugin. Each answer is for our own sites only."""

    @hookimpl
    def register_routes(self, datasette: Datasette) -> Sequence[Any]:
        return ROUTES if isinstance(datasette, _Site) else ()

    @hookimpl
    def asgi_wrapper(self, datasette: Datasette) -> Callable[[App], App]:
        return guarded if isinstance(datasette, _Site) else _unchanged

    @hookimpl
    def permission_allowed(
        self, datasette: Datasette, action: str, resource: object
    ) -> bool | None:
        if not isinstance(datasette, _Site):
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
    def extra_template_vars(self, datasette: Datasette) -> dict[str, Any]:
        if not isinstance(datasette, _Site):
            return {}
        return {
            "static": STATIC,
            "table_words": datasette.witnessmark_tables,
            "open_tables": [t.name for t in datasette.witnessmark_tables.values() if t.is_open],
            "page_of": page_of,
            "site_is_invented": datasette.witnessmark_is_invented,
        }

    @hookimpl(wrapper=True)
    def handle_exception(
        self, datasette: Datasette, request: Request, exception: Exception
    ) -> Iterator[Any]:
        # The server's own answer prints the fault with everything around it and tells the
        # visitor its text; ours stands alone.
        others = yield
        if not isinstance(datasette, _Site):
            return others
        return [_error_page(datasette, request, exception)]

    @hookimpl
    def forbidden(self, datasette: Datasette, request: Request, message: str) -> Any:  # noqa: ANN401
        if not isinstance(datasette, _Site):
            return None
        return _told(datasette, request, 403, message)


def _unchanged(app: App) -> App:
    return app


def _status_and_sentence(exception: Exception, request: Request) -> tuple[int, str]:
    if isinstance(exception, Base400):
        said = str(exception.args[0]) if exception.args else ""
        if exception.status == 404:
            plain = said if said.startswith("There is no ") else ""
            return 404, plain or "There is nothing at this address."
        return exception.status, said or "This cannot be answered."
    if isinstance(exception, DatasetteError):
        # Faults of the question, such as a column that is not there, come as 500 from below.
        status = 400 if exception.status == 500 else exception.status
        said = "" if exception.message_is_html else str(exception.message)
        return status, said or "This would take too long to answer; ask for less."
    is_of_a_table = request.path.startswith(f"/{DATABASE}") and bool(request.query_string)
    if is_of_a_table and isinstance(exception, ValueError | LookupError | TypeError):
        # The server below does not look at what it is given, such as letters for a number.
        _log.warning("a request for a table could not be understood: %r", exception)
        return 400, "The address of this page cannot be understood."
    _log.error("a page could not be made", exc_info=exception)
    return 500, "Something went wrong here. It has been noted on the server."


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


def open_socket(port: int) -> socket.socket:
    """A socket that listens on loopback at ``port`` or, where that is taken, the next free one.

    Raises:
        PublicationError: all of the ports tried are taken.
    """
    for candidate in range(port, min(port + PORTS_TRIED, 65536)):
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, candidate))
        except OSError:
            listener.close()
            continue
        listener.listen(128)
        return listener
    raise PublicationError(
        f"No port from {port} to {port + PORTS_TRIED - 1} is free on {HOST}; name another."
    )


def serve(folder: Path, port: int, say: Callable[[str], None]) -> None:
    """Serve the site on loopback until it is interrupted; ``say`` is told the address first.

    Raises:
        PublicationError: there is no site in the folder, or no port is free.
    """
    app = datasette_for(folder).app()
    with contextlib.closing(open_socket(port)) as listener:
        taken = listener.getsockname()[1]
        say(f"http://{HOST}:{taken}/")
        config = uvicorn.Config(
            app,
            lifespan="on",
            log_level="warning",
            access_log=False,
            server_header=False,
            date_header=True,
            ws="none",
        )
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
