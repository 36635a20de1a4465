"""What stands at the names that exported statements bear: the terms, and whatever has no page.

Names of instruments, findings and rows of packs are addresses of their pages already. A line, an entry
or a rule is shown as a row of a table, to which its name leads (303, "see other": the row
tells of the thing and is not the thing).
"""

from __future__ import annotations

from typing import Any, Final, TypedDict
from urllib.parse import unquote

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.utils import tilde_encode  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    NotFound,
    Request,
    Response,
)

from ledger.exchange.iris import PREFIXES
from ledger.exchange.ontology import ONTOLOGY_FILE, Term, terms
from ledger.holdings import schema_file
from ledger.publish.tables import DATABASE

KINDS: Final = {"class": "What there is", "property": "What can be said", "state": "States"}


class AboveShown(TypedDict):
    """A term that stands above another: its prefixed name, and where it is defined."""

    name: str
    href: str


class TermShown(TypedDict):
    """A term as a page has it; ``values`` is what its values are, empty where that is open."""

    name: str
    label: str
    definition: str
    example: str
    iri: str
    above: list[AboveShown]
    values: AboveShown | None


class TermGroup(TypedDict):
    """The terms of one kind under its heading."""

    heading: str
    terms: list[TermShown]


def term_groups() -> list[TermGroup]:
    """Every term of the ontology, by kind and label."""
    return [
        {
            "heading": heading,
            "terms": [
                term_shown(term)
                for term in sorted(terms(), key=lambda each: (each.label.lower(), each.name))
                if term.kind == kind or (kind == "state" and term.kind == "scheme")
            ],
        }
        for kind, heading in KINDS.items()
    ]


def term_shown(term: Term) -> TermShown:
    """A term with its links."""
    return {
        "name": term.name,
        "label": term.label,
        "definition": term.definition,
        "example": term.example,
        "iri": term.iri,
        "above": [_linked(name) for name in term.above],
        "values": _linked(term.values) if term.values else None,
    }


def _linked(name: str) -> AboveShown:
    prefix, _, local = name.partition(":")
    own = prefix == "wm"
    return {"name": name, "href": f"/term/{local}" if own else f"{PREFIXES[prefix]}{local}"}


async def show_terms(datasette: Datasette, request: Request) -> Response:
    """All terms, with what each means."""
    return await _page(
        datasette, request, "terms.html", {"page_title": "Terms", "groups": term_groups()}
    )


async def show_term(datasette: Datasette, request: Request) -> Response:
    """One term."""
    name = unquote(request.url_vars["term"])
    found = next((term for term in terms() if term.name == name), None)
    if found is None:
        raise NotFound(f"There is no term {name!r}.")
    context = {"page_title": found.label, "term": term_shown(found)}
    return await _page(datasette, request, "term.html", context)


async def show_ontology(datasette: Datasette) -> Response:  # noqa: ARG001 - the server passes it
    """The ontology itself, for tools."""
    text = schema_file(ONTOLOGY_FILE).read_text(encoding="utf-8")
    return Response(text, content_type="text/turtle; charset=utf-8")


async def see_line(request: Request) -> Response:
    """From the name of a line to its row."""
    instrument, line = (unquote(request.url_vars[name]) for name in ("instrument", "line"))
    return _see("line", f"{instrument}/{line}")


async def see_entry(request: Request) -> Response:
    """From the name of an entry to its row."""
    return _see("entry", request.url_vars["sequence"])


async def see_rules(request: Request) -> Response:  # noqa: ARG001 - the server passes it
    """From the name of a rule to the page that tells all rules."""
    return Response.redirect("/words", status=303)


def _see(table: str, key: str) -> Response:
    return Response.redirect(f"/{DATABASE}/{table}/{tilde_encode(key)}", status=303)


async def _page(
    datasette: Datasette, request: Request, template: str, context: dict[str, Any]
) -> Response:
    body = await datasette.render_template(template, context, request=request)
    return Response.html(body)


NAME_ROUTES: Final = (
    (r"^/term/?$", show_terms),
    (r"^/term\.ttl$", show_ontology),
    (r"^/term/(?P<term>[^/]+)$", show_term),
    (r"^/instrument/(?P<instrument>[^/]+)/line/(?P<line>[^/]+)$", see_line),
    (r"^/entry/(?P<sequence>[0-9]{1,18})$", see_entry),
    (r"^/rule/[^/]+$", see_rules),
)
