"""How rows of packs are put into words.

Question answered: what does this row say, in a sentence a practitioner would accept?

Method: one small function for each kind of row.

Cost: none to speak of.

What it does not do: tell withheld matter; rows hold none.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ledger.basis.edtf import read_date
from ledger.reason.domains import OPEN_HIGH, OPEN_LOW
from ledger.reason.wording import article, listing
from ledger.references import (
    Caution,
    Confusion,
    DateCode,
    Fact,
    MarkLayout,
    MatchingNumbers,
    PatentYear,
    Practice,
    Reference,
    SerialTable,
    SourceCode,
    Specification,
    Technology,
    Timeline,
    TraceKind,
    ValueSign,
)


def _specification(row: Specification) -> str:
    sample = f" (n={row.n})" if row.n is not None else ""
    where = row.position.replace("-", " ")
    if row.feature:
        return f"{article(where)}: {row.feature} {listing(row.values)}{sample}."
    if row.low is None or row.high is None:
        limit = f"at least {row.low}" if row.high is None else f"at most {row.high}"
        return f"{article(where)}: {row.quantity} {limit}{sample}."
    return f"{article(where)}: {row.quantity} {row.low} to {row.high}{sample}."


def _timeline(row: Timeline) -> str:
    sample = f" (n={row.n})" if row.n is not None else ""
    where = row.position.replace("-", " ")
    if row.serial_first is not None or row.serial_last is not None:
        first = "?" if row.serial_first is None else row.serial_first
        last = "?" if row.serial_last is None else row.serial_last
        return f"{article(where)}: {row.feature} {row.value}, serials {first} to {last}{sample}."
    begins, ends = row.begins or "a beginning not known", row.ends or "an end not known"
    return f"{article(where)}: {row.feature} {row.value}, from {begins} to {ends}{sample}."


def _end_of(date: str, which: int) -> str:
    """The first (0) or the last (-1) date of an interval, or the one date that stands alone."""
    end = date.split("/")[which]
    return end if end.strip(".") else ("an end not known" if which else "a beginning not known")


def _serial_table(row: SerialTable) -> str:
    """The least and the greatest number and date, in whatever order the ranges stand."""
    sample = f" (n={row.n})" if row.n is not None else ""
    least, greatest = min(r.first for r in row.ranges), max(r.last for r in row.ranges)
    dates = [(read_date(r.date).spans, r.date) for r in row.ranges]
    begins = min(dates, key=lambda d: OPEN_LOW if d[0].earliest is None else d[0].earliest)[1]
    ends = max(dates, key=lambda d: OPEN_HIGH if d[0].latest is None else d[0].latest)[1]
    begin, end = _end_of(begins, 0), _end_of(ends, -1)
    when = begin if begin == end else f"{begin} to {end}"
    return f"Numbers {least} to {greatest}, {when}{sample}."


def _matching_numbers(row: MatchingNumbers) -> str:
    places = listing(f"the {position.replace('-', ' ')}" for position in row.positions)
    return f"The works gave {places} one number: {row.what}."


def _practice(row: Practice) -> str:
    name = row.id.replace("-", " ")
    return f"{article(name)}: {row.value:g} ({row.low:g} to {row.high:g}) {row.unit}."


def _technology(row: Technology) -> str:
    ends = [f"not before {row.not_before}"] if row.not_before else []
    ends += [f"common from {row.common_from}"] if row.common_from else []
    ends += [f"seldom after {row.fades}"] if row.fades else []
    return f"{article(row.means)}: {', '.join(ends)}."


def _source_code(row: SourceCode) -> str:
    return f"Source code {row.code}: {row.company} ({row.parts})."


def _confusion(row: Confusion) -> str:
    return f"{row.glyphs[0]} and {row.glyphs[1]} are taken for one another: {row.why}."


def _patent_year(row: PatentYear) -> str:
    return f"United States {row.series} patents of {row.year} begin with number {row.first:,}."


def _value_sign(row: ValueSign) -> str:
    edition = f" ({row.edition})" if row.edition else ""
    return f"{article(row.system)}: {row.sign} stands for {row.means:g}{edition}."


_ROWS: dict[type, Callable[[Any], str]] = {
    Timeline: _timeline,
    Specification: _specification,
    SerialTable: _serial_table,
    MatchingNumbers: _matching_numbers,
    Practice: _practice,
    SourceCode: _source_code,
    Technology: _technology,
    Confusion: _confusion,
    Fact: lambda row: f"{article(row.means)}.",
    TraceKind: lambda row: f"{article(row.name)}.",
    MarkLayout: lambda row: f"{article(row.reading)}.",
    DateCode: lambda row: f"{article(row.reading)}.",
    PatentYear: _patent_year,
    ValueSign: _value_sign,
    Caution: lambda row: row.says,
}


def row_sentence(row: Reference) -> str:
    """What a row of a pack says."""
    said = _ROWS[type(row)](row)
    return f"{said.rstrip('.')}."


def row_name(full_id: str) -> str:
    """A row in a few words, to be named within a sentence.

    >>> row_name("calder/round-labels")
    'the reference “calder/round-labels”'
    """
    return f"the reference “{full_id}”"
