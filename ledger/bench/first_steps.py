"""A folder to begin with: a spreadsheet or a sheet, a worksheet to print, and what to do first."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from ledger.bench.forms import PARTS
from ledger.bench.plan import plan
from ledger.bench.sheet_writer import sheet_text
from ledger.bench.spreadsheet_out import SITTING, Offer, spreadsheet, write_spreadsheet
from ledger.bench.worksheet import worksheet
from ledger.errors import Fault, FaultsFound
from ledger.knowledge.packs import Packs
from ledger.models import BenchSheet, Instrument, Source

PICTURES: Final = "photographs"
INSTRUCTIONS: Final = "first-steps.txt"


def start_folder(
    folder: Path, about: Instrument, packs: Packs, *, as_sheet: bool = False
) -> tuple[Path, ...]:
    """The files that were made in the folder, for an instrument of one's own.

    Args:
        folder: made if it is not there; what is in it is left alone.
        about: the instrument.
        packs: what is known of its kind.
        as_sheet: whether a sheet of YAML is wanted and not a spreadsheet.

    Raises:
        FaultsFound: one of the files is there already, and nothing was made; or the folder
            cannot be made or written to.
        UnknownName: no pack describes the kind.
    """
    view = packs.catalogue(about.kind)
    todo = plan(about.kind, packs)
    sheet = folder / f"{about.id}.{'yaml' if as_sheet else 'xlsx'}"
    form = folder / f"{about.id}-worksheet.html"
    guide = folder / INSTRUCTIONS
    _refuse_what_is_there(sheet, form, guide)
    try:
        (folder / PICTURES).mkdir(parents=True, exist_ok=True)
        if as_sheet:
            sheet.write_text(_first_sheet(about), encoding="utf-8")
        else:
            offer = Offer(view.names(), packs.trace_kind_names(), todo)
            first = BenchSheet(bench_sheet="1", instrument=about)
            write_spreadsheet(sheet, spreadsheet(first, offer, with_questions=True))
        form.write_text(worksheet(todo, view, PARTS, about), encoding="utf-8")
        guide.write_text(_instructions(sheet.name, form.name, about.id), encoding="utf-8")
    except OSError as error:
        found = f"what cannot be written to ({(error.strerror or str(error)).lower()})"
        expected = "a folder, or a name at which one can be made"
        advice = "Name another; what was there was left alone"
        raise FaultsFound([Fault(str(folder), 0, 0, "", found, expected, advice)]) from error
    return sheet, form, guide, folder / PICTURES


def _refuse_what_is_there(*paths: Path) -> None:
    faults = [
        Fault(str(path), 0, 0, "", "a file of that name", "a new folder", "It was left alone")
        for path in paths
        if path.exists()
    ]
    if faults:
        raise FaultsFound(faults)


def _first_sheet(about: Instrument) -> str:
    sitting = Source(id=SITTING, kind="examination", title="Examination on the bench")
    opening = (
        "One instrument. Write what you saw, not what you expect. Every line names its source.\n"
        "The command catalogue lists the positions and the kinds of trace there are."
    )
    sheet = BenchSheet(bench_sheet="1", instrument=about, sources=(sitting,))
    return sheet_text(sheet, opening)


def _instructions(sheet: str, form: str, name: str) -> str:
    steps: Mapping[str, str] = {
        "Print": f"{form}, or have it open beside you. Work from the top down, least invasive first.",
        "Photograph": f"into the folder {PICTURES}. Name each picture for what it shows: tuners.jpg, "
        "pot.1 code.jpg.",
        "Fill in": f"{sheet}. Begin with the sitting (sources): who, and when. What you leave empty "
        "is not recorded. Save it.",
        "Take in the pictures": f"witnessmark photographs {PICTURES} {sheet}",
        "Check": f"witnessmark check {sheet}   (every fault at once; nothing is recorded)",
        "Record": f"witnessmark record {sheet}",
        "See what follows": f"witnessmark weigh {name}",
        "Publish": "witnessmark publish, then witnessmark show",
    }
    rows = [f"{at}. {what}: {how}" for at, (what, how) in enumerate(steps.items(), 1)]
    return (
        "Run the commands in this folder.\n\n"
        + "\n".join(rows)
        + f"\n\n{sheet} stays yours: mend it and record it again. What has not changed adds nothing,\n"
        "what has changed is superseded, and what was said before stays in the ledger.\n\n"
        "An amplifier can kill when it is unplugged. Only a qualified person opens one.\n"
    )
