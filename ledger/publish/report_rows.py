"""The rows of the site database that one report gives, table by table."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from ledger.findings import EventDating, Finding, LineText, Report, SuppositionText
from ledger.publish.challenge_rows import challenge_rows
from ledger.publish.gathered import NOTHING_SEEN
from ledger.publish.originality import NO_SUCH_PART
from ledger.publish.passage_rows import passage_rows, said

Row = dict[str, Any]
Rows = Mapping[str, list[Row]]

_SHA256 = re.compile(r"[0-9a-f]{64}")


def rows_of(report: Report, seen: Mapping[str, str] = NOTHING_SEEN) -> Rows:
    """Every row the report gives, by the name of its table.

    ``seen`` is what was gathered of how marks could be read, by line.
    """
    rows: defaultdict[str, list[Row]] = defaultdict(list)
    rows["instrument"] = [_instrument(report)]
    rows["instrument_pack"] = [
        {"instrument": report.instrument, "pack": pack.id} for pack in report.packs
    ]
    _add_lines(report, rows, seen)
    _add_findings(report, rows)
    _add_suppositions(report, rows)
    _add_datings(report, rows)
    _add_positions(report, rows)
    _add_open_matters(report, rows)
    rows["passage"] = passage_rows(report)
    for table, found in challenge_rows(report).items():
        rows[table] += found
    return rows


def exhibit_captions(report: Report) -> dict[str, str]:
    """The caption of each exhibit the report's lines hold, by its SHA-256."""
    return {
        name: line.title if line.title == line.sentence else line.sentence or line.title
        for line in report.lines
        if line.section == "exhibits"
        for name in line.exhibits
        if _SHA256.fullmatch(name)
    }


def yes_no(answer: bool) -> str:  # noqa: FBT001 - the answer is all there is
    """``yes`` or ``no``, as it stands in every table."""
    return "yes" if answer else "no"


def _key(report: Report, name: str) -> str:
    return f"{report.instrument}/{name}"


def _maybe_key(report: Report, name: str | None) -> str | None:
    return None if name is None else _key(report, name)


def _instrument(report: Report) -> Row:
    leading = {account.id for account in report.accounts if account.is_leading}
    completed = [
        dating
        for dating in report.datings
        if dating.event == "completed" and (dating.account in leading or not leading)
    ]
    lower = [dating.not_before.date for dating in completed]
    upper = [dating.not_after.date for dating in completed]
    return {
        "id": report.instrument,
        "name": report.name,
        "kind": report.kind,
        "kind_name": report.kind_name,
        "maker": report.maker,
        "model": report.model,
        "invented": yes_no(report.invented),
        "conclusion": said(report, report.conclusion),
        "completed_not_before": min((day for day in lower if day), default=None)
        if all(lower)
        else None,
        "completed_not_after": max((day for day in upper if day), default=None)
        if all(upper)
        else None,
        "leading_accounts": len(leading),
        "conflicts": sum(not each.is_recorded_change for each in report.conflicts),
        "recorded_changes": sum(each.is_recorded_change for each in report.conflicts),
        "open_surprises": sum(surprise.is_open for surprise in report.surprises),
        "open_questions": len(report.questions),
        "positions": len(report.positions),
        "positions_first_fitted": sum(
            position.states == ("first-fitted",) for position in report.positions
        ),
        "sequence": report.sequence,
    }


def _add_lines(report: Report, rows: defaultdict[str, list[Row]], seen: Mapping[str, str]) -> None:
    held = {line.id: line.exhibits for line in report.lines if line.section == "exhibits"}
    sources = {line.id for line in report.lines if line.section == "sources"}
    for line in report.lines:
        key = _key(report, line.id)
        shared = {"key": key, "instrument": report.instrument, "id": line.id}
        said = {"title": line.title, "sentence": line.sentence}
        rows["line"].append(
            {
                **shared,
                "section": line.section,
                **said,
                "seen": seen.get(line.id),
                "source": _maybe_key(report, line.source if line.source in sources else None),
                "sequence": line.sequence,
                "hash": line.hash,
            }
        )
        if line.section == "sources":
            rows["source"].append({**shared, **said})
        rows["line_position"] += [{"line": key, "position": name} for name in line.positions]
        rows["line_exhibit"] += [{"line": key, "exhibit": name} for name in _files(line, held)]


def _files(line: LineText, held: Mapping[str, tuple[str, ...]]) -> list[str]:
    """The SHA-256 of each exhibit of a line, whether it names the file or the exhibit's line."""
    found: list[str] = []
    for name in line.exhibits:
        names = (name,) if _SHA256.fullmatch(name) else held.get(name, ())
        found += [each for each in names if _SHA256.fullmatch(each)]
    return list(dict.fromkeys(found))


def _add_findings(report: Report, rows: defaultdict[str, list[Row]]) -> None:
    for finding in report.findings:
        key = _key(report, finding.id)
        rows["finding"].append(
            {
                "key": key,
                "instrument": report.instrument,
                "id": finding.id,
                "kind": finding.kind,
                "sentence": finding.sentence,
                "rule": finding.rule,
            }
        )
        rows["support"] += [_support(report, finding, premise) for premise in finding.premises]
        rows["finding_supposition"] += [
            {"finding": key, "supposition": _key(report, name)} for name in finding.suppositions
        ]


def _support(report: Report, finding: Finding, premise: str) -> Row:
    kind, _, name = premise.partition(":")
    row: Row = {
        "instrument": report.instrument,
        "finding": _key(report, finding.id),
        "premise_kind": "finding",
        "line": None,
        "reference": None,
        "premise_finding": None,
    }
    if kind == "line":
        short = name.removeprefix(f"{report.instrument}/")
        return {**row, "premise_kind": "line", "line": _key(report, short)}
    if kind == "reference":
        return {**row, "premise_kind": "reference", "reference": name}
    return {**row, "premise_finding": _key(report, premise)}


