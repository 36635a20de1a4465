"""How fast is the weighing? Ratios within one run; run by hand, with the checkout on the path.

Three things are measured, all in seconds of this process's own time. First, exact sums over the
network of a case, against pyAgrum on the same network: with the network built from the same tables,
and inference alone; both must agree to a thousand-millionth. Second, cases a second for the usual
report on a case of 40 assertions, and where the time goes. Third, how the weighing grows with the
assertions and with the length of the axis, drawn as tests/benchmarks/weighing_growth.svg. Last comes
what stands in the way: the cells that have to be filled and summed, and what a cell costs here. A batch is of
many different cases; numpy is kept to one thread.

    OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_weighing.py [SECONDS_A_FIGURE]
"""

from __future__ import annotations

import gc
import sys
import warnings
from collections.abc import Callable
from math import prod
from pathlib import Path
from time import process_time
from typing import Any

import numpy as np

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.derive import derive
from ledger.reason.factors import Factor
from ledger.reason.in_full import reason_in_full
from ledger.reason.posteriors import tell_chances
from ledger.reason.priors import fitments, suppositions
from ledger.reason.reasoner import reason
from ledger.reason.sums import Weighing
from ledger.reason.weighing import Scales, scales_of
from ledger.record.case import Case, Recorded
from ledger.references import PackFile

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import pyagrum as gum

ASSERTIONS = 40
SIZES = (10, 20, 40, 80, 160)
YEARS = (20, 40, 80, 160)
LOOKED_AT = 1990
MAKER = "Bench"
UNSOURCED = {"source": "common practice, no source (a benchmark)", "confidence": "medium"}
CLOSE = 1e-9
BATCH = 30


# -- a case of so many assertions ------------------------------------------------------------------


def pack() -> PackFile:
    """Timelines for the features of the cases, two to a source."""
    rows = [
        {
            "id": f"row-{i}",
            "position": place,
            "feature": f"kind {i}",
            "value": "a",
            "begins": "1958",
            "ends": "1966",
            "overlap_days": 180,
            "scope": {"maker": MAKER},
            "source": f"register {i // 2}",
            "confidence": "medium",
        }
        for i, place in enumerate(("body", "tuners", "jack", "bridge", "body", "switch"))
    ]
    head = {"pack": "bench", "title": "Bench", "version": "1", "invented": "yes"}
    return PackFile.model_validate({**head, "timelines": rows})


