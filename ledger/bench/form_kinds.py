"""The kinds of form there are, each made from the fields that its section has.

What is asked first, and in which words, stands in ``data/observation_forms.yaml``; every other field
of the section comes under "More", so that nothing a sheet can say is beyond the form.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Literal

from ledger.basis.modelfaults import read_model
from ledger.bench.columns import Column, Tab, inner_tabs, tabs
from ledger.lines import LineId, Model, Text

DATA: Final = Path(__file__).parent / "data" / "observation_forms.yaml"
# What a spreadsheet says of its columns is told otherwise where there is a map and a list.
_HINTS: Final = {
    "positions": "One position, or several with commas; pot.1, pot.2 or pot.volume where there are several.",
    "sources": "",
}
_HINT_OF: Final = {
    "exhibits": "",
    "position": "A position of the list; pot.1, pot.2 or pot.volume where there are several.",
    "part": "",
    "parts": "Ids of removed parts, with commas.",
    "removed": "Ids of removed parts, with commas; record the parts first.",
    "explains": "Ids of the observations, with commas.",
    "trace": "",
    "id": "Small letters, digits and hyphens; made from what the line says if left empty.",
    "note": "Anything else, in your own words.",
    "copied_from": "The two then count as one.",
    "what": "",
}
Manner = Literal[
    "line", "text", "glyphs", "figure", "date", "choice", "radio", "pictures", "linked", "places"
]
# Told in words of several lines, wherever they stand.
_LONG: Final = frozenset({"note", "answer", "says", "destroyed"})
_FIGURES: Final = frozenset({("measurements", "value"), ("measurements", "uncertainty")})
# Readings that are made blind: nothing about what they may mean is told before they are saved.
BLIND: Final[Mapping[str, str]] = {"marks": "text", "measurements": "value"}


class AskedField(Model):
    """How a field is asked for."""

    field: LineId
    label: Text
    hint: str = ""
    manner: Literal["line", "text", "radio"] | None = None


class _Worded(Model):
    """The same as it stands in the data."""

    field: LineId
    label: Text
    hint: str = ""


class ObservationForm(Model):
    """What one form asks first, and in which words."""

    kind: LineId
    section: LineId
    name: Text
    lead: Text
    fields: tuple[AskedField, ...]
    labels: tuple[_Worded, ...] = ()


class _Forms(Model):
    forms: tuple[ObservationForm, ...]


@dataclass(frozen=True, slots=True)
class FormField:
    """One field of a form as it is shown."""

    name: str
    label: str
    hint: str
    manner: Manner
    column: Column
    is_first: bool


@dataclass(frozen=True, slots=True)
class FormKind:
    """One form: its fields in order, those asked first before the others."""

    kind: str
    section: str
    name: str
    lead: str
    fields: tuple[FormField, ...]
    inner: tuple[Tab, ...]

    @property
    def first(self) -> tuple[FormField, ...]:
        """The fields that are asked first."""
        return tuple(field for field in self.fields if field.is_first)

    @property
    def more(self) -> tuple[FormField, ...]:
        """The others, but for what is withheld, which is asked in a way of its own."""
        return tuple(
            field for field in self.fields if not field.is_first and field.name != "withhold"
        )

    @property
    def may_withhold(self) -> tuple[FormField, ...]:
        """The fields that may be kept in one's own copy: what is told in free words."""
        return tuple(
            field
            for field in self.fields
            if field.manner in ("line", "text", "date") and field.name not in ("id", "withhold")
        )


@cache
def form_kinds() -> Mapping[str, FormKind]:
    """Every form by its kind, in the order in which they are offered."""
    read = read_model(DATA.read_bytes(), DATA.name, _Forms)
    return {form.kind: _kind(form) for form in read.forms}


@cache
def kind_of_section(section: str) -> FormKind | None:
    """The form whose lines stand in that section; None where there is no form for it."""
    return next((kind for kind in form_kinds().values() if kind.section == section), None)


def _kind(form: ObservationForm) -> FormKind:
    tab = tabs()[form.section.replace("_", " ")]
    asked = {each.field: each for each in form.fields}
    worded = {each.field: each for each in form.labels}
    first = [
        _field(column, form.section, each.label, each.hint, each.manner, is_first=True)
        for each in form.fields
        if (column := tab.column(each.field)) is not None
    ]
    others = []
    for column in tab.columns:
        if column.field in asked:
            continue
        words = worded.get(column.field)
        label = words.label if words else column.heading.capitalize()
        hint = words.hint if words else ""
        others.append(_field(column, form.section, label, hint, None, is_first=False))
    return FormKind(
        form.kind, form.section, form.name, form.lead, (*first, *others), inner_tabs(form.section)
    )


def _field(
    column: Column,
    section: str,
    label: str,
    hint: str,
    manner: Literal["line", "text", "radio"] | None,
    *,
    is_first: bool,
) -> FormField:
    # What a spreadsheet says of a column is for whoever has no label in plain words.
    said = hint or _HINTS.get(column.words, "" if is_first or column.is_date else column.says)
    if column.field in _HINT_OF:
        said = hint or _HINT_OF[column.field]
    return FormField(
        column.field, label, said, manner or _manner(column, section), column, is_first
    )


def _manner(column: Column, section: str) -> Manner:
    told: Mapping[Manner, bool] = {
        "figure": (section, column.field) in _FIGURES,
        "glyphs": column.is_glyphs,
        "date": column.is_date,
        "pictures": column.field == "exhibits",
        "choice": bool(column.choices) or column.words == "traces",
        "places": column.words == "positions",
        "linked": column.words in ("sources", "parts", "marks", "challenges"),
        "text": column.field in _LONG,
    }
    return next((manner for manner, applies in told.items() if applies), "line")
