"""The names that things have on the web of data, and how terms are spelt in N-Quads.

Every name is an IRI under a base that the publisher chooses. The names of instruments, findings,
lines, reference rows, entries and rules are addresses of the published site; what belongs to one
of them is a fragment of its address. There are no blank nodes: what has no name cannot be asked
about, and its place in a file would change from run to run.

Terms are kept as the text that N-Quads has for them: that sorts, compares and prints at once.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from typing import Final
from urllib.parse import quote, unquote

# A name that nobody can own (RFC 2606): a publisher sets the address of the site instead.
DEFAULT_BASE: Final = "https://witnessmark.example/"
TERMS: Final = "https://witnessmark.example/term/"

PREFIXES: Final = {
    "wm": TERMS,
    "crm": "http://www.cidoc-crm.org/cidoc-crm/",
    "dcterms": "http://purl.org/dc/terms/",
    "edtf": "http://id.loc.gov/datatypes/edtf/",
    "np": "http://www.nanopub.org/nschema#",
    "owl": "http://www.w3.org/2002/07/owl#",
    "prov": "http://www.w3.org/ns/prov#",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "sh": "http://www.w3.org/ns/shacl#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "time": "http://www.w3.org/2006/time#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
}
EDTF: Final = "edtf:EDTF"
DEFAULT_GRAPH: Final = ""  # sorts before every name

Triple = tuple[str, str, str]
Quad = tuple[str, str, str, str]  # graph, subject, predicate, object

_ABSOLUTE: Final = re.compile(r"https?://[^\s<>\"{}|\\^`#?]+/", re.ASCII)
_TO_ESCAPE: Final = re.compile(r'[\x00-\x1f"\\\x7f]')
_ESCAPES: Final = {
    "\b": "\\b",
    "\t": "\\t",
    "\n": "\\n",
    "\f": "\\f",
    "\r": "\\r",
    '"': '\\"',
    "\\": "\\\\",
}
_GLYPHS: Final = {spelling: glyph for glyph, spelling in _ESCAPES.items()}
_ESCAPED: Final = re.compile(r"\\(?:u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)")
_EPOCH: Final = date(1970, 1, 1).toordinal()


def is_base(text: str) -> bool:
    """Whether a text can be the beginning of names: an http address that ends in a slash.

    >>> is_base("https://bench.example/"), is_base("https://bench.example"), is_base("a/")
    (True, False, False)
    """
    return _ABSOLUTE.fullmatch(text) is not None


def do_overlap(base: str, other: str) -> bool:
    """Whether names under the one base can be names under the other, whatever their case.

    >>> do_overlap("https://a.example/", "https://A.example/x/")
    True
    >>> do_overlap("https://a.example/x/", "https://a.example/y/")
    False
    """
    first, second = base.casefold(), other.casefold()
    return first.startswith(second) or second.startswith(first)


@cache
def spelt(name: str) -> str:
    """A prefixed name in full, between angle brackets.

    >>> spelt("prov:used")
    '<http://www.w3.org/ns/prov#used>'
    """
    prefix, _, local = name.partition(":")
    return f"<{PREFIXES[prefix]}{local}>"


def _escaped(found: re.Match[str]) -> str:
    glyph = found[0]
    return _ESCAPES.get(glyph) or f"\\u{ord(glyph):04X}"


def text(value: str) -> str:
    r"""A text as a literal, spelt as canonical N-Quads has it.

    >>> text('a "b"')
    '"a \\"b\\""'
    """
    return f'"{_TO_ESCAPE.sub(_escaped, value)}"'


def typed(value: str, datatype: str) -> str:
    """A literal of a datatype, which is given by its prefixed name."""
    return f"{text(value)}^^{spelt(datatype)}"


def whole(number: int) -> str:
    """A whole number as a literal."""
    return typed(str(number), "xsd:integer")


def real(number: float) -> str:
    """A figure as a literal that reads back as the same figure."""
    return typed(repr(float(number)), "xsd:double")


def truth(answer: bool) -> str:  # noqa: FBT001 - the answer is all there is
    """A yes or no as a literal."""
    return typed("true" if answer else "false", "xsd:boolean")


def day(iso: str) -> str:
    """A day as a literal."""
    return typed(iso, "xsd:date")


def day_number(iso: str) -> str:
    """The days from 1 January 1970 to a day, for arithmetic that SPARQL 1.1 lacks on dates."""
    return whole(date.fromisoformat(iso).toordinal() - _EPOCH)


def edtf(typed_date: str) -> str:
    """A date as it was typed, in the Extended Date/Time Format."""
    return typed(typed_date, EDTF)


@lru_cache(maxsize=1 << 16)
def _segment(name: str, safe: str = "") -> str:
    return quote(name, safe=safe)


@lru_cache(maxsize=1 << 12)
def slug(name: str) -> str:
    """A name in words as part of an address: what is not a letter or figure becomes a hyphen."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


