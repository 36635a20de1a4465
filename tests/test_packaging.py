"""The data folders travel with the program: in a wheel, and in an installation for editing."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hatchling import build as backend

ROOT = Path(__file__).resolve().parent.parent
DATA = ("schema", "queries", "sample_data")
PROOF = """
import sys
import ledger, ledger.holdings as holdings
print(ledger.__file__)
print(holdings.schema_file("ledger.sql"))
print(holdings.sample_data())
print(len(holdings.query_files()))
"""


def _python(*words, **settings):
    """A run outside the checkout, with nothing on the path but what is named."""
    done = subprocess.run(
        [sys.executable, *words],
        check=False,
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=settings.pop("cwd"),
        env={**{k: v for k, v in os.environ.items() if k != "PYTHONPATH"}, **settings},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, built without a network."""
    folder = tmp_path_factory.mktemp("wheel")
    _python("-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), cwd=ROOT)
    (found,) = folder.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """A folder in which the wheel is installed by itself."""
    target = tmp_path_factory.mktemp("installed")
    words = ["-m", "pip", "install", "--quiet", "--no-index", "--no-deps", "--no-compile"]
    words += ["--disable-pip-version-check", "--root-user-action", "ignore"]
    _python(*words, "--target", str(target), str(wheel), cwd=target)
    return target


@pytest.fixture(scope="module")
def editable(tmp_path_factory):
    """A folder that stands for site-packages after an installation for editing."""
    folder = tmp_path_factory.mktemp("editable")
    before = Path.cwd()
    os.chdir(ROOT)
    try:
        name = backend.build_editable(str(folder))
    finally:
        os.chdir(before)
    site = folder / "site"
    with zipfile.ZipFile(folder / name) as archive:
        archive.extractall(site)
    return site


def _data_files():
    return {
        path.relative_to(ROOT).as_posix()
        for name in DATA
        for path in (ROOT / name).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def test_the_wheel_holds_every_file_of_the_data_folders(wheel):
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    inside = {name.removeprefix("ledger/_data/") for name in names if "/_data/" in name}
    assert inside == _data_files()


def test_the_wheel_holds_the_pages_packs_and_licence_and_no_tests(wheel):
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    for name in ("knowledge/data/standards.yaml", "publish/static/site.css", "py.typed"):
        assert f"ledger/{name}" in names
    assert any(name.startswith("ledger/publish/templates/") for name in names)
    assert any(name.endswith("licenses/LICENSE") for name in names)
    assert not [name for name in names if name.startswith("tests") or ".pyc" in name]


def test_an_installed_wheel_finds_its_folders_inside_itself(installed, tmp_path):
    said = _python("-c", PROOF, cwd=tmp_path, PYTHONPATH=str(installed)).splitlines()
    package = installed / "ledger"
    assert said[0] == str(package / "__init__.py")
    assert said[1] == str(package / "_data" / "schema" / "ledger.sql")
    assert said[2] == str(package / "_data" / "sample_data")
    assert int(said[3]) == len(list((ROOT / "queries").glob("*.*q*")))


def test_an_installed_wheel_runs_the_whole_way(installed, tmp_path):
    given = {"cwd": tmp_path, "PYTHONPATH": str(installed)}
    assert "Usage:" in _python("-m", "ledger", "--help", **given)
    assert "0.1.0" in _python("-m", "ledger", "--version", **given)
    said = _python("-m", "ledger", "demo", "--no-serve", "--folder", "demo", **given)
    assert said.count("Completed not before") == 3
    assert (tmp_path / "demo" / "site" / "witnessmark.db").is_file()


def test_the_command_of_the_wheel_leads_to_the_same_door(installed):
    (points,) = installed.glob("witnessmark-*.dist-info/entry_points.txt")
    assert "witnessmark = ledger.cli:main" in points.read_text(encoding="utf-8")


def _as_site(site):
    return f"import site; site.addsitedir({str(site)!r})\n"


def test_an_installation_for_editing_finds_the_folders_of_the_checkout(editable, tmp_path):
    said = _python("-c", _as_site(editable) + PROOF, cwd=tmp_path).splitlines()
    assert said[0] == str(ROOT / "ledger" / "__init__.py")
    assert said[1] == str(ROOT / "schema" / "ledger.sql")
    assert said[2] == str(ROOT / "sample_data")


def test_an_installation_for_editing_runs_the_command(editable, tmp_path):
    code = _as_site(editable) + "import sys; sys.argv[1:] = ['--help']\nimport ledger.__main__"
    code += "\nledger.__main__.main()"
    assert "Usage:" in _python("-c", code, cwd=tmp_path)
