"""The sections of an instrument's page on how likely it all is, in the report's own figures.

Nothing is weighed here. What is told of a chance is the chance, its range and the verdict, which
the report gives; a case that has not been weighed says nothing of chances.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from ledger.publish.chance_contexts import (
    ChancesShown,
    PartChanceShown,
    SupposedChanceShown,
    WeightGroupShown,
    WeightShown,
)
from ledger.publish.chance_drawing import chance_bar
from ledger.publish.chance_rows import BEFORE_THE_CHANCE
from ledger.publish.evidence import LINE, Evidence
from ledger.publish.page_contexts import Said
from ledger.publish.percentages import percent, percent_range
from ledger.publish.svg import anchor
from ledger.publish.time_drawing import days_between, days_words

COMPLETED: Final = "completed"
NEITHER: Final = "no support either way"
NOT_THE_FIRST: Final = "likelier not the first"
WAYS: Final = (
    ("service", "in ordinary repair"),
    ("period", "chosen to match"),
    ("transplant", "with others from another example"),
)
LEAST_WAY: Final = 0.1
WITHOUT: Final = "Without "

Told = Mapping[str, Any]


def chances(evidence: Evidence) -> ChancesShown | None:
    """The weighing as the page shows it; None where the report holds none."""
    found = evidence.report.get("chances")
    if not found:
        return None
    weights = _weights(evidence, found)
    places = {position["position"] for position in evidence.report["positions"]}
    return {
        "note": found["note"],
        "is_possible": found["is_possible"],
        "headline": headline(evidence, found),
        "dates": [_linked(evidence, date) for date in found["dates"]],
        "parts": [
            part_chance(evidence, part)
            for part in found["parts"]
            if not places.intersection(part["positions"])
        ],
        "suppositions": _suppositions(found["suppositions"]),
        "weights": weights,
        "weights_count": sum(len(group["weights"]) for group in weights),
        "sways": [
            {"sentence": sway["sentence"], "href": _href(evidence, sway["about"])}
            for sway in found["sways"]
        ],
    }


def headline(evidence: Evidence, found: Told) -> Said:
    """One sentence of how likely the date of completion is, or why that is not told."""
    date = next((each for each in found["dates"] if each["event"] == COMPLETED), None)
    if not found["is_possible"] or date is None or not date["region"]:
        return {"sentence": found["note"], "href": ""}
    runs = " or ".join(days_between(*span) for span in date["region"])
    widest = ""
    if date["widest"]:
        outer = days_words(*date["widest"])
        widest = f" With any one starting value of practice at either end of its range: {outer}."
    return {
        "sentence": f"How likely: with all the evidence weighed, {percent(date['share'])} of the "
        f"chance puts its completion {runs}.{widest}",
        "href": _href(evidence, date["finding"]),
    }


def likeliest_weeks(report: Told) -> str:
    """The likeliest weeks of completion in a few words; empty where nothing has been weighed."""
    found = report.get("chances")
    for date in found["dates"] if found and found["is_possible"] else ():
        if date["event"] == COMPLETED and date["region"]:
            runs = " or ".join(days_words(*span) for span in date["region"])
            return f"{percent(date['share'])} of the chance: {runs}"
    return ""


def chances_by_position(evidence: Evidence) -> dict[str, PartChanceShown]:
    """What is told of the chance of each position's part, once of parts fitted as one."""
    found = evidence.report.get("chances")
    order = [position["position"] for position in evidence.report["positions"]]
    shown: dict[str, PartChanceShown] = {}
    for part in found["parts"] if found else ():
        places = sorted((each for each in part["positions"] if each in order), key=order.index)
        for position in places:
            told = part_chance(evidence, part)
            if position != places[0]:
                told["as_position"] = anchor("position", places[0])
            shown[position] = told
    return shown


def part_chance(evidence: Evidence, part: Told) -> PartChanceShown:
    """The chance of one part, or of parts fitted as one, with its range and verdict."""
    low, high = part["widest"] or (part["low"], part["high"])
    chance, reach = percent(part["chance"]), percent_range(low, high)
    several = len(part["positions"])
    verdict = part["verdict"] + (f" (the {several} as one)" if several > 1 else "")
    return {
        "name": part["sentence"].partition(BEFORE_THE_CHANCE)[0],
        "href": _href(evidence, part["finding"]),
        "chance": chance,
        "range": reach,
        "verdict": verdict,
        "ways": _ways(part),
        "as_position": "",
        "bar_svg": chance_bar(part["chance"], low, high, f"chance {chance}, range {reach}"),
    }


def _ways(part: Told) -> str:
    if part["verdict"] != NOT_THE_FIRST:
        return ""
    likely = sorted(
        ((part[name], words) for name, words in WAYS if part[name] >= LEAST_WAY), reverse=True
    )
    return "; ".join(f"{words} {percent(share)}" for share, words in likely)


def _suppositions(found: Iterable[Told]) -> list[SupposedChanceShown]:
    """What else has to hold, the least likely first."""
    ordered = sorted(found, key=lambda each: (each["chance"], each["supposition"]))
    shown: list[SupposedChanceShown] = []
    for each in ordered:
        low, high = each["widest"] or (each["low"], each["high"])
        shown.append({"sentence": each["sentence"], "range": percent_range(low, high)})
    return shown


def _weights(evidence: Evidence, found: Told) -> list[WeightGroupShown]:
    """What each line is worth, by the statement it is worth something for."""
    grouped: dict[str, list[Told]] = {}
    for weight in found["weights"]:
        grouped.setdefault(weight["about"], []).append(weight)
    return [
        {
            "about": {"sentence": _about(found, about), "href": _href(evidence, about)},
            "weights": [_weight(evidence, weight) for weight in weights],
        }
        for about, weights in grouped.items()
    ]


def _about(found: Told, about: str) -> str:
    for date in found["dates"]:
        if date["finding"] == about:
            runs = " or ".join(days_between(*span) for span in date["region"])
            return f"It was {date['event']} {runs}"
    for part in found["parts"]:
        if part["finding"] == about:
            return f"{part['sentence'].partition(BEFORE_THE_CHANCE)[0]} left the works with it"
    return about


def _weight(evidence: Evidence, weight: Told) -> WeightShown:
    ratio, words = weight["ratio"], weight["words"]
    is_for = ratio >= 1
    turned = ratio if is_for else 1 / max(ratio, 1e-300)
    figure = f"{turned:,.3g}" if turned < 1000 else f"{turned:,.0f}"
    side = "for" if is_for else "against"
    _, without, tail = weight["sentence"].rpartition(WITHOUT)
    return {
        "lines": [
            {
                "sentence": evidence.line_title(line),
                "href": evidence.href_of(f"{LINE}{line}"),
            }
            for line in weight["lines"]
        ],
        "is_together": len(weight["lines"]) > 1,
        "ratio": f"{figure} to 1 {side}",
        "words": words if words == NEITHER else f"{words} support {side} it",
        "without": f"{without}{tail}" if without else "",
        "is_for": is_for,
    }


def _linked(evidence: Evidence, told: Told) -> Said:
    return {"sentence": told["sentence"], "href": _href(evidence, told["finding"])}


def _href(evidence: Evidence, finding: str) -> str:
    return evidence.href_of(finding) if finding in evidence.findings else ""
