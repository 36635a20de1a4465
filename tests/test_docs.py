"""The pages of the project say what is so: what they show is run, what they list is there."""

from __future__ import annotations

import ast
import json
import re
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from ledger.basis.edtf import read_date
from ledger.cli import COMMANDS, main
from ledger.holdings import sample_data
from ledger.knowledge.packs import Packs, built_in_packs, read_pack
from ledger.reason.rules import RULES

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CHANGELOG = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
CI = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def blocks(page, kind):
    """The fenced blocks of one kind."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)


def section(page, heading):
    return page.split(f"\n## {heading}\n")[1].split("\n## ")[0]


def run(*words):
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


SET_UP = [block.strip() for block in blocks(README, "sh") if block.startswith("python3 -m venv")]


def test_the_two_commands_stand_on_top_one_line_each_and_begin_alike():
    assert len(SET_UP) == 2
    demo, tests = (command.split(" && ") for command in SET_UP)
    assert demo == [
        "python3 -m venv .venv",
        ".venv/bin/pip install .",
        ".venv/bin/witnessmark demo",
    ]
    assert tests[0] == demo[0]
    assert tests[1] == ".venv/bin/pip install -e '.[test]'"
    assert tests[2] == ".venv/bin/python -m pytest"
    assert README.index(SET_UP[0]) < README.index(SET_UP[1]) < README.index("\n## ")


def test_the_checks_of_the_project_run_the_two_commands_as_the_page_has_them():
    taken = re.search(r"awk '(.*?)' README\.md", CI)
    assert taken, "the commands are taken from the page and not typed again"
    assert "python3 -m venv" in taken[1]
    assert "--no-serve" in CI
    for command in ("ruff format --check", "ruff check", "mypy --strict -p ledger", "--cov"):
        assert command in CI


def test_the_browser_that_the_tests_need_is_named_the_same_in_page_and_checks():
    packages = "apt-get install -y --no-install-recommends chromium fonts-dejavu-core"
    assert packages in README
    assert packages in CI


def commands():
    return [late.command() for late in COMMANDS.values()]


def test_the_help_begins_for_every_command_as_the_command_says_of_itself():
    for late in COMMANDS.values():
        assert (late.command().help or "").split()[:2] == late.says.split()[:2]


def test_every_command_stands_in_the_readme_and_nothing_else_does():
    named = set(re.findall(r"`witnessmark ([\w-]+)", section(README, "The commands")))
    assert named == set(COMMANDS)
    shown = {
        line.split()[1] for block in blocks(README, "sh") for line in block.splitlines()
        if line.startswith("witnessmark ")
    }  # fmt: skip
    assert shown <= named


def test_every_option_named_in_the_readme_is_there():
    known = {name for command in commands() for each in command.params for name in each.opts}
    known |= {
        name for command in commands() for each in command.params for name in each.secondary_opts
    }
    named = set(re.findall(r"(--[a-z][a-z-]+)", section(README, "The commands")))
    assert named - {"--help"} <= known


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """The sheet and the pack of the page, recorded in a ledger of their own."""
    folder = tmp_path_factory.mktemp("shown")
    names = []
    for block in blocks(README, "yaml"):
        name = block.split()[1]
        assert name.endswith(".yaml")
        (folder / name).write_text(block, encoding="utf-8")
        names.append(name)
    assert names == ["my-lap-steel.yaml", "my-pack.yaml"]
    run("record", *(folder / name for name in names), "--ledger", folder / "ledger.db")
    return folder


def test_the_sheet_and_the_pack_of_the_page_are_weighed_to_what_the_page_says(shown):
    said = run("weigh", "my-lap-steel", "--ledger", shown / "ledger.db")
    (text,) = blocks(README, "text")
    lines = text.splitlines()
    assert len(lines) >= 3
    for line in lines:
        assert line in said


def test_the_findings_that_the_page_explains_are_there(shown):
    named = re.findall(r"^witnessmark explain (\S+)$", README, re.MULTILINE)
    assert named
    for name in named:
        said = run("explain", name, "--ledger", shown / "ledger.db")
        assert "my-pack/square-tailpiece" in said


def test_the_position_that_the_pack_of_the_page_adds_is_in_the_catalogue(shown):
    packs = Packs.of((*built_in_packs(), read_pack(shown / "my-pack.yaml")))
    added = set(packs.catalogue("lap-steel").positions) - set(
        Packs.of(built_in_packs()).catalogue("lap-steel").positions
    )
    assert [str(getattr(each, "id", each)) for each in added] == ["arm-rest"]


TYPED = re.findall(r"^\| `([^`]+)` \|", section(README, "How dates are typed"), re.MULTILINE)


@pytest.mark.parametrize("typed", TYPED, ids=TYPED)
def test_a_date_typed_as_the_page_shows_is_read(typed):
    assert read_date(typed).spans


def test_the_kinds_that_the_page_counts_are_those_with_a_catalogue():
    (counted,) = re.findall(r"(\w+) kinds have a catalogue: ([^.]*)\.", " ".join(README.split()))
    kinds = {kind.replace("-", " ") for kind in Packs.of(built_in_packs()).kinds()}
    named = {name.strip().replace("-", " ") for name in counted[1].split(",")}
    assert named == kinds
    assert counted[0] == "Eight"
    assert len(kinds) == 8


def test_every_dependency_has_its_reason():
    reasons = section(DEVELOPERS, "Why each dependency")
    declared = PROJECT["project"]["dependencies"]
    rows = re.findall(r"^\| ([\w-]+) \| \S", reasons, re.MULTILINE)
    assert rows[1:] == [re.match(r"[\w-]+", each)[0] for each in declared]
    for each in PROJECT["project"]["optional-dependencies"]["test"]:
        assert re.match(r"[\w-]+", each)[0] in reasons


def test_the_version_has_its_part_in_the_list_of_changes():
    version = PROJECT["project"]["version"]
    assert re.findall(r"^## (\S+)", CHANGELOG, re.MULTILINE)[0] == version


def test_every_link_in_the_pages_leads_to_a_file():
    for page in (README, DEVELOPERS, CHANGELOG):
        for target in re.findall(r"\]\(([^)#]+)\)", page):
            assert (ROOT / target).exists(), target
        for target in re.findall(r"`((?:ledger|schema|queries|sample_data|tests)/[\w./-]*)`", page):
            assert (ROOT / target).exists(), target


def _rules_named_in_code():
    """Every text in the code of the reasoner that is given as a rule, and every text at all."""
    given, texts = set(), set()
    for path in (ROOT / "ledger" / "reason").glob("*.py"):
        if path.name == "rules.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Because":
                named = [k.value for k in node.keywords if k.arg == "rule"]
                rule = named[0] if named else node.args[0]
                if isinstance(rule, ast.Constant):
                    given.add(rule.value)
    return given, texts


def test_every_rule_is_used_and_every_rule_used_is_in_the_table():
    given, texts = _rules_named_in_code()
    assert given
    assert given <= set(RULES)
    assert set(RULES) <= texts


def test_every_finding_of_the_sample_data_cites_a_rule_of_the_table(tmp_path):
    path = tmp_path / "ledger.db"
    run("record", *sorted(sample_data().glob("*.yaml")), "--ledger", path)
    cited = set()
    for sheet in ("dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin"):
        report = json.loads(run("weigh", sheet, "--ledger", path, "--json"))
        cited |= {finding["rule"] for finding in report["findings"]}
    assert cited <= set(RULES)
    assert len(cited) > len(RULES) / 2
