"""How lines of a case and rows of packs are put into words.

Question answered: what does this line or row say, in a sentence a practitioner would accept?
Withheld fields are never worded: they read as withheld.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from ledger.basis.spans import Spans, iso_date
from ledger.models import (
    Answer,
    Challenge,
    Custody,
    Exhibit,
    Feature,
    Identity,
    Mark,
    Measurement,
    NonValue,
    Paper,
    Part,
    Question,
    RegisterSearch,
    Sighting,
    Source,
    Testimony,
    Trace,
    Work,
)
from ledger.record.case import WITHHELD_TEXT, Recorded

DONE = {
    "replaced": "replaced",
    "altered": "altered in place",
    "repaired": "repaired",
    "removed": "taken out",
    "added": "added",
    "refitted": "taken off and put back",
}
BY = {
    "works": "by the works",
    "workshop": "by a workshop",
    "owner": "by an owner",
    "unknown": "by an unknown hand",
}


_KEPT = {"lost": "now lost", "cannot be told": "whether it was kept cannot be told"}


def listing(names: Iterable[str], last: str = "and") -> str:
    """The names as a list in words.

    >>> listing(["nut", "bridge", "tuners"])
    'nut, bridge and tuners'
    """
    given = list(names)
    if len(given) < 2:
        return "".join(given)
    return f"{', '.join(given[:-1])} {last} {given[-1]}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun.

    >>> counted(1, "account"), counted(3000, "account")
    ('1 account', '3,000 accounts')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def days_in_words(spans: Spans) -> str:
    """Spans as dates; whole years and months stay short; an open end says so.

    >>> from ledger.basis.spans import span_of_year
    >>> days_in_words(Spans.of([span_of_year(1956)]))
    '1956'
    """
    return " or ".join(_span_in_words(part.earliest, part.latest) for part in spans) or "no day"


def _span_in_words(earliest: int | None, latest: int | None) -> str:
    if earliest is None and latest is None:
        return "any day"
    if latest is None:
        return f"{iso_date(earliest or 0)} or later"
    if earliest is None:
        return f"{iso_date(latest)} or earlier"
    first, last = iso_date(earliest), iso_date(latest)
    if first == last:
        return first
    if first[:-6] == last[:-6] and first.endswith("01-01") and last.endswith("12-31"):
        return first[:-6]
    return f"{first} to {last}"


def days_as_when(spans: Spans) -> str:
    """Spans as they stand behind "completed" within a sentence, with the word that leads them in.

    >>> from ledger.basis.spans import span_of_month, span_of_year
    >>> days_as_when(Spans.of([span_of_month(1947, 1)])), days_as_when(Spans.of([span_of_year(1956)]))
    ('between 1947-01-01 and 1947-01-31', 'in 1956')
    """
    return " or ".join(_when(_span_in_words(part.earliest, part.latest)) for part in spans)


def _when(said: str) -> str:
    first, is_run, last = said.partition(" to ")
    if is_run:
        return f"between {first} and {last}"
    day, is_open, rest = said.partition(" or ")
    if is_open:
        return f"on {day} or {rest}"
    return said if said == "any day" else f"{'on' if '-' in said[1:] else 'in'} {said}"


_SINGULAR_ENDS = ("ss", "us", "is", "brass")


def is_plural(name: str) -> bool:
    """Whether the name of a position takes a verb in the plural.

    >>> is_plural("tuner plates"), is_plural("chassis"), is_plural("screws (guard)")
    (True, False, True)
    """
    noun = name.partition(" (")[0]
    return noun.endswith("s") and not noun.endswith(_SINGULAR_ENDS)


def was(name: str) -> str:
    """The name with the verb: "the knobs were", "the nut was" without its article.

    >>> was("knobs")
    'knobs were'
    """
    return f"{name} {'were' if is_plural(name) else 'was'}"


def article(text: str) -> str:
    """The text with its first letter as it begins a sentence."""
    return text[:1].upper() + text[1:]


def _mark(recorded: Recorded[Mark], name: Callable[[str], str]) -> str:
    legible = "" if recorded.line.legibility == "clear" else f", {recorded.line.legibility}"
    reads = f", which gives {recorded.shown('reads')}" if recorded.line.reads else ""
    place = _place(recorded.line, name)
    verb = "bear" if is_plural(place) else "bears"
    return f"{article(place)} {verb} “{recorded.shown('text')}”{legible}{reads}."


def _measurement(recorded: Recorded[Measurement], name: Callable[[str], str]) -> str:
    line = recorded.line
    doubt = f" ± {recorded.shown('uncertainty')}" if line.uncertainty else ""
    how = listing(
        text for text in map(recorded.shown, ("instrument", "circuit", "temperature")) if text
    )
    ways = f" ({how})" if how else ""
    return (
        f"{article(_place(line, name))}: {recorded.shown('quantity')} "
        f"{recorded.shown('value')}{doubt}{ways}."
    )


def _feature(recorded: Recorded[Feature], name: Callable[[str], str]) -> str:
    line = recorded.line
    value = recorded.shown("value")
    said = value if line.feature == "presence" else f"{recorded.shown('feature')}, “{value}”"
    return f"{article(_place(line, name))}: {said}."


def _trace(recorded: Recorded[Trace], name: Callable[[str], str]) -> str:
    places = [*recorded.line.positions, *(f"part/{part}" for part in recorded.line.parts)]
    kind = recorded.line.trace.replace("-", " ")
    note = f": {recorded.shown('note').rstrip('.')}" if recorded.line.note else ""
    return f"{article(kind)} at the {listing(name(place) for place in places)}{note}."


def _work(recorded: Recorded[Work], name: Callable[[str], str]) -> str:
    line = recorded.line
    when = f" ({as_said(recorded.shown('date'))})" if line.date else ", undated"
    what = f", as a {line.replacement} part" if line.replacement else ""
    lost = f" It destroyed: {recorded.shown('destroyed').rstrip('.')}." if line.destroyed else ""
    out = ""
    if line.removed:
        kept = {"yes": "kept", "no": "not kept"}.get(line.retained, "kept or not cannot be told")
        parts = listing(name(f"part/{part}") for part in line.removed)
        out = f" Taken out: {parts} ({kept})."
    return (
        f"{article(listing(name(p) for p in line.positions))} {DONE[line.action]} "
        f"{BY[line.by]}{when}{what}.{out}{lost}"
    )


def _custody(recorded: Recorded[Custody], _: Callable[[str], str]) -> str:
    begins = as_said(recorded.shown("begins")) or "a day not known"
    ends = as_said(recorded.shown("ends")) or "a day not known"
    who = recorded.pseudonym or "a person"
    return f"Held by {who} (name withheld) from {begins} to {ends}."


def _sighting(recorded: Recorded[Sighting], name: Callable[[str], str]) -> str:
    same = {
        "yes": "this very instrument",
        "no": "another instrument",
        "cannot be told": "an instrument that cannot be told to be this one",
    }[recorded.line.same_instrument]
    shown = (
        WITHHELD_TEXT
        if "shows" in recorded.withheld
        else listing(
            f"{name(each.position)}: {each.feature} “{each.value}”" for each in recorded.line.shows
        )
    )
    return f"Seen {as_said(recorded.shown('date'))}: {same}{'; ' + shown if shown else ''}."


def _paper(recorded: Recorded[Paper], _: Callable[[str], str]) -> str:
    named = {
        "yes": "it names this object",
        "no": "it does not name this object",
        "cannot be told": "whether it names this object cannot be told",
    }[recorded.line.names_this_object]
    return f"{article(recorded.shown('paper'))}: “{recorded.shown('says').rstrip('.')}” ({named})."


def _testimony(recorded: Recorded[Testimony], _: Callable[[str], str]) -> str:
    return f"Told: “{recorded.shown('says').rstrip('.')}”."


def _non_value(recorded: Recorded[NonValue], name: Callable[[str], str]) -> str:
    line = recorded.line
    how = recorded.shown("method") or recorded.shown("why")
    where = listing(name(position) for position in line.positions)
    said = f" ({how.rstrip('.')})" if how else ""
    return f"{article(line.value)}: {recorded.shown('what')} at the {where}{said}."


def _source(recorded: Recorded[Source], _: Callable[[str], str]) -> str:
    line = recorded.line
    by = f", by {recorded.shown('by')}" if line.by else ""
    date = f", {as_said(recorded.shown('date'))}" if line.date else ""
    copied = f"; repeats {line.copied_from}" if line.copied_from else ""
    return f"{recorded.shown('title')} ({line.kind}, {line.hand}{by}{date}{copied})."


def _identity(recorded: Recorded[Identity], _: Callable[[str], str]) -> str:
    return f"{article(recorded.line.what)}: {recorded.shown('value')}."


def _exhibit(recorded: Recorded[Exhibit], _: Callable[[str], str]) -> str:
    said = f"{recorded.shown('caption').rstrip('.')}."
    if "file" in recorded.withheld:
        return f"{said} The file itself is kept back."
    count = len(recorded.line.masks)
    if count:
        said += f" Painted over where it is shown: {count} region{'' if count == 1 else 's'}."
    return said


def _part(recorded: Recorded[Part], name: Callable[[str], str]) -> str:
    line = recorded.line
    kept = _KEPT.get(line.kept, f"kept {line.kept}")
    return f"{article(recorded.shown('name'))}, formerly {name(line.position)}; {kept}."


def _challenge(recorded: Recorded[Challenge], _: Callable[[str], str]) -> str:
    hidden = "by" in recorded.withheld
    name = "somebody whose name is withheld" if hidden else recorded.shown("by")
    by = f", by {name}" if recorded.line.by else ""
    when = f" ({as_said(recorded.shown('date'))})" if recorded.line.date else ""
    other = recorded.shown("instead").rstrip(".")
    instead = f" They say instead: “{other}”." if other else ""
    return f"Challenged{by}{when}: “{recorded.shown('says').rstrip('.')}”.{instead}"


def _answer(recorded: Recorded[Answer], _: Callable[[str], str]) -> str:
    by = f" by {recorded.shown('by')}" if recorded.line.by else ""
    what = "Corrected" if recorded.line.corrects else "Answered"
    return (
        f"{what}{by} ({as_said(recorded.shown('date'))}): “{recorded.shown('says').rstrip('.')}”."
    )


def _register_search(recorded: Recorded[RegisterSearch], _: Callable[[str], str]) -> str:
    line = recorded.line
    said = f"{recorded.shown('register_name')} was asked on {as_said(recorded.shown('date'))}: {line.result}."
    if line.result == "no match found":
        said += " That does not say that it was never stolen."
    return said


def _question(recorded: Recorded[Question], _: Callable[[str], str]) -> str:
    return recorded.shown("question")


_SENTENCES: dict[type, Callable[[Recorded[Any], Callable[[str], str]], str]] = {
    Source: _source,
    Exhibit: _exhibit,
    Part: _part,
    Identity: _identity,
    Mark: _mark,
    Measurement: _measurement,
    Feature: _feature,
    Trace: _trace,
    Work: _work,
    Custody: _custody,
    Sighting: _sighting,
    Paper: _paper,
    Testimony: _testimony,
    NonValue: _non_value,
    Question: _question,
    RegisterSearch: _register_search,
    Challenge: _challenge,
    Answer: _answer,
}


def _place(line: Mark | Measurement | Feature, name: Callable[[str], str]) -> str:
    return name(line.position if line.position is not None else f"part/{line.part}")


def line_sentence(recorded: Recorded[Any], name: Callable[[str], str]) -> str:
    """What the line says; ``name`` gives the plain name of a position or ``part/<id>``."""
    return _SENTENCES[type(recorded.line)](recorded, name)


_RELIED_ON: dict[type, str] = {
    Measurement: "it was observed aright",
    Feature: "it was observed aright",
    Trace: "it was observed aright",
    Work: "the record of this work is true",
    Sighting: "the dated sighting is what it is taken for",
    Testimony: "what was told is true",
    Paper: "the paper is true",
}


def soundness(recorded: Recorded[Any], name: Callable[[str], str]) -> str:
    """What has to hold for the line to be relied on, to stand behind 'that' within a sentence."""
    line = recorded.line
    if isinstance(line, Mark):
        text = recorded.shown("text")
        return f"“{text}” on the {_place(line, name)} is read aright and not put on later"
    said = line_sentence(recorded, name).rstrip(".")
    return f"{_RELIED_ON.get(type(line), 'the record is true')} ({said})"


def line_name(recorded: Recorded[Any], name: Callable[[str], str]) -> str:
    """A line in a few words, to be named within a sentence."""
    line = recorded.line
    if isinstance(line, Mark):
        return f"“{recorded.shown('text')}” on the {_place(line, name)}"
    if isinstance(line, Measurement | Feature):
        what = recorded.shown("quantity" if isinstance(line, Measurement) else "feature")
        # A place can be named with its feature: the panel and its lettering.
        return f"{what} of the {_place(line, name).removesuffix(f' and its {what.casefold()}')}"
    if isinstance(line, Trace):
        return f"{line.trace.replace('-', ' ')} at the {_first(line.positions, name)}"
    if isinstance(line, Work):
        when = as_said(recorded.shown("date")) or "undated"
        return f"work on the {_first(line.positions, name)}, {when}"
    if isinstance(line, Custody):
        return f"custody from {as_said(recorded.shown('begins')) or 'a day not known'}"
    return _SHORT.get(type(line), _by_id)(recorded)


def _by_id(recorded: Recorded[Any]) -> str:
    return recorded.id.replace("-", " ").replace(".", " ")


_SHORT: dict[type, Callable[[Recorded[Any]], str]] = {
    Source: lambda recorded: recorded.shown("title"),
    Paper: lambda recorded: recorded.shown("paper"),
    Sighting: lambda recorded: f"sighting of {as_said(recorded.shown('date'))}",
    Testimony: lambda recorded: f"testimony “{_by_id(recorded)}”",
    Challenge: lambda recorded: f"challenge “{_by_id(recorded)}”",
    Answer: lambda recorded: f"answer “{_by_id(recorded)}”",
}


def _first(positions: tuple[str, ...], name: Callable[[str], str]) -> str:
    """The first position of several, and that there are more."""
    if not positions:
        return "part"
    return name(positions[0]) + (" and others" if len(positions) > 1 else "")


def as_said(date: str) -> str:
    """A date with the marks of its doubt in words; anything else as it stands.

    >>> as_said("1949-08~"), as_said("1950?"), as_said("1951%"), as_said("1949-08")
    ('about 1949-08', 'perhaps 1950', 'perhaps about 1951', '1949-08')
    """
    words = {"~": "about", "?": "perhaps", "%": "perhaps about"}.get(date[-1:])
    plain = date[:-1]
    return f"{words} {plain}" if words and plain.replace("-", "").isdigit() else date
