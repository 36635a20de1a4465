from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis import yamltext
from ledger.basis.yamltext import Place, file_content, path_in_words, read_tree, shortened
from ledger.errors import FaultsFound


@pytest.fixture(params=[yaml.SafeLoader, yamltext._LOADER], ids=["python", "library"])
def _loader(request, monkeypatch):
    monkeypatch.setattr(yamltext, "_LOADER", request.param)


pytestmark = pytest.mark.usefixtures("_loader")


def _faults(text):
    content = text if isinstance(text, bytes) else text.encode()
    try:
        return read_tree(content, "f.yaml").faults
    except FaultsFound as error:
        return error.faults


def test_every_scalar_stays_the_text_that_was_typed():
    typed = ["no", "1.10", "0123", "12:30", "~", "null", "1e3", "2026-03-02", "0x1F", "=", ".inf"]
    text = "".join(f"k{at}: {value}\n" for at, value in enumerate(typed))
    assert list(read_tree(text.encode(), "f").value.values()) == typed


def test_every_value_and_key_has_its_place():
    tree = read_tree("\ufeffa: 1\nmarks:\n  - id: x\n    text: [p, q]\n".encode(), "f")
    assert tree.value == {"a": "1", "marks": [{"id": "x", "text": ["p", "q"]}]}
    assert tree.place_of(("marks", 0, "text", 1)) == Place(4, 15)
    assert tree.key_place_of(("marks", 0, "text")) == Place(4, 5)
    assert tree.key_place_of(("marks", 0)) == Place(3, 5)
    assert tree.place_of(("marks", 0, "nowhere", 3)) == Place(3, 5)
    assert tree.place_of(("nowhere",)) == Place(1, 1)


def test_a_fault_is_told_at_its_value():
    tree = read_tree(b"marks:\n- text: x\n", "f.yaml")
    fault = tree.fault_at(("marks", 0, "text"), "'x'", "something else", "Look again")
    assert str(fault) == "f.yaml:2:9: marks[1].text: found 'x'; expected something else. Look again"


@pytest.mark.parametrize(
    ("text", "line", "column", "found"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, "the key 'a' again; it is also in line 1"),
        ("a: 1\na: {b: [1, {c: 2}], d: 3}\n", 2, 1, "the key 'a' again"),
        ("a: &here 1\n", 1, 4, "the anchor &here"),
        ("a: &here [1]\nb: *here\n", 2, 4, "the alias *here"),
        ("a: !!python/object:os.system x\n", 1, 4, "the tag 'tag:yaml.org,2002:python"),
        ("a: !own [1]\n", 1, 4, "the tag '!own'"),
        ("? [a, b]\n: c\n", 1, 3, "a key that is not text"),
        ("a: 1\n---\nb: 2\n", 2, 1, "a second document"),
        ("a: b: c\n", 1, 5, "mapping values are not allowed"),
        ("a:\n\t- b\n", 2, 1, "found character"),
        ("a: [1, 2\n", 2, 1, "did not find"),
        ('a: "x\\0y"\n', 1, 4, "the character U+0000"),
        ('a: "x\\u202ey"\n', 1, 4, "the character U+202E"),
        ('"a\\u202eb": 1\n', 1, 1, "the character U+202E"),
        ("a: 1\nb: x\u202ey\n", 2, 5, "the character U+202E"),
        ("a: 1\r\nb: x\x00y\n", 2, 5, "the character U+0000"),
        ("a: x\x85y\n", 1, 5, "the character U+0085"),
        (b"a: 1\nb: \xff\n", 2, 4, "the byte 0xff"),
        (b"", 0, 0, "nothing"),
        ("# only a comment\n", 0, 0, "nothing"),
        (b"a" * 5_000_001, 0, 0, "a larger file"),
        ("a: " + "[" * 21, 1, 23, "something 21 levels deep"),
        ("{" * 3000, 1, 1, ""),
        ("[" * 100_000, 1, 1, ""),
    ],
    ids=lambda value: repr(value)[:24],
)
def test_what_two_readers_would_read_differently_is_a_fault(text, line, column, found):
    faults = _faults(text)
    assert faults
    if found == "did not find":  # the two parsers have different words for it
        found = ""
    told = [(fault.line, fault.column) for fault in faults if found in fault.found]
    assert (line, column) in told or not found
    assert all(fault.expected for fault in faults)


