from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.hashing import sha256_hex
from ledger.basis.yamltext import Place
from ledger.errors import FaultsFound
from ledger.record.sheet import catalogue_faults, read_sheet


def _faults(path):
    with pytest.raises(FaultsFound) as caught:
        read_sheet(path)
    return [str(fault).removeprefix(f"{path}:") for fault in caught.value.faults]


def test_a_sheet_without_a_fault_is_read_with_its_places(write, mandolin):
    path = write(mandolin)
    read = read_sheet(path)
    assert read.file == str(path)
    assert read.sheet.instrument.id == "my-mandolin"
    assert read.sha256 == sha256_hex(mandolin.encode())
    assert read.place_of("tuner-patent") == Place(17, 5)
    assert read.place_of("nothing") == Place(1, 1)
    assert read.hashes == {}


def test_full_ids_are_read_as_short_ones(write, mandolin):
    read = read_sheet(write(mandolin.replace("id: label-date", "id: my-mandolin/label-date")))
    assert [mark.id for mark in read.sheet.marks] == ["label-date", "tuner-patent"]
    assert {mark.source for mark in read.sheet.marks} == {"bench"}


def test_every_fault_is_told_at_once_with_its_place(write):
    path = write(
        """\
bench_sheet: 2
instrument: {id: my mandolin, kind: mandolin}
sources:
  - id: bench
    kind: examniation
    title: ''
    titel: x
  - id: bench
    kind: document
    title: A paper
    date: 31/02/1917
marks:
  - {id: a, source: bnech, position: label, text: x, reads: '1917-13'}
  - {id: b, source: bench, text: x}
exhibits:
  - {id: e, file: nowhere.png, caption: x}
measurements:
  - {id: m, source: bench, position: neck, quantity: width, value: 3 furlongs}
mark: []
"""
    )
    told = [" ".join(line.split(" ")[:2]) for line in _faults(path)]
    assert told == [
        "1:14: bench_sheet:",
        "2:13: instrument.name:",
        "2:18: instrument.id:",
        "5:11: sources[1].kind:",
        "6:12: sources[1].title:",
        "7:5: sources[1].titel:",
        "8:9: sources[2].id:",
        "11:11: sources[2].date:",
        "13:21: marks[1].source:",
        "13:61: marks[1].reads:",
        "14:5: marks[2]:",
        "16:19: exhibits[1].file:",
        "18:5: measurements[1]:",
        "19:1: mark:",
    ]


@pytest.mark.parametrize(
    ("name", "content", "found"),
    [
        ("../outside.txt", b"x", "which is not in the folder"),
        ("/etc/hostname", b"x", "which is not in the folder"),
        ("C:\\x.txt", b"x", "which is not in the folder"),
        ("C:x.txt", b"x", "which is not in the folder"),
        ("link-out.txt", b"x", "which is not in the folder"),
        ("link-to-itself", b"x", ""),
        ("nowhere.txt", None, "no file of that name"),
        ("sub", None, "no file of that name"),
        ("x" * 3000, None, "a file that cannot be read"),
        ("drawing.txt", b"<svg onload='x'/>", "an SVG drawing"),
    ],
    ids=lambda value: str(value)[:16],
)
def test_an_exhibit_that_cannot_be_taken_is_a_fault(
    tmp_path, write, mandolin, name, content, found
):
    folder = tmp_path / "case"
    (folder / "sub").mkdir(parents=True)
    (tmp_path / "outside.txt").write_text("not yours")
    (folder / "link-out.txt").symlink_to(tmp_path / "outside.txt")
    (folder / "link-to-itself").symlink_to(folder / "link-to-itself")
    if content is not None and name == "drawing.txt":
        (folder / name).write_bytes(content)
    exhibits = f"exhibits:\n- id: e\n  caption: x\n  file: '{name}'\n"
    (told,) = _faults(write(mandolin + exhibits, "case/sheet.yaml"))
    assert told.startswith("29:9: exhibits[1].file: found '")
    assert found in told


