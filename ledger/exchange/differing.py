"""What is different between two reports on one instrument, in plain sentences?

The two may be of two moments of the record, or of one moment with something supposed otherwise.
Told first is what was done: lines added, changed and withdrawn, rows of packs changed, what is
supposed for the sake of argument. Then what follows: ends of dates that moved, states, conflicts,
leading accounts and surprises that came and went, chances that moved, each with those of the changed lines and rows
that stand in its chain.

A chain shows what a statement rests on, not what alone moved it: a line under a statement that
changed is named as being under it, never as its only cause. Conflicts are known by what cannot
all hold, accounts by what they give up, so that new numbers alone are no difference.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, Protocol, TypeVar

from ledger.exchange.chances_moved import chances_moved
from ledger.findings import (
    Account,
    Conflict,
    End,
    EventDating,
    LineText,
    PositionFinding,
    ReferenceText,
    Report,
    Surprise,
)
from ledger.reason.wording import article, counted, listing

ChangeKind = Literal[
    "line", "reference", "supposing", "end", "state", "conflict", "account", "surprise", "chance"
]
Key = TypeVar("Key")
Item = TypeVar("Item")
Findings = Iterable[str | None]


class _Named(Protocol):
    """Something of a report with an id of its own."""

    @property
    def id(self) -> str: ...


Named = TypeVar("Named", bound=_Named)

EVENT_NOUNS = {"completed": "completion", "dispatched": "dispatch", "first sold": "first sale"}
LINE, REFERENCE = "line:", "reference:"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference in a sentence.

    ``findings`` are the statements it is about, in the later report, or in the earlier one where
    it is gone. ``rests_on`` names, as premises do, the lines and rows that changed and stand
    beneath them.
    """

    kind: ChangeKind
    sentence: str
    findings: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """All differences between two reports: what was done, and what follows otherwise."""

    done: tuple[Change, ...]
    follows: tuple[Change, ...]
    names: Mapping[str, str]

    @property
    def is_empty(self) -> bool:
        """Whether nothing was done and nothing follows otherwise."""
        return not (self.done or self.follows)

    def sentences(self) -> tuple[str, ...]:
        """Everything as sentences, each with what changed beneath it."""
        return (*(each.sentence for each in self.done), *map(self.with_reasons, self.follows))

    def with_reasons(self, change: Change) -> str:
        """A change with the names of the changed lines and rows beneath it."""
        if not change.rests_on:
            return change.sentence
        names = listing(self.names.get(name, name) for name in change.rests_on)
        return f"{change.sentence} Beneath it changed: {names}."


def difference_of(before: Report, after: Report) -> Difference:
    """What is different in ``after``, in a fixed order."""
    done = (*_lines(before, after), *_references(before, after), *_supposing(before, after))
    changed = _Changed(before, after)
    follows = (
        *_ends(changed),
        *_states(changed),
        *_conflicts(changed),
        *_accounts(changed),
        *_surprises(changed),
        *_chances(changed),
    )
    return Difference(done, follows, changed.names)


# -- what was done -----------------------------------------------------------------------------


def _lines(before: Report, after: Report) -> Iterator[Change]:
    old, new = _by_id(before.lines), _by_id(after.lines)
    for name, line in new.items():
        if name not in old:
            yield Change("line", f"Added (entry {line.sequence}): {_said(line)}")
        elif _is_changed(old[name], line):
            said = f"“{_said(old[name])}” became “{_said(line)}”"
            told = said if _said(old[name]) != _said(line) else _said(line)
            yield Change("line", f"Changed (entry {line.sequence}): {told}")
    for name, line in old.items():
        if name not in new:
            yield Change("line", f"Withdrawn (it was entry {line.sequence}): {_said(line)}")


def _said(line: LineText) -> str:
    return line.sentence or line.title


def _is_changed(one: LineText, other: LineText) -> bool:
    return (one.hash, one.sentence) != (other.hash, other.sentence)


def _references(before: Report, after: Report) -> Iterator[Change]:
    old, new = _by_id(before.references), _by_id(after.references)
    for name, row in new.items():
        if name in old and old[name] != row:
            yield Change(
                "reference", f"Row {name} changed: “{_told(old[name])}” became “{_told(row)}”"
            )


def _told(row: ReferenceText) -> str:
    return f"{row.sentence} ({row.source}; confidence {row.confidence})"


