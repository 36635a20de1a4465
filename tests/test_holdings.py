from __future__ import annotations

import pytest

from ledger import holdings
from ledger.errors import WitnessmarkError


def test_the_folders_of_the_checkout_are_found():
    assert holdings.schema_file("ledger.sql").is_file()
    assert holdings.sample_data().is_dir()
    assert all(path.suffix in (".sql", ".rq") for path in holdings.query_files())


def test_the_folders_inside_an_installed_package_come_first(tmp_path, monkeypatch):
    package = tmp_path / "ledger"
    for place in (package / "_data", tmp_path):
        (place / "queries").mkdir(parents=True)
        (place / "queries" / f"{place.name}.sql").touch()
    (package / "_data" / "queries" / "notes.txt").touch()
    monkeypatch.setattr(holdings, "PACKAGE", package)
    assert [path.name for path in holdings.query_files()] == ["_data.sql"]


def test_a_missing_folder_or_file_is_told(tmp_path, monkeypatch):
    with pytest.raises(WitnessmarkError, match="no file"):
        holdings.schema_file("nothing.sql")
    monkeypatch.setattr(holdings, "PACKAGE", tmp_path / "ledger")
    with pytest.raises(WitnessmarkError, match="install the package again"):
        holdings.sample_data()
