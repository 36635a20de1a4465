"""How fast are conflicts and accounts found? Run by hand, with the checkout on the path.

The network of a case is made ready and reconciled, in seconds of this process's own time: cases of
40 and of 200 assertions as the weighing is measured on, then 200 assertions that contradict one
another ever more: one false memory that every code stands against, then later codes and papers
besides, then a case in which every fifth line contradicts many others. For each it is told whether
all was found or a bound was met.

    python tests/benchmarks/bench_conflicts.py [SECONDS_A_FIGURE]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

from bench_weighing import ASSERTIONS, MAKER, line, pack, seconds_of, tell

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.costs import Costs
from ledger.reason.derive import derive
from ledger.reason.priors import fitments, suppositions
from ledger.reason.reconcile import Reconciliation, reconcile
from ledger.reason.tighten import Tightener
from ledger.record.case import Case, Recorded

MANY = 200
TELLERS = 6
Told = tuple[str, dict[str, Any]]


def misremembered(i: int) -> Told:
    """As in the usual case, but one teller of twenty says a year before every code."""
    n, which = divmod(i, 10)
    section, told = line(i)
    return section, {**told, "date": "1955" if n % 20 == 19 else "1964"} if which == 7 else told


def with_later_codes(i: int) -> Told:
    """As misremembered, but of every fifty assertions two are later codes; three are papers."""
    n, which = divmod(i, 10)
    week = (11 * i) % 40 + 1
    if (n % 5, which) == (0, 5):
        return "marks", {"position": f"pot.{i + 1}", "text": f"137-6{6 + n % 3}{week:02}"}
    if (n % 5, which) == (1, 3):
        return "marks", {"position": f"pickup.{n}", "text": f"137 66{week:02}"}
    if which == 7 and n < 3:
        return "papers", _receipt(1963 + n, n)
    return misremembered(i)


def contradictory(i: int) -> Told:
    """Every ten a code of another year, a teller or paper of another year, and half of them a picture."""
    n, which = divmod(i, 10)
    week = (11 * i) % 40 + 1
    if which == 5:
        return "marks", {"position": f"pot.{i + 1}", "text": f"137-6{3 + n % 5}{week:02}"}
    if which == 3:
        return "marks", {"position": f"pickup.{n}", "text": f"137 6{2 if n % 3 else 6}{week:02}"}
    if which == 7 and n % 2:
        return "papers", _receipt(1963 + n % 3, n)
    if which == 7:
        told = {"says": "so", "event": "completed", "date": f"{1960 + n % 3}"}
        return "testimony", {**told, "source": f"s{n % TELLERS}"}
    if which == 9 and n % 2:
        same = "no" if n % 4 == 1 else "yes"
        shown = {"position": f"pickup.{n}", "feature": "f", "value": "v", "same_as_now": same}
        seen = {"date": f"{1964 + n % 3}-06", "same_instrument": "yes"}
        return "sightings", {**seen, "shows": [shown]}
    return line(i)


def _receipt(year: int, n: int) -> dict[str, Any]:
    told = {"paper": "receipt", "says": "sold", "event": "first sold", "date": str(year)}
    return {**told, "names_this_object": "yes", "source": f"s{n % TELLERS}"}


def case_told(told: Callable[[int], Told], assertions: int) -> Case:
    """A solid-body electric of which so many things are told."""
    bench = {"id": "bench", "kind": "examination", "title": "Sitting", "date": "1990-01-05"}
    tellers = [{"id": f"s{i}", "kind": "testimony", "title": f"Teller {i}"} for i in range(TELLERS)]
    head = {"id": "bench", "kind": "solid-body-electric", "name": "B", "maker": MAKER}
    sheet: dict[str, Any] = {"sources": [bench, *tellers]}
    for i in range(assertions):
        section, each = told(i)
        sheet.setdefault(section, []).append({"id": f"l{i}", "source": "bench", **each})
    whole = {"bench_sheet": "1", "instrument": {**head, "invented": "yes"}, **sheet}
    read = BenchSheet.model_validate(whole)
    lines: dict[str, Recorded[Any]] = {}
    for section in SECTIONS:
        for each in getattr(read, section):
            lines[each.id] = Recorded(each, section, len(lines) + 2, f"{len(lines) + 2:064x}")
    return Case(read.instrument, len(lines) + 1, lines)


def reconciling(case: Case, packs: Packs) -> Callable[[], Reconciliation]:
    """The work that is measured: the network made ready, its conflicts and its accounts."""
    draft = derive(case, packs).draft
    supposed = suppositions(draft, fitments(draft))
    hinges = tuple(f"completed:{root}" for root in draft.anatomy.view.roots())

    def reconciled() -> Reconciliation:
        ready = Tightener(draft.network)
        return reconcile(ready, Costs(ready, supposed), hinges)

    return reconciled


def main(at_least: float) -> None:
    """The cases, from the usual to the most contradictory."""
    packs = Packs.of((*built_in_packs(), pack()))
    cases: tuple[tuple[str, Callable[[int], Told], int], ...] = (
        ("usual", line, ASSERTIONS),
        ("usual", line, MANY),
        ("a false memory", misremembered, MANY),
        ("later codes and papers besides", with_later_codes, MANY),
        ("contradictory throughout", contradictory, MANY),
    )
    for name, told, assertions in cases:
        work = reconciling(case_told(told, assertions), packs)
        found, took = work(), seconds_of(work, at_least)
        bound = "all" if found.is_complete else "bound met"
        more = f"{len(found.conflicts)} conflicts, {found.total:,} accounts, {bound}"
        tell(f"{assertions} assertions, {name}", f"{took * 1e3:.1f} ms", more)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 2.0)
