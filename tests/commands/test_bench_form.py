"""The command that opens the form."""

from __future__ import annotations

from click.testing import CliRunner

from ledger.cli import main
from ledger.commands import bench_form


def run(monkeypatch, *words):
    served = []
    monkeypatch.setattr(bench_form, "serve_bench", lambda *given: served.append(given))
    result = CliRunner().invoke(main, ["bench", *map(str, words)])
    return result, served


def test_it_serves_the_folder_with_ledger_and_site_in_it(monkeypatch, tmp_path):
    folder = tmp_path / "mine"
    result, served = run(monkeypatch, folder, "--recorder", "A")
    assert result.exit_code == 0, result.output
    ((desk, port, _, where),) = served
    assert folder.is_dir()
    assert desk.ledger_path == folder / "witnessmark.db"
    assert desk.site == folder / "witnessmark-site"
    assert desk.recorder == "A"
    assert port == 8140
    assert not where.is_wide


def test_it_is_reached_wider_only_at_an_address_that_is_named(monkeypatch, tmp_path):
    _, served = run(monkeypatch, tmp_path, "--listen", "192.0.2.7")
    assert served[0][3].is_wide
    result, served = run(monkeypatch, tmp_path / "not-made", "--listen", "everywhere")
    assert result.exit_code == 1
    assert "is no address" in result.output
    assert served == []
    assert not (tmp_path / "not-made").exists()


def test_a_file_under_the_name_of_the_folder_is_left_alone_and_told(monkeypatch, tmp_path):
    path = tmp_path / "afile"
    path.write_text("mine", encoding="utf-8")
    result, served = run(monkeypatch, path)
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit)
    assert "expected a folder" in result.output
    assert served == []
    assert path.read_text(encoding="utf-8") == "mine"
