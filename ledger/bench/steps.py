"""The steps of an examination that belong to no one position, and the questions of an interview.

They stand in ``bench/data``. What can be read at each position is the catalogue's to say.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files as package_files
from typing import Literal, TypeVar, get_args

from pydantic import Field

from ledger.basis.modelfaults import read_model
from ledger.lines import LineId, Model, Text, YesNo

Stage = Literal["before touching", "outside", "under light", "opened", "hardware off", "left alone"]
STAGES: tuple[Stage, ...] = get_args(Stage)
M = TypeVar("M", bound=Model)
Found = Literal["mark", "feature", "measurement", "trace"]


class WorkStep(Model):
    """Something to look at or to do that no single position calls for."""

    id: LineId
    stage: Stage
    kinds: tuple[LineId, ...] = Field(default=(), description="of which kinds; none is every one")
    not_kinds: tuple[LineId, ...] = ()
    positions: tuple[LineId, ...] = Field(
        default=(), description="where it is recorded: the first that the catalogue has"
    )
    only_there: YesNo = Field(
        default=False, description="left out where the catalogue has none of the positions"
    )
    look_for: Text
    found: Found = Field(description="as what it is recorded")
    how: Text
    photograph: str = ""
    cautions: tuple[LineId, ...] = ()
    destroys: str = Field(default="", description="what the next step would destroy of it")
    is_gate: YesNo = Field(
        default=False, description="has to be recorded before anything of the stage is done"
    )

    def is_for(self, kind: str) -> bool:
        """Whether instruments of the kind need it."""
        return kind not in self.not_kinds and (not self.kinds or kind in self.kinds)


class StageWords(Model):
    """What is said at the head of a stage."""

    stage: Stage
    says: Text
    gate: str = Field(default="", description="what has to be done before it begins")


class Examination(Model):
    """The steps and the stages."""

    steps: tuple[WorkStep, ...]
    stages: tuple[StageWords, ...]


class Question(Model):
    """An open question of an interview."""

    id: LineId
    ask: Text
    anchor: YesNo = Field(default=False, description="the answer may be dated, so ask by what")


class Interview(Model):
    """The questions in their order, and what is said to whoever asks them."""

    before: Text
    questions: tuple[Question, ...]
    dates: Text
    closing: Text
    documents: Text
    custody: Text
    searches: Text
    treatment: Text


@cache
def examination() -> Examination:
    """The steps that come with the program."""
    return _read("examination.yaml", Examination)


@cache
def interview() -> Interview:
    """The questions that come with the program."""
    return _read("interview.yaml", Interview)


def _read(name: str, model: type[M]) -> M:
    content = (package_files("ledger.bench") / "data" / name).read_bytes()
    return read_model(content, name, model)
