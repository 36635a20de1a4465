"""The server of a site: read-only, with our own pages and nothing of the stock face.

It listens on loopback; anywhere else only where it is told to, and then it answers to the names
that it is told and to no other. The server is Datasette with this module as its plugin. The plugin is added when a site is built
here; another Datasette in the same process is left as it is.
"""

from __future__ import annotations

import contextlib
import errno
import ipaddress
import json
import re
import socket
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import uvicorn
from datasette.plugins import pm  # type: ignore[import-untyped]  # ships no types

from ledger.errors import PublicationError
from ledger.exchange.asking import read_graph_questions
from ledger.holdings import query_files, schema_file
from ledger.publish import plugin
from ledger.publish.drawn_pages import ALL_INVENTED_SQL
from ledger.publish.guard import LOOPBACK_HOSTS
from ledger.publish.placing import DATABASE_FILE, SETTINGS_FILE
from ledger.publish.plugin import STATIC, Site
from ledger.publish.questions import Question, read_questions
from ledger.publish.rendering import shown
from ledger.publish.sitedb import SETTINGS, TITLE
from ledger.publish.tables import DATABASE, Table, metadata_of, read_tables

HOST: Final = "127.0.0.1"
PORTS_TRIED: Final = 50
PLUGIN: Final = "witnessmark"
MOST_AT_ONCE: Final = 100
ROOM: Final = Path(__file__).parent

_NAME: Final = re.compile(r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,62})(\.[a-z0-9][a-z0-9-]{0,62})*")


@dataclass(frozen=True, slots=True)
class Reach:
    """Where a server listens and by which names it may be asked for."""

    address: str = HOST
    hosts: frozenset[str] = LOOPBACK_HOSTS

    @property
    def is_wide(self) -> bool:
        """Whether others than this machine can reach it."""
        return not ipaddress.ip_address(self.address).is_loopback

    @property
    def shown(self) -> str:
        """The address as it stands in a URL that somebody can open."""
        if ipaddress.ip_address(self.address).is_unspecified:
            return min(self.hosts - LOOPBACK_HOSTS, default=HOST)
        return _in_url(self.address)

    def in_words(self) -> str:
        """What it means to serve there, for whoever is about to."""
        names = ", ".join(sorted(self.hosts - LOOPBACK_HOSTS))
        is_every = ipaddress.ip_address(self.address).is_unspecified
        where = "any of its addresses" if is_every else self.address
        return (
            f"This serves beyond this machine: whoever can reach it at {where} can read all of the "
            "site, without a password, and what they ask travels unencrypted. Nothing can be "
            f"changed through it, and withheld matter is not in it. It answers to {names} and to "
            "no other name. On an open network let a server that speaks TLS stand before it."
        )


def reach(address: str | None, names: Iterable[str] = ()) -> Reach:
    """Where to listen: on loopback, or at an address of this machine that is named.

    Raises:
        PublicationError: that is no address, a name is none, or no name can be told from it.

    >>> reach(None).is_wide, reach("192.0.2.7").is_wide
    (False, True)
    """
    wanted = frozenset(name.lower().rstrip(".") for name in names)
    for name in sorted(wanted):
        if not _NAME.fullmatch(name) and not _is_address(name.strip("[]")):
            raise PublicationError(f"{name!r} is no name of a host; one is such as shop.example.")
    if address is None:
        return Reach(hosts=LOOPBACK_HOSTS | wanted)
    if not _is_address(address):
        raise PublicationError(
            f"{address!r} is no address of this machine; one is in figures, such as 192.0.2.7."
        )
    if ipaddress.ip_address(address).is_unspecified:
        if not wanted:
            raise PublicationError(
                f"{address} is every address of this machine: say by which name it will be "
                "asked for, so that it answers to no other."
            )
        return Reach(address, LOOPBACK_HOSTS | wanted)
    return Reach(address, LOOPBACK_HOSTS | wanted | {_in_url(address)})


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return "%" not in text


def _in_url(address: str) -> str:
    return f"[{address}]" if ":" in address else address


