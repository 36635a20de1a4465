"""The server of the form: on loopback, and beside it at one more address where that is asked for."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import Final

import uvicorn

from ledger.bench.form_app import application
from ledger.bench.form_asked import Bench
from ledger.bench.form_desk import Desk
from ledger.bench.form_door import Doors
from ledger.bench.form_drafts import FOLDER
from ledger.bench.form_entering import near_address
from ledger.errors import PublicationError
from ledger.publish.site import HOST, Reach, open_socket
from ledger.record.connections import alone_at

MOST_AT_ONCE: Final = 60
IN_USE: Final = f"{FOLDER}/in-use"  # among the drafts, which two at once would write over


def _already_open(folder: Path) -> str:
    return (
        f"A bench is open on {folder.resolve()} already. Use that one, or end it first: two at once "
        "would write over one another's drafts."
    )


def warning(where: Reach) -> str:
    """What it means to be reached from beyond this machine, for whoever is about to be."""
    return (
        f"Warning: the bench can also be reached at {where.shown}, from every machine of that network. "
        "What is typed there, pictures and names with it, travels unencrypted and can be read on the "
        "way; who has the code can read and change the drafts. Nothing can be recorded for good or "
        "published from there. Use it in a room of your own, and end it with Ctrl-C when you are done."
    )


def check_reach(where: Reach) -> None:
    """Make sure that the bench can be reached as asked.

    Raises:
        PublicationError: it would be at every address of this machine at once.
    """
    if where.is_wide and where.address in ("0.0.0.0", "::"):  # noqa: S104 - what is refused
        raise PublicationError(
            "A bench is never at every address of this machine: name the one that the telephone sees."
        )


def serve_bench(desk: Desk, port: int, say: Callable[[str], None], where: Reach) -> None:
    """Serve the form until it is interrupted; ``say`` is told the addresses and codes first.

    Raises:
        LedgerError: a bench is open on the folder already.
        PublicationError: no port is free, or the address is not this machine's.
    """
    check_reach(where)
    with contextlib.ExitStack() as stack:
        stack.enter_context(alone_at(desk.folder / IN_USE, _already_open(desk.folder)))
        near = stack.enter_context(contextlib.closing(open_socket(port)))
        sockets = [near]
        bench = Bench(desk, Doors(), say, near=f"http://{HOST}:{near.getsockname()[1]}/")
        if where.is_wide:
            taken = near.getsockname()[1]
            far = stack.enter_context(contextlib.closing(open_socket(taken, where.address)))
            sockets.append(far)
            bench.far = f"http://{where.shown}:{far.getsockname()[1]}/"
            say(warning(where))
            say(f"On the telephone: {bench.far} with the code {bench.doors.open_far()}")
        say(f"The bench is at {near_address(bench)}")
        say(
            "The address opens it once, on this machine only. Stop it with Ctrl-C; drafts are kept."
        )
        config = uvicorn.Config(
            application(bench, where.hosts),
            lifespan="off",
            log_level="warning",
            access_log=False,
            server_header=False,
            ws="none",
            proxy_headers=False,
            limit_concurrency=MOST_AT_ONCE,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=5,
        )
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=sockets)
