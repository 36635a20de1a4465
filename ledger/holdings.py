"""Where the data folders are: inside an installed package, or at the top of the checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from ledger.errors import WitnessmarkError

PACKAGE: Final = Path(__file__).resolve().parent


def schema_file(name: str) -> Path:
    """The file ``name`` of the folder ``schema``.

    Raises:
        WitnessmarkError: it is not there.
    """
    path = _folder("schema") / name
    if not path.is_file():
        raise WitnessmarkError(f"There is no file {path}. {_ADVICE}")
    return path


def query_files() -> tuple[Path, ...]:
    """The files of the folder ``queries``, by name.

    Raises:
        WitnessmarkError: the folder is not there.
    """
    found = _folder("queries").iterdir()
    return tuple(sorted(path for path in found if path.suffix in (".sql", ".rq")))


def sample_data() -> Path:
    """The folder ``sample_data``.

    Raises:
        WitnessmarkError: it is not there.
    """
    return _folder("sample_data")


_ADVICE: Final = "The installation is not whole; install the package again."


def _folder(name: str) -> Path:
    places = (PACKAGE / "_data" / name, PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    looked = " nor ".join(str(place) for place in places)
    raise WitnessmarkError(f"The folder {name!r} is neither {looked}. {_ADVICE}")
