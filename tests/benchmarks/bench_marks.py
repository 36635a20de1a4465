"""Marks read a minute on one core; run by hand, with the checkout on the path.

Every mark is different and none is read twice. The mix is what a bench sheet holds: codes of
pots, loudspeakers and capacitors, stamps, patent notices, addresses, numbers, words and marks
with figures in doubt. Prints one line for each sort and one for the mix.
"""

from __future__ import annotations

import random
import sys
import time

from ledger.knowledge.marks import mark_readings, read_mark
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import Instrument, Mark

MONTHS = ["JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC"]
WORDS = [
    "passed",
    "tested",
    "by",
    "works",
    "board",
    "final",
    "inspection",
    "upper",
    "bout",
    "treble",
    "side",
]


def source_code(dice):
    return f"{dice.randint(100, 999)}-{dice.randint(0, 9)}{dice.randint(1, 53):02d}"


def unbroken_code(dice):
    return f"{dice.randint(100, 999)}{dice.randint(50, 99)}{dice.randint(1, 52):02d}"


def stamp(dice):
    return f"{dice.randint(1, 28)} {dice.choice(MONTHS)} {dice.randint(1930, 1975)}"


def figures(dice):
    return f"{dice.randint(1, 28)}-{dice.randint(1, 12)}-{dice.randint(32, 79)}"


def letter_code(dice):
    return f"{dice.choice('ABCDEFHJKLMNPRSTUVWX')}{dice.choice('123456789OND')}"


def number(dice):
    return str(dice.randint(1000, 999_999))


def patent(dice):
    return f"PAT. NO. {dice.randint(1_500_000, 3_500_000):,}"


def words(dice):
    return f"{' '.join(dice.sample(WORDS, 3))} {dice.randint(1, 9999)}"


def address(dice):
    return f"Mill Street, Chicago {dice.randint(1, 60)}, Ill."


def doubtful(dice):
    return f"{dice.randint(100, 999)} {dice.randint(0, 9)}?{dice.randint(0, 9)}"


SORTS = (
    (source_code, "pot"),
    (unbroken_code, "speaker-frame"),
    (stamp, "chassis"),
    (figures, "cabinet"),
    (letter_code, "coupling-capacitor"),
    (number, "serial-plate"),
    (patent, "handle"),
    (words, "chart"),
    (address, "panel"),
    (doubtful, "pot"),
)


def marks_of(sort, position, count, dice):
    return [
        Mark(id="m", source="s", position=position, text=text)
        for text in (sort(dice) for _ in range(count))
    ]


def timed(read, marks):
    started = time.process_time()
    found = sum(len(read(mark)) for mark in marks)
    return time.process_time() - started, found


def tell(name, marks_a_second, more=""):
    sys.stdout.write(f"{name:15} {marks_a_second * 60:12,.0f} marks a minute  {more}\n")


def main(count):
    packs = Packs.of(built_in_packs())
    instrument = Instrument(id="a", kind="valve-amplifier", name="A")
    view = packs.catalogue("valve-amplifier")
    dice = random.Random(1954)  # noqa: S311 - marks to read, nothing secret
    total = 0.0
    for sort, position in SORTS:
        row = view.find(position)

        def recorded(mark, row=row):
            return mark_readings(mark, row, packs, instrument)

        recorded(marks_of(sort, position, 1, dice)[0])
        seconds, found = timed(recorded, marks_of(sort, position, count, dice))
        total += seconds
        each = f"{found / count:5.2f} readings each"
        tell(sort.__name__.replace("_", " "), count / seconds, each)
    tell("recorded marks", count * len(SORTS) / total)
    mixed = [mark for sort, position in SORTS for mark in marks_of(sort, position, count, dice)]
    seconds, _ = timed(lambda mark: read_mark(mark.text, packs), mixed)
    tell("marks in hand", len(mixed) / seconds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
