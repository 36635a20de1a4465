"""What would follow, were something otherwise?

Question answered: the report on a case in which a supposition is settled one way or the other, a
line, a source or a reference row is left out, or a mark is read otherwise.

Method: the case and the packs are changed, the suppositions are settled, and the one door to
reasoning is gone through again. A supposition that is given to hold cannot be given up, one that
is given not to hold carries nothing.

Cost: that of a report.

What it does not do: say whether it is so. Where what is supposed cannot be, the report says why
and concludes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ledger.errors import UnknownName
from ledger.findings import Report
from ledger.knowledge.packs import Packs
from ledger.models import Source
from ledger.reason.reasoner import reason
from ledger.reason.supposing import Supposing, case_supposing, in_words, packs_supposing
from ledger.record.case import Case

__all__ = ["Supposing", "leaving_out", "suppose", "supposition_of"]


def suppose(case: Case, packs: Packs, what: Supposing) -> Report:
    """The report on the case as it would be, with what is supposed told in ``supposing``.

    Raises:
        UnknownName: something that is supposed is not there.
    """
    found = reason(case_supposing(case, what), packs_supposing(packs, what), what.given)
    known = tuple(each.id for each in found.suppositions)
    for name in (*what.holds, *what.fails):
        if name not in known:
            raise UnknownName("supposition", name, known)
    readings = tuple(each.id for each in found.readings)
    for name in what.readings:
        if name not in readings:
            raise UnknownName("reading", name, readings)
    lines = {name: f"“{recorded.id}”" for name, recorded in case.lines.items()}
    said = {each.id: each.sentence for each in found.suppositions}
    return replace(found, supposing=in_words(what, lines, said))


def supposition_of(report: Report, position: str) -> str:
    """The supposition that what is in the position is the first there.

    A part fitted with others as one stands and falls with them; of a root it is that it belongs to
    the rest, of the anchor that it is as the works made it.

    Raises:
        UnknownName: the report has no such position.
    """
    found = next((each for each in report.positions if each.position == position), None)
    if found is None:
        raise UnknownName("position", position, [each.position for each in report.positions])
    if found.link != "root":
        return f"first-fitted:{found.fitting_event or position}"
    unions = (each for each in report.suppositions if each.kind == "joined")
    joined = [each.id for each in unions if position == each.subject.split("+")[-1]]
    return joined[0] if joined else f"as-made:{position}"


def leaving_out(case: Case, names: Iterable[str]) -> Supposing:
    """What is supposed when lines, sources and rows of packs are left out, each by its own name."""
    lines: list[str] = []
    sources: list[str] = []
    rows: list[str] = []
    for name in names:
        recorded = case.lines.get(name)
        if "/" in name:
            rows.append(name)
        elif recorded is not None and isinstance(recorded.line, Source):
            sources.append(name)
        else:
            lines.append(name)
    return Supposing(
        without_lines=tuple(lines), without_sources=tuple(sources), without_rows=tuple(rows)
    )
