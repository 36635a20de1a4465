"""The drawing of what closes the date of completion: every bound in a row of its own.

It takes a report as plain data and only draws what it says: what a bound allows is the
outermost of its days, and which bounds close a side is read off the findings beneath each end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from ledger.publish.curve_drawing import Curve
from ledger.publish.date_sections import SIDES, under
from ledger.publish.evidence import Evidence
from ledger.publish.support import section_word
from ledger.publish.svg import Caption
from ledger.publish.time_drawing import BarKind, bar_over, days_words
from ledger.publish.time_rows import WIDE_UNITS, Bar, Layout, Row, rows_drawing
from ledger.publish.time_scale import date_words, day_of

CLOSES_LOWER, CLOSES_UPPER = "sets the earliest day", "sets the latest day"
CLOSES_BOTH, CLOSES_NEITHER = "sets both ends", "sets neither end"
ON_COMPLETION = "completed"
BEFORE_WHICH_IT_WAS_COMPLETED = ("dispatched", "first sold", "seen:")
LEAST_MARGIN_DAYS = 1096  # three years to either side of the days in question
LEAST_BESIDE_A_CURVE_DAYS = 300  # less where a curve is to be seen

Span = tuple[str | None, str | None]
Dating = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Piece:
    """One bound: its days, what it leaves possible, which sides it closes and where it is left."""

    label: str
    href: str
    days: tuple[Span, ...]
    allowed: Span
    closes: str
    set_aside: str

    @property
    def rank(self) -> int:
        """Bounds that close a side stand first, those that every account sets aside last."""
        if self.closes:
            return 0
        return 2 if self.set_aside else 1

    def row(self) -> Row:
        """The row of the drawing."""
        bars = [bar_over(self.label, self.allowed, "allowed")] if any(self.allowed) else []
        kind: BarKind = "contested" if self.set_aside else "plain"
        bars += [bar_over(self.label, span, kind) for span in self.days]
        told = [self.closes or ("" if self.set_aside else CLOSES_NEITHER), self.set_aside]
        role = "; ".join(each for each in told if each)
        return Row(self.label, tuple(bars), self.href, f"{self._allowed_words()}: {role}")

    def _allowed_words(self) -> str:
        """A piece that closes one side says nothing of the other: not that nothing closes it."""
        begins, ends = self.allowed
        if begins and not ends:
            return f"not before {date_words(begins)}, no word on how late"
        if ends and not begins:
            return f"not after {date_words(ends)}, no word on how early"
        return days_words(begins, ends)


def date_bounds_svg(
    report: Mapping[str, Any], *, width: float = WIDE_UNITS, prefix: str = "bounds"
) -> str:
    """How likely each week is, completion under each account, what each bound allows, what moves it.

    Bounds whose days a report does not tell cannot be drawn; they are in the list of support.
    """
    evidence = Evidence(report)
    datings = [dating for dating in report["datings"] if dating["event"] == ON_COMPLETION]
    pieces = sorted(_pieces(evidence, datings), key=lambda piece: piece.rank)
    rows = _completed_rows(evidence, datings)
    if pieces:
        rows += [Row("What each piece of evidence allows"), *(piece.row() for piece in pieces)]
    moves = _shift_rows(evidence, datings)
    if moves:
        rows += [Row("What would be possible again without a piece"), *moves]
    if not rows:
        rows = [Row("Nothing recorded bounds the date of completion.")]
    curve = Curve.of_event(report, ON_COMPLETION, evidence.href_of)
    caption = Caption(
        f"When {report['name']} was completed, and what closes the date",
        f"{f'{curve.words} ' if curve else ''}First the days on which the instrument may have been completed, under each leading "
        "account; then what each piece of evidence allows; then where an end moves when a piece "
        "is left out. Two slanting strokes: it goes on beyond the drawing.",
    )
    days = _days_in_question(datings, pieces, curve)
    return rows_drawing(rows, Layout(width, prefix), caption, days, curve)


def _days_in_question(
    datings: Iterable[Dating], pieces: Iterable[Piece], curve: Curve | None
) -> list[int]:
    """The ends of completion and of what closes them, with room; none where none is known."""
    spans = [span for dating in datings for span in _possible(dating)]
    spans += [piece.allowed for piece in pieces if piece.closes]
    days = [day_of(begins) for begins, _ in spans]
    days += [day_of(ends, is_end=True) for _, ends in spans]
    known = [day for day in days if day is not None]
    known += curve.outer_days if curve else []
    if not known:
        return []
    span = max(known) - min(known)
    margin = max(LEAST_MARGIN_DAYS, span // 2)
    if curve:
        margin = max(LEAST_BESIDE_A_CURVE_DAYS, span // 6)
    return [min(known) - margin, max(known) + margin]


def _possible(dating: Dating) -> list[Span]:
    outer = (dating["not_before"]["date"], dating["not_after"]["date"])
    return [(begins, ends) for begins, ends in dating["possible"]] or [outer]


def _completed_rows(evidence: Evidence, datings: list[Dating]) -> list[Row]:
    """The possible days under each account, or once where every account leaves the same."""
    runs = [tuple(_possible(dating)) for dating in datings]
    is_alike = len(set(runs)) == 1
    rows = []
    for dating, spans in zip(datings[:1] if is_alike else datings, runs, strict=False):
        finding = dating["not_before"]["finding"] or dating["not_after"]["finding"]
        href = evidence.href_of(finding) if finding else ""
        label = evidence.account_title(dating["account"])
        if is_alike:
            label = "Possible days" if len(datings) == 1 else "In every leading account"
        begins, ends = (dating[key]["date"] for key, _, _ in SIDES)
        bars = tuple(bar_over("Completed", span) for span in spans)
        rows.append(Row(label, bars, href, days_words(begins, ends), is_main=True))
    return [Row("Completed"), *rows] if rows else []


def _pieces(evidence: Evidence, datings: list[Dating]) -> Iterable[Piece]:
    """Every bound on completion, and those on parts that close a side of it."""
    beneath = [
        [evidence.beneath(dating[key]["finding"]) for dating in datings] for key, _, _ in SIDES
    ]
    for found in evidence.findings.values():
        moment = found["moment"] or ""
        days = tuple((begins, ends) for begins, ends in found["days"])
        if found["kind"] != "bound" or not days:
            continue
        lower, upper = (
            [d["account"] for d, names in zip(datings, side, strict=True) if found["id"] in names]
            for side in beneath
        )
        is_on_completion = moment.partition(":")[0] == ON_COMPLETION
        is_before = moment.startswith(BEFORE_WHICH_IT_WAS_COMPLETED)
        if not (lower or upper or is_on_completion or is_before):
            continue
        begins = _outermost([first for first, _ in days], min)
        ends = _outermost([last for _, last in days], max)
        yield Piece(
            _label(evidence, found),
            evidence.href_of(found["id"]),
            days,
            (
                begins if is_on_completion or (lower and not is_before) else None,
                ends if is_on_completion or is_before or upper else None,
            ),
            _closes(evidence, lower, upper, len(datings)),
            _set_aside(evidence, found, datings),
        )


def _outermost(dates: list[str | None], choose: Any) -> str | None:  # noqa: ANN401 - min or max
    """The earliest or latest of the dates; none where one run is open on that side."""
    known = [date for date in dates if date is not None]
    if len(known) < len(dates):
        return None
    return str(choose(known, key=lambda date: day_of(date) or 0))


def _label(evidence: Evidence, found: Mapping[str, Any]) -> str:
    """The line of the record the bound rests on, by its kind and title."""
    for name in sorted(evidence.lines_beneath(found["id"])):
        line = evidence.line_of(name)
        if line is not None:
            word = section_word(line["section"]).capitalize()
            return f"{word}: {evidence.line_title(line['id'])}"
    return str(found["sentence"])


def _closes(evidence: Evidence, lower: list[str], upper: list[str], of: int) -> str:
    """Which sides the bound closes, and under which accounts where not under all."""
    if lower and lower == upper:
        told = [(CLOSES_BOTH, lower)]
    else:
        told = [(CLOSES_LOWER, lower), (CLOSES_UPPER, upper)]
    return "; ".join(
        closes if len(accounts) == of else f"{closes} {under(evidence, accounts, of)}"
        for closes, accounts in told
        if accounts
    )


def _set_aside(evidence: Evidence, found: Mapping[str, Any], datings: list[Dating]) -> str:
    """Under which accounts something that the bound needs is given up."""
    needed = {
        supposition
        for name in evidence.beneath(found["id"])
        if name in evidence.findings
        for supposition in evidence.findings[name]["suppositions"]
    }
    giving_up = [
        dating["account"]
        for dating in datings
        if dating["account"] in evidence.accounts
        and needed & set(evidence.accounts[dating["account"]]["gives_up"])
    ]
    return f"set aside {under(evidence, giving_up, len(datings))}" if giving_up else ""


def _shift_rows(evidence: Evidence, datings: list[Dating]) -> list[Row]:
    """Where each end moves when one premise is left out, told once for all accounts alike."""
    found: dict[tuple[str, str, str | None, str | None], list[str]] = {}
    for dating in datings:
        for key, _, _ in SIDES:
            for shift in dating[key]["shifts"]:
                move = (key, shift["without"], dating[key]["date"], shift["date"])
                found.setdefault(move, []).append(dating["account"])
    return [
        _shift_row(evidence, move, "" if len(accounts) == len(datings) else where)
        for move, accounts in found.items()
        for where in (under(evidence, accounts, len(datings)),)
    ]


def _shift_row(
    evidence: Evidence, move: tuple[str, str, str | None, str | None], where: str
) -> Row:
    key, without, stands, moved = move
    _, side, unknown = next(each for each in SIDES if each[0] == key)
    begins, ends = (moved, stands) if side == "not before" else (stands, moved)
    told = f"then {side} {date_words(moved)}" if moved else f"then {unknown}"
    bar = Bar(day_of(begins), day_of(ends, is_end=True), "given back", told)
    note = f"{told}, {where}" if where else told
    return Row(f"Leave out {evidence.name_of(without)}", (bar,), evidence.href_of(without), note)
