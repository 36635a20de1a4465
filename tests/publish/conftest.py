from __future__ import annotations

import asyncio
import io
from dataclasses import replace

import pytest
from PIL import Image

from ledger.basis.hashing import sha256_hex
from ledger.basis.spans import day_number, iso_date
from ledger.chances import (
    Chances,
    DateChance,
    LineWeight,
    PartChance,
    SuppositionChance,
    Sway,
    WeekChance,
)
from ledger.disputes import Claim, Dispute, Observation, Rival, RuleText
from ledger.findings import (
    FORMAT,
    Account,
    CautionText,
    Chain,
    Conflict,
    End,
    EventDating,
    Finding,
    LineText,
    Look,
    PackUsed,
    PositionFinding,
    Reading,
    ReferenceText,
    Report,
    Shift,
    SuppositionText,
    Surprise,
    Swap,
    TimelineItem,
)
from ledger.publish.gathered import Gathered, RecordingTold, Withdrawal
from ledger.publish.site import datasette_for
from ledger.publish.sitedb import ExhibitFile, Head, Publication, publish_site
from ledger.record.entries import FIRST_PREVIOUS, Entry
from ledger.references import PackFile

# Invented throughout: maker, instruments, examiners, references.
HOSTILE = "<script>alert(\"x\")</script> & 'quoted'"


def drawn_png() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (64, 48), (120, 90, 60)).save(buffer, format="PNG")
    return buffer.getvalue()


def _line(number, line_id, section, title, sentence, **more):
    return LineText(
        id=line_id,
        section=section,
        title=title,
        sentence=sentence,
        source=more.pop("source", "bench"),
        sequence=number,
        hash=f"{number:064x}",
        **more,
    )


