"""What is each line worth for each conclusion, and what sways the conclusions most?

Question answered: for every line, and for lines that are one piece of evidence together, the
likelihood ratio for each part's having left the works with the instrument and for the date's lying
in its likeliest weeks; for every starting value of practice, how far it moves what it moves most.

Method: the odds of the statement with the line over its odds without it, everything else weighed as
it is, which is the likelihood ratio of the line given all the rest. Lines that one teller or one
paper stands behind, and lines on parts that were fitted as one, are also left out together, since
each alone may add nothing to the other. Words by the scale of :mod:`ledger.basis.verbal_scale`.

Cost: a turn of one weighing for each line and group, of what it touches; two for each starting value.

What it does not do: add the ratios up; given the rest they overlap.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from ledger.basis.percentages import percent, percent_range
from ledger.basis.spans import iso_date
from ledger.basis.verbal_scale import NEITHER, strength, support
from ledger.chances import Chances, DateChance, LineWeight, PartChance, SuppositionChance, Sway
from ledger.reason.draft import Draft
from ledger.reason.evidence import Terms, Value
from ledger.reason.factors import Table
from ledger.reason.posteriors import EVEN, verdict_of
from ledger.reason.ranges import Moved, Reading, ends_of, movable, moved, read_each, region
from ledger.reason.weighing import Scales
from ledger.reason.wording import article, line_sentence, listing

LEAST, GREATEST = 1e-12, 1 - 1e-12
SWAYS_TOLD = 12
LEAST_SWAY = 0.005
SAME_WORTH = 0.05


@dataclass(frozen=True, slots=True)
class _Statement:
    """A statement whose odds are asked for: a variable's holding, or the date's region."""

    finding: str
    says: str
    variable: str | None
    weeks: Table | None

    def chance(self, reading: Reading) -> float:
        """Its chance, kept off nothing and certainty."""
        if self.variable is not None:
            found = reading.holding[self.variable]
        else:
            found = float(reading.weeks @ self.weeks) if self.weeks is not None else 0.0
        return min(max(found, LEAST), GREATEST)


def with_weights(scales: Scales, chances: Chances) -> Chances:
    """The same with the worth of every line, the ranges over all starting values, and the sways."""
    if not chances.is_possible or not chances.dates:
        return chances
    units, values = tuple(_units(scales)), movable(scales)
    without = [Terms(without=frozenset(lines)) for lines in units]
    usual, *others = read_each(scales, [Terms(), *without, *ends_of(values)])
    left, ends = others[: len(units)], others[len(units) :]
    statements = _statements(scales, chances, usual)
    weights = [
        weight
        for lines, reading in zip(units, left, strict=True)
        for weight in _weights_of(scales, lines, statements, (usual, reading))
    ]
    weights = [each for each in weights if not _is_one_of_its_lines(each, weights)]
    weights.sort(key=lambda each: (each.about, -abs(log(each.ratio)), each.lines))
    turns, readings = tuple(moved(values, ends)), [usual, *ends]
    return replace(
        chances,
        dates=tuple(_widened_date(scales, each, readings) for each in chances.dates),
        parts=tuple(_widened_part(each, readings) for each in chances.parts),
        suppositions=tuple(_widened(each, readings) for each in chances.suppositions),
        weights=tuple(weights),
        sways=tuple(_sways(scales.evidence.draft, turns, statements, usual)),
    )


def _is_one_of_its_lines(weight: LineWeight, weights: Sequence[LineWeight]) -> bool:
    """Whether lines together are worth no more than one of them, so that they need no telling."""
    return len(weight.lines) > 1 and any(
        each.about == weight.about
        and len(each.lines) == 1
        and each.lines[0] in weight.lines
        and abs(log(each.ratio / weight.ratio)) < SAME_WORTH
        for each in weights
    )


def _statements(scales: Scales, chances: Chances, usual: Reading) -> tuple[_Statement, ...]:
    date = chances.dates[0]
    inside = np.zeros(scales.evidence.axis.weeks)
    for first, last in region(usual.weeks):
        inside[first : last + 1] = 1.0
    spans = listing((f"between {first} and {last}" for first, last in date.region), "or")
    return (
        _Statement(date.finding, f"it was completed {spans}", None, inside),
        *(
            _Statement(
                part.finding,
                f"the {scales.evidence.draft.event_name(part.event)} left the works with it",
                f"way:{part.event}",
                None,
            )
            for part in chances.parts
        ),
    )


def _units(scales: Scales) -> Iterator[tuple[str, ...]]:
    """Every line that is weighed, then those that are one piece of evidence together."""
    pieces = scales.evidence.pieces
    lines = sorted({line for piece in pieces for line in piece.lines})
    yield from ((line,) for line in lines)
    draft = scales.evidence.draft
    groups: dict[str, list[str]] = {}
    for line in lines:
        groups.setdefault(draft.doubted_with(draft.case.lines[line]), []).append(line)
    together = {tuple(group) for group in groups.values() if len(group) > 1}
    together |= {tuple(sorted(p.lines)) for p in pieces if len(p.lines) > 1}
    yield from sorted(together)


def _weights_of(
    scales: Scales,
    lines: tuple[str, ...],
    statements: Sequence[_Statement],
    readings: tuple[Reading, Reading],
) -> Iterator[LineWeight]:
    """What lines are worth for each statement, by the readings with them and without."""
    said = ""
    for statement in statements:
        given, left = (statement.chance(reading) for reading in readings)
        ratio = given / (1 - given) / (left / (1 - left))
        if strength(ratio) == NEITHER:
            continue
        said = said or _lines_in_words(scales.evidence.draft, lines)
        shown = f"{ratio:,.3g}" if ratio >= 1 else f"1 in {1 / ratio:,.3g}"
        sentence = (
            f"{said} For “{statement.says}”: {shown}, {support(ratio)}. Without "
            f"{'it' if len(lines) == 1 else 'them'} the chance would be {percent(left)}."
        )
        yield LineWeight(lines, statement.finding, float(f"{ratio:.6g}"), strength(ratio), sentence)


def _lines_in_words(draft: Draft, lines: tuple[str, ...]) -> str:
    said = " ".join(line_sentence(draft.case.lines[line], draft.anatomy.name) for line in lines)
    return said if len(lines) == 1 else f"Together, as one piece of evidence: {said}"


def _over(readings: Sequence[Reading], variable: str) -> tuple[float, float]:
    found = [reading.holding[variable] for reading in readings]
    return round(min(found), 4), round(max(found), 4)


def _widened_part(part: PartChance, readings: Sequence[Reading]) -> PartChance:
    low, high = _over(readings, f"way:{part.event}")
    widest = (min(low, part.low), max(high, part.high))
    # The state stays that of the range over the part's own prior, in whichever report it is told.
    is_told = verdict_of(*widest) == part.verdict
    told = "" if is_told else "; over all of that, which of the two cannot be told"
    shown = percent_range(*widest)
    also = f" Over the range of every starting value: {shown}{told}."
    sentence = part.sentence if shown in part.sentence else f"{part.sentence}{also}"
    return replace(part, widest=widest, sentence=sentence)


def _widened(each: SuppositionChance, readings: Sequence[Reading]) -> SuppositionChance:
    low, high = _over(readings, each.supposition)
    return replace(each, widest=(min(low, each.low), max(high, each.high)))


def _widened_date(scales: Scales, date: DateChance, readings: Sequence[Reading]) -> DateChance:
    """The outer ends of the region over all readings; for completion only, which is read off."""
    if date.event != "completed":
        return date
    axis = scales.evidence.axis
    regions = [region(reading.weeks) for reading in readings if reading.weeks.any()]
    first = min(found[0][0] for found in regions)
    last = max(found[-1][1] for found in regions)
    widest = (iso_date(axis.days(first)[0]), iso_date(axis.days(last)[1]))
    sentence = (
        f"{date.sentence} Over the range of every starting value the ends lie within "
        f"{widest[0]} to {widest[1]}."
    )
    return replace(date, widest=widest, sentence=sentence)


# -- what sways -----------------------------------------------------------------------------------


def _sways(
    draft: Draft, turns: Sequence[Moved], statements: Sequence[_Statement], usual: Reading
) -> Iterator[Sway]:
    """The starting values that move a chance most, the most influential first."""
    found: list[tuple[float, Sway]] = []
    for turn in turns:
        spans = [
            (abs(s.chance(turn.at_high) - s.chance(turn.at_low)), i)
            for i, s in enumerate(statements)
        ]
        size, which = max(spans, key=lambda each: (each[0], -each[1]))
        if size >= LEAST_SWAY:
            found.append((size, _sway(draft, turn, statements[which], usual)))
    found.sort(key=lambda each: (-round(each[0], 9), each[1].value))
    return (sway for _, sway in found[:SWAYS_TOLD])


def _sway(draft: Draft, turn: Moved, statement: _Statement, usual: Reading) -> Sway:
    low, high = statement.chance(turn.at_low), statement.chance(turn.at_high)
    crosses = "" if (low - EVEN) * (high - EVEN) > 0 else ", across even"
    value = turn.value
    sentence = (
        f"{_value_in_words(draft, value)} is taken as {value.middle:.3g} (between {value.low:.3g} "
        f"and {value.high:.3g}). Between those ends the chance that {statement.says} runs from "
        f"{percent(low)} to {percent(high)}{crosses}; as taken it is "
        f"{percent(statement.chance(usual))}."
    )
    return Sway(
        value.id,
        value.low,
        value.middle,
        value.high,
        statement.finding,
        round(low, 6),
        round(high, 6),
        sentence,
    )


def _value_in_words(draft: Draft, value: Value) -> str:
    kind, _, subject = value.id.removeprefix("prior of ").partition(":")
    if kind == "first-fitted":
        return f"How often practice finds the {draft.event_name(subject)} to be the first"
    if kind == "joined":
        one, _, other = subject.partition("+")
        names = f"the {draft.anatomy.name(one)} and the {draft.anatomy.name(other)}"
        return f"How often practice finds {names} to belong together"
    row = draft.packs.practice(value.id)
    said = row.row.note.split(".")[0] or row.row.id.replace("-", " ")
    return f"“{article(said)}” ({row.row.unit}; {row.id})"
