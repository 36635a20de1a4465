"""What is recorded of a dispute: a challenge to what the record or the report says, and answers.

A challenge names what it doubts, so that what stands without it can be worked out. It is no
evidence: whoever raises it and brings an observation records that as a line of its own. A
challenge that turns out right is answered by an erratum; what was said before stays in the
ledger.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ledger.lines import Count, DateText, Line, LineId, Note, Position, Text, fault

SuppositionName = Annotated[
    str, Field(pattern=r"^(first-fitted|as-made|sound|holds|joined):\S+$", max_length=300)
]
FindingName = Annotated[str, Field(pattern=r"^\S+$", max_length=300)]
RowName = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9._-]*/[a-z0-9][a-z0-9._-]*$")]


class Challenge(Line):
    """A doubt that somebody raises, what it is about, and what they say instead.

    At least one thing must be named: a line, source, position, part, supposition, finding, row
    of a pack, or a mark that they read otherwise.
    """

    by: str = Field(default="", description="who raises it; withheld unless raised in public")
    raised: Literal["in private", "in public"] = Field(
        default="in private", description="in public: in print or under the name as a trader"
    )
    date: DateText | None = None
    says: Text = Field(description="the doubt, in their own words")
    instead: Note = Field(default="", description="what they say instead, in their own words")
    lines: tuple[LineId, ...] = Field(default=(), description="lines that they doubt")
    sources: tuple[LineId, ...] = Field(
        default=(), description="sources that they doubt, with all that these say"
    )
    positions: tuple[Position, ...] = Field(
        default=(), description="parts that they say did not leave the works with the instrument"
    )
    parts: tuple[LineId, ...] = Field(default=(), description="the same of parts now removed")
    suppositions: tuple[SuppositionName, ...] = Field(
        default=(), description="suppositions, as the report names them, that they say do not hold"
    )
    insists: tuple[SuppositionName, ...] = Field(
        default=(), description="suppositions that they say must hold"
    )
    findings: tuple[FindingName, ...] = Field(
        default=(), description="statements of the report that they dispute, by their ids"
    )
    references: tuple[RowName, ...] = Field(
        default=(), description="rows of packs that they doubt, as pack/row"
    )
    mark: LineId | None = Field(default=None, description="a mark that they read otherwise")
    mark_reads: str = Field(default="", description="how they read it, glyph for glyph")
    exhibits: tuple[LineId, ...] = Field(default=(), description="the letter or print itself")

    @model_validator(mode="after")
    def _doubts_something(self) -> Self:
        if (self.mark is None) != (not self.mark_reads):
            found = "mark_reads without mark" if self.mark is None else "mark without mark_reads"
            raise fault(found, "both or neither")
        named = (
            self.lines,
            self.sources,
            self.positions,
            self.parts,
            self.suppositions,
            self.insists,
            self.findings,
            self.references,
            self.mark,
        )
        if not any(named):
            raise fault(
                "nothing that is doubted",
                "at least one of lines, sources, positions, parts, suppositions, insists, "
                "findings, references and mark",
            )
        return self


class Answer(Line):
    """What was answered to a challenge, on what it rests and what it concedes.

    With ``corrects`` it is an erratum: it says what had been said and is not so. Who was told of
    it is always withheld.
    """

    challenge: LineId
    by: str = Field(default="", description="who answers")
    date: DateText
    says: Text
    lines: tuple[LineId, ...] = Field(default=(), description="lines that the answer rests on")
    findings: tuple[FindingName, ...] = Field(
        default=(), description="statements of the report that it rests on, by their ids"
    )
    concedes: tuple[Text, ...] = Field(default=(), description="each thing that is conceded")
    at_entry: Count | None = Field(
        default=None, description="the last entry of the ledger when the answer was written"
    )
    corrects: Note = Field(default="", description="what had been said and is withdrawn")
    told: Note = Field(default="", description="who was told of the erratum; always withheld")
    exhibits: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _tells_of_an_erratum_only(self) -> Self:
        if self.told and not self.corrects:
            raise fault("told without corrects", "corrects: what had been said and is withdrawn")
        return self
