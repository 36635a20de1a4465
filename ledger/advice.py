"""What to examine next: what each examination may show, what that would change, and what it costs.

Plain data, a part of the report. Bits are the expected loss of uncertainty in units of one even
choice, by the model that the weighing states: one bit is as much as to learn the fall of a coin.
A chance is foreseen, before anything is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Reach = Literal["look", "open", "remove", "alter"]


@dataclass(frozen=True, slots=True)
class Foreseen:
    """One way in which an examination may turn out, how likely it is, and what it would change."""

    outcome: str
    chance: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Advice:
    """An examination that has not been made, and how much it is expected to tell.

    ``date_bits`` are of the week of completion, ``state_bits`` of how each part came there, summed
    over the parts. ``loses`` says what evidence the way to it can cost; ``is_to_be_had`` is False
    for what nobody can order up, such as a dated paper. ``rows`` are the rows of packs that what
    is foreseen rests on.
    """

    id: str
    positions: tuple[str, ...]
    reach: Reach
    what: str
    loses: str
    date_bits: float
    state_bits: float
    outcomes: tuple[Foreseen, ...]
    sentence: str
    is_to_be_had: bool = True
    cautions: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """The least that would settle a question, or that nothing known here would.

    ``chance`` is how likely it is that the examinations settle it. ``is_cheapest`` says that every
    cheaper choice among ``tried`` examinations was gone through; else they were taken one after
    another, the least invasive first.
    """

    question: str
    examinations: tuple[str, ...]
    chance: float
    chance_now: float
    would_settle: bool
    is_cheapest: bool
    tried: int
    sentence: str
