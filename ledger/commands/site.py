"""Commands that publish, and that show what was published."""

from __future__ import annotations

from pathlib import Path

import click

from ledger.commands.options import (
    DEFAULT_DEMO,
    DEFAULT_SITE,
    LEDGER_OPTION,
    PORT_OPTION,
    folder_option,
    now,
)
from ledger.demonstration import build
from ledger.publish.site import serve as serve_site
from ledger.publishing import publish as publish_ledger
from ledger.record.store import Ledger


@click.command()
@folder_option("--site", DEFAULT_SITE, "The folder to write.")
@LEDGER_OPTION
def publish(site: Path, ledger_path: Path) -> None:
    """Publish every instrument of the ledger as a site folder."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        folder = publish_ledger(ledger, site)
    click.echo(f"Published to {folder}. To look at it: witnessmark show --site {folder}")


@click.command()
@folder_option("--site", DEFAULT_SITE, "The folder that was published.")
@PORT_OPTION
def show(site: Path, port: int) -> None:
    """Serve a published site to this machine, read-only, until it is interrupted."""
    serve_site(site, port, _say_address)


@click.command()
@folder_option("--folder", DEFAULT_DEMO, "Where to build the example.")
@PORT_OPTION
@click.option("--serve/--no-serve", default=True, help="Leave the site open to browse.")
def demo(folder: Path, port: int, *, serve: bool) -> None:
    """Build a ledger from the invented sample data, weigh it, publish it and serve it."""
    site = build(folder, now(), click.echo)
    if serve:
        serve_site(site, port, _say_address)


def _say_address(address: str) -> None:
    click.echo(f"The site is at {address} on this machine only. Stop it with Ctrl-C.")
