"""What every row of a pack carries, and the kinds of text its fields may hold.

A reference statement is an assertion too: each row says from where it is known and how far it
can be relied on; a pack with a row that lacks either does not load.
"""

from __future__ import annotations

import re
import warnings
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from ledger.basis.pattern_cost import MOST_WAYS, ways_to_match
from ledger.basis.quantities import QuantityUnreadable, read_quantity
from ledger.models import Count, LineId, Model, Note, Text, fault

Confidence = Literal["high", "medium", "low"]


def _check_number(value: object) -> object:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and re.fullmatch(r"-?\d{1,12}(\.\d{1,12})?", value):
        return float(value)
    raise fault(repr(value), "a number in digits, such as 0.72 or 52")


def _check_share(value: float) -> float:
    if not 0 < value < 1:
        raise fault(repr(value), "a share greater than 0 and less than 1")
    return value


def _check_pattern(text: str) -> str:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # of what another version would read differently
            re.compile(text)
    except (re.error, OverflowError, RecursionError, Warning) as error:
        raise fault(f"the pattern {text!r}", "a regular expression", str(error)) from error
    ways = ways_to_match(text)
    if ways is None or ways > MOST_WAYS:
        raise fault(
            f"the pattern {text!r}, which a long mark could keep busy for ever",
            "one without repetitions of what is itself repeated, and with few of any length",
            "Say how often, as in {1,4}, and avoid .* but at the ends",
        )
    return text


def _check_quantity(text: str) -> str:
    try:
        read_quantity(text)
    except QuantityUnreadable as error:
        raise fault(repr(text), "a figure with its unit, such as 43.4 mm", str(error)) from error
    return text


Number = Annotated[float, BeforeValidator(_check_number)]
Share = Annotated[float, BeforeValidator(_check_number), AfterValidator(_check_share)]
Pattern = Annotated[str, Field(max_length=300), AfterValidator(_check_pattern)]
QuantityText = Annotated[str, Field(max_length=60), AfterValidator(_check_quantity)]


class Scope(Model):
    """Which instruments a row speaks of; an empty field speaks of all."""

    maker: str = ""
    model: str = ""
    kinds: tuple[LineId, ...] = ()


class Reference(Model):
    """What every row of a pack carries."""

    id: LineId
    source: Text = Field(description="from where it is known; 'common practice, no source' is one")
    confidence: Confidence
    scope: Scope = Scope()
    n: Count | None = Field(default=None, description="how many examples it rests on")
    note: Note = ""
