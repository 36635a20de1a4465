"""Commands by which a record can be trusted: verify, checkpoint, key, erase, copy."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from ledger import workflow
from ledger.basis.visible import visible
from ledger.commands.options import (
    DEFAULT_LEDGER,
    KEYS_OPTION,
    LEDGER_OPTION,
    RECORDER_OPTION,
    now,
)
from ledger.errors import LedgerError
from ledger.record.audit import Audit, Trust
from ledger.record.changes import LEDGER_BOOK, Change
from ledger.record.checkpoints import read_checkpoint, sign_checkpoint, write_checkpoint
from ledger.record.copying import copy_ledger
from ledger.record.erasing import erase_matter, find_files, find_matter
from ledger.record.keys import (
    Noted,
    SigningKey,
    current_key,
    introduction,
    key_file,
    key_id,
    keys_in,
    last_note,
    load_key,
    new_key,
    public_file,
    read_public_key,
    revocation,
    rotation,
)
from ledger.record.store import Ledger
from ledger.record.verification import verify as verified

_FAULTS_FOUND = 1


@click.command()
@click.argument(
    "path", type=click.Path(path_type=Path), default=DEFAULT_LEDGER, envvar="WITNESSMARK_LEDGER"
)
@click.option("--public-key", metavar="KEY", help="The key you trust: its file or 64 hex figures.")
@click.option(
    "--kept",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A checkpoint you kept; repeatable.",
)
@click.option("--json", "as_json", is_flag=True, help="The steps and faults as JSON.")
@click.pass_context
def verify(
    context: click.Context,
    path: Path,
    public_key: str | None,
    kept: tuple[Path, ...],
    *,
    as_json: bool,
) -> None:
    """Verify a ledger, a published site or a dossier, step by step.

    PATH is a ledger, a published site, the folder that holds one of them, or a document that
    carries a proof. Nothing is changed and no network is used. The exit status is 0 where everything is as
    it was recorded, 1 where there is any fault or it cannot be read, 2 where the command was
    typed wrongly. Without a key or a checkpoint that you have from elsewhere this tells damage
    and clumsy changes, but not a record that was written anew as a whole.
    """
    trust = Trust(
        read_public_key(public_key) if public_key else "",
        tuple(read_checkpoint(each) for each in kept),
    )
    audit = verified(path, trust, os.cpu_count() or 1)
    click.echo(_as_json(audit) if as_json else _in_words(audit))
    if not audit.is_whole:
        context.exit(_FAULTS_FOUND)


def _as_json(audit: Audit) -> str:
    told = {**asdict(audit), "is_whole": audit.is_whole}
    return json.dumps(told, indent=2, ensure_ascii=False)


def _in_words(audit: Audit) -> str:
    lines = [f"Verifying {audit.subject}"]
    for step in audit.steps:
        count = len(step.faults)
        verdict = "as it should be" if not count else f"{count} fault{'' if count == 1 else 's'}"
        lines.append(f"  {step.name}: {verdict}. {step.says}".rstrip())
        lines += [f"    FAULT {fault}" for fault in step.faults]
        lines += [f"    note: {note}" for note in step.notes]
    count = len(audit.faults)
    lines.append(
        "No fault found." if audit.is_whole else f"{count} fault{'' if count == 1 else 's'} found."
    )
    return "\n".join(visible(line) for line in lines)


@click.command()
@LEDGER_OPTION
@KEYS_OPTION
@click.option("--to", type=click.Path(path_type=Path), help="Keep it in a file of its own, too.")
def checkpoint(ledger_path: Path, keys: Path, to: Path | None) -> None:
    """Sign the head of the ledger, to be kept elsewhere.

    The ledger is verified first. Give the file to somebody who will keep it, or keep it on another
    disk: with it anybody can tell later whether the ledger still begins with these entries.
    """
    with Ledger.open(ledger_path) as ledger:
        name, noted = _signing(ledger)
        signed = sign_checkpoint(ledger, _own_key(keys, noted[name]), now())
    if to is not None:
        write_checkpoint(signed, to)
        click.echo(f"Written to {to}; keep it where the ledger is not.")
    click.echo(
        f"{signed.checkpoint.size} entries signed by the key {name}: root {signed.checkpoint.root}."
    )


@click.group()
def key() -> None:
    """Make, rotate or revoke the key that signs checkpoints."""


@key.command("new")
@LEDGER_OPTION
@KEYS_OPTION
@RECORDER_OPTION
def new(ledger_path: Path, keys: Path, recorder: str) -> None:
    """Make a key and note its public half in the ledger."""
    with workflow.open_ledger(ledger_path) as ledger:
        noted = keys_in(ledger.entries(LEDGER_BOOK))
        if (current := current_key(noted)) is not None:
            raise LedgerError(
                f"The key {current} signs for this ledger. Rotate it (key rotate) or revoke it "
                "(key revoke)."
            )
        made = new_key(keys, secrets.token_bytes)
        _note(ledger, introduction(made, noted), recorder)
    _tell_key(keys, made.id)


@key.command("rotate")
@LEDGER_OPTION
@KEYS_OPTION
@RECORDER_OPTION
def rotate(ledger_path: Path, keys: Path, recorder: str) -> None:
    """Let a new key take the place of the present one, which signs for it."""
    with Ledger.open(ledger_path) as ledger:
        name, noted = _signing(ledger)
        old = _own_key(keys, noted[name])
        made = new_key(keys, secrets.token_bytes)
        last = last_note(ledger.entries(LEDGER_BOOK), name)
        _note(ledger, rotation(old, made, last), recorder)
    click.echo(f"The key {name} signs no more. What it signed goes on to count.")
    _tell_key(keys, made.id)


@key.command("revoke")
@click.argument("name", metavar="KEY")
@LEDGER_OPTION
@RECORDER_OPTION
@click.option("--reason", required=True, help="Why; it stays in the ledger and is handed out.")
@click.option(
    "--trusted-until",
    type=click.IntRange(min=0),
    help="How many entries at most it may have signed for. [default: all until now]",
)
def revoke(
    name: str, ledger_path: Path, recorder: str, reason: str, trusted_until: int | None
) -> None:
    """Note that a KEY was lost or may be in other hands.

    For a key that was lost, what it signed goes on to count. For one that may have been taken, say
    with --trusted-until up to which entry its signatures are your own.
    """
    with Ledger.open(ledger_path) as ledger:
        notes = ledger.entries(LEDGER_BOOK)
        until = ledger.head().sequence if trusted_until is None else trusted_until
        changes = revocation(name, keys_in(notes), reason, until, last_note(notes, name))
        _note(ledger, changes, recorder)
    click.echo(f"The key {name} is revoked; it counts for the first {until} entries at most.")


@click.command()
@click.argument("places", nargs=-1, required=True)
@LEDGER_OPTION
@RECORDER_OPTION
@click.option("--reason", required=True, help="Why; it stays in the ledger. Name nobody in it.")
@click.option("--everywhere", is_flag=True, help="Wherever else the same values are withheld, too.")
@click.option("--exhibit", is_flag=True, help="The PLACES are exhibits: erase their files.")
@click.confirmation_option("--yes", prompt="It cannot be brought back from this ledger. Erase it?")
def erase(
    places: tuple[str, ...],
    ledger_path: Path,
    recorder: str,
    reason: str,
    *,
    everywhere: bool,
    exhibit: bool,
) -> None:
    """Erase withheld values for good; the ledger says that it was done.

    PLACES are INSTRUMENT, INSTRUMENT/LINE or INSTRUMENT/LINE/FIELD. What was withheld there, now
    or in any earlier form of the line, is gone from the bytes of the file, and verification still
    passes. Copies made before still hold it, and a bench sheet that still names it would put it
    back: see to both.
    """
    with Ledger.open(ledger_path) as ledger:
        if exhibit:
            matter = find_files(ledger, places)
        else:
            matter = find_matter(ledger, places, everywhere=everywhere)
        erased = erase_matter(ledger, matter, reason, recorder, now())
    click.echo(f"Erased: {len(erased)}. The ledger says so in entry {erased[0].sequence} and on.")


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@LEDGER_OPTION
def copy(path: Path, ledger_path: Path) -> None:
    """Make a whole, consistent copy of the ledger at PATH, while others may write.

    The copy holds what is withheld: it is for your own eyes.
    """
    with Ledger.open(ledger_path, read_only=True) as ledger:
        head = copy_ledger(ledger, path)
    click.echo(f"Copied {head.sequence} entries to {path}; the copy was verified.")


def _signing(ledger: Ledger) -> tuple[str, dict[str, Noted]]:
    """The key that signs for the ledger now, and all that it notes about keys."""
    noted = keys_in(ledger.entries(LEDGER_BOOK))
    name = current_key(noted)
    if name is None:
        raise LedgerError("No key signs for this ledger yet. Make one: witnessmark key new.")
    return name, noted


def _own_key(keys: Path, noted: Noted) -> SigningKey:
    """The private half of a key that the ledger notes, and of no other with the same short name."""
    found = load_key(keys, key_id(noted.public_key))
    if found.public_key != noted.public_key:
        raise LedgerError(
            f"The key {found.id} in {keys} is another than the ledger notes: {found.public_key} "
            f"there, {noted.public_key} here. Nothing was signed."
        )
    return found


def _note(ledger: Ledger, changes: Sequence[Change], recorder: str) -> None:
    ledger.append(changes, recorder=recorder, recorded_at=now())


def _tell_key(keys: Path, name: str) -> None:
    click.echo(f"The key {name} signs from now on. Its private half is in {key_file(keys, name)}:")
    click.echo("keep a copy of that file in a safe place, and let nobody else read it.")
    click.echo(f"Hand out its public half: {public_file(keys, name)}")
