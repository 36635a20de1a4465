"""What is gathered about an instrument beside its report, before anything is published.

It is worked out by whoever publishes and handed over as plain data: what publishes draws and
writes it and concludes nothing of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

NOTHING_SEEN: Mapping[str, str] = MappingProxyType({})
NOTHING: Mapping[str, tuple[str, ...]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """What becomes of one statement when a source or a row of a pack is withdrawn.

    Without a source, ``falls`` is what would be otherwise and ``weakened`` what would be said all
    the same; of a row, ``falls`` is what needs it as it is said and ``weakened`` what has another
    chain as well.
    ``without`` is the id of the source's line, or the full id of the row.
    """

    kind: Literal["source", "reference"]
    without: str
    finding: str
    effect: Literal["falls", "weakened"]


@dataclass(frozen=True, slots=True)
class RecordingTold:
    """What was recorded at one time, and what followed otherwise from then on.

    ``is_compared`` is False where the conclusions before and after were not worked out.
    """

    first_entry: int
    last_entry: int
    recorded_at: str
    sentence: str
    is_compared: bool
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Gathered:
    """All of it for one instrument.

    ``decisive`` names for a finding the lines, rows and suppositions without any one of which it
    falls, as ``line:id``, ``reference:pack/row`` and ``supposition:id``. ``seen`` says of a mark
    how legible it is recorded to be, and of a line that nothing was read which nothing it is.
    """

    withdrawals: tuple[Withdrawal, ...] = ()
    decisive: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: NOTHING)
    recordings: tuple[RecordingTold, ...] = ()
    seen: Mapping[str, str] = field(default_factory=lambda: NOTHING_SEEN)