def _row_supposed(supposition: SuppositionText) -> str | None:
    """The row of a pack that is supposed to hold, for whatever part or example of it."""
    if supposition.kind != "holds":
        return None
    return supposition.id.removeprefix("holds:").partition("#")[0]


def _add_suppositions(report: Report, rows: defaultdict[str, list[Row]]) -> None:
    rows["supposition"] = [
        {
            "key": _key(report, supposition.id),
            "instrument": report.instrument,
            "id": supposition.id,
            "kind": supposition.kind,
            "subject": supposition.subject,
            "reference": _row_supposed(supposition),
            "sentence": supposition.sentence,
            "prior": supposition.prior,
            "prior_from": supposition.prior_from,
        }
        for supposition in report.suppositions
    ]
    for conflict in report.conflicts:
        key = _key(report, conflict.id)
        rows["conflict"].append(
            {
                "key": key,
                "instrument": report.instrument,
                "id": conflict.id,
                "is_recorded_change": yes_no(conflict.is_recorded_change),
                "sentence": conflict.sentence,
            }
        )
        rows["conflict_supposition"] += [
            {"conflict": key, "supposition": _key(report, name)} for name in conflict.suppositions
        ]
    for account in report.accounts:
        key = _key(report, account.id)
        rows["account"].append(
            {
                "key": key,
                "instrument": report.instrument,
                "id": account.id,
                "is_leading": yes_no(account.is_leading),
                "sentence": account.sentence,
                "odds_note": account.odds_note,
                "chance": account.chance,
            }
        )
        rows["account_gives_up"] += [
            {"account": key, "supposition": _key(report, name)} for name in account.gives_up
        ]


def _add_datings(report: Report, rows: defaultdict[str, list[Row]]) -> None:
    accounts = {account.id for account in report.accounts}
    rows["dating"] = [_dating(report, dating, accounts) for dating in report.datings]
    for reading in report.readings:
        begins = [first for first, _ in reading.days]
        ends = [last for _, last in reading.days]
        rows["reading"].append(
            {
                "key": _key(report, reading.id),
                "instrument": report.instrument,
                "line": _key(report, reading.line),
                "text": reading.text,
                "reading": reading.reading,
                "reason": reading.reason,
                "source": reading.source,
                "is_plain": yes_no(reading.is_plain),
                "is_used": yes_no(reading.is_used),
                "standing": reading.standing,
                "not_before": min((day for day in begins if day), default=None)
                if all(begins)
                else None,
                "not_after": max((day for day in ends if day), default=None) if all(ends) else None,
            }
        )


def _dating(report: Report, dating: EventDating, accounts: set[str]) -> Row:
    return {
        "instrument": report.instrument,
        "event": dating.event,
        "account": _maybe_key(report, dating.account if dating.account in accounts else None),
        "not_before": dating.not_before.date,
        "not_after": dating.not_after.date,
        "not_before_sentence": dating.not_before.sentence,
        "not_after_sentence": dating.not_after.sentence,
        "not_before_finding": _maybe_key(report, dating.not_before.finding),
        "not_after_finding": _maybe_key(report, dating.not_after.finding),
    }


def _add_positions(report: Report, rows: defaultdict[str, list[Row]]) -> None:
    for position in report.positions:
        made = position.made or (None, None)
        rows["position"].append(
            {
                "key": _key(report, position.position),
                "instrument": report.instrument,
                "position": position.position,
                "name": position.name,
                "parent": position.parent,
                "link": position.link,
                "assembly": position.assembly,
                "label": position.label,
                "state": position.states[0] if position.states else NO_SUCH_PART,
                "states": len(position.states),
                "reasons": said(report, position.reasons),
                "made_not_before": made[0],
                "made_not_after": made[1],
                "fitting_event": position.fitting_event,
                "finding": _maybe_key(report, position.finding or None),
            }
        )
    rows["swap"] = [
        {
            "instrument": report.instrument,
            "subject": swap.subject,
            "sentence": swap.sentence,
            "accounts_giving_up": swap.accounts_giving_up,
            "accounts_total": swap.accounts_total,
            "prior": swap.prior,
            "finding": _maybe_key(report, swap.finding or None),
        }
        for swap in report.swaps
    ]


def _add_open_matters(report: Report, rows: defaultdict[str, list[Row]]) -> None:
    mine = {"instrument": report.instrument}
    rows["surprise"] = [
        {
            "key": _key(report, surprise.id),
            **mine,
            "id": surprise.id,
            "is_open": yes_no(surprise.is_open),
            "sentence": surprise.sentence,
            "line": _maybe_key(report, surprise.line or None),
            "explained_by": surprise.explained_by,
        }
        for surprise in report.surprises
    ]
    rows["question"] = [
        {**mine, "sentence": said(report, (question,))} for question in report.questions
    ]
    rows["timeline_item"] = [
        {
            **mine,
            "lane": item.lane,
            "label": item.label,
            "begins": item.begins,
            "ends": item.ends,
            "is_contested": yes_no(item.is_contested),
            "finding": _maybe_key(report, item.finding),
        }
        for item in report.timeline
    ]
    rows["caution"] = [
        {
            **mine,
            "id": caution.id,
            "about": caution.about,
            "says": caution.says,
            "defer_to": caution.defer_to,
        }
        for caution in report.cautions
    ]
