"""The command that hands an instrument's file over: a dossier as one page, and as JSON."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Any, cast

import click

from ledger.commands.options import AT_OPTION, KEYS_OPTION, LEDGER_OPTION, folder_option, now
from ledger.dossier import Purpose
from ledger.handing_over import HandedOver, Wanted, hand_over
from ledger.publish.dossier_files import put_files
from ledger.record.store import Ledger

DEFAULT_FOLDER = "witnessmark-dossier"
CHALLENGE = "challenge"
UNSIGNED = (
    "Nothing in it is signed: the ledger holds no checkpoint. To sign one: witnessmark key new, "
    "witnessmark checkpoint; then write the dossier again."
)
WITH_THEM = (
    "with their notes, the names of files and the name of whoever recorded them; what is withheld "
    "is not in them."
)


@click.command()
@click.argument("instrument")
@click.option(
    "--for",
    "purpose",
    default="report",
    show_default=True,
    metavar="PURPOSE",
    help="report, dating, or challenge:ID for an answer to that challenge.",
)
@folder_option("--out", DEFAULT_FOLDER, "The folder to write to.")
@click.option("--by", default="", help="Who hands it over, as it is to stand in it.")
@LEDGER_OPTION
@KEYS_OPTION
@AT_OPTION
def dossier(
    instrument: str,
    purpose: str,
    ledger_path: Path,
    sequence: int | None,
    **given: Any,  # noqa: ANN401 - what click read of the options
) -> None:
    """Hand over the file of an INSTRUMENT: one page to read and print, with JSON beside it.

    The page is a condition and originality report, a dating statement, or an answer to a challenge. It
    needs nothing beside it, holds nothing that is withheld, and carries the proof that its
    lines are entries of the ledger where there is a checkpoint; it is signed as a whole where the
    key of that checkpoint is at hand. Anybody can check it by witnessmark verify.
    """
    kind, _, challenge = purpose.partition(":")
    if kind not in ("report", "dating", CHALLENGE) or bool(challenge) != (kind == CHALLENGE):
        raise click.BadParameter(
            f"{purpose!r} is none of report, dating and challenge:ID.", param_hint="--for"
        )
    gc.disable()
    wanted = Wanted(
        instrument=instrument,
        purpose=cast("Purpose", kind),
        made_at=now(),
        challenge=challenge.removeprefix(f"{instrument}/"),
        by=given["by"],
        sequence=sequence,
    )
    with Ledger.open(ledger_path, read_only=True) as ledger:
        made = hand_over(ledger, wanted, given["keys"])
    names = {f"{wanted.name}.json": made.json, f"{wanted.name}.html": made.page}
    data, page = put_files(given["out"], names)
    click.echo(f"Written to {page}, and as JSON to {data}.")
    for line in _signed_words(made, page):
        click.echo(line)


def _signed_words(made: HandedOver, page: Path) -> list[str]:
    signing = made.dossier.signing
    if signing is None:
        return [UNSIGNED]
    told = [
        f"It carries {len(signing.proved)} entries as they were recorded, {WITH_THEM}",
    ]
    if signing.unproved:
        told.append(
            f"{len(signing.unproved)} of its entries were recorded after the checkpoint and are not "
            "proved. Sign a new one (witnessmark checkpoint) and write the dossier again."
        )
    if signing.is_whole:
        told.append(f"It is signed as a whole by the key {signing.key}.")
    else:
        told.append(
            f"It is not signed as a whole: the key {signing.key} is not in the folder of keys."
        )
    told.append(f"To check it: witnessmark verify {page} --public-key KEY")
    return told
