"""A site folder is put in place whole or not at all.

Everything is written beside it, flushed to the disk and then renamed: the whole folder where there
was none, else file by file with the database last. The seal of a database bears its name, so
that the database that is in place has its seal whenever this is broken off.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from ledger.errors import PublicationError
from ledger.publish.tables import DATABASE

DATABASE_FILE: Final = f"{DATABASE}.db"
METADATA_FILE: Final = "metadata.json"
SETTINGS_FILE: Final = "settings.json"
SITE_FILES: Final = (METADATA_FILE, SETTINGS_FILE, DATABASE_FILE)  # the database comes last
SEALS: Final = "seal-*.json"


def refuse_foreign(folder: Path) -> None:
    """Make sure that nothing but a site is written over.

    Raises:
        PublicationError: there is something else at that place.
    """
    if folder.exists() and not folder.is_dir():
        raise PublicationError(f"{folder} is a file; a site is a folder.")
    if folder.exists() and any(folder.iterdir()) and not (folder / DATABASE_FILE).exists():
        raise PublicationError(
            f"{folder} holds something that is not a site; name a new or an empty folder."
        )


def write_seal(folder: Path, seal: Callable[[Mapping[str, str]], tuple[str, str]]) -> None:
    """Write the seal over the finished files of the folder."""
    digests: dict[str, str] = {}
    for name in SITE_FILES:
        with (folder / name).open("rb") as file:
            digests[name] = hashlib.file_digest(file, "sha256").hexdigest()
    name, text = seal(digests)
    (folder / name).write_text(text, encoding="utf-8")


def put_in_place(beside: Path, folder: Path) -> None:
    """Give the finished folder its name, or its files their place in the folder that is there."""
    for path in sorted(beside.iterdir()):
        _flush(path)
    _flush(beside)
    beside.chmod(0o755)
    if folder.is_symlink() or (folder.exists() and any(folder.iterdir())):
        seals = {path.name for path in beside.glob(SEALS)}
        # The seal of the new edition lies ready before it, that of the old one until after.
        for name in (*sorted(seals), *SITE_FILES):
            (beside / name).replace(folder / name)
        _flush(folder)
        for path in folder.glob(SEALS):
            if path.name not in seals:
                path.unlink()
    else:
        beside.rename(folder)
    _flush(folder.parent)


def _flush(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
