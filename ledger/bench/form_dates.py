"""Dates in plain words: what the form offers to record for them, and what a typed date says.

Nothing is changed behind anybody's back. "Before June 1957" is not a date of the standard; the form
offers what the standard writes for what was probably meant, each with its meaning in words, and
whoever typed it picks one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from ledger.basis.date_wordings import advice_on
from ledger.basis.edtf import DateStatement, DateUnreadable, EndKind, read_date
from ledger.basis.spans import Span, iso_date

_ABOUT: Final = r"about|around|circa|ca?\.?|approximately|roughly|abt\.?"
_DOUBTED: Final = r"probably|perhaps|maybe|possibly"
_NOT_AFTER: Final = r"by|until|till|up\s+to|at\s+the\s+latest|not\s+(?:after|later\s+than)"
_NOT_BEFORE: Final = r"since|from|at\s+the\s+earliest|not\s+(?:before|earlier\s+than)"
_WORDED: Final = re.compile(
    rf"(?:(?P<about>{_ABOUT})|(?P<doubted>{_DOUBTED})|(?P<before>before|earlier\s+than)"
    rf"|(?P<after>after|later\s+than)|(?P<until>{_NOT_AFTER})|(?P<since>{_NOT_BEFORE}))"
    r"\s+(?P<date>.+)",
    re.IGNORECASE,
)
_BETWEEN: Final = re.compile(
    r"(?:between|from)\s+(?P<first>.+?)\s+(?:and|to|until)\s+(?P<last>.+)", re.IGNORECASE
)
_PLAIN: Final = re.compile(r"\d{4}(?:-\d\d){0,2}")
MOST_SPANS_TOLD: Final = 3
_MOST_CHARACTERS: Final = 200


@dataclass(frozen=True, slots=True)
class Offer:
    """What can be recorded, and what that says."""

    text: str
    says: str


@dataclass(frozen=True, slots=True)
class DateHelp:
    """What the form says of what was typed: in words if it is a date, else what it offers."""

    says: str
    offers: tuple[Offer, ...] = ()
    is_read: bool = False


def date_help(typed: str) -> DateHelp:
    """What to say of a date as it is typed; nothing where nothing is typed.

    >>> date_help("1955~").says
    'Records 1955~: some day from 1955-01-01 to 1955-12-31, and it says about.'
    >>> [offer.text for offer in date_help("before June 1957").offers]
    ['[..1957-05]', '[..1957-06]']
    """
    text = " ".join(typed.split())
    if not text:
        return DateHelp("")
    try:
        return DateHelp(f"Records {text}: {date_in_words(read_date(text))}.", is_read=True)
    except DateUnreadable as error:
        offers = tuple(_offered(text))
        if offers:
            return DateHelp("What of this should be recorded?", offers)
        wording = advice_on(text)
        advice = error.advice or (wording.sentence if wording else "")
        return DateHelp(f"{advice}." if advice else "This is not read as a date.")


def date_in_words(date: DateStatement) -> str:
    """What a date says, in words that need no knowledge of the standard.

    >>> date_in_words(read_date("[..1957-05]")), date_in_words(read_date("1957-06-12?"))
    ('not after 1957-05-31', 'the day 1957-06-12, and it says doubted')
    """
    spans = tuple(date.spans)
    shown = " or ".join(_span_in_words(span) for span in spans[:MOST_SPANS_TOLD])
    if len(spans) > MOST_SPANS_TOLD:
        shown = f"{shown}, or one of {len(spans) - MOST_SPANS_TOLD} further stretches"
    said = [
        word
        for word, applies in (("about", date.is_approximate), ("doubted", date.is_uncertain))
        if applies
    ]
    qualified = f", and it says {' and '.join(said)}" if said else ""
    unknown = ", its end not being known" if EndKind.UNKNOWN in (date.start, date.end) else ""
    return f"{shown}{unknown}{qualified}"


def _span_in_words(span: Span) -> str:
    if span.earliest is None:
        return "any day" if span.latest is None else f"not after {iso_date(span.latest)}"
    if span.latest is None:
        return f"not before {iso_date(span.earliest)}"
    if span.earliest == span.latest:
        return f"the day {iso_date(span.earliest)}"
    return f"some day from {iso_date(span.earliest)} to {iso_date(span.latest)}"


def _offered(text: str) -> Iterator[Offer]:
    """Each text that can be read, once, in the order in which it is likeliest to be meant."""
    if len(text) > _MOST_CHARACTERS:
        return
    seen: set[str] = set()
    wording = advice_on(text)
    for form in (*(wording.suggestions if wording else ()), *_composed(text)):
        if form in seen:
            continue
        seen.add(form)
        try:
            yield Offer(form, date_in_words(read_date(form)))
        except DateUnreadable:
            continue


def _composed(text: str) -> Iterator[str]:
    between = _BETWEEN.fullmatch(text)
    if between:
        for first in _plain_dates(between["first"]):
            for last in _plain_dates(between["last"]):
                yield f"[{first}..{last}]"
    worded = _WORDED.fullmatch(text)
    if worded:
        (word,) = (name for name, text in worded.groupdict().items() if text and name != "date")
        for date in _plain_dates(worded["date"]):
            yield from _FORMS[word](date)


# What the standard writes for each kind of word, the likeliest first.
_FORMS: Final[Mapping[str, Callable[[str], tuple[str, ...]]]] = {
    "about": lambda date: (f"{date}~",),
    "doubted": lambda date: (f"{date}?",),
    "before": lambda date: (f"[..{_neighbour(date, -1)}]", f"[..{date}]"),
    "after": lambda date: (f"[{_neighbour(date, 1)}..]", f"[{date}..]"),
    "until": lambda date: (f"[..{date}]",),
    "since": lambda date: (f"[{date}..]",),
}


def _plain_dates(text: str) -> tuple[str, ...]:
    """The years, months or days that a wording may mean."""
    text = text.strip()
    if _PLAIN.fullmatch(text):
        return (text,)
    wording = advice_on(text)
    return tuple(form for form in wording.suggestions if _PLAIN.fullmatch(form)) if wording else ()


def _neighbour(date: str, step: int) -> str:
    """The year, month or day before or after, as exact as the one given."""
    try:
        spans = read_date(date).spans
    except DateUnreadable:
        return date
    edge = spans.earliest if step < 0 else spans.latest
    return date if edge is None else iso_date(edge + step)[: len(date)]
