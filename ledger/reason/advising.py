"""Which examination would tell most, and what would each outcome change?

Question answered: for every examination that the catalogue and the packs know of and that has not
been made, how many bits it is expected to take from the date of completion and from the states of
the parts, outcome by outcome what it would change, how far one has to go for it and what that can
cost; the least invasive first.

Method: outcomes are foreseen by the model that the evidence is weighed by, on what is known now
(:mod:`ledger.reason.prospects`). Outcomes that are told alike, and neighbouring years that are
each unlikely, are told together; what is not told one by one is told as a rest, so that the
chances add up.

Cost: a few milliseconds for each examination.

What it does not do: foresee what nobody thought of; nor put a price on an examination beyond how
far one has to go for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ledger.advice import Advice, Foreseen
from ledger.basis.percentages import percent
from ledger.basis.spans import iso_date
from ledger.reason.draft import Draft
from ledger.reason.examination import REACH_LOSES, REACHES, Examination, Ready
from ledger.reason.factors import Table
from ledger.reason.foreseen_comparisons import foreseen_comparisons
from ledger.reason.foreseen_marks import foreseen_marks
from ledger.reason.foreseen_traces import foreseen_traces
from ledger.reason.likelihoods import FIRST
from ledger.reason.prospects import Prospect, Prospects
from ledger.reason.ranges import region
from ledger.reason.stretches import YearRun, stretches_of, years_in_words
from ledger.reason.weighing import Outcome, Scales
from ledger.reason.wording import article, counted, listing

LEAST_BITS = 0.01
ADVISED_AT_MOST = 30
TOLD_ALONE = 0.04
OUTCOMES_AT_MOST = 6
LEAST_YEARS_APART = 2
MOVES, EVEN = 0.05, 0.5
REACH_WORDS = {
    "look": "to be seen without opening anything",
    "open": "to be seen once it is opened",
    "remove": "to be seen once something is taken off",
    "alter": "not to be seen without altering it",
}


@dataclass(slots=True)
class Survey:
    """All examinations of a case with what each is foreseen to do."""

    ready: Ready
    prospects: Prospects
    found: tuple[tuple[Examination, Prospect], ...]


def survey(outcome: Outcome) -> Survey:
    """Everything that could be examined, weighed; nothing where nothing explains the evidence."""
    ready = Ready.of(outcome)
    weeks = outcome.weeks()
    if not weeks.any():
        return Survey(ready, Prospects.of(ready, ()), ())
    stretches = stretches_of(ready.evidence.axis.first_day, weeks)
    examinations = [
        *foreseen_marks(ready, stretches),
        *foreseen_traces(ready),
        *foreseen_comparisons(ready, stretches),
    ]
    _hold_every_state(ready)
    prospects = Prospects.of(ready, (each.root for each in examinations))
    return Survey(
        ready, prospects, tuple((each, prospects.prospect(each)) for each in examinations)
    )


def _hold_every_state(ready: Ready) -> None:
    """Every part's way of coming there and every union, as choices, weighed or not."""
    anatomy, evidence = ready.draft.anatomy, ready.evidence
    for event, members in ready.open_events():
        if not anatomy.is_root(members[0]):
            evidence.way(event)
    for root in anatomy.view.roots():
        for union in anatomy.view.union_path(anatomy.view.anchor, root) or ():
            evidence.holds(ready.draft.joined(anatomy.union_id(union), *union.between))


def advise(scales: Scales, outcome: Outcome, draft: Draft) -> tuple[Advice, ...]:
    """What to examine next, the least invasive first and of those what tells most.

    Args:
        scales: the evidence.
        outcome: that evidence weighed, on the terms that hold.
        draft: the working paper; rows of practice that are asked for are written on it.
    """
    if not outcome.is_possible():
        return ()
    found = advised(survey(outcome))
    known = scales.evidence.draft.packs
    for each in found:
        for name in each.rows:
            row = known.row(name)
            if row is not None:
                draft.rows.setdefault(row.id, row)
    return found