def hand_made_report(instrument: str = "corbel-lap-steel", first: int = 1) -> Report:
    picture = sha256_hex(drawn_png())
    lines = (
        _line(first, "bench", "sources", "Examination on the bench", "examiner A", source=None),
        _line(
            first + 1,
            "pot-code",
            "marks",
            "Mark on the volume pot",
            "On the volume pot stands 3047612.",
            positions=("pot.volume",),
            exhibits=(picture,),
        ),
        _line(
            first + 2,
            "photo",
            "exhibits",
            "The volume pot",
            "The back of the volume pot",
            source=None,
            exhibits=(picture,),
        ),
        _line(
            first + 3,
            "rewired",
            "works",
            "Repair of the wiring",
            f"The jack was replaced in 1981. It destroyed the first joint. {HOSTILE}",
            positions=("jack",),
        ),
        _line(
            first + 4,
            "odd-screw",
            "features",
            "A screw",
            "The fourth screw of the pan is of another thread.",
            positions=("tuner-pan",),
        ),
        _line(
            first + 5,
            "tone-code",
            "marks",
            "Mark on the tone pot",
            "On the tone pot stands 304?612.",
            positions=("pot.tone",),
        ),
        _line(
            first + 6,
            "no-pencil",
            "non_values",
            "No date in pencil",
            "Searched, not found: a date in pencil, by raking light over the whole cavity.",
            positions=("body",),
        ),
    )
    return Report(
        format=FORMAT,
        instrument=instrument,
        name=f"The lap steel {instrument}",
        kind="lap-steel",
        kind_name="Lap steel",
        maker="Corbel",
        model="Student",
        invented=True,
        sequence=first + 6,
        packs=(PackUsed("corbel", "The invented maker Corbel", "1", invented=True),),
        conclusion=(
            "Completed not before 19 March 1976; no upper bound is known.",
            "The jack did not leave the works with it.",
        ),
        identity=("It is taken to be a Corbel Student, on the word of examiner A.",),
        datings=(
            EventDating(
                "completed",
                "account-1",
                End(
                    "not before",
                    "1976-03-19",
                    "bound/pot",
                    "Not before 19 March 1976, from the volume pot.",
                    ("first-fitted:pot.volume",),
                    (Shift("line:pot-code", None, "Without it no lower bound is left."),),
                ),
                End("not after", None, None, "No upper bound is known."),
                (("1976-03-19", None),),
            ),
        ),
        positions=(
            PositionFinding(
                "body",
                "Body",
                None,
                "root",
                None,
                ("presumed first-fitted (untested)",),
                "presumed first-fitted (untested)",
                ("Nothing was tested.",),
                "state/body",
                place=(50, 50),
            ),
            PositionFinding(
                "pot.volume",
                "Volume pot",
                "body",
                "mounted",
                "harness",
                ("first-fitted",),
                "first-fitted",
                ("One joint, undisturbed.",),
                "state/pot.volume",
                place=(60, 40),
                made=("1976-03-14", "1976-03-27"),
                lines=("pot-code",),
            ),
            PositionFinding(
                "jack",
                "Jack",
                "body",
                "mounted",
                None,
                ("service replacement", "modern replacement"),
                "service replacement or modern replacement",
                (f"The work rewired says so. {HOSTILE}",),
                "state/jack",
                place=(80, 60),
                lines=("rewired",),
            ),
        ),
        readings=(
            Reading(
                "reading/pot/1",
                "pot-code",
                "3047612",
                "source 304, week 12 of 1976",
                "As it stands.",
                "Register of source codes",
                is_plain=True,
                is_used=True,
                days=(("1976-03-14", "1976-03-27"),),
            ),
            Reading(
                "reading/tone/1",
                "tone-code",
                "304?612",
                "source 304, week 12 of a year that ends in 6",
                "One glyph cannot be read.",
                "Register of source codes",
                is_plain=False,
                is_used=False,
                standing="Agrees with the rest.",
            ),
        ),
        conflicts=(
            Conflict(
                "conflict-1",
                "The jack cannot have been first-fitted while the work is sound.",
                ("first-fitted:jack", "sound:rewired"),
                (
                    Chain("From the work", ("bound/pot", "order.dispatched")),
                    Chain("Against it", ("bound/told",)),
                ),
            ),
            Conflict(
                "conflict-2",
                "The pot cannot be the first while the work is sound.",
                ("first-fitted:pot.volume", "sound:rewired"),
                (Chain("From the pot", ("state/jack",)), Chain("Against it", ("bound/told",))),
            ),
            Conflict(
                "conflict-3",
                "The jack and its replacement cannot both be the first.",
                ("first-fitted:jack", "sound:rewired"),
                (Chain("From the record", ("state/jack",)),),
                is_recorded_change=True,
            ),
        ),
        accounts=(
            Account(
                "account-1",
                "The jack was replaced.",
                ("first-fitted:jack",),
                is_leading=True,
                odds_note="Nothing else comes within 5 to 1.",
                chance=0.83,
            ),
            Account(
                "account-2",
                "The work was told wrongly.",
                ("sound:rewired",),
                is_leading=False,
                odds_note="",
            ),
        ),
        completeness="All accounts are listed.",
        swaps=(Swap("jack", ("jack",), "The jack, in 1 of 2 accounts.", 1, 2, 0.6, "state/jack"),),
        surprises=(
            Surprise("surprise-1", "Nothing explains the fourth screw.", "odd-screw", is_open=True),
        ),
        questions=("Who put in the fourth screw?",),
        looks=(Look("jack", "open", "Look at the joints of the jack."),),
        taken_for_granted=("Pots were used within five years.",),
        timeline=(
            TimelineItem("t1", "made", "Volume pot made", "1976-03-14", "1976-03-27"),
            TimelineItem("t2", "custody", "In the first hands", "1976", "1979-05-01"),
            TimelineItem("t3", "custody", "In the second hands", "1984-01-01", None),
            TimelineItem("t4", "work", "Repair of the wiring", "1981-01-01", "1981-12-31"),
        ),
        cautions=(
            CautionText("solder", "jack", "Old solder holds lead.", "Local codes come first."),
        ),
        suppositions=(
            SuppositionText(
                "first-fitted:pot.volume",
                "first-fitted",
                "pot.volume",
                "The volume pot left the works with it.",
                0.8,
                "catalogue",
            ),
            SuppositionText(
                "first-fitted:jack", "first-fitted", "jack", "The jack too.", 0.5, "catalogue"
            ),
            SuppositionText(
                "sound:rewired", "sound", "rewired", "The work is told rightly.", 0.9, "practice"
            ),
            SuppositionText(
                "holds:corbel/pan", "holds", "corbel/pan", "The pan row holds.", 0.9, "row"
            ),
        ),
        findings=(
            Finding(
                "reading/pot",
                "reading",
                "3047612 reads week 12 of 1976.",
                "mark to made",
                ("line:pot-code", "reference:corbel/source-304"),
            ),
            Finding(
                "bound/pot",
                "bound",
                "Completed not before 14 March 1976.",
                "first-fitted",
                ("reading/pot",),
                ("first-fitted:pot.volume",),
                moment="made:pot.volume",
                days=(("1976-03-14", "1976-03-27"),),
            ),
            Finding(
                "bound/told",
                "bound",
                "It was completed in 1970 or before, by what was told.",
                "told by a person",
                ("line:rewired",),
                ("sound:rewired",),
                moment="completed:body",
                days=((None, "1970-12-31"),),
            ),
            Finding(
                "order.dispatched",
                "relation",
                "It was completed before it was dispatched.",
                "order",
            ),
            Finding("state/body", "state", "The body is presumed first-fitted.", "state"),
            Finding(
                "state/pot.volume",
                "state",
                "The volume pot is first-fitted.",
                "state",
                ("bound/pot",),
                ("holds:corbel/pan",),
            ),
            Finding("state/jack", "state", "The jack was replaced.", "work", ("line:rewired",)),
        ),
        lines=lines,
        references=(
            ReferenceText(
                "corbel/source-304",
                "source_codes",
                "Source 304 is an invented maker of pots.",
                "invented for this example",
                "high",
                None,
                is_practice=False,
            ),
        ),
        challenges=(_dispute(lines[1]),),
        chances=hand_made_chances(),
    )