@dataclass(frozen=True, slots=True)
class Names:
    """The names under one base, each between angle brackets."""

    base: str = DEFAULT_BASE

    def address(self, instrument: str) -> str:
        """The address of an instrument, bare."""
        return f"{self.base}instrument/{_segment(instrument)}"

    def instrument(self, instrument: str) -> str:
        """The instrument itself.

        >>> Names().instrument("my-lute")
        '<https://witnessmark.example/instrument/my-lute>'
        """
        return f"<{self.address(instrument)}>"

    def part_of(self, instrument: str, kind: str, name: str) -> str:
        """What belongs to an instrument: a position, part, supposition, dating, report ..."""
        return f"<{self.address(instrument)}#{kind}-{_segment(name)}>"

    def line(self, instrument: str, line: str) -> str:
        """A line of a sheet."""
        return f"<{self.address(instrument)}/line/{_segment(line)}>"

    def finding(self, instrument: str, finding: str) -> str:
        """A finding."""
        return f"<{self.address(instrument)}/finding/{_segment(finding, '/')}>"

    def reference(self, row: str) -> str:
        """A row of a pack."""
        return f"<{self.base}reference/{_segment(row, '/')}>"

    def entry(self, sequence: int) -> str:
        """An entry of the ledger."""
        return f"<{self.base}entry/{sequence}>"

    def rule(self, rule: str) -> str:
        """A rule."""
        return f"<{self.base}rule/{slug(rule)}>"

    def exported(self) -> str:
        """The whole of what is exported."""
        return f"<{self.base}#exported>"

    def premise(self, instrument: str, premise: str) -> str:
        """What a finding names as its premise: a line, a row of a pack or another finding."""
        kind, colon, name = premise.partition(":")
        if colon and kind == "line":
            return self.line(instrument, name.removeprefix(f"{instrument}/"))
        if colon and kind == "reference":
            return self.reference(name)
        return self.finding(instrument, premise)


def plain(term: str) -> str:
    r"""What a term says: the text of a literal without its datatype, or a bare IRI.

    >>> plain('"1931-02"^^<http://id.loc.gov/datatypes/edtf/EDTF>'), plain("<https://a.example/>")
    ('1931-02', 'https://a.example/')
    """
    if term.startswith("<"):
        return term[1:-1]
    return _ESCAPED.sub(_unescaped, term[1 : term.rindex('"')])


def _unescaped(found: re.Match[str]) -> str:
    glyph = found[0]
    if glyph[1] not in "uU":
        return _GLYPHS[glyph]
    return bytes.fromhex(glyph[2:].zfill(8)).decode("utf-32-be")


def ending(term: str, after: str) -> str | None:
    """The rest of a name after its beginning, decoded; None where it begins otherwise."""
    return unquote(term[len(after) : -1]) if term.startswith(after) else None


def fragment(name: str, part: str) -> str:
    """What belongs to something that has an address: a fragment of it.

    >>> fragment("<https://a.example/x>", "step")
    '<https://a.example/x#step>'
    """
    return f"{name[:-1]}#{part}>"
