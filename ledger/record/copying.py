"""A copy of the ledger, whole and consistent, made while others go on writing.

The copy appears under its name when it is complete, on the disk, and found to be what was
recorded; until then there is nothing of that name. It holds what the ledger holds, withheld
values included, so it is for its owner alone; what is erased from the ledger later stays in it.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from ledger.errors import LedgerError
from ledger.record.connections import put_in_place
from ledger.record.entries import Head
from ledger.record.store import Ledger


def copy_ledger(ledger: Ledger, path: Path) -> Head:
    """The head of the copy that now lies at ``path``.

    Raises:
        LedgerError: something is there already, nothing can be written there, the ledger is
            not what was recorded, or something erased still has to leave it.
    """
    if path.exists():
        raise LedgerError(f"{path} is there already; name a new file for the copy.")
    if ledger.has_residue():
        raise LedgerError(
            "The ledger may still hold the bytes of something erased, which would go into the "
            "copy. Open it once for writing when nobody reads in it, for instance by recording."
        )
    try:
        descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        os.close(descriptor)
    except OSError as error:
        raise LedgerError(f"No copy can be made at {path}: {error.strerror}.") from error
    beside = Path(name)
    try:
        ledger.write_copy(beside)
        with Ledger.open(beside, read_only=True) as copy:
            head = copy.verify_chain()
        put_in_place(beside, path)
    except OSError as error:
        raise LedgerError(f"No copy can be made at {path}: {error.strerror}.") from error
    finally:
        beside.unlink(missing_ok=True)
    return head
