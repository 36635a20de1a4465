"""The command ``witnessmark``.

Here stands which commands there are and what each does in a line; the file that holds a command
is imported only when it is called for: the help has to appear at once. Faults are printed as
sentences; a traceback never reaches a user.
"""

from __future__ import annotations

import gc
import sys
from dataclasses import dataclass
from importlib import import_module, metadata
from typing import Any

import click

from ledger.basis.visible import visible
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
        # What is imported stays to the end: looking for rubbish in it costs a tenth of a second.
        gc.disable()
        try:
            module = import_module(f"ledger.{self.module}")
        except ModuleNotFoundError as error:
            raise _missing(error) from error
        finally:
            gc.freeze()
            gc.enable()
        found: click.Command = getattr(module, self.name)
        return found


# Libraries that only some commands need, and the extra that brings them.
EXTRAS = {"pyshacl": "graph", "rdflib": "graph"}


def _missing(error: ModuleNotFoundError) -> Exception:
    """What to do about a library that is not there; the error itself where it is no extra's."""
    extra = EXTRAS.get(str(error.name))
    if extra is None:
        return error
    return click.ClickException(
        f"This needs {error.name}, which is not installed: pip install 'witnessmark[{extra}]'."
    )


def late(module: str, name: str, says: str) -> Late:
    """A command of this package that is not imported yet."""
    return Late(module, name, says)


# In the order in which a person meets them; tests hold that each line is the command's own.
COMMANDS = {
    "start": late("commands.bench", "start", "Begin the record of an instrument in a folder."),
    "worksheet": late(
        "commands.bench", "worksheet", "Write what to look at as a page and as a spreadsheet."
    ),
    "photographs": late(
        "commands.bench", "photographs", "Put the pictures of a folder into a sheet."
    ),
    "bench": late(
        "commands.bench_form", "bench", "Record at the bench in a browser, on this machine."
    ),
    "map-columns": late(
        "commands.bench", "map_columns", "Write what the columns of your own spreadsheet mean."
    ),
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
    "examine-next": late(
        "commands.advising",
        "examine_next",
        "Say which examinations of an instrument would tell most.",
    ),
    "explain": late("commands.weighing", "explain", "Unfold a finding down to entries and rows."),
    "support": late(
        "commands.graphs",
        "support",
        "Say on what a finding stands, and what would be said without it.",
    ),
    "rests-on": late(
        "commands.graphs", "rests_on", "Say what rests on lines, sources, rows or an examiner."
    ),
    "history": late(
        "commands.histories", "history", "Tell how the record grew and what each step changed."
    ),
    "suppose": late(
        "commands.disputing",
        "suppose",
        "Say what would fall, and what would stand, were something otherwise.",
    ),
    "answer": late(
        "commands.disputing", "answer", "Answer a challenge line by line, on the record."
    ),
    "export": late("commands.graphs", "export", "Give out the evidence for other tools."),
    "tell": late("commands.telling", "tell", "Tell others what the ledger holds, as RDF."),
    "ask": late("commands.telling", "ask", "Ask the graph a question of the list, or your own."),
    "check-graph": late(
        "commands.others", "check_graph", "Check a graph from somebody else, in plain words."
    ),
    "take-in": late("commands.others", "take_in", "Take in what another ledger tells, as theirs."),
    "publish": late("commands.site", "publish", "Publish every instrument as a site folder."),
    "dossier": late(
        "commands.dossier",
        "dossier",
        "Hand over the file of an INSTRUMENT: one page to read and print, with JSON beside it.",
    ),
    "show": late("commands.site", "show", "Serve a published site to this machine, read-only."),
    "verify": late(
        "commands.trust", "verify", "Verify a ledger, a published site or a dossier, step by step."
    ),
    "checkpoint": late(
        "commands.trust", "checkpoint", "Sign the head of the ledger, to be kept elsewhere."
    ),
    "key": late("commands.trust", "key", "Make, rotate or revoke the key that signs checkpoints."),
    "erase": late(
        "commands.trust",
        "erase",
        "Erase withheld values for good; the ledger says that it was done.",
    ),
    "copy": late(
        "commands.trust",
        "copy",
        "Make a whole, consistent copy of the ledger at PATH, while others may write.",
    ),
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
            raise click.ClickException(visible(str(error))) from error


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
