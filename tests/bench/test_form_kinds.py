"""The forms: a form for each kind of observation, and every field of its section on it."""

from __future__ import annotations

from ledger.bench.columns import inner_tabs, tabs
from ledger.bench.form_kinds import BLIND, form_kinds, kind_of_section
from ledger.models import SECTIONS

ASKED = [
    "mark",
    "measurement",
    "feature",
    "trace",
    "work",
    "custody",
    "sighting",
    "paper",
    "testimony",
    "nothing",
    "source",
    "exhibit",
]


def test_there_is_a_form_for_every_kind_of_observation():
    assert set(ASKED) <= set(form_kinds())


def test_only_disputes_have_no_form():
    without = {section for section in SECTIONS if kind_of_section(section) is None}
    assert without == {"challenges", "answers"}


def test_every_field_of_a_section_is_on_its_form_once():
    for kind in form_kinds().values():
        columns = [each.field for each in tabs()[kind.section.replace("_", " ")].columns]
        assert sorted(each.name for each in kind.fields) == sorted(columns), kind.kind
        assert kind.inner == inner_tabs(kind.section)


def test_what_a_form_asks_first_is_everything_that_is_required():
    for kind in form_kinds().values():
        first = {each.name for each in kind.first}
        needed = {each.name for each in kind.fields if each.column.is_required} - {"id"}
        assert needed <= first, kind.kind


def test_no_hint_speaks_of_a_spreadsheet():
    for kind in form_kinds().values():
        for each in kind.fields:
            assert "tab " not in each.hint, (kind.kind, each.name)
            assert "column" not in each.hint, (kind.kind, each.name)


def test_marks_and_measurements_are_read_blind():
    for section, name in BLIND.items():
        assert any(each.name == name for each in kind_of_section(section).fields)
