"""The page of search: what is found, with the words that were asked for marked, kind by kind."""

from __future__ import annotations

import re
from typing import Any, Final

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.database import QueryInterrupted  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import Request, Response  # type: ignore[import-untyped]  # ships no types

from ledger.publish.answers import page
from ledger.publish.searching import (
    BEGINS,
    BY_TITLE_SQL,
    COMMON_SQL,
    COUNT_SQL,
    ENDS,
    IN_ORDER_SQL,
    KIND_WORDS,
    KINDS,
    MOST_COUNTED,
    MOST_RANKED,
    PAGE_HITS,
    RANKED_SQL,
    RUNS_SQL,
    Hit,
    clean_query,
    marked,
    match_expression,
    match_terms,
)
from ledger.publish.tables import DATABASE
from ledger.publish.wording import worded

DEEPEST_PAGE: Final = 20
# The id of a reference row at the end of what is told of it: it can be looked for, not read.
_ID: Final = re.compile(rf" \([a-z0-9/{BEGINS}{ENDS}-]+\)$")


async def search(datasette: Datasette, request: Request) -> Response:
    """What is found for the words asked for, best first."""
    query = clean_query(request.args.get("q") or "")
    kind = request.args.get("kind") or ""
    match = match_expression(query)
    context: dict[str, Any] = {
        "page_title": f"Search: {query}" if query else "Search",
        "query": query,
        "kind": kind if kind in KINDS else "",
        "kinds": KINDS,
        "is_asked": bool(match),
        "hits": [],
        "counts": {},
        "most_counted": MOST_COUNTED,
        "is_ranked": True,
        "page": _page_number(request.args.get("page") or "1"),
        "has_more": False,
        "took_too_long": False,
    }
    if match:
        try:
            await _find(datasette, match, context)
        except QueryInterrupted:
            context["took_too_long"] = True
    return page(datasette, "search.html", context)


def _page_number(typed: str) -> int:
    """The page that is asked for: the first where that is none, at most the deepest there is."""
    if not (typed.isascii() and typed.isdigit()):
        return 1
    figures = typed.lstrip("0")
    is_too_deep = len(figures) > len(str(DEEPEST_PAGE))  # and may be too long to be read at all
    return DEEPEST_PAGE if is_too_deep else min(max(int(figures or "0"), 1), DEEPEST_PAGE)


async def _find(datasette: Datasette, match: str, context: dict[str, Any]) -> None:
    """Count kind by kind up to a limit, then take the page of hits."""
    database = datasette.get_database(DATABASE)
    if datasette.witnessmark_runs is None:
        rows = (await database.execute(RUNS_SQL)).rows
        datasette.witnessmark_runs = {row["kind"]: (row["first"], row["last"]) for row in rows}
    runs: dict[str, tuple[int, int]] = datasette.witnessmark_runs
    for kind, (first, last) in runs.items():
        asked = {"match": match, "first": first, "last": last, "most": MOST_COUNTED + 1}
        ((hits,),) = (await database.execute(COUNT_SQL, asked)).rows
        context["counts"][kind] = hits
    wanted = [context["kind"]] if context["kind"] else list(runs)
    ends = [end for kind in wanted if kind in runs for end in runs[kind]]
    counted = [context["counts"].get(kind, 0) for kind in wanted]
    context["is_ranked"] = all(hits <= MOST_COUNTED for hits in counted)
    sql = IN_ORDER_SQL
    if context["is_ranked"]:
        sql = RANKED_SQL if await _is_rare(datasette, context["query"]) else BY_TITLE_SQL
    rows = (
        await database.execute(
            sql,
            {
                "match": match,
                "first": min(ends, default=0),
                "last": max(ends, default=0),
                "begins": BEGINS,
                "ends": ENDS,
                "limit": PAGE_HITS + 1,
                "offset": (context["page"] - 1) * PAGE_HITS,
            },
        )
    ).rows
    context["has_more"] = len(rows) > PAGE_HITS and context["page"] < DEEPEST_PAGE
    context["hits"] = [
        Hit(
            KIND_WORDS.get(row["kind"], row["kind"]),
            row["instrument"],
            row["name"],
            marked(worded(row["title"])),
            row["href"],
            marked(worded(_ID.sub("", row["snippet"]))),
        )
        for row in rows[:PAGE_HITS]
    ]


async def _is_rare(datasette: Datasette, query: str) -> bool:
    """Whether no term of the query stands in very many passages."""
    for term in match_terms(query):
        asked = {"match": term, "most": MOST_RANKED + 1}
        ((hits,),) = (await datasette.get_database(DATABASE).execute(COMMON_SQL, asked)).rows
        if hits > MOST_RANKED:
            return False
    return True


SEARCH_ROUTES: Final = ((r"^/search$", search),)
