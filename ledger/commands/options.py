"""Options that several commands take, and what they read for them."""

from __future__ import annotations

import getpass
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from ledger.record.entries import Entry
from ledger.record.store import Ledger

DEFAULT_LEDGER = "witnessmark.db"
DEFAULT_SITE = "witnessmark-site"
DEFAULT_DEMO = "witnessmark-demo"
DEFAULT_PORT = 8140

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

LEDGER_OPTION = click.option(
    "--ledger",
    "ledger_path",
    type=click.Path(path_type=Path),
    default=DEFAULT_LEDGER,
    envvar="WITNESSMARK_LEDGER",
    show_default=True,
    help="The ledger file.",
)
KEYS_OPTION = click.option(
    "--keys",
    type=click.Path(path_type=Path),
    default=lambda: Path(click.get_app_dir("witnessmark")) / "keys",
    envvar="WITNESSMARK_KEYS",
    show_default="keys in your own settings folder",
    help="The folder of your signing keys; never beside the ledger.",
)
RECORDER_OPTION = click.option(
    "--recorder", default=getpass.getuser, help="Who records. [default: your login]"
)
AT_OPTION = click.option(
    "--at", "sequence", type=int, help="As it was known after this entry of the ledger."
)
PORT_OPTION = click.option(
    "--port", default=DEFAULT_PORT, show_default=True, help="A busy one is stepped over."
)


def folder_option(name: str, default: str, says: str) -> Decorator:
    """An option for a folder, with its default shown."""
    return click.option(
        name, type=click.Path(path_type=Path), default=default, show_default=True, help=says
    )


def entries_of(ledger_path: Path) -> tuple[Entry, ...]:
    """What the ledger holds; nothing where there is none yet."""
    if not ledger_path.exists():
        return ()
    with Ledger.open(ledger_path, read_only=True) as ledger:
        return ledger.entries()


def now() -> str:
    """The time in UTC as the ledger writes it, such as ``2026-03-02T10:00:00Z``."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
