"""The pages of the form: what a page is given to show, and how it is drawn.

What people typed goes into a field as it was typed; everything else that is shown has what would not
be seen in it told.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape

from ledger.basis.visible import visible
from ledger.bench.columns import Tab, parts_of_list
from ledger.bench.form_dates import DateHelp, date_help
from ledger.bench.form_desk import OnBench
from ledger.bench.form_drafts import DraftLine
from ledger.bench.form_kinds import FormField, FormKind, form_kinds
from ledger.bench.form_readings import confusions, figure_in_words
from ledger.bench.form_tree import FieldFault
from ledger.bench.plan import NON_VALUES
from ledger.models import ALWAYS_WITHHELD, SECTIONS

TEMPLATES: Final = Path(__file__).parent / "templates"
EMPTY_ROWS: Final = 2
_NOT_SAID: Final = ("", "not said")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(default_for_string=True, default=True),
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["as_typed"] = as_typed
    environment.filters["plain"] = plain
    return environment


def _shown(value: object) -> object:
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def as_typed(text: str) -> Markup:
    """The text for a field, every character as it was typed."""
    return escape(text)


def plain(name: str) -> str:
    """A name of the data in words.

    >>> plain("non_values"), plain("hardware off")
    ('non values', 'hardware off')
    """
    return name.replace("_", " ").replace("-", " ")


def draw(template: str, context: Mapping[str, Any]) -> str:
    """The page as text."""
    return _environment().get_template(template).render(**context)


@dataclass(frozen=True, slots=True)
class ShownField:
    """One field of a form with what stands in it, what may, and what is wrong with it."""

    name: str
    label: str
    hint: str
    manner: str
    value: str
    is_required: bool
    choices: tuple[tuple[str, str], ...] = ()
    faults: tuple[str, ...] = ()
    dates: DateHelp = field(default_factory=lambda: DateHelp(""))
    says: str = ""
    may_withhold: bool = False
    is_withheld: bool = False

    @property
    def values(self) -> list[str]:
        """What stands in it, where it is a list."""
        return parts_of_list(self.value)


@dataclass(frozen=True, slots=True)
class ShownRows:
    """A list of small groups that hangs from a line: rows that are filled, and some to fill."""

    name: str
    rows: tuple[tuple[ShownField, ...], ...]


@dataclass(frozen=True, slots=True)
class ShownForm:
    """A form with everything in it."""

    kind: FormKind
    line: DraftLine
    page: str
    first: tuple[ShownField, ...]
    more: tuple[ShownField, ...]
    inner: tuple[ShownRows, ...]
    withheld: tuple[ShownField, ...]
    always_withheld: tuple[str, ...]
    faults: tuple[FieldFault, ...]

    @property
    def loose_faults(self) -> tuple[str, ...]:
        """What is wrong with the line as a whole."""
        named = {each.name for each in self._asked()}
        return tuple(fault.says for fault in self.faults if fault.field not in named)

    def _asked(self) -> tuple[ShownField, ...]:
        rows = [each for rows in self.inner for row in rows.rows for each in row]
        return (*self.first, *self.more, *rows)

    def label_of(self, name: str) -> str:
        """What the field of that name is called on the page."""
        return next((each.label for each in self._asked() if each.name == name), plain(name))

    def shortly(self, fault: FieldFault) -> str:
        """The fault for the list above the form; a date that is offered is offered at its field."""
        for each in self._asked():
            if each.name == fault.field and each.dates.offers:
                return f"“{each.value}” is not recorded as it is; below stands what can be."
        return fault.says

    @property
    def is_more_open(self) -> bool:
        """Whether something stands under More that should be seen."""
        return any(each.faults or (each.value and each.name != "id") for each in self.more)


def shown_form(
    bench: OnBench, kind: FormKind, line: DraftLine, faults: Iterable[FieldFault] = ()
) -> ShownForm:
    """The form for a line, with what is wrong at its fields."""
    given = tuple(faults)
    typed = line.fields
    hidden = set(parts_of_list(typed.get("withhold", "")))
    always = ALWAYS_WITHHELD.get(kind.section, ())

    def shown(each: FormField) -> ShownField:
        return _shown_field(bench, kind, each, typed, given)

    return ShownForm(
        kind=kind,
        line=line,
        page=secrets.token_hex(6),
        first=tuple(map(shown, kind.first)),
        more=tuple(map(shown, kind.more)),
        inner=tuple(_shown_rows(tab, typed, given) for tab in kind.inner),
        withheld=tuple(
            ShownField(
                each.name, each.label, "", "check", "", is_required=False,
                is_withheld=each.name in hidden,
            )
            for each in kind.may_withhold
            if each.name not in always
        ),
        always_withheld=tuple(
            each.label.lower() for each in kind.fields if each.name in always
        ),
        faults=given,
    )  # fmt: skip


def _shown_field(
    bench: OnBench,
    kind: FormKind,
    each: FormField,
    typed: Mapping[str, str],
    faults: Iterable[FieldFault],
) -> ShownField:
    value = typed.get(each.name)
    if value is None:
        value = _default(bench, kind, each)
    says = ""
    if each.manner == "figure" and each.name == "value":
        says = figure_in_words(value, typed.get("uncertainty", ""))
    is_placed = {"position", "part"} <= {field.name for field in kind.fields}
    return ShownField(
        name=each.name,
        label=each.label,
        hint=each.hint,
        manner=each.manner,
        value=value,
        is_required=each.column.is_required or (is_placed and each.name == "position"),
        choices=_choices(bench, kind, each),
        faults=tuple(fault.says for fault in faults if fault.field == each.name),
        dates=date_help(value) if each.manner == "date" else DateHelp(""),
        says=says,
    )


def _default(bench: OnBench, kind: FormKind, each: FormField) -> str:
    """What stands in a field that nobody has touched: what would be recorded if it stays so."""
    if each.name == "source":
        return last_source(bench)
    if each.manner not in ("radio", "choice"):
        return ""
    default = SECTIONS[kind.section].model_fields[each.name].default
    return default if isinstance(default, str) else ""


def last_source(bench: OnBench) -> str:
    """The source of the line that was written last, else the first there is, else nothing.

    That of somebody who only read once more is never taken over.
    """
    again = {line.fields.get("source") for line in bench.draft.lines if line.seconds}
    there = [name for name, _ in bench.offered("sources") if name not in again]
    for line in reversed(bench.draft.lines):
        if line.fields.get("source") in there:
            return line.fields["source"]
    return there[0] if there else ""


def _choices(bench: OnBench, kind: FormKind, each: FormField) -> tuple[tuple[str, str], ...]:
    if each.manner == "pictures":
        return bench.offered("exhibits")
    if each.column.words == "traces":
        return tuple((name, plain(name)) for name in bench.packs.trace_kind_names())
    if each.manner == "linked":
        found = bench.offered(each.column.words)
        return tuple((name, f"{name}: {says}" if says else name) for name, says in found)
    told = NON_VALUES if kind.section == "non_values" else {}
    choices = tuple(
        (choice, f"{choice}: {told[choice]}" if choice in told else choice)
        for choice in each.column.choices
    )
    default = SECTIONS[kind.section].model_fields[each.name].default
    is_open = each.manner == "radio" and default is None and not each.column.is_required
    return (*choices, _NOT_SAID) if is_open else choices


def _shown_rows(tab: Tab, typed: Mapping[str, str], faults: tuple[FieldFault, ...]) -> ShownRows:
    numbers = [
        int(parts[1])
        for name in typed
        if len(parts := name.split(".")) == 3 and parts[0] == tab.inner and parts[1].isdigit()
    ]
    count = max(numbers, default=-1) + 1 + EMPTY_ROWS
    rows = tuple(
        tuple(
            ShownField(
                name=f"{tab.inner}.{at}.{column.field}",
                label=column.heading.capitalize(),
                hint="",
                manner="choice" if column.choices else "line",
                value=typed.get(f"{tab.inner}.{at}.{column.field}", ""),
                is_required=False,
                choices=tuple((choice, choice) for choice in column.choices),
                faults=tuple(
                    fault.says
                    for fault in faults
                    if fault.field == f"{tab.inner}.{at}.{column.field}"
                ),
            )
            for column in tab.columns[1:]
        )
        for at in range(count)
    )
    return ShownRows(tab.inner, rows)


def form_context(bench: OnBench, form: ShownForm) -> dict[str, Any]:
    """What the page of a form is given besides what every page has."""
    return {
        "form": form,
        "positions": [(name, row.name) for name, row in bench.view.positions.items()],
        "confusions": confusions(bench) if form.kind.section == "marks" else {},
        "has_source": bool(bench.offered("sources")) or form.kind.section == "sources",
        "asks_source": any(each.name == "source" for each in form.first),
        "kinds": tuple(form_kinds().values()),
    }
