"""Whatever stands in a sheet or a pack, it is read or refused in sentences."""

from __future__ import annotations

import re
import shutil

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.errors import FaultsFound
from ledger.holdings import schema_file
from ledger.knowledge.packs import Packs, built_in_packs, read_pack
from ledger.record.sheet import read_sheet

SHEET = schema_file("example-sheet.yaml").read_text(encoding="utf-8")
PACK = schema_file("example-pack.yaml").read_text(encoding="utf-8")
KNOWN = Packs.of(built_in_packs())
# What a terminal would obey or a reader not see must not come back in a sentence.
OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
QUICK = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

values = st.recursive(
    st.one_of(
        st.text(max_size=40),
        st.sampled_from(["", "yes", "1955", "9" * 5000, "-0", "0x1F", "1e999", "~", "[]", "<b>"]),
        st.from_regex(r"[0-9X?~%/\[\].,{}-]{1,20}", fullmatch=True),
    ),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(min_size=1, max_size=10), inner, max_size=3)
    ),
    max_leaves=6,
)


def _tree(text):
    return yaml.load(text, yaml.BaseLoader)  # noqa: S506 - it makes nothing but text


def _places(value, path=()):
    yield path
    for key, inner in (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    ):
        yield from _places(inner, (*path, key))


SHEET_PLACES = [path for path in _places(_tree(SHEET)) if path]
PACK_PLACES = [path for path in _places(_tree(PACK)) if path]


def _changed(text, path, value):
    tree = _tree(text)
    at = tree
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return yaml.safe_dump(tree, sort_keys=False, allow_unicode=True)


def _read(folder, content, read):
    path = folder / "given.yaml"
    if not (folder / "example-exhibits").exists():
        shutil.copytree(
            schema_file("example-exhibits/plate.png").parent, folder / "example-exhibits"
        )
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "replace"))
    try:
        return read(path)
    except FaultsFound as error:
        faults = error.faults
    assert faults
    for fault in faults:
        assert not OBEYED.search(str(fault)), repr(str(fault))
        assert len(str(fault)) < 30_000
    return None


@QUICK
@given(st.sampled_from(SHEET_PLACES), values)
def test_any_value_at_any_place_of_a_sheet_is_read_or_refused(tmp_path, path, value):
    _read(tmp_path, _changed(SHEET, path, value), lambda path: read_sheet(path, KNOWN))


@QUICK
@given(st.sampled_from(PACK_PLACES), values)
def test_any_value_at_any_place_of_a_pack_is_read_or_refused(tmp_path, path, value):
    _read(tmp_path, _changed(PACK, path, value), read_pack)


@QUICK
@given(st.integers(0, len(SHEET) - 1), st.integers(0, 200), st.binary(max_size=30))
def test_bytes_cut_out_of_a_sheet_and_put_into_it_are_read_or_refused(tmp_path, at, cut, put):
    content = SHEET.encode()
    _read(tmp_path, content[:at] + put + content[at + cut :], read_sheet)


@QUICK
@given(st.binary(max_size=400))
def test_any_bytes_are_no_sheet_and_no_pack(tmp_path, content):
    assert _read(tmp_path, content, read_sheet) is None
    assert _read(tmp_path, content, read_pack) is None


HEAD = "bench_sheet: 1\ninstrument: {id: a, kind: mandolin, name: x, invented: yes}\n"
ATTACKS = {
    "alias-bomb": "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c, *c]\n",
    "merge-key": f"{HEAD}base: &b {{id: a}}\nsources: [{{<<: *b}}]\n",
    "python-object": f"{HEAD}sources: !!python/object/apply:os.system [id]\n",
    "deep-brackets": "[" * 100_000,
    "deep-mappings": "".join(f"{' ' * i}a:\n" for i in range(2_000)),
    "deep-flow": HEAD + "sources: " + "{a: " * 5_000,
    "long-key": f"{HEAD}? {'k' * 200_000}\n: v\n",
    "long-scalar": f"{HEAD}questions: [{{id: q, question: {'x' * 200_000}}}]\n",
    "huge-number": f"{HEAD}measurements: [{{id: m, source: s, position: neck, quantity: width, value: {'9' * 3_000} mm}}]\n",
    "huge-exponent": f"{HEAD}measurements: [{{id: m, source: s, position: neck, quantity: width, value: 1e99999999 mm}}]\n",
    "many-documents": f"{HEAD}---\n" * 1_000,
    "nul": f"{HEAD}questions: [{{id: q, question: a\0b}}]\n",
    "escaped-nul": f'{HEAD}questions: [{{id: q, question: "a\\0b"}}]\n',
    "escaped-override": f'{HEAD}questions: [{{id: q, question: "a\\u202eb"}}]\n',
    "override": f"{HEAD}questions: [{{id: q, question: a\u202eb}}]\n",
    "escape-sequence": f'{HEAD}questions: [{{id: q, question: "\\e[2J"}}]\n',
    "second-of-two-keys": f"{HEAD}questions: []\nquestions: [{{id: q, question: x}}]\n",
    "utf-16": HEAD.encode("utf-16"),
    "not-utf-8": HEAD.encode() + b"# \xff\xfe\n",
    "endless-line": b"x" * 5_000_001,
}


@pytest.mark.parametrize("content", ATTACKS.values(), ids=ATTACKS)
def test_a_known_attack_on_readers_of_yaml_is_refused(tmp_path, content):
    assert _read(tmp_path, content, read_sheet) is None
    assert _read(tmp_path, content, read_pack) is None


PATHS = {
    "up": "../secret.txt",
    "up-and-down": "inner/../../secret.txt",
    "absolute": "/etc/hostname",
    "drive": "C:\\secret.txt",
    "share": "\\\\host\\share\\secret.txt",
    "backslashes": "..\\secret.txt",
    "scheme": "file:///etc/hostname",
    "home": "~/secret.txt",
    "folder": ".",
    "device": "/dev/zero",
    "link": "link.txt",
    "folder-link": "linked/secret.txt",
    "long": "a" * 5_000,
    "nothing": "\u00a0",
}


@pytest.mark.parametrize("name", PATHS.values(), ids=PATHS)
def test_an_exhibit_never_leads_out_of_the_folder_of_its_sheet(tmp_path, name):
    folder = tmp_path / "case"
    (folder / "inner").mkdir(parents=True)
    (tmp_path / "secret.txt").write_text("a secret of somebody else", encoding="utf-8")
    (folder / "link.txt").symlink_to(tmp_path / "secret.txt")
    (folder / "linked").symlink_to(tmp_path)
    text = HEAD + yaml.safe_dump({"exhibits": [{"id": "e", "caption": "x", "file": name}]})
    assert _read(folder, text, read_sheet) is None


def test_a_sheet_names_only_so_many_files(tmp_path, monkeypatch):
    (tmp_path / "a.txt").write_text("words", encoding="utf-8")
    (tmp_path / "b.txt").write_text("other words", encoding="utf-8")
    lines = [{"id": f"e{i}", "caption": "x", "file": "ab"[i % 2] + ".txt"} for i in range(4)]
    text = HEAD + yaml.safe_dump({"exhibits": lines})
    assert _read(tmp_path, text, read_sheet) is not None
    monkeypatch.setattr("ledger.record.sheet.MOST_EXHIBITS", 1)
    assert _read(tmp_path, text, read_sheet) is None
    monkeypatch.setattr("ledger.record.sheet.MOST_EXHIBITS", 10)
    monkeypatch.setattr("ledger.record.sheet.GREATEST_TOTAL_BYTES", 3)
    assert _read(tmp_path, text, read_sheet) is None
