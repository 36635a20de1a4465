"""The command that opens the form of the bench in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from ledger.bench.form_desk import Desk
from ledger.bench.form_server import check_reach, serve_bench
from ledger.commands.options import (
    DEFAULT_LEDGER,
    DEFAULT_SITE,
    KEYS_OPTION,
    PORT_OPTION,
    RECORDER_OPTION,
    now,
)
from ledger.errors import Fault, FaultsFound
from ledger.publish.site import reach


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=".")
@click.option(
    "--ledger",
    "ledger_path",
    type=click.Path(path_type=Path),
    envvar="WITNESSMARK_LEDGER",
    help=f"The ledger file. [default: {DEFAULT_LEDGER} in the folder]",
)
@click.option(
    "--site",
    type=click.Path(path_type=Path),
    help=f"The folder to publish to. [default: {DEFAULT_SITE} in the folder]",
)
@KEYS_OPTION
@RECORDER_OPTION
@PORT_OPTION
@click.option(
    "--listen",
    metavar="ADDRESS",
    help="Let a telephone in the same room reach it too, at this address of the machine.",
)
def bench(
    folder: Path, recorder: str, port: int, listen: str | None, **places: Path | None
) -> None:
    """Record at the bench in a browser, in the FOLDER of your sheets, until it is interrupted.

    The printed address opens it once, on this machine only. Drafts are kept as you type; nothing
    is recorded before you have read the review. With --listen a telephone can be let in as well,
    with a code of its own, and what that means is printed first.
    """
    where = reach(listen)
    check_reach(where)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        found = (error.strerror or "a place that cannot be written to").lower()
        advice = "Name another; what was there was left alone"
        raise FaultsFound([Fault(str(folder), 0, 0, "", found, "a folder", advice)]) from error
    desk = Desk(
        folder=folder,
        ledger_path=places["ledger_path"] or folder / DEFAULT_LEDGER,
        recorder=recorder,
        now=now,
        site=places["site"] or folder / DEFAULT_SITE,
        keys=places["keys"],
    )
    serve_bench(desk, port, click.echo, where)