def test_tabs_are_named_as_what_is_wrong():
    assert "spaces" in _faults("a:\n\t- b\n")[0].advice
    assert "quotes" in _faults("a: b: c\n")[0].advice


def test_faults_that_leave_the_rest_readable_are_told_together():
    tree = read_tree(b"a: &x 1\nb: *x\nb: {c: !t 2, c: [3]}\nd: [4]\n", "f")
    assert [fault.line for fault in tree.faults] == [1, 2, 3, 3]
    assert tree.value["d"] == ["4"]
    with pytest.raises(FaultsFound) as caught:
        read_tree(b"a: 1\na: 2\nb: ]\n", "f")
    assert [fault.line for fault in caught.value.faults] == [2, 3]


def test_the_first_of_two_equal_keys_is_kept():
    assert read_tree(b"a: 1\na: [2, {b: 3}]\nc: 4\n", "f").value == {"a": "1", "c": "4"}


def test_a_key_that_is_an_alias_or_a_group_is_a_fault_and_no_traceback():
    assert len(_faults("*x : 1\n? {a: [b]}\n: 2\n")) == 3


def test_at_most_twenty_hidden_characters_are_told():
    assert len(_faults("\x01" * 100)) == 20


def test_an_error_without_a_place_is_still_told(monkeypatch):
    def _broken(*_args, **_kwargs):
        raise yaml.YAMLError

    monkeypatch.setattr(yaml, "parse", _broken)
    (fault,) = _faults("a: 1")
    assert (fault.line, fault.column) == (0, 0)
    assert fault.found == "something that cannot be read"


def test_paths_count_as_people_do():
    assert path_in_words(()) == ""
    assert path_in_words(("sightings", 0, "shows", 2, "value")) == "sightings[1].shows[3].value"


def test_quotes_are_one_short_line():
    assert shortened("a\n b") == "'a b'"
    assert len(shortened("x" * 500)) <= 82


@settings(deadline=None)
@given(st.text(alphabet=st.sampled_from("ab:- \n[]{}&*!\"'|>?#,%@`\t~\\0uxé\u202e"), max_size=60))
def test_arbitrary_text_is_read_or_refused(text):
    _faults(text)


@settings(deadline=None)
@given(st.binary(max_size=60))
def test_arbitrary_bytes_are_read_or_refused(content):
    _faults(content)


_trees = st.recursive(
    st.text(alphabet="abc 1:#-'\"é~.", max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(alphabet="abc", min_size=1, max_size=3), inner, max_size=3)
    ),
    max_leaves=12,
)


@settings(deadline=None)
@given(_trees)
def test_what_is_written_as_yaml_comes_back_as_it_was(tree):
    written = yaml.dump(tree, allow_unicode=True, default_style='"', Dumper=_Plain)
    assert read_tree(written.encode(), "f").value == tree


class _Plain(yaml.SafeDumper):
    def ignore_aliases(self, _data):
        return True


def test_of_a_larger_file_one_byte_too_many_is_read_and_no_more(tmp_path):
    path = tmp_path / "sheet.yaml"
    path.write_bytes(b"a: 1\n")
    assert file_content(path) == b"a: 1\n"
    assert file_content(path, 3) == b"a: 1"
    with pytest.raises(FileNotFoundError):
        file_content(tmp_path / "none.yaml")
    with pytest.raises(IsADirectoryError):
        file_content(tmp_path)


def test_what_need_have_no_end_is_not_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", Path("/dev/zero")):
        with pytest.raises(OSError, match="A pipe or a device"):
            file_content(path)
