"""The command that tells how the record grew and what each recording changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from ledger import reporting
from ledger.commands.options import LEDGER_OPTION
from ledger.commands.paragraphs import say
from ledger.exchange.differing import Change, Difference, difference_of
from ledger.exchange.histories import Batch, batches_of
from ledger.findings import Report
from ledger.record.store import Ledger

LINES_TOLD = 12


@click.command()
@click.argument("instrument")
@click.option("--from", "first", type=int, help="Leave out what was recorded before this entry.")
@click.option("--to", "last", type=int, help="Leave out what was recorded after this entry.")
@click.option("--all", "is_whole", is_flag=True, help="Every changed line, however many.")
@LEDGER_OPTION
def history(
    instrument: str, first: int | None, last: int | None, ledger_path: Path, *, is_whole: bool
) -> None:
    """Tell how the record of an INSTRUMENT grew, and what each recording changed.

    Entries are told in the batches in which they were recorded; after each stands what followed
    otherwise from then on. Packs count as well: they change what follows from the same record.
    """
    with Ledger.open(ledger_path, read_only=True) as ledger:
        batches = batches_of(ledger.entries(), instrument)
        if not batches:
            reporting.weigh(ledger, instrument)  # says by itself what is unknown
        before: Report | None = None
        for batch in batches:
            if last is not None and batch.first > last:
                break
            after = reporting.weigh(ledger, instrument, batch.last)
            if first is None or batch.last >= first:
                say(_told(batch, before, after, is_whole=is_whole))
            before = after


def _told(batch: Batch, before: Report | None, after: Report, *, is_whole: bool) -> Iterator[str]:
    yield batch.sentence()
    if before is None:
        said = {finding.id: finding.sentence for finding in after.findings}
        yield "  What could be said then:"
        yield from (f"    - {said[name]}" for name in after.conclusion)
    else:
        yield from difference_told(difference_of(before, after), is_whole=is_whole)
    yield ""


def difference_told(found: Difference, *, is_whole: bool) -> Iterator[str]:
    """What was recorded and what follows otherwise, as lines; long lists are cut."""
    if found.done:
        yield "  Recorded:"
        yield from _listed(found, found.done, is_whole=is_whole)
    if not found.follows:
        yield "  Nothing follows otherwise."
        return
    yield "  What follows otherwise:"
    yield from _listed(found, found.follows, is_whole=is_whole)


def _listed(found: Difference, changes: tuple[Change, ...], *, is_whole: bool) -> Iterator[str]:
    shown = changes if is_whole else changes[:LINES_TOLD]
    yield from (f"    - {found.with_reasons(change)}" for change in shown)
    if len(changes) > len(shown):
        yield f"    and {len(changes) - len(shown)} more; --all shows them"
