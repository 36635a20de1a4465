"""Commands that tell others what a ledger holds, and that ask the graph."""

from __future__ import annotations

import gc
import json
from pathlib import Path

import click

from ledger import printing, reporting
from ledger.commands.options import LEDGER_OPTION
from ledger.errors import UnknownName, WitnessmarkError
from ledger.exchange import theirs
from ledger.exchange.asking import (
    Answer,
    GraphQuestion,
    answer,
    read_graph_questions,
    store_of,
)
from ledger.exchange.iris import DEFAULT_BASE, TERMS, Quad
from ledger.exchange.rdf import FORMATS, Telling, exported, read_quads, respelt, written
from ledger.exchange.statements import Checkpoint
from ledger.holdings import query_files
from ledger.reason.reasoner import reason
from ledger.reason.rules import RULES
from ledger.record.case import case_at
from ledger.record.store import Ledger

BASE_OPTION = click.option(
    "--base",
    default=DEFAULT_BASE,
    envvar="WITNESSMARK_BASE",
    show_default=True,
    help="The beginning of every name: the address of your site.",
)


@click.command()
@click.argument("instruments", nargs=-1)
@click.option(
    "--format",
    "form",
    type=click.Choice(list(FORMATS)),
    default="trig",
    show_default=True,
    help="Turtle alone keeps no named graphs.",
)
@click.option("--out", type=click.Path(path_type=Path), help="The file to write. [default: print]")
@BASE_OPTION
@click.option(
    "--terms",
    default=TERMS,
    show_default=True,
    help="The beginning of the terms; a site serves them under its own address too.",
)
@LEDGER_OPTION
def tell(
    instruments: tuple[str, ...],
    form: str,
    out: Path | None,
    base: str,
    terms: str,
    ledger_path: Path,
) -> None:
    """Tell others what the ledger holds, as RDF with its checkpoint.

    Each assertion is a named graph with its provenance. Without INSTRUMENTS all of them are told.
    Nothing withheld is in it. What the format cannot carry is said on the error stream.
    """
    # It runs once and ends: what is built is needed to the end, so nothing is worth collecting.
    gc.disable()
    quads = exported(telling_of(ledger_path, instruments, base))
    content = written(quads if terms == TERMS else respelt(quads, TERMS, terms), form)
    for loss in FORMATS[form].losses:
        click.echo(f"Not in it: {loss}.", err=True)
    if out is None:
        click.echo(content, nl=False)
        return
    try:
        out.write_bytes(content)
    except OSError as error:
        raise click.ClickException(f"{out} cannot be written: {error.strerror}.") from error
    click.echo(f"Written to {out}.")


@click.command()
@click.argument("query", required=False)
@click.option("--param", "given", multiple=True, help="A parameter of the question, as name=value.")
@click.option(
    "--graph",
    "files",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Ask this file of RDF and not the ledger.",
)
@click.option("--theirs", "with_theirs", is_flag=True, help="Ask what others told as well.")
@click.option("--json", "as_json", is_flag=True, help="The answer as JSON.")
@BASE_OPTION
@LEDGER_OPTION
def ask(
    query: str | None,
    given: tuple[str, ...],
    files: tuple[Path, ...],
    base: str,
    ledger_path: Path,
    **how: bool,
) -> None:
    """Ask the graph a QUERY: a question by its name, or a file of SPARQL of your own.

    Without a QUERY the questions are listed, with their parameters.
    """
    if query is None:
        for each in read_graph_questions(query_files()):
            asked = "".join(f" [{name}]" for name, _, _ in each.parameters)
            click.echo(f"{each.name}{asked}  {each.title}")
        return
    question = _question(query)
    quads: list[Quad] = [quad for path in files for quad in _of_file(path)]
    if not files:
        quads += exported(telling_of(ledger_path, (), base))
    if how["with_theirs"]:
        folder = theirs.folder_beside(ledger_path)
        for receipt in theirs.latest(folder):
            quads += theirs.kept_quads(folder, receipt)
    _show(answer(store_of(quads), question, _parameters(given)), as_json=how["as_json"])


def telling_of(ledger_path: Path, instruments: tuple[str, ...], base: str) -> Telling:
    """All that the ledger tells of some instruments, or of all of them.

    Raises:
        UnknownName: one of them is not in the ledger.
    """
    with Ledger.open(ledger_path, read_only=True) as ledger:
        entries, opened = ledger.entries(), ledger.opened()
    packs = reporting.known_packs(entries)
    known = sorted(reporting.instruments(entries))
    for name in instruments:
        if name not in known:
            raise UnknownName("instrument", name, known)
    cases = [case_at(entries, name, None, opened) for name in instruments or known]
    last = entries[-1] if entries else None
    return Telling(
        cases=[(case, reason(case, packs)) for case in cases],
        packs=packs.files,
        checkpoint=Checkpoint(last.sequence, last.hash, last.recorded_at)
        if last
        else Checkpoint(0, ""),
        base=base,
        rules=RULES,
    )


def _question(query: str) -> GraphQuestion:
    path = Path(query)
    if path.suffix == ".rq":
        if not path.is_file():
            raise WitnessmarkError(f"There is no file {path}.")
        return read_graph_questions([path])[0]
    questions = {each.name: each for each in read_graph_questions(query_files())}
    if query not in questions:
        raise UnknownName("question", query, sorted(questions))
    return questions[query]


def _parameters(given: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for each in given:
        name, equals, value = each.partition("=")
        if not equals:
            raise click.UsageError(f"--param {each!r} is not of the form name=value.")
        found[name] = value
    return found


def _of_file(path: Path) -> tuple[Quad, ...]:
    try:
        return read_quads(path.read_bytes(), path.suffix, str(path))
    except OSError as error:
        raise click.ClickException(f"{path} cannot be read: {error.strerror}.") from error


def _show(found: Answer, *, as_json: bool) -> None:
    if as_json:
        rows = [dict(zip(found.columns, row, strict=True)) for row in found.rows]
        click.echo(json.dumps(rows, indent=2, ensure_ascii=False))
        return
    printing.print_table(printing.console(), found.columns, found.rows)
