"""Searches of registers of stolen property: where, when, asked with what, and the answer.

A search is an act of whoever keeps the record, not a claim about the instrument. That a register
had no entry on one day says nothing of other registers and other days, and never that a thing was
not stolen.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from ledger.lines import DateText, Line, LineId, Note, Text


class RegisterSearch(Line):
    """One question put to one register, and what came back.

    With which particulars it was asked, and the number of the answer, are always withheld.
    """

    register_name: Text = Field(description="which register, or which office keeps it")
    date: DateText = Field(description="when it was asked")
    asked: Text = Field(description="with which particulars: number, maker, description, picture")
    result: Literal["no match found", "possible match", "match found", "no answer"] = Field(
        description="no match found is not: not stolen"
    )
    answer: Note = Field(default="", description="the answer in its own words")
    reference: str = Field(default="", description="the number of the search or of the answer")
    by: str = Field(default="", description="who asked")
    exhibits: tuple[LineId, ...] = ()
