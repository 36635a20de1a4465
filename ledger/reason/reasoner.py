"""What follows from this case, as far as it can be relied on?

Question answered: everything a usual report holds, from a case and packs. The door to reasoning:
:func:`reason` is a pure function of a case and packs. It reads no clock and no database, draws no
random number, and gives the same report for any hash seed.

Method: derive (rules), reconcile (conflicts and accounts), weigh (the exact chance of dates, parts
and accounts), then the ends of every event and the state of every position under the leading
accounts.

Cost: that of the enumeration of accounts, see :mod:`ledger.reason.reconcile`.

What it does not do: read a clock, a file or a database.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from ledger.basis.spans import Spans, spans_as_text
from ledger.chances import Chances
from ledger.findings import (
    FORMAT,
    CautionText,
    Conflict,
    EventDating,
    LineText,
    PackUsed,
    PositionFinding,
    Reading,
    ReferenceText,
    Report,
    SuppositionText,
)
from ledger.knowledge.packs import ROW_SECTIONS, Packs
from ledger.models import Exhibit, Feature, Identity, Mark, Source
from ledger.reason.anatomy import positions_of
from ledger.reason.cautions import Called, cautions_of_lines, with_cautions
from ledger.reason.concluding import conclude, conclude_impossible
from ledger.reason.dating import alternatives, masked_reading, place_of
from ledger.reason.derive import Derivation, derive
from ledger.reason.draft import Because, Draft, line_of
from ledger.reason.ends import Bench, date_events, leaves_of, rule_out_readings
from ledger.reason.given import NOTHING_GIVEN, Given, settled
from ledger.reason.happenings import time_axis
from ledger.reason.hitting import Costs, minimal_conflict
from ledger.reason.likely import More, weigh_all
from ledger.reason.priors import fitments, known_age_in_years, suppositions
from ledger.reason.reconcile import Reconciliation, reconcile
from ledger.reason.row_wording import row_sentence
from ledger.reason.states import state_positions
from ledger.reason.surprises import (
    open_questions,
    open_surprises,
    places_to_look,
    taken_for_granted,
)
from ledger.reason.swaps import rank_swaps
from ledger.reason.telling import (
    completeness,
    in_common,
    leading_accounts,
    tell_accounts,
    tell_conflicts,
)
from ledger.reason.tighten import Tightener
from ledger.reason.weighed import Weighed
from ledger.reason.wording import article, line_name, line_sentence, listing
from ledger.record.case import Case, Recorded

LEADING_DATED = 12
ACCOUNT_SHARES = (
    "The chance of each is its share among them, everything else that is contested taken to hold; it is "
    "not the chance of what it gives up by itself."
)


def reason(case: Case, packs: Packs, given: Given | None = None) -> Report:
    """The usual report on the case; with something ``given``, as if it were so.

    What is given of a name on which nothing rests changes nothing. What each line is worth, what
    to examine next and what there is to say to a challenge stands in the full report only:
    :func:`ledger.reason.in_full.reason_in_full`.

    Raises:
        UnknownName: no pack has a catalogue for the instrument's kind.
    """
    return conclude_case(case, packs, given)[1]


def conclude_case(
    case: Case, packs: Packs, given: Given | None = None, more: More | None = None
) -> tuple[Weighed, Report]:
    """The report, and what it was drawn from; ``more`` may add to the chances it rests on."""
    derivation = derive(case, packs, given or NOTHING_GIVEN)
    age = known_age_in_years(derivation.draft)
    weighed, likely = weigh_all(derivation, _weigh(derivation), more)
    weighed = _presuming(weighed, likely.told)
    draft = derivation.draft
    is_possible = bool(weighed.leading)
    accounts = tell_accounts(weighed, likely.of_accounts)
    conflicts = tell_conflicts(draft, weighed.ready, weighed.reconciliation)
    bench = _bench(weighed)
    datings = _datings(bench, weighed.leading)
    readings = _readings(derivation, bench, weighed.leading)
    called = cautions_of_lines(draft)
    positions = with_cautions(state_positions(weighed), called) if is_possible else ()
    surprises = open_surprises(weighed, derivation.readings, positions)
    identity = _identify(draft)
    conclusion = (
        conclude(weighed, datings, positions, conflicts, surprises)
        if is_possible
        else conclude_impossible(weighed, conflicts)
    )
    about = case.instrument
    return weighed, Report(
        format=FORMAT,
        instrument=about.id,
        name=about.name,
        kind=about.kind,
        kind_name=draft.anatomy.view.name,
        maker=about.maker,
        model=about.model,
        invented=about.invented,
        sequence=case.sequence,
        packs=_packs_used(packs),
        conclusion=conclusion,
        identity=identity,
        datings=datings,
        positions=positions,
        readings=readings,
        conflicts=conflicts,
        accounts=accounts,
        completeness=_how_complete(weighed, len(accounts), len(conflicts)),
        swaps=rank_swaps(weighed) if is_possible else (),
        surprises=surprises,
        questions=open_questions(draft),
        looks=places_to_look(draft, positions),
        taken_for_granted=taken_for_granted(weighed, age),
        timeline=time_axis(draft, derivation.readings, datings, conflicts),
        cautions=_cautions(draft, positions, called),
        suppositions=_suppositions(weighed),
        findings=tuple(draft.findings.values()),
        lines=_lines(draft),
        references=_references(draft),
        chances=_with_conflict(likely.told, conflicts),
        advice=likely.advice,
    )


def _bench(weighed: Weighed) -> Bench:
    return Bench(
        weighed.draft,
        weighed.ready,
        leaves_of(weighed.draft),
        weighed.suppositions,
        weighed.improbable,
        weighed.chances,
    )


def _datings(bench: Bench, leading: tuple[int, ...]) -> tuple[EventDating, ...]:
    """The ends of every event under each leading account, as far as they are dated."""
    return tuple(
        dating
        for i, mask in enumerate(leading[:LEADING_DATED], 1)
        for dating in date_events(bench, f"account.{i}", mask)
    )


def _packs_used(packs: Packs) -> tuple[PackUsed, ...]:
    return tuple(
        PackUsed(pack.pack, pack.title, pack.version, pack.invented) for pack in packs.files
    )


def _how_complete(weighed: Weighed, accounts: int, conflicts: int) -> str:
    """What was listed and what left out, and what the leading accounts have in common."""
    listed = completeness(weighed.reconciliation, accounts, conflicts)
    shares = ACCOUNT_SHARES if accounts > 1 else ""
    return " ".join(part for part in (listed, shares, in_common(weighed)) if part)


def _with_conflict(chances: Chances, conflicts: tuple[Conflict, ...]) -> Chances:
    """Evidence that nothing explains, with its smallest conflict, where one is known."""
    if chances.is_possible or not conflicts:
        return chances
    least = min(conflicts, key=lambda each: len(each.suppositions))
    return replace(chances, note=f"{chances.note} {least.sentence}")


def _weigh(derivation: Derivation) -> Weighed:
    draft = derivation.draft
    fitment = fitments(draft)
    supposed = suppositions(draft, fitment)
    network = draft.network
    draft.network = settled(network, draft.given)
    ready = Tightener(draft.network)
    if ready.conflict_within(0) is not None:
        # What is given cannot be: the conflict is told with its own suppositions.
        draft.network = settled(network, Given(fails=draft.given.fails))
        ready = Tightener(draft.network)
        mask = minimal_conflict(ready, ready.mask(draft.given.holds)) or 0
        clash = Reconciliation((mask,), (), (), (), is_complete=True)
        return Weighed(draft, ready, clash, (), supposed, fitment, 0)
    hinges = tuple(f"completed:{root}" for root in draft.anatomy.view.roots())
    found = reconcile(ready, Costs(ready, supposed), hinges)
    leading = leading_accounts(draft, found)
    weighed = Weighed(draft, ready, found, leading, supposed, fitment, 0)
    return _presuming(weighed, Chances(""))


def _presuming(weighed: Weighed, chances: Chances) -> Weighed:
    """The same with the parts and unions on which no end of a date may rest.

    Those too unlikely to be the first by what all evidence comes to, where that was weighed, and else
    by practice.
    """
    draft = weighed.draft
    least = draft.packs.practice("least-presumed")
    draft.rows[least.id] = least
    known = {each.supposition: each.chance for each in chances.suppositions}
    known |= {f"first-fitted:{part.event}": part.chance for part in chances.parts}
    improbable = weighed.ready.mask(
        name
        for name, supposition in weighed.suppositions.items()
        if supposition.kind in ("first-fitted", "joined", "as-made")
        and known.get(name, supposition.prior) < least.row.value
    )
    return replace(weighed, improbable=improbable, chances=known)


def _readings(
    derivation: Derivation, bench: Bench, leading: tuple[int, ...]
) -> tuple[Reading, ...]:
    """Every candidate reading; of several decades, which can stand and why the others rank lower."""
    draft = derivation.draft
    rivals: dict[str, tuple[str, tuple[tuple[str, Spans], ...]]] = {}
    for line, given in derivation.readings.items():
        place = place_of(_mark(draft, line))
        for group in alternatives(line, given):
            used = tuple((name, reading.spans) for name, reading in group if reading.spans)
            is_doubted = f"sound:{line}" in draft.given.fails
            if len(used) > 1 and group[0][1].bears_on == "made" and not is_doubted:
                rivals[line] = (draft.anatomy.made(place), used)
    standing = rule_out_readings(bench, rivals, leading[0]) if leading else {}
    found: list[Reading] = []
    for line, given in derivation.readings.items():
        recorded = draft.case.lines[line]
        for i, reading in enumerate(given, 1):
            name = f"reading.{line}.{i}"
            why = standing.get(name)
            says, because = masked_reading(recorded, reading)
            found.append(
                Reading(
                    id=name,
                    line=line,
                    text=recorded.shown("text"),
                    reading=says,
                    reason=because,
                    source=reading.source,
                    is_plain=reading.is_plain,
                    is_used=reading.is_used,
                    days=spans_as_text(reading.spans),
                    standing="" if why is None else f"{why[1]}.",
                )
            )
    return tuple(found)


def _mark(draft: Draft, line: str) -> Mark | Feature:
    found = draft.case.lines[line].line
    if not isinstance(found, Mark):
        raise TypeError(f"{line} is not a mark")
    return found


def _identify(draft: Draft) -> tuple[str, ...]:
    """What the sources say the instrument is, each as a finding of its own."""
    return tuple(
        draft.finding(
            f"identity.{recorded.id}",
            "identity",
            Because(
                "as recorded",
                f"{line_sentence(recorded, draft.anatomy.name)} So says {_source_title(draft, recorded.line.source)}.",
                (line_of(recorded),),
            ),
        )
        for recorded in draft.case.of(Identity)
    )


def _source_title(draft: Draft, source: str) -> str:
    found = draft.case.lines.get(source)
    return found.shown("title") if found is not None and isinstance(found.line, Source) else source


def _cautions(
    draft: Draft, positions: tuple[PositionFinding, ...], called: Iterable[Called]
) -> tuple[CautionText, ...]:
    """The catalogue's cautions, then those of the positions, each beside what it concerns."""
    found: dict[str, CautionText] = {}
    view = draft.anatomy.view
    for row in draft.packs.cautions(view.cautions):
        found[row.row.id] = CautionText(row.row.id, view.name, row.row.says, row.row.defer_to)
    for position in positions:
        for row in draft.packs.cautions(position.cautions):
            if row.row.id not in found:
                found[row.row.id] = CautionText(
                    row.row.id, position.name, row.row.says, row.row.defer_to
                )
    for row, places in called:
        about = listing(draft.anatomy.name(place) for place in places)
        found.setdefault(row.row.id, CautionText(row.row.id, about, row.row.says, row.row.defer_to))
    return tuple(found.values())


