"""What the weighing concludes, as triples: the chances of dates, of parts and of suppositions.

The weeks of a distribution, the weights of lines and what sways them stay with the report.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.exchange.dates_rdf import spans
from ledger.exchange.iris import Names, Triple, day, real, spelt, text
from ledger.findings import Report


def chances(names: Names, report: Report) -> Iterator[Triple]:
    """Every chance that the report tells; nothing where nothing was weighed."""
    own, found = report.instrument, report.chances
    if found is None:
        return
    here = names.part_of(own, "report", str(report.sequence))
    yield here, spelt("wm:weighingNote"), text(found.note)
    for dated in found.dates:
        here = names.finding(own, dated.finding)
        yield here, spelt("wm:event"), text(dated.event)
        yield here, spelt("wm:share"), real(dated.share)
        yield here, spelt("wm:median"), day(dated.median)
        yield from spans(here, "wm:likelyIn", dated.region)
    for part in found.parts:
        here = names.finding(own, part.finding)
        yield here, spelt("wm:verdict"), text(part.verdict)
        yield from _between(here, part.chance, part.low, part.high)
        yield here, spelt("wm:chanceOfService"), real(part.service)
        yield here, spelt("wm:chanceOfPeriod"), real(part.period)
        yield here, spelt("wm:chanceOfTransplant"), real(part.transplant)
        for position in part.positions:
            yield here, spelt("wm:ofPosition"), names.part_of(own, "position", position)
    for supposed in found.suppositions:
        here = names.part_of(own, "supposition", supposed.supposition)
        yield from _between(here, supposed.chance, supposed.low, supposed.high)


def _between(here: str, chance: float, low: float, high: float) -> Iterator[Triple]:
    yield here, spelt("wm:chance"), real(chance)
    yield here, spelt("wm:chanceLow"), real(low)
    yield here, spelt("wm:chanceHigh"), real(high)
