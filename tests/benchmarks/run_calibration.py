"""Does a stated chance of eight in ten come true eight times in ten? Run by hand; it takes minutes.

Invented instruments are drawn by the simulator of tests/calibration, recorded as an examiner would,
and weighed: once by packs whose rates are those of the draw, and again by packs that are wrong. What
was stated is set beside what was so. Written anew: tests/calibration/results.json and the plot
tests/calibration/reliability.svg.

    python tests/benchmarks/run_calibration.py [CASES [CASES_WITH_WRONG_PACKS]]
"""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from types import ModuleType
from typing import Any

FOLDER = Path(__file__).parents[1] / "calibration"
SIDE, LEFT, TOP, PANEL, GAP = 230, 46, 30, 300, 40


def loaded(name: str) -> ModuleType:
    """One of the modules of the calibration, which is no package."""
    spec = importlib.util.spec_from_file_location(f"calibration_{name}", FOLDER / f"{name}.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError(name)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


sim, trial, measures = loaded("simulator"), loaded("trial_pack"), loaded("measures")
TRUE = "true packs"


def worlds() -> Iterator[tuple[str, Any, Any]]:
    """A name, the world that is drawn from, and the one that the pack states."""
    true = sim.World()
    wrong = sim.with_lags_doubled(sim.with_priors_off(true))
    yield TRUE, true, true
    yield "shares of first parts too high", true, sim.with_priors_off(true)
    yield "lags stated twice as long", true, sim.with_lags_doubled(true)
    yield "four times the slips", sim.with_slips_times(true, 4), true
    yield "all three", sim.with_slips_times(true, 4), wrong


def run(drawn: Any, stated: Any, cases: int) -> tuple[list[Any], list[Any]]:
    """Everything stated of so many specimens, and their dates."""
    packs = measures.packs_with(trial.pack_of(stated, sim))
    chances: list[Any] = []
    dates: list[Any] = []
    for seed in range(cases):
        of_case = measures.weigh(sim.draw(drawn, seed), packs, seed)
        chances += of_case[0]
        dates += of_case[1]
    return chances, dates


def summary(chances: list[Any], dates: list[Any]) -> dict[str, Any]:
    """The figures of a run."""
    found: dict[str, Any] = {"cases": len(dates)}
    for kind in sorted({each.kind for each in chances}):
        mine = [each for each in chances if each.kind == kind]
        bins = measures.bins_of(mine)
        found[kind] = {
            "stated": len(mine),
            "calibration error": round(measures.calibration_error(bins), 4),
            "ranking": round(measures.ranking(mine), 3),
            "tenths within the 99 % band": sum(each.is_within for each in bins),
            "tenths within the 99 % band of the whole curve": sum(
                each.is_on_curve for each in bins
            ),
            "tenths": [{k: round(v, 4) for k, v in asdict(each).items()} for each in bins],
        }
    inside, reported = measures.coverage(dates)
    low, high = measures.band_of_share(measures.REGION, len(dates))
    weeks = sorted(each.weeks_reported for each in dates)
    found["date"] = {
        "in the likeliest weeks that hold 95 %": round(inside, 4),
        "in the spans reported": round(reported, 4),
        "99 % band of 95 %": [round(low, 4), round(high, 4)],
        "weeks reported, median": weeks[len(weeks) // 2],
    }
    return found


# -- the plot --------------------------------------------------------------------------------------


def panel(title: str, found: dict[str, Any], place: int) -> list[str]:
    """The reliability curve of the parts, beside the line on which it should lie, with its band."""
    x0 = LEFT + place * (SIDE + GAP)

    def at(stated: float, share: float) -> str:
        return f"{x0 + stated * SIDE:.1f},{TOP + (1 - share) * SIDE:.1f}"

    bins = found["part"]["tenths"]
    lows = [min(b["low"], b["low_by_case"]) for b in bins]
    highs = [max(b["high"], b["high_by_case"]) for b in bins]
    edges = [*zip(bins, lows, strict=True), *reversed(list(zip(bins, highs, strict=True)))]
    band = " ".join(at(b["stated"], min(max(edge, 0.0), 1.0)) for b, edge in edges)
    curve = " ".join(at(b["stated"], b["found"]) for b in bins)
    lines = [
        f'<rect x="{x0}" y="{TOP}" width="{SIDE}" height="{SIDE}" fill="none" stroke="#777"/>',
        f'<polygon points="{band}" fill="#cfd8e6"/>',
        f'<polyline points="{at(0, 0)} {at(1, 1)}" stroke="#777" stroke-dasharray="4 3"/>',
        f'<polyline points="{curve}" fill="none" stroke="#7a1f1f" stroke-width="2"/>',
        *(
            f'<circle cx="{at(b["stated"], b["found"]).split(",")[0]}" '
            f'cy="{at(b["stated"], b["found"]).split(",")[1]}" r="3" fill="#7a1f1f"/>'
            for b in bins
        ),
        f'<text x="{x0}" y="{TOP - 10}">{title}</text>',
    ]
    error, date = found["part"]["calibration error"], found["date"]
    inside = date["in the likeliest weeks that hold 95 %"]
    below = (
        f"error {error:.3f}; ranking {found['part']['ranking']:.3f}",
        f"95 % of the date holds {inside:.1%}",
    )
    lines += [
        f'<text x="{x0}" y="{TOP + SIDE + 34 + 16 * i}">{text}</text>'
        for i, text in enumerate(below)
    ]
    for share in (0, 0.5, 1):
        x, y = at(share, share).split(",")
        lines.append(f'<text x="{x}" y="{TOP + SIDE + 16}" text-anchor="middle">{share:g}</text>')
        if not place:
            lines.append(f'<text x="{x0 - 8}" y="{y}" text-anchor="end">{share:g}</text>')
    return lines


def plot(runs: dict[str, dict[str, Any]]) -> str:
    """All curves side by side."""
    width = LEFT + len(runs) * (SIDE + GAP)
    height = TOP + SIDE + 64
    about = "Stated chance that a part is the first (across) and how often it was so (upwards)."
    drawn = [line for i, (name, found) in enumerate(runs.items()) for line in panel(name, found, i)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        'font-family="sans-serif" font-size="12" role="img">'
    )
    return "\n".join(
        [
            head,
            f"<title>{about}</title>",
            f'<rect width="{width}" height="{height}" fill="#fff"/>',
            *drawn,
            "</svg>",
            "",
        ]
    )


def main(cases: int, with_wrong: int) -> None:
    """Run every world, tell the figures and write them down."""
    runs: dict[str, dict[str, Any]] = {}
    for name, drawn, stated in worlds():
        found = summary(*run(drawn, stated, cases if name == TRUE else with_wrong))
        runs[name] = found
        part, date = found["part"], found["date"]
        sys.stdout.write(
            f"{name:32} {found['cases']:5} cases  error {part['calibration error']:.4f}  "
            f"tenths in band {part['tenths within the 99 % band']:2}/{len(part['tenths'])} "
            f"(of the whole curve {part['tenths within the 99 % band of the whole curve']})  "
            f"ranking {part['ranking']:.3f}  "
            f"date {date['in the likeliest weeks that hold 95 %']:.3f} "
            f"{date['99 % band of 95 %']} in {date['weeks reported, median']} weeks\n"
        )
        sys.stdout.flush()
    told = json.dumps(runs, indent=1, ensure_ascii=False)
    (FOLDER / "results.json").write_text(f"{told}\n", encoding="utf-8")
    (FOLDER / "reliability.svg").write_text(plot(runs), encoding="utf-8")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:3]]
    main(*(given + [3000, 1000][len(given) :]))