def _suppositions(weighed: Weighed) -> tuple[SuppositionText, ...]:
    return tuple(
        SuppositionText(
            s.id,
            s.kind,
            s.subject,
            s.sentence,
            round(s.prior, 4),
            s.prior_from,
            is_presumed=not weighed.ready.mask((s.id,)) & weighed.improbable,
        )
        for s in weighed.suppositions.values()
    )


def _lines(draft: Draft) -> tuple[LineText, ...]:
    return tuple(
        LineText(
            id=recorded.id,
            section=recorded.section,
            title=article(line_name(recorded, draft.anatomy.name)),
            sentence=line_sentence(recorded, draft.anatomy.name),
            source=getattr(recorded.line, "source", None),
            sequence=recorded.sequence,
            hash=recorded.hash,
            exhibits=_exhibits(recorded),
            positions=positions_of(recorded),
        )
        for recorded in draft.case.lines.values()
    )


def _exhibits(recorded: Recorded[Any]) -> tuple[str, ...]:
    """The exhibits a line names; of an exhibit's own line the SHA-256 of its file."""
    if isinstance(recorded.line, Exhibit):
        return (recorded.content_hash,) if recorded.content_hash else ()
    return tuple(getattr(recorded.line, "exhibits", ()))


def _references(draft: Draft) -> tuple[ReferenceText, ...]:
    """Every row the report used, in alphabetical order of their ids."""
    return tuple(
        ReferenceText(
            id=row.id,
            section=ROW_SECTIONS[type(row.row)],
            sentence=row_sentence(row.row),
            source=row.row.source,
            confidence=row.row.confidence,
            n=row.row.n,
            is_practice=ROW_SECTIONS[type(row.row)] in ("practices", "trace_kinds"),
        )
        for row in sorted(draft.rows.values(), key=lambda row: row.id)
    )