def hand_made_chances() -> Chances:
    """Two years of weeks in two runs, three parts on either side of even, weights, sways."""
    first = day_number(1976, 3, 14)
    weeks = tuple(
        WeekChance(iso_date(first + 7 * number), round(0.02 * 0.97**number, 6))
        for number in range(100)
        if number not in (30, 31)
    )
    parts = (
        _part_chance("jack", ("jack",), 0.04, "likelier not the first", "state/jack"),
        _part_chance(
            "pot.volume", ("pot.volume", "body"), 0.55, "cannot be told", "state/pot.volume"
        ),
        _part_chance("part/old-jack", ("part/old-jack",), 0.9, "likelier the first", "state/body"),
    )
    return Chances(
        note="Exact within its model, which is invented.",
        dates=(
            DateChance(
                "completed",
                0.95,
                "1976-09-05",
                (("1976-03-14", "1976-10-09"), ("1976-10-24", "1978-01-01")),
                weeks,
                "Completed: in its likeliest weeks.",
                "bound/pot",
                ("1976-03-14", "1978-03-01"),
            ),
        ),
        parts=parts,
        suppositions=(
            SuppositionChance("sound:rewired", 0.8, 0.7, 0.9, f"The work is sound. {HOSTILE}"),
        ),
        weights=(
            LineWeight(
                ("pot-code",),
                "state/pot.volume",
                42.0,
                "moderate",
                "The mark. For it: 42. Without it the chance would be 3 %.",
            ),
            LineWeight(("rewired", "odd-screw"), "state/jack", 0.02, "moderate", "Both."),
        ),
        sways=(
            Sway("mix", 0.1, 0.2, 0.4, "state/pot.volume", 0.41, 0.62, "The mix moves the pot."),
        ),
    )


def _part_chance(event, positions, chance, verdict, finding) -> PartChance:
    rest = 1 - chance
    return PartChance(
        event,
        positions,
        chance,
        max(0.0, chance - 0.08),
        min(1.0, chance + 0.08),
        0.7 * rest,
        0.2 * rest,
        0.1 * rest,
        verdict,
        f"The part {event}: chance {chance:.0%}.",
        finding,
        (max(0.0, chance - 0.1), min(1.0, chance + 0.1)),
    )


def hand_made_beside(report: Report) -> Gathered:
    """What is gathered beside the report: two withdrawals, one decisive line, two recordings."""
    return Gathered(
        withdrawals=(
            Withdrawal("source", "bench", "bound/pot", "falls"),
            Withdrawal("reference", "corbel/source-304", "state/pot.volume", "weakened"),
        ),
        decisive={"bound/pot": ("line:pot-code",)},
        recordings=(
            RecordingTold(1, 5, "2026-03-01T10:00:00Z", "5 lines recorded.", is_compared=False),
            RecordingTold(
                6,
                7,
                "2026-03-02T10:00:00Z",
                "2 lines recorded.",
                is_compared=True,
                changes=("The end moved.",),
            ),
        ),
    )


