"""The pack of a trial world: a catalogue and rows that state the world's own rates.

Nothing of the program is imported; what is written is the data of a pack file.
"""

from __future__ import annotations

from typing import Any


def pack_of(world: Any, sim: Any) -> dict[str, Any]:
    """The pack in which the rates of ``world`` stand, ranges of a tenth about each.

    Args:
        world: the rates to write down.
        sim: the simulator, for the names and years that it draws by.
    """
    about = {"source": sim.UNSOURCED, "confidence": "medium"}
    return {
        "pack": "trial",
        "title": "A trial world",
        "version": "1",
        "invented": "yes",
        "catalogues": [_catalogue(world, sim)],
        "date_codes": _codes(sim, about),
        "serial_tables": [_numbers(sim, about)],
        "timelines": _timelines(sim, about),
        "practices": [
            {"id": name, "value": value, "low": value, "high": value, "unit": "as ours", **about}
            for name, value in _practices(world).items()
        ],
        "trace_kinds": _traces(world, about),
    }


def _priors(ends: tuple[float, float]) -> list[dict[str, Any]]:
    return [
        {"years": age, "low": share * 0.9, "middle": share, "high": 1 - (1 - share) * 0.9}
        for age, share in zip((10, 40), ends, strict=True)
    ]


def _catalogue(world: Any, sim: Any) -> dict[str, Any]:
    def root(name: str) -> dict[str, Any]:
        link = {"link": "root", "priors": _priors((0.98, 0.95)), "examine": "look"}
        return {"id": name, "name": name, "lag": "lag-wood-trial", **link}

    def part(name: str, parent: str, of: str, **more: Any) -> dict[str, Any]:
        base = {"id": name, "name": name, "link": "mounted", "parent": parent, "examine": "look"}
        return {**base, "priors": _priors(world.shares[of]), **more}

    integral = {"link": "integral"}
    harness = {"assembly": "harness"}
    return {
        "kind": "trial-electric",
        "name": "trial electric",
        "source": sim.UNSOURCED,
        "anchor": "body",
        "positions": [
            root("body"),
            root("neck"),
            part("pot", "body", "pot", many="yes", **harness),
            part("capacitor", "body", "capacitor", lag="lag-slow-trial", **harness),
            part("switch", "body", "switch"),
            part("jack", "body", "jack"),
            part("pickup", "body", "pickup", many="yes"),
            part("pickup-coil", "pickup", "coil", many="yes", **integral),
            part("tuners", "neck", "tuners"),
            part("neck-plate", "body", "plate", marks_date="completed"),
            part("serial", "body", "serial", marks_date="completed", **integral),
        ],
        "unions": [{"between": ["body", "neck"], "how": "screws", "priors": _priors(world.joined)}],
    }


def _codes(sim: Any, about: dict[str, Any]) -> list[dict[str, Any]]:
    years = {"first_year": sim.CODES_FROM, "last_year": sim.CODES_TO, "used": "by scheme"}
    return [
        {
            "id": name,
            "pattern": f"{sign}(?P<year>\\d{{{figures}}})-(?P<week>\\d\\d)",
            "reading": "year and week",
            **years,
            **about,
        }
        for name, sign, figures in (("two-figures", "W", 2), ("one-figure", "V", 1))
    ]


def _numbers(sim: Any, about: dict[str, Any]) -> dict[str, Any]:
    ranges = [
        {"first": year * 1000, "last": year * 1000 + 999, "date": str(year)}
        for year in range(sim.CODES_FROM, sim.CODES_TO + 1)
    ]
    told = {**about, "source": "register of numbers"}
    return {"id": "numbers", "pattern": "N(\\d+)", "ranges": ranges, **told}


def _timelines(sim: Any, about: dict[str, Any]) -> list[dict[str, Any]]:
    found = []
    for place, feature in (("body", "routing"), ("tuners", "button")):
        for value, begins, ends in sim.KINDS:
            row = {"id": f"{feature}-{value}", "position": place, "feature": feature}
            row |= {"value": value, "overlap_days": sim.OVERLAP_DAYS, "scope": sim.SCOPE}
            row |= {"begins": begins} if begins else {}
            row |= {"ends": ends} if ends else {}
            found.append({**row, **about, "source": f"register of {feature}"})
    return found


def _practices(world: Any) -> dict[str, float]:
    return {
        "lag-component-median-weeks": world.lag_weeks["component"],
        "lag-slow-trial": world.lag_weeks["slow"],
        "lag-wood-trial": world.lag_weeks["wood"],
        "lag-component-sigma": world.lag_sigma,
        "lag-component-tail-share": world.old_share,
        "mix-service": world.mix[0],
        "mix-matching": world.mix[1],
        "mix-transplant": world.mix[2],
        "spread-matching-years": world.spread_years[0],
        "spread-transplant-years": world.spread_years[1],
        "agrees-by-chance": world.by_chance,
        "comparison-error": world.error,
        "label-allowance": world.label_days,
        "testimony-drift-years": world.drift_years[0],
        "testimony-drift-relayed-years": world.drift_years[1],
        "lag-completed-to-dispatched-weeks": world.waits_weeks[0],
        "lag-dispatched-to-sold-weeks": world.waits_weeks[1],
        "holds-medium": world.holds,
        "unaltered-root": world.unaltered,
        **{f"misreading-{name}": share for name, share in world.slip.items()},
        **{f"sound-{name}": share for name, share in world.sound.items()},
    }


def _traces(world: Any, about: dict[str, Any]) -> list[dict[str, Any]]:
    found = []
    for name, test in (("joints", world.joints), ("seat", world.seat)):
        first, *others = test
        good = [first / other for other in others]
        bad = [(1 - first) / (1 - other) for other in others]
        for outcome, ratios in (("fits", good), ("differs", bad)):
            found.append(_trace(f"{name}-{outcome}", ratios, joins=name == "joints", about=about))
            if name == "seat":
                # What shows nothing else is stated as weaker; only the strongest counts.
                weaker = [ratio**0.5 for ratio in ratios]
                found.append(_trace(f"shadow-{outcome}", weaker, joins=False, about=about))
    return found


def _trace(name: str, ratios: list[float], *, joins: bool, about: dict[str, Any]) -> dict[str, Any]:
    service, matching = ratios
    kind = {"id": name, "name": name, "joins": "yes" if joins else "no", **about}
    return {
        **kind,
        "against_service": [service, service],
        "against_matching": [matching, matching],
    }
