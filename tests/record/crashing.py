"""Kills a writer at random moments, again and again, and looks at what is left.

Run by a test in a short form and by hand in a long one, with the checkout on the path:

    python tests/record/crashing.py KILLS [SEED]

A child records, erases or publishes without end and tells through a pipe what it has been told is
done. It is killed (SIGKILL) at a random moment. Then the ledger has to open, to hold everything
that was told and nothing by halves, and to verify; what was erased has to be gone from every byte;
and the site has to be the old one or the new one, whole. Prints how many kills there were of
each kind, and every fault.
"""

from __future__ import annotations

import json
import os
import random
import select
import shutil
import signal
import sys
import tempfile
from pathlib import Path

from ledger.publish.placing import DATABASE_FILE
from ledger.publishing import publish
from ledger.record.audit import Trust
from ledger.record.changes import Book, Change, Withheld, commitment
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.erasing import erase_matter, erased_names, find_matter
from ledger.record.keys import introduction, new_key
from ledger.record.ledger_audit import audit_ledger
from ledger.record.seals import audit_site
from ledger.record.store import Ledger

TIME = "2026-03-02T10:00:00Z"
BATCH = 4
KINDS = ("record", "erase", "publish")
FRESH_AFTER = 12
LONGEST_WAIT_SECONDS = 30
# About as long as one round of each takes, so that a kill falls anywhere in it.
MOMENTS_SECONDS = {"record": 0.004, "erase": 0.03, "publish": 0.4}


class Bench:
    """A ledger with its keys and site, and what a child was told is done."""

    def __init__(self, folder: Path, dice: random.Random) -> None:
        self.folder, self.dice = folder, dice
        self.path, self.keys, self.site = folder / "l.db", folder / "keys", folder / "site"
        # No instrument in it: weighing takes time and writes nothing, so kills would fall there.
        with Ledger.create(self.path) as ledger:
            key = new_key(self.keys, dice.randbytes)
            ledger.append(introduction(key, {}), recorder="me", recorded_at=TIME)
            sign_checkpoint(ledger, key, TIME)
        self.trust = Trust(key.public_key)
        self.recorded: list[str] = []
        self.erased: list[str] = []
        self.published = 0

    # What the child does.

    def record(self, tell) -> None:
        with Ledger.open(self.path) as ledger:
            while True:
                name = f"b-{os.urandom(6).hex()}"
                ledger.append(
                    [_hiding(name, at, f"{name}-value-{at}") for at in range(BATCH)],
                    recorder="me",
                    recorded_at=TIME,
                )
                tell(f"recorded {name}")

    def erase(self, tell) -> None:
        with Ledger.open(self.path) as ledger:
            while True:
                name = f"e-{os.urandom(6).hex()}"
                changes = [_hiding(name, at, f"{name}-secret-{at}") for at in range(BATCH)]
                ledger.append(changes, recorder="me", recorded_at=TIME)
                tell(f"recorded {name}")
                matter = find_matter(ledger, [name])
                erase_matter(ledger, matter, "asked for", "me", TIME)
                tell(f"erased {name}")

    def publish(self, tell) -> None:
        while True:
            with Ledger.open(self.path, read_only=True) as ledger:
                publish(ledger, self.site, keys=self.keys)
            tell("published 1")

    # What is looked at afterwards.

    def take(self, told: str) -> None:
        for line in told.splitlines():
            what, _, name = line.partition(" ")
            if what == "recorded":
                self.recorded.append(name)
            elif what == "erased":
                self.erased.append(name)
            elif what == "published":
                self.published += 1

    def faults(self) -> list[str]:
        found = [
            f"{name} is still in a byte" for name in self.erased if self._holds(f"{name}-secret")
        ]
        with Ledger.open(self.path) as ledger:
            entries = ledger.entries()
            gone = erased_names(entries)
            left = {each.commitment for each in ledger.withheld()}
            if gone & left:
                found.append("something is erased and there")
        batches: dict[str, int] = {}
        hidden: dict[str, list[str]] = {}
        for entry in entries:
            if entry.line.startswith("x-"):
                batches[entry.book] = batches.get(entry.book, 0) + 1
                hidden.setdefault(entry.book, []).append(entry.body["holder"]["withheld"])
        found += [
            f"{name} was told and is not there" for name in self.recorded if name not in batches
        ]
        found += [f"{name} is there by halves" for name, count in batches.items() if count != BATCH]
        for name, names in hidden.items():
            if 0 < len(gone & set(names)) < BATCH:
                found.append(f"{name} is erased by halves")
            if gone & set(names) and self._holds(f"{name}-secret"):
                found.append(f"{name} is still in a byte after opening")
        found += map(str, audit_ledger(self.path, self.trust).faults)
        return found + self._site_faults()

    def _site_faults(self) -> list[str]:
        for left in self.folder.glob(".site.*"):
            shutil.rmtree(left)
        if not self.site.exists():
            return ["the site is gone"] if self.published else []
        return [str(fault) for fault in audit_site(self.site / DATABASE_FILE, self.trust).faults]

    def _holds(self, text: str) -> bool:
        return any(text.encode() in path.read_bytes() for path in self.folder.glob("l.db*"))


def _hiding(book: str, at: int, value: str) -> Change:
    salt = f"{at:032x}"
    name = commitment(salt, "holder", value)
    body = {"id": f"x-{at}", "holder": {"withheld": name}}
    hidden = (Withheld(name, salt, "holder", value),)
    # No instrument of that name is weighed: the header is what makes one.
    return Change("record", Book("instrument", book), "custody", f"x-{at}", body, hidden)


def kill_one(bench: Bench, kind: str) -> None:
    """Let a child work and kill it, at once or some time after its first word."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reads)
        try:
            getattr(bench, kind)(lambda text: os.write(writes, f"{text}\n".encode()))
        finally:
            os._exit(1)
    os.close(writes)
    told = b""
    words = bench.dice.choice((0, 1, 1, 1, 2, 3) if kind == "publish" else (0, 1, 2, 5, 9, 14))
    while told.count(b"\n") < words and select.select([reads], [], [], LONGEST_WAIT_SECONDS)[0]:
        told += os.read(reads, 4096)
    select.select([], [], [], bench.dice.uniform(0, MOMENTS_SECONDS[kind]))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reads, "rb") as rest:
        bench.take((told + rest.read()).decode())


def main() -> int:
    kills = int(sys.argv[1])
    dice = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 8785)  # noqa: S311 - dice, no key
    counts = dict.fromkeys((*KINDS, "told"), 0)
    faults: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        for at in range(kills):
            if at % FRESH_AFTER == 0:
                folder = Path(name) / str(at)
                folder.mkdir()
                bench = Bench(folder, dice)
            kind = KINDS[at % len(KINDS)]
            kill_one(bench, kind)
            counts[kind] += 1
            faults += [f"kill {at} ({kind}): {fault}" for fault in bench.faults()]
            if at % FRESH_AFTER == FRESH_AFTER - 1 or at == kills - 1:
                counts["told"] += len(bench.recorded) + len(bench.erased) + bench.published
                shutil.rmtree(bench.folder)
    sys.stdout.write(json.dumps({**counts, "faults": faults}) + "\n")
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main())
