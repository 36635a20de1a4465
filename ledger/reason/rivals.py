"""Which other explanations are there, and how do they stand?

Question answered: for a challenge, the accounts of the evidence that grant what is doubted and
those that do not; for a part, the three ways in which another could have come in and what each
trace and code says against each; for a mark, the other ways to read it.

Method: accounts as the report ranks them; strengths of traces and shares of codes as practice
has them, told one by one and not multiplied, since one sitting saw them all.

Cost: linear in accounts, traces and readings.

What it does not do: put a figure to an account; where an exact weighing is part of the report,
its chance stands beside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ledger.disputes import Rival
from ledger.findings import Account, Reading, Report
from ledger.models import Trace, Work
from ledger.reason.disputing import Matter
from ledger.reason.wording import article, line_sentence
from ledger.references import TraceKind

ACCOUNTS_TOLD = 6
PARTS_TOLD = 3
READINGS_TOLD = 8
FIRST = "left the works with it"
SERVICE = "a service part of its time"
MATCHED = "a part chosen to match, or moved over with a group from another example"


def rivals_of(matter: Matter, after: Report | None) -> tuple[Rival, ...]:
    """The rival explanations: accounts, then kinds of part, then readings."""
    return (*_accounts(matter), *_kinds_of_part(matter), *_readings(matter, after))


def _chances_of(report: Report, members: list[str]) -> tuple[float | None, ...]:
    """The chances of the three kinds of part, where the report holds an exact weighing."""
    parts = report.chances.parts if report.chances is not None else ()
    for part in parts:
        if set(members) & set(part.positions):
            return part.chance, part.service, part.period + part.transplant
    return None, None, None


def _accounts(matter: Matter) -> Iterator[Rival]:
    report = matter.report
    leading = [each for each in report.accounts if each.is_leading][:ACCOUNTS_TOLD]
    shown = list(leading)
    for is_wanted in (True, False):
        if not any(grants_it(matter, each) == is_wanted for each in shown):
            shown += [each for each in report.accounts if grants_it(matter, each) == is_wanted][:1]
    common = set.intersection(*(set(each.gives_up) for each in shown)) if shown[1:] else set()
    if common:
        names = [name for name in shown[0].gives_up if name in common]
        yield Rival("account", f"All of these accounts give up {_that(matter, names)}.", "")
    for account in shown:
        own = [name for name in account.gives_up if name not in common]
        besides = f"Besides that: give up {_that(matter, own)}." if own else "Nothing besides."
        yield Rival(
            "account",
            besides if common else account.sentence,
            account.odds_note,
            grants=grants_it(matter, account),
            is_leading=account.is_leading,
            chance=account.chance,
        )
    if (matter.doubted or matter.what.holds) and not any(grants_it(matter, a) for a in shown):
        yield Rival("account", _uncalled_for(matter), _priors(matter), grants=True)


def _that(matter: Matter, names: Iterable[str]) -> str:
    said = (matter.draft.doubts[name].sentence.rstrip(".") for name in names)
    return "; ".join(f"that {each}" for each in said)


def grants_it(matter: Matter, account: Account) -> bool:
    """Whether the account has it as the challenger does."""
    given_up = set(account.gives_up)
    if matter.what.holds and given_up & set(matter.what.holds):
        return False
    return bool(given_up & matter.doubted) or (bool(matter.what.holds) and not matter.doubted)


def _uncalled_for(matter: Matter) -> str:
    if not matter.what.holds:
        return "What is doubted does not hold. Nothing else on record needs that to be given up."
    return "What the challenger takes to hold does hold. No account that was listed keeps it."


def _priors(matter: Matter) -> str:
    """What practice expects of the doubted suppositions beforehand."""
    said = [
        f"{each.sentence.rstrip('.')}: a chance of {each.prior:.2f} before the evidence "
        f"({each.prior_from})"
        for each in matter.report.suppositions
        if each.id in matter.doubted | set(matter.what.holds)
    ]
    return "; ".join(said[:PARTS_TOLD])


# -- kinds of part ----------------------------------------------------------------------------


def _kinds_of_part(matter: Matter) -> Iterator[Rival]:
    anatomy = matter.draft.anatomy
    told: dict[str, str] = {}
    for position in matter.positions:
        if not anatomy.is_root(position.position):
            told.setdefault(anatomy.event_of(position.position), position.position)
    for event in list(told)[:PARTS_TOLD]:
        members = [p for p in anatomy.positions if anatomy.event_of(p) == event]
        yield from _kinds(matter, event, members)


def _kinds(matter: Matter, event: str, members: list[str]) -> Iterator[Rival]:
    draft = matter.draft
    name = f"the {draft.event_name(event)}"
    evidence = [*_trace_words(matter, members), *_code_words(matter, members)]
    works = [
        line_sentence(work, draft.anatomy.name)
        for work in draft.case.of(Work)
        if work.line.action in ("replaced", "added") and set(work.line.positions) & set(members)
    ]
    recorded = f"Recorded: {' '.join(works)}" if works else ""
    if not evidence and not works:
        return
    is_doubted = draft.anatomy.first_fitted(members[0]) in matter.what.fails
    rows = ((FIRST, 0), (SERVICE, 1), (MATCHED, 2))
    chances = _chances_of(matter.report, members)
    for what, column in rows:
        notes = [each[column] for each in evidence if each[column]]
        if column:
            notes = [*notes, recorded] if recorded else notes
        is_first = column == 0
        yield Rival(
            "kind of part",
            f"{article(name)} {what}." if is_first else f"{article(name)}: {what}.",
            " ".join(notes),
            grants=is_doubted != is_first,
            chance=chances[column],
        )


def _trace_words(matter: Matter, members: list[str]) -> Iterator[tuple[str, str, str]]:
    """For each trace what it says of a first part, against a service part, against a match."""
    draft = matter.draft
    for trace in draft.case.of(Trace):
        row = draft.packs.trace_kind(trace.line.trace)
        if row is None or not set(trace.line.positions) & set(members):
            continue
        said = line_sentence(trace, draft.anatomy.name).rstrip(".")
        yield (f"Seen: {said}.", *_ratios(row.row))


def _ratios(kind: TraceKind) -> tuple[str, str]:
    against = (kind.against_service, kind.against_matching)
    service, matching = (_ratio(kind.name, low, high) for low, high in against)
    return service, matching


def _ratio(name: str, low: float, high: float) -> str:
    if low >= 1:
        if high < 2:
            return f"{article(name)}: hardly less likely than on a first part."
        return f"{article(name)}: {low:g} to {high:g} times less likely than on a first part."
    if high <= 1:
        return (
            f"{article(name)}: {1 / high:.3g} to {1 / low:.3g} times likelier than on a first part."
        )
    return f"{article(name)}: tells nothing either way."


def _code_words(matter: Matter, members: list[str]) -> Iterator[tuple[str, str, str]]:
    """What a date code in the right time says of each; nothing where no code dates the part."""
    draft = matter.draft
    if not any(has_code_in_time(matter, place) for place in members):
        return
    shares = [
        draft.packs.practice(f"code-in-window-{part}").row.value
        for part in ("first-fitted", "service", "matching")
    ]
    first, service, matching = (
        f"A code in the right time: on {share:.0%} of such parts (practice, a starting value)."
        for share in shares
    )
    yield first, service, matching


def code_ratio(matter: Matter) -> float:
    """How much likelier a code in the right time is on a first part than on a matched one."""
    first, matching = (
        matter.draft.packs.practice(f"code-in-window-{part}").row.value
        for part in ("first-fitted", "matching")
    )
    return first / matching


def has_code_in_time(matter: Matter, place: str) -> bool:
    """Whether a mark dates the making of the part, and nothing but a record says it came later.

    A fact that only says "not before" is no code.
    """
    anatomy, network = matter.draft.anatomy, matter.draft.network
    made = anatomy.made(place)
    is_dated = any(b.moment == made and b.spans.latest is not None for b in network.bounds)
    is_recorded = any(
        place in work.line.positions
        for work in matter.draft.case.of(Work)
        if work.line.action in ("replaced", "added")
    )
    return (
        not anatomy.is_root(place)
        and is_dated
        and (is_recorded or not all(matter.weighed.given_up(anatomy.first_fitted(place))))
    )


# -- readings ---------------------------------------------------------------------------------


def _readings(matter: Matter, after: Report | None) -> Iterator[Rival]:
    own = matter.challenge.line.mark
    marks = {line for line in matter.lines if line in matter.draft.case.lines}
    wanted = {*marks, *([own] if own is not None else [])}
    found = [each for each in matter.report.readings if each.line in wanted]
    for each in found[:READINGS_TOLD]:
        yield _reading(each, grants=False)
    if after is not None and own is not None:
        theirs = [each for each in after.readings if each.line == own]
        for each in theirs[:READINGS_TOLD]:
            yield _reading(each, grants=True)


def _reading(reading: Reading, *, grants: bool) -> Rival:
    days = " or ".join(f"{a or 'any time'} to {b or 'any time'}" for a, b in reading.days)
    told = f" ({days})" if days else ""
    note = " ".join(text for text in (f"{reading.reason.rstrip('.')}.", reading.standing) if text)
    return Rival(
        "reading",
        f"“{reading.text}”: {reading.reading}{told}.",
        note if reading.is_used else f"Not used. {note}",
        grants=grants,
        is_leading=reading.is_used,
    )
