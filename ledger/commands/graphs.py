"""Commands that ask the evidence graph and give it out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import click

from ledger import reporting
from ledger.basis.visible import visible
from ledger.commands.options import AT_OPTION, LEDGER_OPTION
from ledger.commands.paragraphs import say
from ledger.errors import UnknownName
from ledger.exchange.bearing_text import bears_most, resting_text, support_text
from ledger.exchange.formats import FORMATS
from ledger.exchange.graph import LINE, REFERENCE, SUPPOSITION, EvidenceGraph, graph_of
from ledger.exchange.left_out import said_instead
from ledger.exchange.resting import named_thing, resting_on, sources_by
from ledger.exchange.support import statement
from ledger.findings import Report
from ledger.knowledge.packs import Packs
from ledger.reason.reasoner import reason
from ledger.reason.suppose import leaving_out, suppose
from ledger.record.case import Case, case_at
from ledger.record.store import Ledger


@click.command()
@click.argument("instrument")
@click.option(
    "--format",
    "name",
    type=click.Choice(list(FORMATS)),
    required=True,
    help="; ".join(f"{name}: {each.says}" for name, each in FORMATS.items()) + ".",
)
@click.option("--out", type=click.Path(path_type=Path), help="The file to write. [default: print]")
@LEDGER_OPTION
@AT_OPTION
def export(
    instrument: str, name: str, out: Path | None, ledger_path: Path, sequence: int | None
) -> None:
    """Give out the evidence on an INSTRUMENT for other tools.

    Nothing withheld is in it. What the format cannot carry is said on the error stream.
    """
    report, case = weighed(ledger_path, instrument, sequence)
    exported = FORMATS[name].write(report, case)
    for loss in exported.losses:
        click.echo(visible(loss), err=True)
    if out is None:
        click.echo(exported.text, nl=False)
        return
    try:
        out.write_text(exported.text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise click.ClickException(f"{out} cannot be written: {error.strerror}.") from error
    click.echo(f"Written to {out}.")


@click.command()
@click.argument("finding")
@LEDGER_OPTION
@AT_OPTION
def support(finding: str, ledger_path: Path, sequence: int | None) -> None:
    """Say on what a FINDING stands: what it needs, and what would be said without that.

    A finding is named INSTRUMENT/FINDING, as for the command explain, which unfolds the chain.
    """
    instrument, slash, name = finding.partition("/")
    if not slash:
        raise click.ClickException(
            f"{finding!r} names no finding. Say INSTRUMENT/FINDING, such as "
            f"{finding}/completed.not-before.account.1; weigh --json lists them all."
        )
    asked = _Asked.of(ledger_path, instrument, sequence)
    node = statement(asked.graph, name)
    say(support_text(asked.graph, name, lambda ground: asked.instead((ground,), node)))


@click.command(name="rests-on")
@click.argument("instrument")
@click.argument("things", nargs=-1)
@click.option("--examiner", help="Everything by this person, as their sources name them.")
@LEDGER_OPTION
@AT_OPTION
def rests_on(
    instrument: str,
    things: tuple[str, ...],
    examiner: str | None,
    ledger_path: Path,
    sequence: int | None,
) -> None:
    """Say what of an INSTRUMENT's report rests on THINGS: lines, sources or rows of packs.

    They are named by their ids, rows as pack/row. Without any it lists the lines that bear most.
    """
    asked = _Asked.of(ledger_path, instrument, sequence)
    graph = asked.graph
    named = [named_thing(graph, name) for name in things]
    named += sources_by(graph, examiner) if examiner is not None else ()
    if not named:
        say(bears_most(graph))
        return
    is_possible = asked.without(tuple(named)) is not None

    def instead(finding: str) -> str:
        return asked.instead(tuple(named), finding) or ""

    say(resting_text(graph, resting_on(graph, named), instead if is_possible else None))


@dataclass(slots=True)
class _Asked:
    """A report and its graph, with the reports that there would be without something."""

    report: Report
    case: Case
    packs: Packs
    graph: EvidenceGraph
    known: dict[tuple[str, ...], Report | None] = field(default_factory=dict)

    @classmethod
    def of(cls, ledger_path: Path, instrument: str, sequence: int | None) -> _Asked:
        """What an instrument's ledger holds."""
        with Ledger.open(ledger_path, read_only=True) as ledger:
            entries = ledger.entries()
            case = case_at(entries, instrument, sequence, ledger.opened())
        packs = reporting.known_packs(entries, sequence)
        report = reason(case, packs)
        return cls(report, case, packs, graph_of(report, case))

    def without(self, nodes: tuple[str, ...]) -> Report | None:
        """The report without lines, sources, rows and suppositions; None if they cannot go."""
        if nodes not in self.known:
            lines = [each.removeprefix(LINE) for each in nodes if each.startswith(LINE)]
            rows = [each.removeprefix(REFERENCE) for each in nodes if each.startswith(REFERENCE)]
            fails = [n.removeprefix(SUPPOSITION) for n in nodes if n.startswith(SUPPOSITION)]
            what = replace(leaving_out(self.case, (*lines, *rows)), fails=tuple(fails))
            try:
                self.known[nodes] = suppose(self.case, self.packs, what)
            except UnknownName:  # a row of practice, or a line that asserts nothing
                self.known[nodes] = None
        return self.known[nodes]

    def instead(self, nodes: tuple[str, ...], finding: str) -> str | None:
        """What would be said of the finding without them; None if they cannot be left out."""
        after = self.without(nodes)
        return None if after is None else said_instead(self.report, after, finding)


def weighed(ledger_path: Path, instrument: str, sequence: int | None) -> tuple[Report, Case]:
    """The report on an instrument with the case that it is on."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        report = reporting.weigh(ledger, instrument, sequence)
        return report, case_at(ledger.entries(), instrument, sequence, ledger.opened())
