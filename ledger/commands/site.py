"""Commands that publish, and that show what was published."""

from __future__ import annotations

from pathlib import Path

import click

from ledger.basis.visible import visible
from ledger.commands.options import (
    DEFAULT_DEMO,
    DEFAULT_SITE,
    KEYS_OPTION,
    LEDGER_OPTION,
    PORT_OPTION,
    folder_option,
    now,
)
from ledger.demonstration import build
from ledger.publish.site import reach
from ledger.publish.site import serve as serve_site
from ledger.publishing import publish as publish_ledger
from ledger.record.store import Ledger

LISTEN_OPTION = click.option(
    "--listen",
    metavar="ADDRESS",
    help="Serve beyond this machine, at this address of it, in figures.",
)
NAME_OPTION = click.option(
    "--name", "names", multiple=True, help="A name of the host it may be asked for by; repeatable."
)


@click.command()
@folder_option("--site", DEFAULT_SITE, "The folder to write.")
@LEDGER_OPTION
@click.option(
    "--allow-download", is_flag=True, help="Let visitors take the site's database as a whole."
)
@KEYS_OPTION
def publish(site: Path, ledger_path: Path, keys: Path, *, allow_download: bool) -> None:
    """Publish every instrument of the ledger as a site folder."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        folder = publish_ledger(ledger, site, may_be_taken=allow_download, keys=keys, say=_echo)
    click.echo(f"Published to {folder}. To look at it: witnessmark show --site {folder}")


@click.command()
@folder_option("--site", DEFAULT_SITE, "The folder that was published.")
@PORT_OPTION
@LISTEN_OPTION
@NAME_OPTION
def show(site: Path, port: int, listen: str | None, names: tuple[str, ...]) -> None:
    """Serve a published site to this machine, read-only, until it is interrupted.

    With --listen it is served wider, and what that means is printed first.
    """
    _serve(site, port, listen, names)


@click.command()
@folder_option("--folder", DEFAULT_DEMO, "Where to build the example.")
@PORT_OPTION
@click.option("--serve/--no-serve", default=True, help="Leave the site open to browse.")
@LISTEN_OPTION
@NAME_OPTION
def demo(
    folder: Path, port: int, listen: str | None, names: tuple[str, ...], *, serve: bool
) -> None:
    """Build a ledger from the invented sample data, weigh it, publish it and serve it."""
    reach(listen, names)  # a fault in it is told before the work is done
    site = build(folder, now(), click.echo)
    if serve:
        _serve(site, port, listen, names)


def _echo(sentence: str) -> None:
    click.echo(visible(sentence))


def _serve(site: Path, port: int, listen: str | None, names: tuple[str, ...]) -> None:
    where = reach(listen, names)

    def say(address: str) -> None:
        if where.is_wide:
            click.echo(where.in_words())
            click.echo(f"The site is at {address}. Stop it with Ctrl-C.")
        else:
            click.echo(f"The site is at {address} on this machine only. Stop it with Ctrl-C.")

    serve_site(site, port, say, where)
