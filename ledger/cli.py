"""The command ``witnessmark``.

Here stands which commands there are and what each does in a line; the file that holds a command
is imported only when it is called for: the help has to appear at once. Faults are printed as
sentences; a traceback never reaches a user.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from importlib import import_module, metadata
from typing import Any

import click

from ledger.errors import WitnessmarkError


def _version() -> str:
    """The version that is installed; from a checkout that is not installed, that it is one."""
    try:
        return metadata.version("witnessmark")
    except metadata.PackageNotFoundError:
        return "of a checkout that is not installed"


VERSION = _version()


@dataclass(frozen=True, slots=True)
class Late:
    """A command that is imported when it is called for, and the line that the help shows."""

    module: str
    name: str
    says: str

    def command(self) -> click.Command:
        """The command itself, imported now."""
        found: click.Command = getattr(import_module(f"ledger.{self.module}"), self.name)
        return found


def late(module: str, name: str, says: str) -> Late:
    """A command of this package that is not imported yet."""
    return Late(module, name, says)


# In the order in which a person meets them; tests hold that each line is the command's own.
COMMANDS = {
    "check": late("commands.recording", "check", "Check bench sheets and packs without recording."),
    "record": late("commands.recording", "record", "Record bench sheets and packs."),
    "instruments": late("commands.recording", "instruments", "List the instruments in the ledger."),
    "catalogue": late("commands.reference", "catalogue", "List the words a bench sheet may use."),
    "read-mark": late(
        "commands.reference", "read_mark", "Say every way in which a mark can be read."
    ),
    "weigh": late(
        "commands.weighing", "weigh", "Say what follows from the record of an instrument."
    ),
    "explain": late("commands.weighing", "explain", "Unfold a finding down to entries and rows."),
    "publish": late("commands.site", "publish", "Publish every instrument as a site folder."),
    "show": late("commands.site", "show", "Serve a published site to this machine, read-only."),
    "demo": late(
        "commands.site", "demo", "Build a ledger from the invented sample data and show it."
    ),
}


class _LateGroup(click.Group):
    """A group whose commands are imported when called for and end with our errors' sentences."""

    def list_commands(self, ctx: click.Context | None) -> list[str]:  # noqa: ARG002 - click's own
        return list(COMMANDS)

    def get_command(self, ctx: click.Context | None, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's own
        found = COMMANDS.get(cmd_name)
        return None if found is None else found.command()

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's own
        with formatter.section("Commands"):
            formatter.write_dl([(name, command.says) for name, command in COMMANDS.items()])

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - what click returns
        try:
            return super().invoke(ctx)
        except WitnessmarkError as error:
            raise click.ClickException(str(error)) from error


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="witnessmark")
def main() -> None:
    """A provenance ledger for old instruments and amplifiers.

    Record what was seen, read and told of an instrument in bench sheets; learn what follows
    from it, what contradicts it and how far each statement can be relied on; publish the result
    as a site that is read and not changed.
    """


if __name__ == "__main__":
    sys.exit(main())
