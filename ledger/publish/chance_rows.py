"""The rows of the site database on chances, and on what was gathered beside a report."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from ledger.chances import Chances, DateChance, PartChance
from ledger.findings import Report
from ledger.publish.gathered import Gathered

Row = dict[str, Any]
Rows = dict[str, list[Row]]

BEFORE_THE_CHANCE, BEFORE_THE_VALUE = ": chance", " is taken as"


def part_name(part: PartChance) -> str:
    """What the part is called: the beginning of its own sentence."""
    return part.sentence.partition(BEFORE_THE_CHANCE)[0]


def about_words(chances: Chances, about: str) -> str:
    """What a weight is the weight for, in a few words.

    Taken from the chance it is about; the name itself where there is none.
    """
    for date in chances.dates:
        if date.finding == about:
            return f"{date.event} in its likeliest weeks"
    for part in chances.parts:
        if part.finding == about:
            name = part_name(part)
            return f"{name[:1].lower()}{name[1:]} left the works with it"
    return about


def chance_rows(report: Report) -> Rows:
    """Every chance, weight and sway of the report, by the name of the table."""
    chances = report.chances
    if chances is None:
        return {}
    mine = {"instrument": report.instrument}
    is_possible = "yes" if chances.is_possible else "no"
    return {
        "weighing": [{**mine, "is_possible": is_possible, "note": chances.note}],
        **_date_rows(report, chances),
        "part_chance": [
            {**mine, **_part(part), "finding": _finding(report, part.finding)}
            for part in chances.parts
        ],
        "supposition_chance": [
            {
                **mine,
                "supposition": each.supposition,
                "chance": each.chance,
                "low": each.low,
                "high": each.high,
                "sentence": each.sentence,
            }
            for each in chances.suppositions
        ],
        **_weight_rows(report, chances),
        "sway": [
            {
                **mine,
                "value": sway.value,
                "name": sway.sentence.partition(BEFORE_THE_VALUE)[0],
                "low": sway.low,
                "middle": sway.middle,
                "high": sway.high,
                "about": _finding(report, sway.about),
                "chance_at_low": sway.chance_at_low,
                "chance_at_high": sway.chance_at_high,
                "sentence": sway.sentence,
            }
            for sway in chances.sways
        ],
    }


def _finding(report: Report, name: str) -> str | None:
    """The key of the finding, where the report has it."""
    is_known = any(finding.id == name for finding in report.findings)
    return f"{report.instrument}/{name}" if is_known else None


def _date_rows(report: Report, chances: Chances) -> Rows:
    rows: Rows = {"date_chance": [], "week_chance": [], "year_chance": []}
    for date in chances.dates:
        if not date.region:
            continue
        key = f"{report.instrument}/{date.event}"
        mine = {"instrument": report.instrument}
        finding = _finding(report, date.finding)
        rows["date_chance"].append({"key": key, **mine, **_date(date), "finding": finding})
        rows["week_chance"] += [
            {
                "date_chance": key,
                "begins": week.day,
                "chance": week.chance,
            }
            for week in date.weeks
        ]
        years: defaultdict[str, float] = defaultdict(float)
        for week in date.weeks:
            years[week.day[:4]] += week.chance
        rows["year_chance"] += [
            {**mine, "event": date.event, "year": year, "chance": chance}
            for year, chance in years.items()
        ]
    return rows


def _weight_rows(report: Report, chances: Chances) -> Rows:
    rows: Rows = {"line_weight": [], "weighed_line": []}
    lines = {line.id for line in report.lines}
    for number, weight in enumerate(chances.weights, start=1):
        key = f"{report.instrument}/weight-{number}"
        rows["line_weight"].append(
            {
                "key": key,
                "instrument": report.instrument,
                "about": _finding(report, weight.about),
                "about_words": about_words(chances, weight.about),
                "ratio": weight.ratio,
                "words": weight.words,
                "lines": len(weight.lines),
                "sentence": weight.sentence,
            }
        )
        rows["weighed_line"] += [
            {"line_weight": key, "line": f"{report.instrument}/{line}"}
            for line in weight.lines
            if line in lines
        ]
    return rows


def _date(date: DateChance) -> Row:
    widest = date.widest or (None, None)
    return {
        "event": date.event,
        "share": date.share,
        "begins": date.region[0][0],
        "ends": date.region[-1][1],
        "runs": len(date.region),
        "median": date.median,
        "widest_begins": widest[0],
        "widest_ends": widest[1],
        "sentence": date.sentence,
    }


def _part(part: PartChance) -> Row:
    widest = part.widest or (None, None)
    return {
        "event": part.event,
        "name": part_name(part),
        "positions": ", ".join(part.positions),
        "chance": part.chance,
        "low": part.low,
        "high": part.high,
        "widest_low": widest[0],
        "widest_high": widest[1],
        "service": part.service,
        "period": part.period,
        "transplant": part.transplant,
        "verdict": part.verdict,
        "sentence": part.sentence,
    }


def gathered_rows(report: Report, gathered: Gathered) -> Rows:
    """What falls without what, what is decisive, and how the record grew."""
    findings = {finding.id for finding in report.findings}
    sources = {line.id for line in report.lines if line.section == "sources"}
    references = {row.id for row in report.references}
    rows: Rows = {"withdrawal": [], "decisive": [], "recording": [], "recording_change": []}
    for each in gathered.withdrawals:
        is_source = each.kind == "source"
        if each.finding in findings and each.without in (sources if is_source else references):
            rows["withdrawal"].append(
                {
                    "instrument": report.instrument,
                    "source": f"{report.instrument}/{each.without}" if is_source else None,
                    "reference": None if is_source else each.without,
                    "finding": f"{report.instrument}/{each.finding}",
                    "effect": each.effect,
                }
            )
    rows["decisive"] = [
        {"finding": f"{report.instrument}/{name}", "ground": ground}
        for name, grounds in gathered.decisive.items()
        if name in findings
        for ground in grounds
    ]
    for told in gathered.recordings:
        key = f"{report.instrument}/{told.first_entry}"
        rows["recording"].append(
            {
                "key": key,
                "instrument": report.instrument,
                "first_entry": told.first_entry,
                "last_entry": told.last_entry,
                "recorded_at": told.recorded_at,
                "sentence": told.sentence,
                "is_compared": "yes" if told.is_compared else "no",
            }
        )
        rows["recording_change"] += [
            {"recording": key, "sentence": sentence} for sentence in told.changes
        ]
    return rows
