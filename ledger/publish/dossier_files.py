"""The two files of a dossier are put in place whole or not at all.

Each is written beside its place under a name of its own, flushed to the disk and then renamed.
The page comes last: whoever finds it finds its JSON, too.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from ledger.errors import PublicationError

READABLE = 0o644


def put_files(folder: Path, texts: Mapping[str, str]) -> tuple[Path, ...]:
    """The paths of the texts, given by the names of their files, in that order.

    Raises:
        PublicationError: they cannot be written there; what was there before is left.
    """
    written: dict[Path, Path] = {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            written[folder / name] = _beside(folder, name, text)
        for path, beside in written.items():
            beside.replace(path)
        _flush(folder)
    except OSError as error:
        raise PublicationError(
            f"The dossier cannot be written to {folder}: {error.strerror}."
        ) from error
    finally:
        for beside in written.values():
            with suppress(OSError):
                beside.unlink(missing_ok=True)
    return tuple(written)


def _beside(folder: Path, name: str, text: str) -> Path:
    descriptor, beside = tempfile.mkstemp(prefix=f".{name[:40]}.", dir=folder)
    path = Path(beside)
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(descriptor)
        path.chmod(READABLE)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    return path


def _flush(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