def _dispute(doubted: LineText) -> Dispute:
    """A challenge to a line that nobody has answered yet."""
    return Dispute(
        id="other-pot",
        by="withheld",
        date="2026-01-05",
        says=f"That pot is another. {HOSTILE}",
        instead="",
        sequence=doubted.sequence,
        hash=doubted.hash,
        exhibits=(),
        claims=(Claim("state/pot.volume", "The pot left the works with it."),),
        observations=(
            Observation(
                doubted.id, doubted.sentence, "", doubted.sequence, doubted.hash, is_doubted=True
            ),
        ),
        rules=(RuleText("mark", "A mark dates its part."),),
        references=("corbel/source-304",),
        rivals=(Rival("account", "Give up the pot.", "one to nine", grants=True),),
        supposing=("It does not hold that the pot is the first.",),
        falls=("Completed: no lower bound known; no upper bound known.",),
        stands=("The jack: not the first.",),
        impossible="",
        conceded=("The pot is of its type.",),
        would_change=("To be looked at on the pot: its joints.",),
        unknown=(),
        answers=(),
        cautions=(),
    )


def hand_made_entries(report: Report) -> list[Entry]:
    return [
        Entry(
            sequence=line.sequence,
            recorded_at="2026-03-02T10:00:00Z",
            recorder="examiner A, who is named nowhere",
            act="record",
            book_kind="instrument",
            book=report.instrument,
            section=line.section,
            line=line.id,
            body={"secret": "never published"},
            previous=FIRST_PREVIOUS,
            hash=line.hash,
        )
        for line in report.lines
    ]


def corbel_pack() -> PackFile:
    return PackFile.model_validate(
        {
            "pack": "corbel",
            "title": "The invented maker Corbel",
            "version": "1",
            "invented": "yes",
            "timelines": [
                {
                    "id": "pan",
                    "source": "invented for this example",
                    "confidence": "medium",
                    "n": "2",
                    "position": "tuner-pan",
                    "feature": "pan",
                    "value": "pressed",
                    "begins": "1970",
                    "ends": "1978",
                    "examples": [
                        {
                            "instrument": "corbel-lap-steel",
                            "source": "examiner A",
                            "date": "1976",
                            "serial": "90417",
                        },
                        {"instrument": "corbel-other", "source": "examiner A", "date": "1979"},
                    ],
                }
            ],
            "source_codes": [
                {
                    "id": "source-304",
                    "source": "invented for this example",
                    "confidence": "high",
                    "code": "304",
                    "company": "an invented maker",
                    "parts": "pots",
                }
            ],
        }
    )


@pytest.fixture
def report() -> Report:
    return hand_made_report()


@pytest.fixture
def publication(report):
    second = hand_made_report("corbel-mandolin", 8)
    second = replace(second, kind="mandolin", kind_name="Mandolin", conflicts=(), surprises=())
    picture = drawn_png()
    return Publication(
        head=Head(14, f"{14:064x}", "2026-03-02T10:00:00Z"),
        packs=[corbel_pack()],
        say_row=lambda pack, row: f"What {pack} says of {row.id}.",
        entries=hand_made_entries(report) + hand_made_entries(second),
        reports=[report, second],
        exhibits=[ExhibitFile(sha256_hex(picture), "image/png", picture, picture)],
        rules={"first-fitted": "What was first-fitted was fitted when it was completed."},
        beside=hand_made_beside,
    )


@pytest.fixture
def site_folder(tmp_path, publication):
    return publish_site(tmp_path / "site", publication)


@pytest.fixture
def picture_bytes():
    return drawn_png()


@pytest.fixture
def hostile():
    return HOSTILE


@pytest.fixture
def site(site_folder):
    return datasette_for(site_folder)


@pytest.fixture
def ask(site):
    """What the site answers to a GET, without a network."""

    def asked(path, **options):
        return asyncio.run(site.client.get(path, **options))

    return asked