def advised(made: Survey) -> tuple[Advice, ...]:
    """The examinations that tell most, in words."""
    telling = [
        (examination, prospect)
        for examination, prospect in made.found
        if max(prospect.date_bits, prospect.state_bits) >= LEAST_BITS
    ]
    telling.sort(key=_by_bits)
    told = [
        _advice(made, examination, prospect) for examination, prospect in telling[:ADVISED_AT_MOST]
    ]
    told.sort(key=lambda each: (not each.is_to_be_had, REACHES.index(each.reach)))
    return tuple(told)


def _by_bits(each: tuple[Examination, Prospect]) -> tuple[float, str]:
    examination, prospect = each
    return -round(prospect.date_bits + prospect.state_bits, 6), examination.id


def _advice(made: Survey, examination: Examination, prospect: Prospect) -> Advice:
    ready = made.ready
    rows = [row for place in examination.positions if (row := ready.row_of(place)) is not None]
    loses = REACH_LOSES[examination.reach] if examination.is_to_be_had else ""
    takes = [
        f"{bits:.2f} bits {of}"
        for bits, of in (
            (prospect.date_bits, "from the date"),
            (prospect.state_bits, "from the states of parts"),
        )
        if bits >= LEAST_BITS
    ]
    how = REACH_WORDS[examination.reach] if examination.is_to_be_had else "not to be had at will"
    sentence = f"{article(examination.what)} ({how}): expected to take {listing(takes)}."
    if examination.left_because:
        sentence += f" It was left so far: {examination.left_because.rstrip('.')}."
    if loses:
        sentence += f" {article(loses)}."
    packs = ready.draft.packs
    named = (packs.practice(name).id if "/" not in name else name for name in examination.rows)
    return Advice(
        id=examination.id.replace(" ", "."),
        positions=examination.positions,
        reach=examination.reach,
        what=examination.what,
        loses=loses,
        date_bits=round(prospect.date_bits, 4),
        state_bits=round(prospect.state_bits, 4),
        outcomes=tuple(_foreseen(made, examination, prospect)),
        sentence=sentence,
        is_to_be_had=examination.is_to_be_had,
        cautions=tuple(dict.fromkeys(caution for row in rows for caution in row.cautions)),
        rows=tuple(named),
    )


# -- outcomes in words --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Told:
    """Outcomes that are told together."""

    words: str
    outcomes: tuple[int, ...]
    chance: float
    years: YearRun | None = None


def _foreseen(made: Survey, examination: Examination, prospect: Prospect) -> Iterator[Foreseen]:
    """The likeliest outcomes, with what each would change."""
    told = _few_enough(examination, _told_together(examination, prospect.chances))
    kept = sorted(told, key=lambda each: -each.chance)[:OUTCOMES_AT_MOST]
    rest = [each for each in told if each not in kept]
    for each in told:
        if each in kept and each.chance > 0:
            changes = listing(_changes(made, examination, prospect, each))
            sentence = f"If {each.words} ({percent(each.chance)}): {changes or 'little changes'}."
            yield Foreseen(each.words, round(each.chance, 4), sentence)
    left = sum(each.chance for each in rest)
    if round(left, 4) > 0:
        said = f"{counted(len(rest), 'other outcome')}, each less likely"
        yield Foreseen(said, round(left, 4), f"{article(said)}: {percent(left)} together.")


def _few_enough(examination: Examination, told: list[_Told]) -> list[_Told]:
    """Neighbouring years told together, the least likely first, until there are few enough."""
    found = list(told)
    while len(found) > OUTCOMES_AT_MOST:
        dated = [i for i, each in enumerate(found) if each.years is not None]
        pairs = [i for i in dated if i + 1 in dated]
        if len(pairs) < LEAST_YEARS_APART:
            break
        at = min(pairs, key=lambda i: (round(found[i].chance + found[i + 1].chance, 9), i))
        found[at : at + 2] = [_as_one(examination, found[at], found[at + 1])]
    return found