def _supposing(before: Report, after: Report) -> Iterator[Change]:
    for said in after.supposing:
        if said not in before.supposing:
            yield Change("supposing", f"Supposed for the sake of argument: {said}")
    for said in before.supposing:
        if said not in after.supposing:
            yield Change("supposing", f"No longer supposed: {said}")


# -- what follows otherwise --------------------------------------------------------------------


class _Changed:
    """The two reports with the lines and rows that differ, and what stands on them."""

    def __init__(self, before: Report, after: Report) -> None:
        self.before, self.after = before, after
        old, new = _by_id(before.lines), _by_id(after.lines)
        lines = [
            n for n in (*new, *old) if n not in old or n not in new or _is_changed(old[n], new[n])
        ]
        rows, new_rows = _by_id(before.references), _by_id(after.references)
        other = [n for n in new_rows if n in rows and rows[n] != new_rows[n]]
        self._leaves = dict.fromkeys(
            (*(f"{LINE}{name}" for name in lines), *(f"{REFERENCE}{name}" for name in other))
        )
        titles = {f"{LINE}{n}": line.title for n, line in (old | new).items()}
        self.names = titles | {f"{REFERENCE}{name}": f"the row {name}" for name in other}

    def beneath(self, *, was: Findings = (), now: Findings = ()) -> tuple[str, ...]:
        """The changed lines and rows in the chains of findings of the earlier and later report."""
        found = leaves_beneath(self.before, (name for name in was if name))
        found |= leaves_beneath(self.after, (name for name in now if name))
        return tuple(name for name in self._leaves if name in found)


def leaves_beneath(report: Report, findings: Iterable[str]) -> frozenset[str]:
    """The lines and rows at the bottom of the reported chains, as premises name them."""
    premises = {finding.id: finding.premises for finding in report.findings}
    seen: set[str] = set()
    waiting = list(findings)
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting.extend(premises.get(name, ()))
    own = f"{LINE}{report.instrument}/"
    return frozenset(
        f"{LINE}{name.removeprefix(own)}" if name.startswith(own) else name
        for name in seen
        if name.startswith((LINE, REFERENCE))
    )


def _ends(changed: _Changed) -> Iterator[Change]:
    for event, noun in EVENT_NOUNS.items():
        old, new = (_leading(report, event) for report in (changed.before, changed.after))
        for side in ("not before", "not after"):
            was, now = _hull(old, side), _hull(new, side)
            if was != now:
                steps_was = [_end(dating, side).finding for dating in old]
                steps_now = [_end(dating, side).finding for dating in new]
                named = steps_was if now is None else steps_now
                findings = tuple(dict.fromkeys(name for name in named if name))
                rests = changed.beneath(was=steps_was, now=steps_now)
                yield Change("end", _moved(noun, side, was, now), findings, rests)


def _leading(report: Report, event: str) -> tuple[EventDating, ...]:
    leading = {account.id for account in report.accounts if account.is_leading}
    return tuple(
        dating
        for dating in report.datings
        if dating.event == event and (dating.account in leading or not leading)
    )


def _end(dating: EventDating, side: str) -> End:
    return dating.not_before if side == "not before" else dating.not_after


def _hull(datings: tuple[EventDating, ...], side: str) -> str | None:
    """The widest end over the leading accounts; None where one of them leaves it open."""
    dates = [_end(dating, side).date for dating in datings]
    if not dates or None in dates:
        return None
    known = [date for date in dates if date is not None]
    return min(known) if side == "not before" else max(known)


def _moved(noun: str, side: str, was: str | None, now: str | None) -> str:
    edge = "earliest" if side == "not before" else "latest"
    if was is None:
        return f"The {noun} is now {side} {now}; before, nothing closed that side."
    if now is None:
        return f"Nothing closes the {edge} side of the {noun} any more; it was {side} {was}."
    way = "later" if now > was else "earlier"
    return f"The {edge} day of the {noun} moves {way}, from {was} to {now}."


def _states(changed: _Changed) -> Iterator[Change]:
    old = {position.position: position for position in changed.before.positions}
    for position in changed.after.positions:
        was = old.pop(position.position, None)
        label = "not examined" if was is None else was.label
        if label != position.label:
            earlier = None if was is None else was.finding
            rests = changed.beneath(was=(earlier,), now=(position.finding,))
            sentence = f"{article(position.name)}: was {label}, is now {position.label}."
            yield Change("state", sentence, (position.finding,), rests)
    for gone in old.values():
        if gone.states != ("not examined",):
            yield _no_longer_told(changed, gone)


