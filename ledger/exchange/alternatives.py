"""Which other chains of bounds and relations would hold an end of a date where it is?

The report shows one chain under each end. Where another chain gives the very same day, the end
does not fall with the first, and whoever asks what an end stands on has to know it.

Method: the bounds and relations among the findings are the network that the reasoner tightened;
it is put together again from the report alone. A minimal chain is one that holds the end and of
which no member can be spared. Every other minimal chain lacks some member of those known, so
each member in turn is left out and the end asked again (the search tree of Reiter, "A theory of
diagnosis from first principles", Artificial Intelligence 32, 1987, here for supports).

Where the network does not give back the end that the report tells, nothing is claimed and the
report's chain is the only one told. At most ``MOST_CHAINS`` are told for an end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.basis.spans import Spans, day_number, iso_date
from ledger.findings import End, Finding, Report
from ledger.reason.network import Bound, Network, Relation
from ledger.reason.tighten import Tightener

MOST_CHAINS = 24

Chain = tuple[str, ...]


def other_chains(report: Report) -> Mapping[str, tuple[Chain, ...]]:
    """For each end of a date the minimal chains that hold it, but for the one the report shows.

    By the id of the end's finding, in the order of the report; an end with no other chain is left
    out. A chain is told by the ids of its bounds and relations in the order of the report.
    """
    network = network_of(report)
    ready = Tightener(network)
    presumed = ready.mask(each.id for each in report.suppositions if each.is_presumed)
    given_up = {account.id: ready.mask(account.gives_up) for account in report.accounts}
    found: dict[str, tuple[Chain, ...]] = {}
    for dating in report.datings:
        for end in (dating.not_before, dating.not_after):
            asked = _asked(report, end, ready, presumed & ~given_up.get(dating.account, 0))
            if asked is None or end.finding is None:
                continue
            others = tuple(c for c in _chains(asked) if set(c) != set(asked.reported))
            if others:
                found[end.finding] = others
    return found


def network_of(report: Report) -> Network:
    """The bounds and relations of the report's findings, as the reasoner had them."""
    network = Network()
    for finding in report.findings:
        own = (finding.rule, finding.sentence, finding.premises, finding.suppositions)
        if finding.kind == "bound" and finding.moment is not None:
            spans = Spans.of(
                part
                for first, last in finding.days
                for part in Spans.between(_day(first), _day(last))
            )
            network.bounds.append(Bound(finding.id, finding.moment, spans, *own))
        network.relations.extend(
            Relation(finding.id, order.earlier, order.later, order.gap_days, *own)
            for order in finding.orders
        )
    return network


def _day(text: str | None) -> int | None:
    return None if text is None else day_number(*(int(part) for part in text.split("-")))


@dataclass(frozen=True, slots=True)
class _Asked:
    """An end, the moment it is of, what may hold it, and the chain that the report shows."""

    ready: Tightener
    moment: str
    side: str
    date: str
    kept: int
    reported: Chain

    def names(self) -> tuple[str, ...]:
        """The ids of the bounds and relations, by their indices in the network."""
        network = self.ready.network
        return (*(each.id for each in network.bounds), *(each.id for each in network.relations))

    def chain_without(self, left_out: frozenset[str]) -> Chain | None:
        """A chain that holds the end without those constraints; None where it moves."""
        names = self.names()
        without = [i for i, name in enumerate(names) if name in left_out]
        is_low = self.side == "not before"
        passed = (self.ready.lows if is_low else self.ready.highs)(self.kept, without)
        ask = self.ready.earliest if is_low else self.ready.latest
        day = ask(self.moment, self.kept, without)
        if passed.conflict is not None or day is None or iso_date(day) != self.date:
            return None
        steps = self.ready.steps_to(passed, self.moment)
        return tuple(dict.fromkeys(names[i] for i in steps))


def _asked(report: Report, end: End, ready: Tightener, kept: int) -> _Asked | None:
    """The end as a question to the network; None where the network does not give it back."""
    by_id: Mapping[str, Finding] = {finding.id: finding for finding in report.findings}
    told = by_id.get(end.finding or "")
    if told is None or end.date is None or not told.premises:
        return None
    moment = _moment(by_id, told, end.side)
    if moment is None:
        return None
    asked = _Asked(ready, moment, end.side, end.date, kept, told.premises)
    return asked if asked.chain_without(frozenset()) is not None else None


def _moment(by_id: Mapping[str, Finding], told: Finding, side: str) -> str | None:
    """The moment whose end is told: the one at which the reported chain arrives."""
    at: str | None = None
    for name in told.premises:
        step = by_id.get(name)
        if step is None:
            return None
        if step.moment is not None:
            # A chain can bring along other bounds on the moment where it stands.
            at = step.moment
        for order in step.orders:
            leaves, arrives = (order.earlier, order.later)
            if side == "not after":
                leaves, arrives = arrives, leaves
            if at == leaves:
                at = arrives
                break
    return at


def _chains(asked: _Asked) -> tuple[Chain, ...]:
    """The minimal chains, in the order found; the reported one, made minimal, comes first."""
    found: list[Chain] = []
    waiting: list[frozenset[str]] = [frozenset()]
    tried = set(waiting)
    while waiting and len(found) < MOST_CHAINS:
        left_out = waiting.pop(0)
        known = next((chain for chain in found if not left_out & set(chain)), None)
        chain = known or _minimal(asked, left_out)
        if chain is None:
            continue
        if known is None:
            found.append(chain)
        for name in chain:
            wider = left_out | {name}
            if wider not in tried:
                tried.add(wider)
                waiting.append(wider)
    return tuple(found)


def _minimal(asked: _Asked, left_out: frozenset[str]) -> Chain | None:
    """A chain without those constraints of which no member can be spared, or None."""
    chain = asked.chain_without(left_out)
    if chain is None:
        return None
    everything = frozenset(asked.names())
    for name in chain:
        rest = everything - (frozenset(chain) - {name})
        if asked.chain_without(rest) is not None:
            chain = tuple(each for each in chain if each != name)
    return chain
