"""A bench sheet written as YAML that the recorder reads back to the same entries.

The same sheet gives the same bytes. Fields come in the order of the models, what is left at its
default is left out, long texts stand as they were written, line by line.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from ledger.models import SECTIONS, BenchSheet, Model

# What our reader takes as it stands and another reader of YAML takes for text as well.
_PLAIN: Final = re.compile(r"[^\W_](?:[^\n\r\t]*[^\s:])?")
_NOT_PLAIN: Final = re.compile(r":\s|\s#")
_OTHER_WORDS: Final = frozenset({"null", "true", "false", "on", "off", "y", "n"})
_IN_FLOW: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._/:+-]*[A-Za-z0-9]|[A-Za-z0-9]")
# Read glyph for glyph, and so always in quotes, as people type them.
_QUOTED: Final = frozenset({"text", "mark_reads"})
_LAST: Final = ("note", "withhold")
_INDENT: Final = "  "


def sheet_text(sheet: BenchSheet, opening: str = "") -> str:
    """The sheet as YAML, with ``opening`` as comment above it."""
    lines = [f"# {line}".rstrip() for line in opening.splitlines()]
    lines += [f"bench_sheet: {sheet.bench_sheet}", "instrument:"]
    lines += _fields(body_of(sheet.instrument), _INDENT)
    for section in SECTIONS:
        held: tuple[Model, ...] = getattr(sheet, section)
        if held:
            lines += ["", f"{section}:"]
        for line in held:
            lines += _item(body_of(line), _INDENT)
    return "\n".join(lines) + "\n"


def lines_text(section: str, lines: Iterable[Model], indent: str = _INDENT) -> str:
    """Some lines of one section, without its heading, to be put into a sheet that is there."""
    written = [row for line in lines for row in _item(body_of(line), indent)]
    return f"{section}:\n" + "\n".join(written) + "\n"


def body_of(model: Model) -> dict[str, Any]:
    """What of the model is not at its default, in the order in which it is written."""
    body = model.model_dump(mode="json", exclude_defaults=True)
    last: dict[str, Any] = {name: body.pop(name) for name in _LAST if name in body}
    first = {"id": body.pop("id")} if "id" in body else {}
    return {**first, **body, **last}


def typed_text(value: object) -> str:
    """A single value as it is typed.

    >>> typed_text(True), typed_text(0.25), typed_text("as it is")
    ('yes', '0.25', 'as it is')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    return str(value)


def _item(body: Mapping[str, Any], indent: str) -> list[str]:
    """A mapping as an item of a list."""
    lines = _fields(body, indent + _INDENT)
    return [f"{indent}- {lines[0].lstrip()}", *lines[1:]]


def _fields(body: Mapping[str, Any], indent: str) -> list[str]:
    return [row for name, value in body.items() for row in _field(name, value, indent)]


def _field(name: str, value: Any, indent: str) -> list[str]:  # noqa: ANN401 - what a model holds
    if isinstance(value, list):
        return _list(name, value, indent)
    text = typed_text(value)
    if "\n" in text and _stands_as_block(text):
        rows = [f"{indent}{_INDENT}{row}" if row else "" for row in text.split("\n")]
        return [f"{indent}{name}: |-", *rows]
    return [f"{indent}{name}: {_scalar(text, is_quoted=name in _QUOTED)}"]


def _list(name: str, items: Sequence[Any], indent: str) -> list[str]:
    if all(isinstance(item, str) and _IN_FLOW.fullmatch(item) for item in items):
        return [f"{indent}{name}: [{', '.join(items)}]"]
    rows = [f"{indent}{name}:"]
    for item in items:
        if isinstance(item, Mapping):
            rows += _item(item, indent + _INDENT)
        else:
            rows.append(f"{indent}{_INDENT}- {_scalar(typed_text(item), is_quoted=False)}")
    return rows


def _stands_as_block(text: str) -> bool:
    """Whether the text keeps its every character as a literal block."""
    if "\r" in text or "\t" in text or text[:1].isspace() or text[-1:].isspace():
        return False
    return not any(row[:1] == " " and not row.strip() for row in text.split("\n"))


def _scalar(text: str, *, is_quoted: bool) -> str:
    is_plain = (
        _PLAIN.fullmatch(text) is not None
        and _NOT_PLAIN.search(text) is None
        and text.casefold() not in _OTHER_WORDS
    )
    if is_plain and not is_quoted:
        return text
    # A string of JSON is one of YAML (YAML 1.2.2, section 1.3) while nothing above U+FFFF is
    # written as two escapes, which keeping every character as it is sees to.
    return json.dumps(text, ensure_ascii=False)
