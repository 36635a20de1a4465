"""Nothing that a line withholds is said in a report, whatever field it is and whatever is asked."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, get_args, get_origin

import pytest
from pydantic import TypeAdapter

from ledger.findings import Report
from ledger.reason.in_full import reason_in_full

SAMPLES = ("dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin")
# What is written freely; ids, positions and choices name what everything is about.
FREE = ("answer", "by", "caption", "description", "holder", "note", "paper", "place", "question")
FREE += ("reads", "says", "text", "title", "what", "why")
SECRET = "Quist of Zaharenko"  # noqa: S105 - a name, to be found
STILL_READ = ("reads", "text", "paper")


def is_choice(told, name):
    """Whether the field takes one of a few words."""
    annotation = type(told).model_fields[name].annotation
    return any(get_origin(each) is Literal for each in (annotation, *get_args(annotation)))


def with_secrets(case, name):
    """The case with one field of every line that has it filled with a secret, and withheld."""
    lines = {}
    for line, recorded in case.lines.items():
        told = recorded.line
        value = getattr(told, name, None)
        if isinstance(value, str) and value and not is_choice(told, name):
            secret = value if name in STILL_READ else f"{SECRET} {line}"
            told = told.model_copy(update={name: secret})
            recorded = replace(recorded, line=told, withheld=recorded.withheld | {name})  # noqa: PLW2901
        lines[line] = recorded
    return replace(case, lines=lines)


@pytest.mark.parametrize("name", FREE)
@pytest.mark.parametrize("sample", SAMPLES)
def test_what_a_line_withholds_is_nowhere_in_its_full_report(sample_case, sample, name):
    case, packs = sample_case(sample)
    secrets = with_secrets(case, name)
    said = TypeAdapter(Report).dump_json(reason_in_full(secrets, packs)).decode("utf-8")
    if name in STILL_READ:
        # These are still read: a text is looked for only where no open line says it.
        texts = {getattr(r.line, name) for r in secrets.lines.values() if name in r.withheld}
        texts = {text for text in texts if len(text) > 6 and not is_open(case, packs, name, text)}
        assert not {text for text in texts if text in said}
    else:
        assert SECRET not in said


def is_open(case, packs, name, text):
    """Whether a word of the text stands in anything else that is on record or in a pack."""
    others = (
        str(value)
        for recorded in case.lines.values()
        for field, value in recorded.line
        if field != name
    )
    return any(text in each for each in others) or any(
        text in pack.model_dump_json() for pack in packs.files
    )
