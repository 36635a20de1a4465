"""What the tests of the knowledge room share."""

from pathlib import Path

import pytest

from ledger.knowledge.packs import PackFile, Packs, built_in_packs, read_pack
from ledger.models import Instrument, Mark


@pytest.fixture(scope="session")
def packs():
    return Packs.of(built_in_packs())


@pytest.fixture
def pack_from(tmp_path):
    """Write a pack and read it as a user's own file is read."""

    def read(text: str, name: str = "mine.yaml") -> PackFile:
        path = Path(tmp_path, name)
        path.write_text(text, encoding="utf-8")
        return read_pack(path)

    return read


@pytest.fixture(scope="session")
def mandolin():
    return Instrument(id="a", kind="mandolin", name="A", maker="Corbel", invented=True)


@pytest.fixture(scope="session")
def mark():
    def make(text: str, **more) -> Mark:
        return Mark(id="m", source="s", position="body", text=text, **more)

    return make