def test_an_exhibit_in_the_folder_is_read_even_through_a_link_inside_it(
    tmp_path, write, mandolin, picture
):
    (tmp_path / "pictures").mkdir()
    (tmp_path / "pictures" / "a.png").write_bytes(picture())
    (tmp_path / "b.png").symlink_to(tmp_path / "pictures" / "a.png")
    text = "exhibits:\n- {id: a, caption: x, file: pictures/a.png}\n- {id: b, caption: x, file: b.png}\n"
    read = read_sheet(write(mandolin + text))
    assert set(read.hashes.values()) == {sha256_hex(picture())}


def test_exhibits_that_are_no_lines_are_left_to_the_model(write, mandolin):
    told = _faults(write(mandolin + "exhibits:\n- text\n- {id: e, file: '', caption: x}\n"))
    assert [line.split(" ")[0] for line in told] == ["27:3:", "28:17:"]
    assert len(_faults(write("- a list\n"))) == 1


def test_a_folder_that_cannot_be_followed_is_no_place_for_an_exhibit(write, mandolin, monkeypatch):
    def _circle(_path):
        raise RuntimeError

    path = write(mandolin + "exhibits:\n- {id: e, caption: x, file: e.png}\n")
    monkeypatch.setattr("pathlib.Path.resolve", _circle)
    (told,) = _faults(path)
    assert "which is not in the folder" in told


@pytest.mark.parametrize("name", ["missing.yaml", "."], ids=["missing", "a folder"])
def test_a_file_that_cannot_be_read_is_a_fault(tmp_path, name):
    with pytest.raises(FaultsFound, match="a bench sheet"):
        read_sheet(tmp_path / name)


def test_a_path_with_a_null_is_a_fault(tmp_path):
    with pytest.raises(FaultsFound, match="a bench sheet"):
        read_sheet(tmp_path / "a\0b")


