"""The end of the form: the review, the recording, what follows from it, and publication."""

from __future__ import annotations

from starlette.responses import RedirectResponse, Response

from ledger.basis.visible import visible
from ledger.bench.form_asked import Asked
from ledger.bench.form_record import record, review
from ledger.errors import FaultsFound, UnknownName
from ledger.publishing import publish
from ledger.record.store import Ledger
from ledger.reporting import instruments, weigh


async def look_over(asked: Asked) -> Response:
    """Everything that will be recorded, before anything is."""
    bench = asked.taken_up()
    return asked.page("review.html", {"review": review(asked.desk, bench), "said": ()}, bench)


async def settle(asked: Asked) -> Response:
    """Record what was reviewed; anything else is shown once more."""
    bench = asked.taken_up()
    try:
        done = record(asked.desk, bench, asked.text("digest"))
    except FaultsFound as error:
        said = tuple(str(fault) for fault in error.faults)
        bench = asked.taken_up()
        context = {"review": review(asked.desk, bench), "said": said}
        return asked.page("review.html", context, bench, 409)
    counts = f"{done.recorded}-{done.superseded}-{done.retracted}"
    return RedirectResponse(f"/object/{bench.id}/recorded?counts={counts}", 303)


async def recorded(asked: Asked) -> Response:
    """What was recorded, what can be said by now, and the way to publish it."""
    bench = asked.taken_up()
    if bench.id not in instruments(asked.desk.entries()):
        raise UnknownName("recorded instrument", bench.id, ())
    with Ledger.open(asked.desk.ledger_path, read_only=True) as ledger:
        report = weigh(ledger, bench.id)
    sentences = {finding.id: finding.sentence for finding in report.findings}
    told = asked.query("counts").split("-")
    is_told = len(told) == 3 and all(each.isascii() and each.isdigit() for each in told)
    context = {
        "counts": dict(zip(("recorded", "changed", "taken back"), told, strict=True))
        if is_told
        else {},
        "conclusion": [sentences[name] for name in report.conclusion],
        "looks": report.looks[:6],
        "path": bench.path,
        "site": asked.desk.site,
        "is_published": asked.query("done") == "published",
        "are_kept_back": asked.query("kept") == "back",
    }
    return asked.page("recorded.html", context, bench)


async def put_out(asked: Asked) -> Response:
    """Publish every instrument of the ledger as a site folder; what is kept back is printed."""
    bench = asked.taken_up()
    kept_back: list[str] = []
    with Ledger.open(asked.desk.ledger_path, read_only=True) as ledger:
        publish(ledger, asked.desk.site, keys=asked.desk.keys, say=kept_back.append)
    for sentence in kept_back:
        asked.bench.say(visible(sentence))
    told = "&kept=back" if kept_back else ""
    return RedirectResponse(f"/object/{bench.id}/recorded?done=published{told}", 303)
