"""How long 20,000 rows of a spreadsheet take to be recorded; run by hand, checkout on the path.

Twice: all rows about one instrument, and ten rows about each of 2,000. Every row is new, the ledger
is on disk, and what is timed is what the command does, from the file to the last entry. Prints one
line each, and ends with status 1 where one takes longer than a minute.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from openpyxl import Workbook

from ledger import workflow
from ledger.bench.spreadsheet_in import read_spreadsheet

ROWS = 20_000
CEILING_SECONDS = 60.0
AT = "2026-03-02T10:00:00Z"
KINDS = ["object", "id", "kind", "name", "invented"]
MARKS = ["object", "source", "position", "text", "legibility"]


def workbook(path, instruments):
    """A spreadsheet with that many instruments, the rows shared out among them."""
    book = Workbook(write_only=True)
    each = ROWS // instruments
    tab = book.create_sheet("instrument")
    tab.append(KINDS[1:])
    for number in range(instruments):
        tab.append([f"i-{number}", "solid-body-electric", f"No. {number}", "yes"])
    tab = book.create_sheet("sources")
    tab.append(["object", "id", "kind", "title"])
    for number in range(instruments):
        tab.append([f"i-{number}", "bench", "examination", "On the bench"])
    tab = book.create_sheet("marks")
    tab.append(["id", *MARKS])
    for row in range(ROWS):
        code = f"912 {row % 10}{row % 52 + 1:02d}"
        tab.append([f"m-{row}", f"i-{row // each}", "bench", f"pot.{row % each + 1}", code, "worn"])
    book.save(path)
    return path


def recorded_seconds(path, ledger):
    """How long it takes, and how many entries it comes to."""
    told = []
    begun = time.perf_counter()
    done = workflow.record_files(
        ledger,
        [path],
        "examiner A",
        AT,
        lambda file, known: read_spreadsheet(file, known, None, told.append),
    )
    taken = time.perf_counter() - begun
    return taken, sum(each.recorded for each in done), sum(told)


def main():
    worst = 0.0
    with tempfile.TemporaryDirectory() as name:
        for instruments in (1, 2_000):
            path = workbook(Path(name) / f"{instruments}.xlsx", instruments)
            taken, entries, rows = recorded_seconds(path, Path(name) / f"{instruments}.db")
            worst = max(worst, taken)
            sys.stdout.write(
                f"{instruments:>5} instruments: {rows:,} rows read, {entries:,} entries recorded in "
                f"{taken:.1f} s\n"
            )
    return int(worst > CEILING_SECONDS)


if __name__ == "__main__":
    sys.exit(main())
