"""The server of a site: read-only, on loopback, with our own pages and nothing of the stock face.

The server is Datasette with this module as its plugin. The plugin is added when a site is built
here; another Datasette in the same process is left as it is.
"""

from __future__ import annotations

import contextlib
import socket
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

import uvicorn
from datasette.plugins import pm  # type: ignore[import-untyped]  # ships no types

from ledger.errors import PublicationError
from ledger.holdings import query_files, schema_file
from ledger.publish import plugin
from ledger.publish.plugin import STATIC, Site
from ledger.publish.questions import Question, read_questions
from ledger.publish.sitedb import DATABASE_FILE, SETTINGS, TITLE
from ledger.publish.tables import DATABASE, Table, metadata_of, read_tables

HOST: Final = "127.0.0.1"
PORTS_TRIED: Final = 50
PLUGIN: Final = "witnessmark"
ROOM: Final = Path(__file__).parent


def datasette_for(folder: Path) -> Site:
    """The application that serves the site in ``folder``, which it opens as unchangeable.

    Raises:
        PublicationError: there is no site in that folder.
    """
    file = folder / DATABASE_FILE
    if not file.is_file():
        raise PublicationError(f"There is no site in {folder}; publish one there first.")
    if not pm.has_plugin(PLUGIN):
        pm.register(plugin, name=PLUGIN)
    tables = read_tables(schema_file("site.sql").read_text(encoding="utf-8"))
    questions = read_questions(query_files())
    site = Site(
        files=[],
        immutables=[str(file)],
        metadata=_metadata(tables, questions),
        settings=dict(SETTINGS),
        template_dir=str(ROOM / "templates"),
        static_mounts=[(STATIC.strip("/"), str(ROOM / "static"))],
    )
    site.witnessmark_questions = questions
    site.witnessmark_tables = {table.name: table for table in tables}
    site.witnessmark_is_invented = _is_all_invented(file)
    return site


def _is_all_invented(file: Path) -> bool:
    with contextlib.closing(
        sqlite3.connect(f"{file.resolve().as_uri()}?immutable=1", uri=True)
    ) as db:
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
