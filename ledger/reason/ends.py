"""Between which days does an event lie, and what holds each end in place?

Question answered: for an event under one account, the earliest and latest day, the fewest
suppositions and premises on which each rests, where each end would move if one premise were
left out, and which days between are possible.

Method: the tightened network gives the ends and a way to them; suppositions are left out one by
one as long as the end stays (a minimal support, in the fixed order of their names); a premise is
left out by leaving out every constraint that stands on it.

Cost: one tightening for each supposition and each premise on the way.

What it does not do: choose among accounts, or state an end without its partner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.basis.percentages import percent
from ledger.basis.spans import Spans, iso_date, spans_as_text
from ledger.findings import End, EventDating, Further, Shift
from ledger.reason.anatomy import EVENTS
from ledger.reason.costs import bits_of
from ledger.reason.draft import Because, Draft
from ledger.reason.network import Bound, Relation, Supposition
from ledger.reason.row_wording import row_name
from ledger.reason.tighten import Tightener
from ledger.reason.wording import line_name, listing

NONE_KNOWN = {"not before": "no lower bound known", "not after": "no upper bound known"}
STOCK_RULE = "stock is used up"


@dataclass(frozen=True, slots=True)
class Leaves:
    """The lines and rows that every constraint stands on, by its index in the network."""

    of: tuple[frozenset[str], ...]

    def resting_on(self, leaf: str) -> tuple[int, ...]:
        """The constraints that fall when the leaf is left out."""
        return tuple(i for i, leaves in enumerate(self.of) if leaf in leaves)


def leaves_of(draft: Draft) -> Leaves:
    """For every bound and relation, the lines and rows at the bottom of its support."""
    known: dict[str, frozenset[str]] = {}

    def unfold(name: str) -> frozenset[str]:
        if name.startswith(("line:", "reference:")):
            return frozenset((name,))
        if name not in known:
            known[name] = frozenset()
            finding = draft.findings.get(name)
            if finding is not None:
                known[name] = frozenset(x for p in finding.premises for x in unfold(p))
        return known[name]

    constraints = _dated(draft)
    return Leaves(tuple(unfold(constraint.id) for constraint in constraints))


def _dated(draft: Draft) -> tuple[Bound | Relation, ...]:
    """The constraints that move days, in the order of their indices."""
    found: list[Bound | Relation] = [*draft.network.bounds]
    found.extend(draft.network.relations)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Bench:
    """What is needed to find the ends of events: the draft, the ready network, its leaves.

    ``improbable`` masks the suppositions on which no end may rest unsaid; ``chances`` has what all
    evidence comes to for those that were weighed.
    """

    draft: Draft
    ready: Tightener
    leaves: Leaves
    suppositions: Mapping[str, Supposition]
    improbable: int
    chances: Mapping[str, float]

    def presumed(self, given_up: int) -> int:
        """What is taken to hold under an account."""
        return self.ready.everything & ~given_up & ~self.improbable


def date_events(bench: Bench, account: str, given_up: int) -> tuple[EventDating, ...]:
    """Completed, dispatched and first sold under the account, each with both its ends."""
    return tuple(_date_event(bench, event, account, given_up) for event in EVENTS)


def _date_event(bench: Bench, event: str, account: str, given_up: int) -> EventDating:
    moment = bench.draft.anatomy.moment_of(event)
    kept = bench.presumed(given_up)
    besides = bench.improbable & ~given_up
    ends = [_end(bench, event, account, (kept, besides), side) for side in NONE_KNOWN]
    # Only completion has gaps worth telling; of the later events the ends are told.
    possible = bench.ready.possible(kept, moment) if event == "completed" else None
    if possible is None:
        low, high = bench.ready.earliest(moment, kept), bench.ready.latest(moment, kept)
        possible = Spans.between(low, high)
    return EventDating(
        event=event,  # type: ignore[arg-type]  # EVENTS holds exactly the three
        account=account,
        not_before=ends[0],
        not_after=ends[1],
        possible=spans_as_text(possible),
    )


def _day(
    bench: Bench, moment: str, kept: int, side: str, without: tuple[int, ...] = ()
) -> int | None:
    if side == "not before":
        return bench.ready.earliest(moment, kept, without)
    return bench.ready.latest(moment, kept, without)


def _end(bench: Bench, event: str, account: str, masks: tuple[int, int], side: str) -> End:
    kept = masks[0]
    moment = bench.draft.anatomy.moment_of(event)
    day = _day(bench, moment, kept, side)
    further = _further(bench, moment, masks, side)
    if day is None:
        sentence = f"{event.capitalize()}: {NONE_KNOWN[side]}."
        return End(side, None, None, sentence, (), (), further)  # type: ignore[arg-type]  # the two keys
    fewest = _fewest(bench, moment, kept, side, day)
    found = bench.ready.lows(fewest) if side == "not before" else bench.ready.highs(fewest)
    constraints = _dated(bench.draft)
    chain = tuple(dict.fromkeys(constraints[i].id for i in bench.ready.steps_to(found, moment)))
    supposed = bench.ready.named(fewest)
    shifts = _shifts(bench, moment, kept, side, chain)
    sentence = f"{event.capitalize()} {side} {iso_date(day)}"
    if supposed:
        said = listing(bench.draft.doubts[name].sentence.rstrip(".") for name in supposed)
        sentence += f", supposing that {said}"
    stock = any(
        constraint.id in chain and constraint.rule == STOCK_RULE for constraint in constraints
    )
    if stock:
        sentence += "; nothing closes this side but the limit that practice puts on stock"
    name = f"{event.replace(' ', '-')}.{side.replace(' ', '-')}.{account}"
    because = Because("earliest and latest", f"{sentence}.", chain, supposed)
    return End(
        side,  # type: ignore[arg-type]  # the two keys
        iso_date(day),
        bench.draft.finding(name, "date", because),
        because.sentence,
        supposed,
        shifts,
        further,
    )


def _further(bench: Bench, moment: str, masks: tuple[int, int], side: str) -> tuple[Further, ...]:
    """Where the end would stand with each improbable supposition besides, if it would move."""
    kept, besides = masks
    now = _day(bench, moment, kept, side)
    found: list[Further] = []
    for bit in bits_of(besides):
        if bench.ready.conflict_within(kept | bit) is not None:
            continue
        day = _day(bench, moment, kept | bit, side)
        if day is None or day == now:
            continue
        (name,) = bench.ready.named(bit)
        weighed = bench.chances.get(name)
        why = (
            f"to which practice gives a chance of {percent(bench.suppositions[name].prior)}"
            if weighed is None
            else f"which all evidence together gives a chance of {percent(weighed)}"
        )
        said = bench.draft.doubts[name].sentence.rstrip(".")
        sentence = f"If also {said}, {why}: {side} {iso_date(day)}."
        found.append(Further(name, iso_date(day), sentence))
    return tuple(found)


def _fewest(bench: Bench, moment: str, kept: int, side: str, day: int) -> int:
    """The fewest suppositions that hold the end where it is, none of which can be spared."""
    found = bench.ready.lows(kept) if side == "not before" else bench.ready.highs(kept)
    mask = found.masks[bench.ready.moments.index(moment)]
    for bit in bits_of(mask):
        if _day(bench, moment, mask & ~bit, side) == day:
            mask &= ~bit
    return mask


def _shifts(
    bench: Bench, moment: str, kept: int, side: str, chain: tuple[str, ...]
) -> tuple[Shift, ...]:
    """Where the end would stand without each line and row it rests on."""
    indices = {constraint.id: i for i, constraint in enumerate(_dated(bench.draft))}
    leaves = sorted({leaf for name in chain for leaf in bench.leaves.of[indices[name]]})
    now = _day(bench, moment, kept, side)
    found: list[Shift] = []
    for leaf in leaves:
        day = _day(bench, moment, kept, side, bench.leaves.resting_on(leaf))
        if day == now:
            continue
        text = None if day is None else iso_date(day)
        moved = f"falls back to {text}" if text else f"falls away: {NONE_KNOWN[side]}"
        found.append(
            Shift(leaf, text, f"Leave out {_leaf_name(bench, leaf)} and the bound {moved}.")
        )
    return tuple(found)


def _leaf_name(bench: Bench, leaf: str) -> str:
    kind, _, name = leaf.partition(":")
    if kind == "line":
        return line_name(bench.draft.case.lines[name], bench.draft.anatomy.name)
    return row_name(name)


def rule_out_readings(
    bench: Bench, made: Mapping[str, tuple[str, tuple[tuple[str, Spans], ...]]], given_up: int
) -> dict[str, tuple[bool, str]]:
    """For every reading: whether it can stand under the account, and why not where it cannot.

    ``made`` gives for each line its moment and the readings with their days.
    """
    kept = bench.presumed(given_up)
    found: dict[str, tuple[bool, str]] = {}
    for line, (moment, readings) in made.items():
        if bench.ready.mask([f"sound:{line}"]) & given_up:
            continue
        for name, days in readings:
            against = bench.ready.conflict_with(kept, moment, days)
            if against is None:
                found[name] = (True, "Agrees with the rest")
                continue
            fewest = _fewest_against(bench, moment, days, against)
            said = [bench.draft.doubts[x].sentence.rstrip(".") for x in bench.ready.named(fewest)]
            found[name] = (False, f"Cannot stand while {listing(said)}")
    return found


def _fewest_against(bench: Bench, moment: str, days: Spans, mask: int) -> int:
    for bit in bits_of(mask):
        if bench.ready.conflict_with(mask & ~bit, moment, days) is not None:
            mask &= ~bit
    return mask


def hull_in_words(datings: tuple[EventDating, ...]) -> str:
    """The widest ends over several accounts, as words that always name both sides."""
    firsts = [dating.not_before.date for dating in datings]
    lasts = [dating.not_after.date for dating in datings]
    low = (
        NONE_KNOWN["not before"] if None in firsts else f"not before {min(x for x in firsts if x)}"
    )
    high = NONE_KNOWN["not after"] if None in lasts else f"not after {max(x for x in lasts if x)}"
    return f"{low}; {high}"
