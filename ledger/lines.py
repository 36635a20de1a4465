"""What every line of a sheet shares: its id, its note, and the kinds of text its fields may hold.

Every model is closed (an unknown key is a fault) and frozen. Scalars arrive as the text that
was typed; each type here decides what that text may be.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from ledger.basis.edtf import DateUnreadable, read_date

ID_PATTERN = r"^[a-z0-9]+([._-][a-z0-9]+)*$"
POSITION_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*(\.[a-z0-9]+(-[a-z0-9]+)*)?$"


def fault(found: str, expected: str, advice: str = "") -> PydanticCustomError:
    """A validation error that carries what a person needs: found, expected and what to do."""
    return PydanticCustomError(
        "trade_fault",
        "found {found}; expected {expected}. {advice}",
        {"found": found, "expected": expected, "advice": advice},
    )


def _check_date(text: str) -> str:
    try:
        read_date(text)
    except DateUnreadable as error:
        raise fault(
            f"the date {text!r}",
            "a date such as 1955, 1955-06, 1955-06-12, 1955~, 195X or 1955/1957 "
            "(Extended Date/Time Format)",
            str(error),
        ) from error
    return text


def _check_yes_or_no(value: object) -> object:
    if isinstance(value, bool):
        return value
    if value in ("yes", "no"):
        return value == "yes"
    raise fault(repr(value), "yes or no")


def _check_count(value: object) -> object:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and value.isascii() and value.isdigit() and len(value) < 10:
        return int(value)
    raise fault(repr(value), "a whole number, in digits")


Text = Annotated[str, Field(min_length=1, max_length=4000)]
Note = Annotated[str, Field(max_length=20_000)]
LineId = Annotated[str, Field(pattern=ID_PATTERN, max_length=80)]
Position = Annotated[str, Field(pattern=POSITION_PATTERN, max_length=80)]
DateText = Annotated[str, Field(max_length=200), AfterValidator(_check_date)]
YesNo = Annotated[bool, BeforeValidator(_check_yes_or_no)]
Count = Annotated[int, BeforeValidator(_check_count)]
YesNoUnknown = Literal["yes", "no", "cannot be told"]


class Model(BaseModel):
    """Closed and frozen, as everything that is recorded or referred to."""

    # Made ready when first met: a command that only reads meets few of them.
    model_config = ConfigDict(
        extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True
    )


class Line(Model):
    """One line of a sheet, named by an id that is its own within the sheet."""

    id: LineId
    note: Note = ""
    withhold: tuple[LineId, ...] = Field(
        default=(), description="names of this line's fields that never leave the owner's copy"
    )

    @model_validator(mode="after")
    def _withheld_fields_exist(self) -> Self:
        allowed = {
            name
            for name, value in type(self).model_fields.items()
            if name not in ("id", "withhold") and value.annotation is not None
        }
        for name in self.withhold:
            if name not in allowed:
                raise fault(f"{name!r} in withhold", f"one of {', '.join(sorted(allowed))}")
        return self