def _as_one(examination: Examination, one: _Told, other: _Told) -> _Told:
    """Two neighbouring stretches of years as one."""
    if one.years is None or other.years is None:
        raise ValueError(one, other)
    years = (one.years[0], other.years[1])
    words = f"{examination.says} {years_in_words(years)}"
    return _Told(words, (*one.outcomes, *other.outcomes), one.chance + other.chance, years)


def _told_together(examination: Examination, chances: Table) -> list[_Told]:
    """Outcomes by the words for them; runs of years that are each unlikely become one."""
    by_word = [
        tuple(i for i, told in enumerate(examination.told) if told == word)
        for word in range(len(examination.words))
    ]
    shares = [float(sum(chances[i] for i in each)) for each in by_word]
    found: list[_Told] = []
    run: list[int] = []
    runs = len(examination.years)
    for word, share in enumerate(shares):
        is_unlikely_year = word < runs and share < TOLD_ALONE
        if is_unlikely_year:
            run.append(word)
        if run and (not is_unlikely_year or word + 1 == runs):
            found.append(_run(examination, by_word, shares, run))
            run = []
        if not is_unlikely_year:
            years = examination.years[word] if word < runs else None
            found.append(_Told(examination.words[word], by_word[word], share, years))
    return found


def _run(
    examination: Examination, by_word: list[tuple[int, ...]], shares: list[float], run: list[int]
) -> _Told:
    years = (examination.years[run[0]][0], examination.years[run[-1]][1])
    words = f"{examination.says} {years_in_words(years)}"
    outcomes = tuple(i for word in run for i in by_word[word])
    return _Told(words, outcomes, sum(shares[word] for word in run), years)


def _changes(
    made: Survey, examination: Examination, prospect: Prospect, told: _Told
) -> Iterator[str]:
    """What the outcome would change, in clauses: the date, then the states."""
    at = list(told.outcomes)
    if prospect.date_bits >= LEAST_BITS:
        then, now = (_likeliest(made, dates) for dates in (prospect.dates[at], prospect.dates))
        if then != now:
            verb = _COMPARED[(_length(then) > _length(now)) - (_length(then) < _length(now))]
            yield f"the date {verb} {_weeks_in_words(made, then)}"
    for name in examination.about:
        if name not in prospect.states:
            continue
        table = prospect.states[name]
        value = FIRST if name.startswith("way:") else 1
        after, before = (
            float(each[value] / each.sum()) for each in (table[at].sum(axis=0), table.sum(axis=0))
        )
        if abs(after - before) >= MOVES or (before < EVEN) != (after < EVEN):
            said = f"with a chance of {percent(after)} (now {percent(before)})"
            yield f"{state_in_words(made, name)} {said}"


_COMPARED = {-1: "narrows to", 0: "moves to", 1: "becomes less sure,"}
Runs = list[tuple[int, int]]


def _likeliest(made: Survey, dates: Table) -> Runs:
    """The likeliest weeks, summed over outcomes."""
    weeks = np.zeros(made.ready.evidence.axis.weeks)
    weeks[made.prospects.kept] = dates.sum(axis=0)
    return region(weeks)


def _length(runs: Runs) -> int:
    return sum(last - first + 1 for first, last in runs)


def _weeks_in_words(made: Survey, runs: Runs) -> str:
    days = made.ready.evidence.axis.days
    spans = (f"{iso_date(days(first)[0])} to {iso_date(days(last)[1])}" for first, last in runs)
    return listing(spans, "or")


def state_in_words(made: Survey, name: str) -> str:
    """What it means that a choice holds."""
    draft = made.ready.draft
    kind, _, subject = name.partition(":")
    if kind == "way":
        return f"the {draft.event_name(subject)} left the works with it"
    return draft.doubts[name].sentence