def line(i: int, variant: int = 0) -> tuple[str, dict[str, Any]]:
    """The ``i``-th assertion: of ten, four codes, two traces, a feature and three told.

    Weeks, years, legibility and the number of the first pot are those of the ``variant``.
    """
    n, which = divmod(i, 10)
    i, year = i + 3 * variant, (n + variant // 3) % 3
    pot, week = f"pot.{i + 1}", (11 * i + 7 * variant) % 40 + 1
    legibility = ("clear", "worn", "partial")[(i + variant // 2) % 3]
    code = {"text": f"{137 + variant // 5}-6{year}{week:02}", "legibility": legibility}
    kinds: tuple[tuple[str, dict[str, Any]], ...] = (
        ("marks", {"position": pot, **code}),
        ("marks", {"position": pot, **code}),
        ("traces", {"positions": [f"pot.{i}", f"pot.{i - 1}"], "trace": "undisturbed-joints"}),
        ("marks", {"position": f"pickup.{n}", **code, "text": f"137 62{week:02}"}),
        (
            "features",
            {
                "position": ("body", "tuners", "jack", "bridge", "body", "switch")[n % 6],
                "feature": f"kind {n % 6}",
                "value": "a",
            },
        ),
        ("marks", {"position": "neck" if n == 0 else pot, **code}),
        ("traces", {"positions": [f"pickup.{n}"], "trace": "single-footprint"}),
        ("testimony", {"says": "so", "event": "completed", "date": "1962", "source": f"s{n % 4}"}),
        ("works", {"action": "replaced", "positions": [f"pickup.{n}"], "source": f"s{n % 4}"}),
        (
            "sightings",
            {
                "date": "1975-06",
                "same_instrument": "yes",
                "shows": [{"position": "jack", "feature": "f", "value": "v", "same_as_now": "yes"}],
            },
        ),
    )
    return kinds[which]


def case_of(
    assertions: int, looked_at: int = LOOKED_AT, *, roots: int = 2, variant: int = 0
) -> Case:
    """A solid-body electric with so many assertions."""
    sources: list[dict[str, Any]] = [
        {"id": "bench", "kind": "examination", "title": "Sitting", "date": f"{looked_at}-01-05"},
        *({"id": f"s{i}", "kind": "testimony", "title": f"Teller {i}"} for i in range(4)),
    ]
    sheet: dict[str, Any] = {
        "bench_sheet": "1",
        "instrument": {
            "id": "bench",
            "kind": "solid-body-electric",
            "name": "B",
            "maker": MAKER,
            "invented": "yes",
        },
        "sources": sources,
    }
    for i in range(assertions):
        section, told = line(i, variant)
        if roots == 1 and told.get("position") in ("neck", "tuners"):
            told = {**told, "position": "body"}
        sheet.setdefault(section, []).append({"id": f"l{i}", "source": "bench", **told})
    read = BenchSheet.model_validate(sheet)
    lines: dict[str, Recorded[Any]] = {}
    for section in SECTIONS:
        for each in getattr(read, section):
            lines[each.id] = Recorded(each, section, len(lines) + 2, f"{len(lines) + 2:064x}")
    return Case(read.instrument, len(lines) + 1, lines)


def scales(case: Case, packs: Packs) -> Scales:
    """What the case gives to be weighed."""
    derived = derive(case, packs)
    found = fitments(derived.draft)
    supposed = suppositions(derived.draft, found)
    told = scales_of(derived.draft, derived.readings, supposed, found)
    if told is None:
        raise ValueError("nothing to weigh")
    return told


def weighed(found: Scales) -> dict[str, Any]:
    """Every chance there is."""
    outcome = found.on()
    return {"weeks": outcome.weeks(), **{n: outcome.chances(n) for n in found.evidence.sizes}}


# -- time ------------------------------------------------------------------------------------------


def seconds_of(work: Callable[[], object], at_least: float) -> float:
    """The time of one run, the shortest of several that together take so long."""
    work()
    best, spent = float("inf"), 0.0
    while spent < at_least:
        started = process_time()
        work()
        took = process_time() - started
        best, spent = min(best, took), spent + max(took, 1e-6)
    return best


def tell(name: str, figure: str, more: str = "") -> None:
    """One line of the result."""
    sys.stdout.write(f"{name:58} {figure:>14}  {more}\n")
    sys.stdout.flush()


# -- against pyAgrum ---------------------------------------------------------------------------------

Network = tuple[dict[str, int], list[tuple[tuple[str, ...], Any]], int]


def network_of(found: Scales) -> Network:
    """Sizes, tables of chances with the date last, and the length of the axis."""
    tables = [(f.variables, np.exp(f.table)) for f in found.base.values()]
    return dict(found.evidence.sizes), tables, found.evidence.axis.weeks


def by_ours(network: Network) -> dict[str, Any]:
    """All chances by our elimination, from the tables on."""
    sizes, tables, weeks = network
    with np.errstate(divide="ignore"):
        whole = Weighing(sizes, [Factor(names, np.log(t)) for names, t in tables], weeks)
    return {"weeks": whole.weights(), **{name: whole.chances(name) for name in sizes}}


def built_by_pyagrum(network: Network) -> tuple[Any, dict[str, int]]:
    """The same network there: each table the chance of a thing that was seen."""
    sizes, tables, weeks = network
    net = gum.BayesNet()
    for name, size in {**sizes, "weeks": weeks}.items():
        net.add(gum.LabelizedVariable(name, name, size))
        net.cpt(name).fillWith(1 / size)
    seen: dict[str, int] = {}
    for i, (names, table) in enumerate(tables):
        child = f"seen{i}"
        parents = [*names, "weeks"] if table.shape[-1] > 1 else [*names]
        net.add(gum.LabelizedVariable(child, child, 2))
        for parent in parents:
            net.addArc(parent, child)
        chance = (table if table.shape[-1] > 1 else table[..., 0]) / max(table.max(), 1.0)
        both = np.stack([1 - chance, chance], axis=-1)
        order = [[*parents, child].index(name) for name in reversed(net.cpt(child).names)]
        net.cpt(child)[:] = np.ascontiguousarray(np.transpose(both, order))
        seen[child] = 1
    return net, seen


def inferred_by_pyagrum(built: tuple[Any, dict[str, int]], names: list[str]) -> dict[str, Any]:
    """All chances by its exact inference."""
    net, seen = built
    engine = gum.LazyPropagation(net)
    engine.setEvidence(seen)
    engine.makeInference()
    return {name: engine.posterior(name).toarray() for name in names}


def against_pyagrum(packs: Packs, at_least: float) -> None:
    """Both on the network of a case with one root, so that the network is the same one."""
    network = network_of(scales(case_of(ASSERTIONS, roots=1), packs))
    sizes, tables, weeks = network
    names = ["weeks", *sizes]
    gum.setNumberOfThreads(1)
    built = built_by_pyagrum(network)
    ours, theirs = by_ours(network), inferred_by_pyagrum(built, names)
    off = max(float(np.abs(ours[name] - theirs[name]).max()) for name in names)
    if off > CLOSE:
        raise ValueError(f"the two differ by {off}")
    tell("network", f"{len(sizes)} choices", f"{len(tables)} tables, {weeks} weeks, off {off:.1e}")
    own = seconds_of(lambda: by_ours(network), at_least)
    whole = seconds_of(lambda: inferred_by_pyagrum(built_by_pyagrum(network), names), at_least)
    alone = seconds_of(lambda: inferred_by_pyagrum(built, names), at_least)
    tell("our sums, from the tables on", f"{own * 1e3:.2f} ms")
    tell(
        "pyAgrum, network built and inferred",
        f"{whole * 1e3:.2f} ms",
        f"{whole / own:.1f} times ours",
    )
    tell("pyAgrum, inference alone", f"{alone * 1e3:.2f} ms", f"{alone / own:.1f} times ours")


# -- the usual report and growth -----------------------------------------------------------------------


def cases_a_second(packs: Packs, at_least: float) -> None:
    """The usual report on a case of 40 assertions, and its parts."""
    case = case_of(ASSERTIONS)
    whole = seconds_of(lambda: reason(case, packs), at_least)
    derived = seconds_of(lambda: derive(case, packs), at_least)
    gathered = seconds_of(lambda: scales(case, packs), at_least)
    found = scales(case, packs)
    summed = seconds_of(lambda: weighed(Scales.of(found.evidence)), at_least)
    tell("usual report, 40 assertions", f"{1 / whole:.1f} a second", f"{whole * 1e3:.1f} ms each")
    tell("  of it: rules", f"{derived * 1e3:.1f} ms")
    tell("  of it: evidence gathered", f"{(gathered - derived) * 1e3:.1f} ms")
    tell("  of it: tables built and all chances summed", f"{summed * 1e3:.1f} ms")
    tell("  weighing alone", f"{1 / (gathered - derived + summed):.1f} a second")
    limit(found, summed)


def in_a_batch(packs: Packs) -> None:
    """The rates over many different cases of 40 assertions, usual and full, and where the time goes.

    Rubbish is collected between the cases, as a command that ends after one never does it.
    """
    cases = [case_of(ASSERTIONS, LOOKED_AT - variant, variant=variant) for variant in range(BATCH)]
    reason_in_full(cases[0], packs)
    spent = dict.fromkeys(("derive", "usual", "full"), 0.0)
    spent["gather"] = spent["sum"] = 0.0

    def timed(name: str, work: Callable[[], Any]) -> Any:
        gc.collect()
        gc.disable()
        started = process_time()
        found = work()
        spent[name] += (process_time() - started) / len(cases)
        gc.enable()
        return found

    for case in cases:
        timed("usual", lambda case=case: reason(case, packs))
        timed("full", lambda case=case: reason_in_full(case, packs))
        timed("derive", lambda case=case: derive(case, packs))
        found = timed("gather", lambda case=case: scales(case, packs))
        timed("sum", lambda found=found: told_of(found))
    tell(f"batch of {BATCH} cases, usual", f"{1 / spent['usual']:.1f} a second", "goal 300")
    tell(f"batch of {BATCH} cases, full", f"{1 / spent['full']:.1f} a second", "goal 50")
    gathered = spent["gather"] - spent["derive"]
    left = spent["usual"] - spent["derive"] - gathered - spent["sum"]
    for name, took in (
        ("rules", spent["derive"]),
        ("evidence gathered, tables built", gathered),
        ("all chances of dates, parts and suppositions, told", spent["sum"]),
        ("conflicts, accounts with their chances, ends, states, words", left),
        ("in full: worth of lines, ranges, advice", spent["full"] - spent["usual"]),
    ):
        tell(f"  of it: {name}", f"{took * 1e3:.1f} ms")


def told_of(found: Scales) -> object:
    """Every chance there is with the range over its own prior, in words."""
    return tell_chances(found, found.on())


def limit(found: Scales, summed: float) -> None:
    """What has to be done at the least: every cell of every table filled, and summed once."""
    weeks = found.evidence.axis.weeks
    cells = sum(factor.table.size for factor in found.base.values())
    states = sum(
        prod(found.evidence.sizes[name] for name in factor.variables) * weeks
        for factor in found.base.values()
    )
    table = np.random.default_rng(1).uniform(-5, 0, cells)
    once = seconds_of(lambda: np.log(np.exp(table)).sum(), 0.2)
    tell("cells of all tables", f"{cells:,}", f"{states:,} states and weeks they speak of")
    tell(
        "one exponential and one logarithm of each",
        f"{once * 1e3:.2f} ms",
        f"{summed / once:.1f} times that",
    )


def growth(packs: Packs, at_least: float) -> None:
    """The weighing alone, by assertions and by the length of the axis."""
    by_size = [(n, weighing_seconds(case_of(n), packs, at_least)) for n in SIZES]
    by_years = [
        (y, weighing_seconds(case_of(ASSERTIONS, 1965 + y), packs, at_least)) for y in YEARS
    ]
    for count, (took, weeks) in by_size:
        tell(f"{count} assertions", f"{took * 1e3:.1f} ms", f"{weeks} weeks")
    for years, (took, weeks) in by_years:
        tell(f"looked at {years} years after", f"{took * 1e3:.1f} ms", f"{weeks} weeks")
    drawn = drawing(
        ("assertions", [(n, took) for n, (took, _) in by_size]),
        ("weeks on the axis", [(weeks, took) for _, (took, weeks) in by_years]),
    )
    Path(__file__).with_name("weighing_growth.svg").write_text(drawn, encoding="utf-8")


def weighing_seconds(case: Case, packs: Packs, at_least: float) -> tuple[float, int]:
    """Tables built and summed, and how many weeks there were."""
    found = scales(case, packs)
    took = seconds_of(lambda: weighed(Scales.of(found.evidence)), at_least)
    return took, found.evidence.axis.weeks


def drawing(*panels: tuple[str, list[tuple[int, float]]]) -> str:
    """Milliseconds upwards from nothing, one panel for each thing that grows."""
    side, left, top = 260, 56, 24
    lines: list[str] = []
    for place, (name, points) in enumerate(panels):
        x0 = left + place * (side + left)
        right, high = max(x for x, _ in points), max(y for _, y in points)
        at = [(x0 + x / right * side, top + side - y / high * side) for x, y in points]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in at)
        lines += [
            f'<rect x="{x0}" y="{top}" width="{side}" height="{side}" fill="none" stroke="#777"/>',
            f'<polyline points="{path}" fill="none" stroke="#1f3f7a" stroke-width="2"/>',
            *(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="#1f3f7a"/>' for x, y in at),
            f'<text x="{x0 + side}" y="{top + side + 16}" text-anchor="end">{right:,} {name}</text>',
            f'<text x="{x0}" y="{top + side + 16}">0</text>',
            f'<text x="{x0 - 4}" y="{top + 10}" text-anchor="end">{high * 1e3:.0f} ms</text>',
        ]
    width, height = left + len(panels) * (side + left), top + side + 28
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        'font-family="sans-serif" font-size="12" role="img">'
    )
    about = "<title>Time of the weighing by assertions and by weeks on the axis</title>"
    return "\n".join(
        [
            head,
            about,
            f'<rect width="{width}" height="{height}" fill="#fff"/>',
            *lines,
            "</svg>",
            "",
        ]
    )


def main(at_least: float) -> None:
    """Everything, in this order."""
    packs = Packs.of((*built_in_packs(), pack()))
    against_pyagrum(packs, at_least)
    cases_a_second(packs, at_least)
    in_a_batch(packs)
    growth(packs, at_least)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 2.0)
