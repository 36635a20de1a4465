"""The main job on the sample data: record, weigh, publish, and say what was found."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ledger.errors import LedgerError
from ledger.holdings import sample_data
from ledger.publishing import publish
from ledger.record.store import Ledger
from ledger.reporting import instruments, weigh
from ledger.workflow import record_files

LEDGER_NAME = "ledger.db"
SITE_NAME = "site"
RECORDER = "the example"


def build(folder: Path, now: str, say: Callable[[str], None]) -> Path:
    """The site folder of the sample data, built under ``folder``; ``say`` is told each step.

    An example built there before is kept and only added to, as any ledger is.

    Raises:
        LedgerError: the folder cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LedgerError(f"The folder {folder} cannot be made: {error.strerror}.") from error
    path = folder / LEDGER_NAME
    files = sorted(sample_data().glob("*.yaml"))
    say("An invented maker, three invented instruments. Nothing here is about a real object.")
    for done in record_files(path, files, RECORDER, now):
        what = f"{done.changed} entries" if done.changed else "nothing new"
        say(f"Recorded {Path(done.file).name}: {what}")
    with Ledger.open(path, read_only=True) as ledger:
        for instrument, name in instruments(ledger.entries()).items():
            report = weigh(ledger, instrument)
            sentences = {finding.id: finding.sentence for finding in report.findings}
            say("")
            say(f"{name} ({instrument})")
            for found in report.conclusion:
                say(f"  {sentences[found]}")
        site = publish(ledger, folder / SITE_NAME, say=say)
    say("")
    say(f"Ledger: {path}")
    say(f"Site:   {site}")
    say(f"Next:   witnessmark weigh INSTRUMENT --ledger {path}")
    return site
