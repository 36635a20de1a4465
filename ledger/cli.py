"""The command ``witnessmark``.

What a command does not need is imported only when it runs: the help of the command has to
appear at once. Faults are printed as sentences; a traceback never reaches a user.
"""

from __future__ import annotations

import gc
import getpass
import json
import sys
from datetime import UTC, datetime
from importlib import import_module, metadata
from pathlib import Path
from types import ModuleType
from typing import Any

import click

from ledger.errors import WitnessmarkError

DEFAULT_LEDGER = "witnessmark.db"
DEFAULT_SITE = "witnessmark-site"
DEFAULT_DEMO = "witnessmark-demo"
DEFAULT_PORT = 8140


def _version() -> str:
    """The version that is installed; from a checkout that is not installed, that it is one."""
    try:
        return metadata.version("witnessmark")
    except metadata.PackageNotFoundError:
        return "of a checkout that is not installed"


VERSION = _version()


def late(module: str) -> ModuleType:
    """A module of this package, imported now and not when the command starts."""
    return import_module(f"ledger.{module}")


class _Faults(click.Group):
    """A group whose commands end with the sentence of our errors and exit status 1."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - what click returns
        try:
            return super().invoke(ctx)
        except WitnessmarkError as error:
            raise click.ClickException(str(error)) from error


LEDGER_OPTION = click.option(
    "--ledger",
    "ledger_path",
    type=click.Path(path_type=Path),
    default=DEFAULT_LEDGER,
    envvar="WITNESSMARK_LEDGER",
    show_default=True,
    help="The ledger file.",
)


@click.group(cls=_Faults, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="witnessmark")
def main() -> None:
    """A provenance ledger for old instruments and amplifiers.

    Record what was seen, read and told of an instrument in bench sheets; learn what follows
    from it, what contradicts it and how far each statement can be relied on; publish the result
    as a site that is read and not changed.
    """


@main.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
@click.option("--recorder", default=getpass.getuser, help="Who records. [default: your login]")
def record(files: tuple[Path, ...], ledger_path: Path, recorder: str) -> None:
    """Record bench sheets and packs; a sheet that is unchanged adds nothing.

    All files are checked first: if one has a fault, all faults are listed and nothing is
    recorded.
    """
    for done in late("workflow").record_files(ledger_path, files, recorder, _now()):
        click.echo(_told(done))


@main.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@LEDGER_OPTION
def check(files: tuple[Path, ...], ledger_path: Path) -> None:
    """Check bench sheets and packs without recording them."""
    late("workflow").check_files(files, _entries(ledger_path))
    click.echo("No fault found.")


@main.command()
@LEDGER_OPTION
def instruments(ledger_path: Path) -> None:
    """List the instruments in the ledger."""
    with late("record.store").Ledger.open(ledger_path, read_only=True) as ledger:
        for name, title in late("workflow").instruments(ledger.entries()).items():
            click.echo(f"{name}  {title}")


@main.command()
@click.argument("kind", required=False)
@LEDGER_OPTION
def catalogue(kind: str | None, ledger_path: Path) -> None:
    """List the words a bench sheet may use.

    With a KIND of instrument its positions; without one the kinds and the kinds of trace.
    """
    printing = late("printing")
    packs = late("workflow").known_packs(_entries(ledger_path))
    if kind is None:
        printing.print_words(printing.console(), packs)
    else:
        printing.print_catalogue(printing.console(), packs.catalogue(kind))


@main.command(name="read-mark")
@click.argument("text")
@click.option("--kind", help="Of what kind of instrument; see the command catalogue.")
@click.option("--position", help="Where the mark is; needs --kind.")
@click.option("--maker", default="", help="Whose tables to try, besides those of no maker.")
@click.option("--scheme", help="Read it by this scheme only, as in a sheet.")
@LEDGER_OPTION
@click.option("--json", "as_json", is_flag=True, help="The candidates as JSON.")
def read_mark(text: str, ledger_path: Path, *, as_json: bool, **where: str | None) -> None:
    """Say every way in which a mark can be read, why, and the bound each would give.

    TEXT is the mark glyph for glyph: ? for one that cannot be read, [38] for either of two; for
    instance "134 4?8". Nothing is recorded. Packs recorded in the ledger are used as well.
    """
    packs = late("workflow").known_packs(_entries(ledger_path))
    kind, position = where["kind"], where["position"]
    if position is not None and kind is None:
        raise click.UsageError("--position says where on an instrument: say --kind as well.")
    if kind is not None and position is not None:
        late("workflow").check_position(packs, kind, position)
    marks, readings = late("knowledge.marks"), late("knowledge.readings")
    found = marks.read_mark(text, packs, kind, position, where["maker"] or "", where["scheme"])
    values = marks.read_value(text, packs)
    if as_json:
        said = readings.readings_as_dict(text, found, values)
        click.echo(json.dumps(said, indent=2, ensure_ascii=False))
    else:
        click.echo(readings.readings_as_text(text, found, values))


@main.command()
@click.argument("instrument")
@LEDGER_OPTION
@click.option("--json", "as_json", is_flag=True, help="The whole report, in the published schema.")
@click.option("--at", "sequence", type=int, help="As it was known after this entry of the ledger.")
def weigh(instrument: str, ledger_path: Path, sequence: int | None, *, as_json: bool) -> None:
    """Say what follows from the record of an INSTRUMENT."""
    # It runs once and ends: what is built is needed to the end, so nothing is worth collecting.
    gc.disable()
    with late("record.store").Ledger.open(ledger_path, read_only=True) as ledger:
        report = late("workflow").weigh(ledger, instrument, sequence)
    if as_json:
        click.echo(late("record.schemas").report_json(report))
    else:
        printing = late("printing")
        printing.print_report(printing.console(), report)


@main.command()
@click.argument("finding")
@LEDGER_OPTION
@click.option("--at", "sequence", type=int, help="As it was known after this entry of the ledger.")
def explain(finding: str, ledger_path: Path, sequence: int | None) -> None:
    """Unfold a FINDING down to entries, exhibits and reference rows.

    A finding is named INSTRUMENT/FINDING, as the report and the site name it; for instance
    my-mandolin/completed.not-before.account.1 or my-mandolin/state.tuners.
    """
    instrument, slash, name = finding.partition("/")
    if not slash:
        raise click.ClickException(
            f"{finding!r} names no finding. Say INSTRUMENT/FINDING, such as "
            f"{finding}/completed.not-before.account.1; weigh --json lists them all."
        )
    with late("record.store").Ledger.open(ledger_path, read_only=True) as ledger:
        report = late("workflow").weigh(ledger, instrument, sequence)
    printing = late("printing")
    explanation = late("reason.explain").explain(report, name)
    printing.print_explanation(printing.console(), explanation)


@main.command()
@click.option(
    "--site",
    type=click.Path(path_type=Path),
    default=DEFAULT_SITE,
    show_default=True,
    help="The folder to write.",
)
@LEDGER_OPTION
def publish(site: Path, ledger_path: Path) -> None:
    """Publish every instrument of the ledger as a site folder."""
    with late("record.store").Ledger.open(ledger_path, read_only=True) as ledger:
        folder = late("publishing").publish(ledger, site)
    click.echo(f"Published to {folder}. To look at it: witnessmark show --site {folder}")


@main.command()
@click.option(
    "--site",
    type=click.Path(path_type=Path),
    default=DEFAULT_SITE,
    show_default=True,
    help="The folder that was published.",
)
@click.option("--port", default=DEFAULT_PORT, show_default=True, help="A busy one is stepped over.")
def show(site: Path, port: int) -> None:
    """Serve a published site to this machine, read-only, until it is interrupted."""
    late("publish.site").serve(site, port, _say_address)


@main.command()
@click.option(
    "--folder",
    type=click.Path(path_type=Path),
    default=DEFAULT_DEMO,
    show_default=True,
    help="Where to build the example.",
)
@click.option("--port", default=DEFAULT_PORT, show_default=True, help="A busy one is stepped over.")
@click.option("--serve/--no-serve", default=True, help="Leave the site open to browse.")
def demo(folder: Path, port: int, *, serve: bool) -> None:
    """Build a ledger from the invented sample data, weigh it, publish it and serve it."""
    site = late("demonstration").build(folder, _now(), click.echo)
    if serve:
        late("publish.site").serve(site, port, _say_address)


def _entries(ledger_path: Path) -> tuple[Any, ...]:
    """What the ledger holds; nothing where there is none yet."""
    if not ledger_path.exists():
        return ()
    with late("record.store").Ledger.open(ledger_path, read_only=True) as ledger:
        found: tuple[Any, ...] = ledger.entries()
    return found


def _say_address(address: str) -> None:
    click.echo(f"The site is at {address} on this machine only. Stop it with Ctrl-C.")


def _told(done: Any) -> str:  # noqa: ANN401 - a Recording, whose module is imported late
    if not done.changed:
        return f"{done.file}: nothing new; {done.book.id} stands as recorded."
    parts = [
        f"{count} {word}"
        for count, word in (
            (done.recorded, "recorded"),
            (done.superseded, "superseded"),
            (done.retracted, "retracted"),
        )
        if count
    ]
    return f"{done.file}: {done.book.kind} {done.book.id}: {', '.join(parts)}."


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


if __name__ == "__main__":
    sys.exit(main())
