"""A site of many instruments under many readers; run by hand, with the checkout on the path.

The instruments are invented and made from one template without any reasoning. Told are how long
one takes to publish and the most memory that publishing takes for few and for many; then, for 50
readers at once on one server, the median and the 95th percentile of each kind of page, and both as
ratios to a row page of the same file under the same server library without anything of ours, in
rounds that take turns. Then the time of single requests one after another. Wall time; a machine
that is busy with other things gives other figures, and ratios that scatter.

    python tests/benchmarks/bench_site.py [INSTRUMENTS] [FOLDER TO KEEP THE SITE IN]
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import random
import resource
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from ledger.basis.spans import day_number, iso_date
from ledger.chances import Chances, DateChance, LineWeight, PartChance, Sway, WeekChance
from ledger.findings import (
    FORMAT,
    Account,
    End,
    EventDating,
    Finding,
    LineText,
    PackUsed,
    PositionFinding,
    ReferenceText,
    Report,
    SuppositionText,
    TimelineItem,
)
from ledger.publish.gathered import Gathered, RecordingTold, Withdrawal
from ledger.publish.placing import DATABASE_FILE
from ledger.publish.sitedb import Head, Publication, publish_site
from ledger.record.entries import FIRST_PREVIOUS, Entry
from ledger.references import PackFile

READERS, ROUNDS, REQUESTS = 50, 6, 600
FEW = 500
PLACES = ("body", "neck", "nut", "pot.tone", "pot.volume", "jack", "tuners", "knobs")
LINES_EACH = 10
ROW = "lintel/pot-week"


def name_of(number):
    return f"lintel-{number:06d}"


def lines_of(number):
    first = number * LINES_EACH + 1
    kinds = [("bench", "sources", f"Examination {number} on the bench")]
    kinds += [(f"mark-{at}", "marks", f"Mark on the {place}") for at, place in enumerate(PLACES)]
    kinds.append(("work", "works", "Repair of the wiring"))
    return tuple(
        LineText(
            name,
            section,
            title,
            f"{title}: {(number * 37 + at) % 1000:03d} {(number * 11 + at) % 100:02d}, as read.",
            None if section == "sources" else "bench",
            first + at,
            f"{first + at:064x}",
            positions=() if at in (0, 9) else (PLACES[at - 1],),
        )
        for at, (name, section, title) in enumerate(kinds)
    )


def chances_of(number, first):
    weeks = tuple(WeekChance(iso_date(first + 7 * at), 0.04 * 0.96**at) for at in range(80))
    parts = tuple(
        PartChance(
            place,
            (place,),
            chance,
            max(0.0, chance - 0.1),
            min(1.0, chance + 0.1),
            0.6 * (1 - chance),
            0.3 * (1 - chance),
            0.1 * (1 - chance),
            "likelier the first" if chance > 0.6 else "cannot be told",
            f"The {place}: chance {chance:.0%} of having left the works with the instrument.",
            f"state/{place}",
        )
        for at, place in enumerate(PLACES[2:])
        for chance in (((number * 7 + at * 13) % 100) / 100,)
    )
    return Chances(
        "Exact within its model.",
        dates=(
            DateChance(
                "completed",
                0.95,
                iso_date(first + 120),
                ((iso_date(first), iso_date(first + 500)),),
                weeks,
                "Completed: in its likeliest weeks.",
                "bound/pot",
            ),
        ),
        parts=parts,
        weights=(LineWeight(("mark-4",), "bound/pot", 12.0, "moderate", "The mark. For it: 12."),),
        sways=(Sway("mix", 0.1, 0.2, 0.4, "bound/pot", 0.4, 0.6, "The mix moves it."),),
    )


def report_of(number):
    name, first = name_of(number), day_number(1930, 1, 1) + (number * 53) % 14_000
    day = iso_date(first)
    bound = Finding(
        "bound/pot",
        "bound",
        f"Completed not before {day}.",
        "made-before-fitted",
        ("line:mark-4", f"reference:{ROW}"),
        ("first-fitted:pot.volume",),
        "completed:body",
        ((day, None),),
    )
    states = tuple(
        Finding(
            f"state/{place}", "state", f"The {place} was looked at.", "state", (f"line:mark-{at}",)
        )
        for at, place in enumerate(PLACES)
    )
    return Report(
        format=FORMAT,
        instrument=name,
        name=f"The Lintel number {number}",
        kind="lap-steel",
        kind_name="lap steel",
        maker="Lintel",
        model="Student",
        invented=True,
        sequence=(number + 1) * LINES_EACH,
        packs=(PackUsed("lintel", "The invented maker Lintel", "1", invented=True),),
        conclusion=(f"Completed not before {day}; no upper bound is known.",),
        identity=("Taken to be a Lintel Student, on the word of examiner A.",),
        datings=(
            EventDating(
                "completed",
                "account-1",
                End(
                    "not before",
                    day,
                    "bound/pot",
                    f"Not before {day}.",
                    ("first-fitted:pot.volume",),
                ),
                End("not after", None, None, "No upper bound is known."),
                ((day, None),),
            ),
        ),
        positions=tuple(
            PositionFinding(
                place,
                place,
                None,
                "root" if at == 0 else "mounted",
                None,
                ("cannot be told",) if at % 3 else ("first-fitted",),
                "cannot be told" if at % 3 else "first-fitted",
                (f"The {place} was looked at.",),
                f"state/{place}",
                place=(20 + 8 * at, 20 + 9 * at),
                lines=(f"mark-{at}",),
            )
            for at, place in enumerate(PLACES)
        ),
        readings=(),
        conflicts=(),
        accounts=(
            Account("account-1", "All holds.", (), is_leading=True, odds_note="", chance=1.0),
        ),
        completeness="All accounts are listed.",
        swaps=(),
        surprises=(),
        questions=("Who wired it?",),
        looks=(),
        taken_for_granted=("Pots were used within five years.",),
        timeline=(TimelineItem("t1", "made", "Volume pot made", day, iso_date(first + 13)),),
        cautions=(),
        suppositions=(
            SuppositionText(
                "first-fitted:pot.volume",
                "first-fitted",
                "pot.volume",
                "the volume pot left the works with the instrument",
                0.7,
                "practice",
            ),
        ),
        findings=(bound, *states),
        lines=lines_of(number),
        references=(
            ReferenceText(ROW, "timelines", "A row.", "invented", "low", 3, is_practice=False),
        ),
        chances=chances_of(number, first),
    )


def entries_of(count):
    for number in range(count):
        for line in lines_of(number):
            yield Entry(
                line.sequence,
                "2026-03-02T10:00:00Z",
                "examiner A",
                "record",
                "instrument",
                name_of(number),
                line.section,
                line.id,
                {},
                FIRST_PREVIOUS,
                line.hash,
            )


def gathered(report):
    return Gathered(
        withdrawals=(Withdrawal("source", "bench", "bound/pot", "falls"),),
        decisive={"bound/pot": ("line:mark-4",)},
        recordings=(
            RecordingTold(
                1, 2, "2026-03-02T10:00:00Z", f"{len(report.lines)} lines.", is_compared=False
            ),
        ),
    )


def publish(folder, count, answers):
    pack = PackFile.model_validate(
        {"pack": "lintel", "title": "The invented maker Lintel", "version": "1", "invented": "yes"}
    )
    start = time.perf_counter()
    publish_site(
        folder,
        Publication(
            head=Head(count * LINES_EACH, f"{count:064x}", "2026-03-02T10:00:00Z"),
            packs=[pack],
            say_row=lambda _, row: row.id,
            entries=entries_of(count),
            reports=map(report_of, range(count)),
            exhibits=[],
            beside=gathered,
        ),
    )
    spent = time.perf_counter() - start
    answers.put((spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))


def published(folder, count):
    """Seconds and mebibytes that publishing took in a process of its own."""
    context = multiprocessing.get_context("spawn")
    answers = context.Queue()
    process = context.Process(target=publish, args=(folder, count, answers))
    process.start()
    found = answers.get()
    process.join()
    return found


@contextlib.contextmanager
def serving(command, port):
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(300):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.1)
        yield
    finally:
        process.terminate()
        process.wait()


async def ask(reader, writer, path, port):
    writer.write(
        f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nAccept-Encoding: gzip\r\n\r\n".encode()
    )
    head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").lower()
    if "content-length:" in head:
        await reader.readexactly(int(head.partition("content-length:")[2].split()[0]))
    else:
        while size := int(await reader.readline(), 16):
            await reader.readexactly(size + 2)
        await reader.readline()
    return head.split()[1]


async def one_reader(port, paths, times, statuses):
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for path in paths:
        start = time.perf_counter()
        statuses.add(await ask(reader, writer, path, port))
        times.append(time.perf_counter() - start)
    writer.close()


async def crowd(port, paths, readers=READERS):
    times, statuses = [], set()
    shares = [paths[at::readers] for at in range(readers)]
    await asyncio.gather(*(one_reader(port, share, times, statuses) for share in shares))
    return times, statuses


def pages_for(kind, count, chance):
    number = chance.randrange(count)
    return {
        "stock row": f"/witnessmark/instrument/{name_of(number)}",
        "front": "/",
        "instrument": f"/instrument/{name_of(number)}",
        "finding": f"/instrument/{name_of(number)}/finding/bound/pot",
        "search, rare": f"/search?q=examination+{number}",
        "search, common": "/search?q=pot",
        "query, one": f"/questions/open-matters?instrument={name_of(number)}",
        "query, all": "/questions/likeliest-swaps?most=1",
        "query, first met": "/questions/legibility",
    }[kind]


def median_and_95th(times):
    ordered = sorted(times)
    return 1000 * statistics.median(ordered), 1000 * ordered[int(0.95 * (len(ordered) - 1))]


def measure(ours, stock, count, say):
    kinds = [
        "stock row",
        "front",
        "instrument",
        "finding",
        "search, rare",
        "search, common",
        "query, one",
        "query, all",
        "query, first met",
    ]
    chance = random.Random(7)  # noqa: S311 - which pages are asked for
    times = {kind: [] for kind in kinds}
    for turn in range(ROUNDS + 1):
        for kind in kinds:
            paths = [pages_for(kind, count, chance) for _ in range(REQUESTS // ROUNDS)]
            found, statuses = asyncio.run(crowd(stock if kind == "stock row" else ours, paths))
            if turn:  # the first round warms up
                times[kind] += found
            if statuses != {"200"}:
                say(f"{kind}: answered {sorted(statuses)}\n")
    least = median_and_95th(times["stock row"])
    for kind in kinds:
        middle, late = median_and_95th(times[kind])
        say(
            f"{READERS} readers, {kind}: median {middle:.1f} ms, 95th percentile {late:.1f} ms; "
            f"{middle / least[0]:.2f} and {late / least[1]:.2f} times the stock row\n"
        )
    for kind in kinds:
        paths = [pages_for(kind, count, chance) for _ in range(60)]
        port = stock if kind == "stock row" else ours
        found, _ = asyncio.run(crowd(port, paths, readers=1))
        middle, late = median_and_95th(found)
        say(f"one reader, {kind}: median {middle:.1f} ms, 95th percentile {late:.1f} ms\n")


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    kept = Path(sys.argv[2]) if len(sys.argv) > 2 else None
    say = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder = kept or Path(name) / "site"
        if not (folder / DATABASE_FILE).exists():
            spent, few = published(Path(name) / "few", FEW)
            shutil.rmtree(Path(name) / "few")
            spent, many = published(folder, count)
            say(
                f"publishing {count} instruments: {spent:.0f} s, {1000 * spent / count:.1f} ms "
                f"each; memory at most {many:.0f} MiB, for {FEW} {few:.0f} MiB: "
                f"{many / few:.2f} times\n"
            )
        file = folder / DATABASE_FILE
        say(f"the database: {file.stat().st_size / 2**20:.0f} MiB\n")
        ours, stock = free_port(), free_port()
        mine = [sys.executable, "-m", "ledger", "show", "--site", str(folder), "--port", str(ours)]
        plain = [sys.executable, "-m", "datasette", "serve", "-i", str(file), "-p", str(stock)]
        with serving(mine, ours), serving(plain, stock):
            measure(ours, stock, count, say)


if __name__ == "__main__":
    main()