def _no_longer_told(changed: _Changed, gone: PositionFinding) -> Change:
    sentence = f"{article(gone.name)}: was {gone.label}, is no longer told of."
    return Change("state", sentence, (gone.finding,), changed.beneath(was=(gone.finding,)))


def _conflicts(changed: _Changed) -> Iterator[Change]:
    def key(conflict: Conflict) -> frozenset[str]:
        return frozenset(conflict.suppositions)

    came, went = _came_and_went(changed.before.conflicts, changed.after.conflicts, key)
    for each in came:
        rests = changed.beneath(now=(each.id,))
        yield Change(
            "conflict",
            f"Not all of this can be so, it now appears: {_clash(changed.after, each)}",
            (each.id,),
            rests,
        )
    for each in went:
        rests = changed.beneath(was=(each.id,))
        yield Change(
            "conflict",
            f"Nothing forbids any more that all of this is so: {_clash(changed.before, each)}",
            (each.id,),
            rests,
        )


def _clash(report: Report, conflict: Conflict) -> str:
    """What cannot all hold, in words; the chains that clash are told by the report itself."""
    said = {each.id: each.sentence.rstrip(".") for each in report.suppositions}
    return f"{'; '.join(said.get(name, name) for name in conflict.suppositions)}."


def _accounts(changed: _Changed) -> Iterator[Change]:
    def key(account: Account) -> frozenset[str]:
        return frozenset(account.gives_up)

    before, after = changed.before.accounts, changed.after.accounts
    came, went = _came_and_went(
        [each for each in before if each.is_leading],
        [each for each in after if each.is_leading],
        key,
    )
    known, still = {key(each) for each in before}, {key(each) for each in after}
    for each in came:
        new = "" if key(each) in known else " (it is new)"
        yield Change("account", f"Now among the leading accounts{new}: {each.sentence}", (each.id,))
    for each in went:
        gone = "" if key(each) in still else " (it is gone)"
        yield Change(
            "account", f"No longer among the leading accounts{gone}: {each.sentence}", (each.id,)
        )
    others = [
        f"{counted(len(found), 'account')} {word}"
        for found, word in ((still - known, "came"), (known - still, "went"))
        if found
    ]
    if others:
        said = f"Of the accounts that are listed, {listing(others)}."
        yield Change("account", said)


def _surprises(changed: _Changed) -> Iterator[Change]:
    old = {surprise.id: surprise for surprise in changed.before.surprises}
    for surprise in changed.after.surprises:
        said = _turned(old.pop(surprise.id, None), surprise)
        if said:
            rests = changed.beneath(now=(surprise.id,))
            yield Change("surprise", f"{said}: {surprise.sentence}", (surprise.id,), rests)
    for gone in old.values():
        if gone.is_open:
            rests = changed.beneath(was=(gone.id,))
            yield Change("surprise", f"No longer a surprise: {gone.sentence}", (gone.id,), rests)


def _turned(was: Surprise | None, now: Surprise) -> str:
    """What became of a surprise; empty where nothing did."""
    if now.is_open:
        if was is None:
            return "New surprise, which nothing explains"
        return "" if was.is_open else "Open again, for want of what explained it"
    if was is None or was.is_open:
        return f"Explained by {now.explained_by}"
    return (
        ""
        if was.explained_by == now.explained_by
        else f"Explained otherwise, by {now.explained_by}"
    )


def _chances(changed: _Changed) -> Iterator[Change]:
    for moved in chances_moved(changed.before.chances, changed.after.chances):
        findings = (moved.now,) if moved.now else ()
        rests = changed.beneath(was=(moved.was,), now=(moved.now,))
        yield Change("chance", moved.sentence, findings, rests)


def _came_and_went(
    before: Iterable[Item], after: Iterable[Item], key: Callable[[Item], Key]
) -> tuple[list[Item], list[Item]]:
    old, new = {key(each): each for each in before}, {key(each): each for each in after}
    came = [each for name, each in new.items() if name not in old]
    return came, [each for name, each in old.items() if name not in new]


def _by_id(items: Iterable[Named]) -> dict[str, Named]:
    return {item.id: item for item in items}
