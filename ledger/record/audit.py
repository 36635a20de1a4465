"""What a verification comes to: step by step, with every fault listed.

An audit is a value: what was looked at, in a fixed order, each step with the faults that it
found and with what it could not tell. Whoever audits mends nothing and writes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from ledger.record.checkpoints import Signed


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it was recorded: where, what was expected and what is there."""

    where: str
    expected: str
    found: str

    def __str__(self) -> str:
        return f"{self.where}: expected {self.expected}; found {self.found}"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of an audit. ``says`` is what it looked at, ``notes`` what it cannot tell."""

    name: str
    says: str
    faults: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Audit:
    """Every step that was taken."""

    subject: str
    steps: tuple[Step, ...]

    @property
    def is_whole(self) -> bool:
        """Whether no step found a fault."""
        return not self.faults

    @property
    def faults(self) -> tuple[Finding, ...]:
        """The faults of all steps."""
        return tuple(fault for step in self.steps for fault in step.faults)


@dataclass(frozen=True, slots=True)
class Trust:
    """What is trusted beforehand: a public key, and checkpoints that were kept elsewhere."""

    public_key: str = ""
    kept: tuple[Signed, ...] = ()


def unreadable(name: str, where: str, error: object) -> Step:
    """The step that could not be taken, because what it looks at cannot be read."""
    return Step(name, "It could not be read.", (Finding(where, "what can be read", str(error)),))