def datasette_for(folder: Path, hosts: frozenset[str] = LOOPBACK_HOSTS) -> Site:
    """The application that serves the site in ``folder``, which it opens as unchangeable.

    It answers to ``hosts`` and to no other name.

    Raises:
        PublicationError: there is no site in that folder.
    """
    file = folder / DATABASE_FILE
    if not file.is_file():
        raise PublicationError(f"There is no site in {folder}; publish one there first.")
    if not pm.has_plugin(PLUGIN):
        pm.register(plugin, name=PLUGIN)
    tables = read_tables(schema_file("site.sql").read_text(encoding="utf-8"))
    _refuse_another_make(folder, file, tables)
    questions = read_questions(query_files())
    site = Site(
        files=[],
        immutables=[str(file)],
        metadata=_metadata(tables, questions),
        settings={**SETTINGS, "allow_download": _may_be_taken(folder)},
        template_dir=str(ROOM / "templates"),
        static_mounts=[(STATIC.strip("/"), str(ROOM / "static"))],
    )
    site.jinja_env.finalize = shown  # before any page is made ready
    site.witnessmark_questions = questions
    answered = {question.name for question in questions}
    site.witnessmark_of_the_graph = tuple(
        each for each in read_graph_questions(query_files()) if each.name not in answered
    )
    site.witnessmark_tables = {table.name: table for table in tables}
    site.witnessmark_is_invented = _is_all_invented(file)
    site.witnessmark_hosts = hosts
    site.witnessmark_reports = {}
    site.witnessmark_may_be_taken = _may_be_taken(folder)
    return site


def _refuse_another_make(folder: Path, file: Path, tables: Iterable[Table]) -> None:
    """Nothing, if the file has every column that the pages ask for.

    Raises:
        PublicationError: it was published by a version of the program that had other columns.
    """
    with _opened(file) as db:
        for table in tables:
            there = {name for _, name, *_ in db.execute(f'PRAGMA table_info("{table.name}")')}
            wanting = sorted(table.columns.keys() - there)
            if wanting:
                raise PublicationError(
                    f"The site in {folder} was published by another version of this program: its "
                    f"table {table.name} has no {wanting[0]}. Publish it anew with "
                    "“witnessmark publish”."
                )


def _opened(file: Path) -> contextlib.closing[sqlite3.Connection]:
    """The file of a site as it stands, for reading."""
    return contextlib.closing(sqlite3.connect(f"{file.resolve().as_uri()}?immutable=1", uri=True))


def _may_be_taken(folder: Path) -> bool:
    """Whether the publisher lets visitors take the database; where nothing says so, not."""
    try:
        settings = json.loads((folder / SETTINGS_FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(settings, dict) and settings.get("allow_download") is True


def _is_all_invented(file: Path) -> bool:
    with _opened(file) as db:
        (is_invented,) = db.execute(ALL_INVENTED_SQL).fetchone()
    return bool(is_invented)


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


def open_socket(port: int, address: str = HOST) -> socket.socket:
    """A socket that listens at ``port`` or, where that is taken, the next free one.

    Raises:
        PublicationError: all of the ports tried are taken, or the address is not this machine's.
    """
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    for candidate in range(port, min(port + PORTS_TRIED, 65536)):
        # Named as TCP, since only then answers in two pieces go out without waiting for each other.
        listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address, candidate))
        except OSError as error:
            listener.close()
            if error.errno in (errno.EADDRNOTAVAIL, errno.EAFNOSUPPORT):
                raise PublicationError(f"{address} is no address of this machine.") from error
            continue
        listener.listen(128)
        return listener
    raise PublicationError(
        f"No port from {port} to {port + PORTS_TRIED - 1} is free on {address}; name another."
    )


def serve(folder: Path, port: int, say: Callable[[str], None], where: Reach | None = None) -> None:
    """Serve the site until it is interrupted, on loopback unless ``where`` says otherwise.

    ``say`` is told the address first.

    Raises:
        PublicationError: there is no site in the folder, or no port is free.
    """
    taken_to = where or Reach()
    app = datasette_for(folder, taken_to.hosts).app()
    with contextlib.closing(open_socket(port, taken_to.address)) as listener:
        taken = listener.getsockname()[1]
        say(f"http://{taken_to.shown}:{taken}/")
        config = uvicorn.Config(
            app,
            lifespan="on",
            log_level="warning",
            access_log=False,
            server_header=False,
            date_header=True,
            ws="none",
            proxy_headers=False,
            limit_concurrency=MOST_AT_ONCE,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=5,
        )
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