@pytest.mark.parametrize(
    ("line", "withheld", "is_taken"),
    [
        ("custody:\n- {id: c, source: bench, holder: x, note: y, withhold: [note]}", "note", True),
        (
            "sources:\n- {id: s, kind: document, title: x, date: 1950, withhold: [date]}",
            "date",
            True,
        ),
        (
            "sightings:\n- {id: s, source: bench, date: 1950, same_instrument: no, withhold: [date]}",
            "date",
            False,
        ),
        (
            "measurements:\n- {id: m, source: bench, position: p, quantity: q, value: 3 mm, withhold: [value]}",
            "value",
            False,
        ),
        (
            "marks:\n- {id: m, source: bench, position: p, text: x, withhold: [text, source]}",
            "source",
            False,
        ),
        (
            "marks:\n- {id: m, source: bench, position: p, text: x, withhold: [reads]}",
            "reads",
            True,
        ),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_field_without_which_a_line_cannot_be_read_is_not_withheld(
    write, line, withheld, is_taken
):
    bench = (
        "" if line.startswith("sources") else "sources:\n- {id: bench, kind: document, title: x}\n"
    )
    text = f"bench_sheet: 1\ninstrument: {{id: a, kind: b, name: c}}\n{bench}{line}\n"
    if is_taken:
        assert read_sheet(write(text)).sheet
    else:
        (told,) = _faults(write(text))
        assert f"found {withheld} withheld" in told


class _Catalogue:
    """Two positions, of one of which there can be several."""

    def find(self, position):
        base, dot, _ = position.partition(".")
        return {"label": not dot, "pot": True}.get(base) or None

    def names(self):
        return ["label", "pot"]


PLACES = """\
bench_sheet: 1
instrument: {id: a, kind: b, name: c}
sources: [{id: s, kind: document, title: x}]
marks:
  - {id: m1, source: s, position: lable, text: x}
  - {id: m2, source: s, position: label.1, text: x}
  - {id: m3, source: s, position: pot.1, text: x}
  - {id: m4, source: s, position: zither, text: x}
features:
  - {id: f1, source: s, position: pot, feature: x, value: y}
non_values:
  - {id: n1, source: s, positions: [label, pot], value: not legible, what: x}
  - {id: n2, source: s, positions: [label, pto.2], value: not legible, what: x}
questions:
  - {id: q1, question: x, about: [potx]}
sightings:
  - {id: g1, source: s, date: 1950, same_instrument: no, shows: [{position: labl, feature: x, value: y}]}
traces:
  - {id: t1, source: s, trace: filed-holes, positions: [label]}
  - {id: t2, source: s, trace: qqq, positions: [label]}
  - {id: t3, source: s, trace: filled-holes, positions: [label]}
"""


def test_positions_and_traces_that_no_pack_knows_are_told_with_what_is_near(write):
    faults = catalogue_faults(read_sheet(write(PLACES)), _Catalogue(), {"filled-holes"})
    assert [(fault.line, fault.column, fault.path, fault.advice) for fault in faults] == [
        (5, 35, "marks[1].position", "Did you mean label?"),
        (6, 35, "marks[2].position", ""),
        (8, 35, "marks[4].position", "Known: label, pot"),
        (10, 35, "features[1].position", ""),
        (13, 44, "non_values[2].positions[2]", "Did you mean pot?"),
        (15, 35, "questions[1].about[1]", "Did you mean pot?"),
        (17, 77, "sightings[1].shows[1].position", "Did you mean label?"),
        (19, 32, "traces[1].trace", "Did you mean filled-holes?"),
        (20, 32, "traces[2].trace", "Known: filled-holes"),
    ]
    assert "only one" in faults[1].expected
    assert "several" in faults[3].found


@settings(max_examples=60, deadline=None)  # it writes files
@given(text=st.text(max_size=200))
def test_arbitrary_text_never_gives_anything_but_faults(tmp_path_factory, text):
    path = tmp_path_factory.mktemp("sheets") / "sheet.yaml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(FaultsFound):
        read_sheet(path)


_words = st.sampled_from(
    [
        "bench_sheet",
        "instrument",
        "id",
        "kind",
        "name",
        "sources",
        "marks",
        "exhibits",
        "file",
        "source",
        "copied_from",
        "parts",
        "positions",
        "withhold",
        "works",
        "removed",
        "explains",
        "a",
        "1",
        "yes",
        "a/b",
        "../x",
        "[]",
        "{}",
        "''",
        "custody",
        "holder",
    ]
)
_shapes = st.recursive(
    _words,
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(_words, inner, max_size=3).map(
            lambda pairs: "{" + ", ".join(f"{key}: {value}" for key, value in pairs.items()) + "}"
        )
    ),
    max_leaves=10,
)


@settings(max_examples=150, deadline=None)  # as above
@given(pairs=st.dictionaries(_words, _shapes, max_size=5))
def test_sheets_of_any_shape_never_give_anything_but_faults(tmp_path_factory, pairs):
    path = tmp_path_factory.mktemp("sheets") / "sheet.yaml"
    path.write_text("".join(f"{key}: {value}\n" for key, value in pairs.items()))
    with suppress(FaultsFound):  # once in a while one is right
        assert read_sheet(path).sheet


@pytest.mark.parametrize(
    ("begins", "ends", "is_fault"),
    [
        pytest.param("1960", "1950", True, id="turned-round"),
        pytest.param("1960-05", "1960-04", True, id="by-a-month"),
        pytest.param("1960", "1960", False, id="one-year"),
        pytest.param("1960?", "1950", False, id="in-doubt"),
        pytest.param("1960", "1955~", False, id="about"),
        pytest.param("1960", "1950/..", False, id="open"),
    ],
)
def test_custody_that_ends_before_it_begins_is_a_fault_at_its_line(
    write, mandolin, begins, ends, is_fault
):
    text = mandolin + f'    begins: "{begins}"\n    ends: "{ends}"\n'
    path = write(text)
    if not is_fault:
        assert read_sheet(path).sheet.custody[0].ends == ends
        return
    with pytest.raises(FaultsFound) as raised:
        read_sheet(path)
    (fault,) = raised.value.faults
    assert fault.line == len(text.splitlines())
    assert fault.expected == "an end after the beginning"
    assert ends in fault.found
