"""A report as one named graph: what is concluded, from what, by which rule, supposing what.

Every finding is derived from its premises in PROV's qualified way, one derivation for a premise,
down to lines and rows whose own graphs lead on to entries and sources. Nothing is concluded here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from ledger.exchange.chances_rdf import chances
from ledger.exchange.dates_rdf import datings, spans, timeline
from ledger.exchange.iris import (
    Names,
    Quad,
    Triple,
    fragment,
    real,
    slug,
    spelt,
    text,
    truth,
    whole,
)
from ledger.findings import Finding, FindingKind, PositionFinding, Report, SuppositionText

CLASSES: Final[Mapping[FindingKind, str]] = {
    "reading": "wm:Reading",
    "bound": "wm:Bound",
    "relation": "wm:Relation",
    "comparison": "wm:Comparison",
    "date": "wm:DateEnd",
    "state": "wm:PositionState",
    "conflict": "wm:Conflict",
    "account": "wm:Account",
    "swap": "wm:Swap",
    "surprise": "wm:Surprise",
    "identity": "wm:IdentityFinding",
    "dependency": "wm:Dependency",
    "chance": "wm:Chance",
}
_A: Final = spelt("rdf:type")
_LABEL: Final = spelt("rdfs:label")
_SAYS: Final = spelt("wm:says")


def report_quads(names: Names, report: Report, rules: Mapping[str, str]) -> Iterator[Quad]:
    """Everything the report concludes, in the graph of the report.

    Args:
        names: under which base.
        report: the report.
        rules: the sentence of each rule by its name.
    """
    graph = names.part_of(report.instrument, "report", str(report.sequence))
    for part in PARTS:
        for subject, predicate, found in part(names, report):
            yield graph, subject, predicate, found
    for rule in sorted({finding.rule for finding in report.findings}):
        here = names.rule(rule)
        yield graph, here, _A, spelt("wm:Rule")
        yield graph, here, _LABEL, text(rule)
        yield graph, here, _SAYS, text(rules.get(rule, rule))


def _report(names: Names, report: Report) -> Iterator[Triple]:
    here = names.part_of(report.instrument, "report", str(report.sequence))
    yield here, _A, spelt("wm:Report")
    yield here, _LABEL, text(f"Report on {report.name}")
    yield here, spelt("wm:ofInstrument"), names.instrument(report.instrument)
    yield here, spelt("wm:sequence"), whole(report.sequence)
    yield here, spelt("wm:completeness"), text(report.completeness)
    for pack in report.packs:
        yield here, spelt("wm:pack"), text(f"{pack.id} {pack.version}")
    for finding in report.conclusion:
        yield here, spelt("wm:concludes"), names.finding(report.instrument, finding)
    for sentence in report.taken_for_granted:
        yield here, spelt("wm:takenForGranted"), text(sentence)
    for number, sentence in enumerate(report.questions, 1):
        question = names.part_of(report.instrument, "question", str(number))
        yield question, _A, spelt("wm:OpenQuestion")
        yield question, spelt("wm:ofInstrument"), names.instrument(report.instrument)
        yield question, _SAYS, text(sentence)


def _findings(names: Names, report: Report) -> Iterator[Triple]:
    told = _told_in_full(report)
    for finding in report.findings:
        is_summing_up = finding.id not in told.get(finding.kind, (finding.id,))
        kind = "wm:Statement" if is_summing_up else CLASSES.get(finding.kind, "wm:Statement")
        yield names.finding(report.instrument, finding.id), _A, spelt(kind)
        yield from _finding(names, report.instrument, finding)


def _told_in_full(report: Report) -> Mapping[FindingKind, frozenset[str]]:
    """Of the kinds of which a report tells more than a sentence, the findings it tells more of."""
    weighed = report.chances
    dates = () if weighed is None else (each.finding for each in weighed.dates)
    parts = () if weighed is None else (each.finding for each in weighed.parts)
    return {
        "chance": frozenset((*dates, *parts)),
        "reading": frozenset(each.id for each in report.readings),
        "state": frozenset(each.finding for each in report.positions),
        "conflict": frozenset(each.id for each in report.conflicts),
        "account": frozenset(each.id for each in report.accounts),
        "swap": frozenset(each.finding for each in report.swaps),
        "surprise": frozenset(each.id for each in report.surprises),
    }


def _finding(names: Names, instrument: str, finding: Finding) -> Iterator[Triple]:
    here = names.finding(instrument, finding.id)
    step = fragment(here, "step")
    yield here, spelt("wm:findingKind"), text(finding.kind)
    yield here, _LABEL, text(finding.id)
    yield here, _SAYS, text(finding.sentence)
    yield here, spelt("wm:ofInstrument"), names.instrument(instrument)
    yield here, spelt("prov:wasGeneratedBy"), step
    yield step, _A, spelt("wm:RuleApplication")
    yield step, spelt("wm:appliesRule"), names.rule(finding.rule)
    for number, premise in enumerate(dict.fromkeys(finding.premises), 1):
        used = names.premise(instrument, premise)
        derivation = fragment(here, f"from-{number}")
        yield here, spelt("prov:wasDerivedFrom"), used
        yield here, spelt("prov:qualifiedDerivation"), derivation
        yield step, spelt("prov:used"), used
        yield derivation, _A, spelt("prov:Derivation")
        yield derivation, spelt("prov:entity"), used
        yield derivation, spelt("prov:hadActivity"), step
    for supposed in finding.suppositions:
        yield (
            here,
            spelt("wm:supposes"),
            names.part_of(instrument, "supposition", supposed),
        )
    if finding.moment is not None:
        yield here, spelt("wm:moment"), text(finding.moment)
    yield from spans(here, "wm:allows", finding.days)


def _suppositions(names: Names, report: Report) -> Iterator[Triple]:
    for supposed in report.suppositions:
        here = names.part_of(report.instrument, "supposition", supposed.id)
        yield here, _A, spelt("wm:Supposition")
        yield here, _LABEL, text(supposed.id)
        yield here, _SAYS, text(supposed.sentence)
        yield here, spelt("wm:ofInstrument"), names.instrument(report.instrument)
        yield here, spelt("wm:suppositionKind"), text(supposed.kind)
        yield here, spelt("wm:prior"), real(supposed.prior)
        yield here, spelt("wm:priorFrom"), text(supposed.prior_from)
        yield from _subject(names, report.instrument, supposed, here)


def _subject(
    names: Names, instrument: str, supposed: SuppositionText, here: str
) -> Iterator[Triple]:
    about = supposed.id.partition(":")[2]
    if supposed.kind == "sound":
        yield here, spelt("wm:ofLine"), names.line(instrument, about)
    elif supposed.kind == "holds":
        yield here, spelt("wm:ofReference"), names.reference(about.partition("#")[0])
    else:
        yield here, spelt("wm:subject"), text(supposed.subject)


def _conflicts(names: Names, report: Report) -> Iterator[Triple]:
    own = report.instrument
    for conflict in report.conflicts:
        here = names.finding(own, conflict.id)
        yield here, spelt("wm:isRecordedChange"), truth(conflict.is_recorded_change)
        for supposed in conflict.suppositions:
            yield here, spelt("wm:cannotAllHold"), names.part_of(own, "supposition", supposed)
        for number, chain in enumerate(conflict.chains, 1):
            part = fragment(here, f"chain-{number}")
            yield here, spelt("wm:chain"), part
            yield part, _A, spelt("wm:Chain")
            yield part, _LABEL, text(chain.title)
            for place, step in enumerate(chain.steps, 1):
                link = fragment(here, f"chain-{number}.{place}")
                yield part, spelt("wm:link"), link
                yield link, _A, spelt("wm:ChainLink")
                yield link, spelt("wm:number"), whole(place)
                yield link, spelt("wm:finding"), names.finding(own, step)


def _accounts(names: Names, report: Report) -> Iterator[Triple]:
    own = report.instrument
    for number, account in enumerate(report.accounts, 1):
        here = names.finding(own, account.id)
        yield here, spelt("wm:number"), whole(number)
        yield here, spelt("wm:isLeading"), truth(account.is_leading)
        yield here, spelt("wm:oddsNote"), text(account.odds_note)
        for supposed in account.gives_up:
            yield here, spelt("wm:givesUp"), names.part_of(own, "supposition", supposed)


def _positions(names: Names, report: Report) -> Iterator[Triple]:
    for position in report.positions:
        here = names.part_of(report.instrument, "position", position.position)
        yield here, _A, spelt("wm:Position")
        yield here, _LABEL, text(position.name)
        yield here, spelt("wm:place"), text(position.position)
        yield here, spelt("wm:ofInstrument"), names.instrument(report.instrument)
        yield here, spelt("wm:linkToParent"), text(position.link)
        if position.parent is not None:
            yield here, spelt("wm:parent"), text(position.parent)
        if position.assembly is not None:
            yield here, spelt("wm:assembly"), text(position.assembly)
        yield from _state(names.finding(report.instrument, position.finding), here, position)


def _state(state: str, here: str, position: PositionFinding) -> Iterator[Triple]:
    yield state, spelt("wm:ofPosition"), here
    yield state, spelt("wm:stateInWords"), text(position.label)
    for name in position.states:
        yield state, spelt("wm:state"), spelt(f"wm:{slug(name)}")
    for reason in position.reasons:
        yield state, spelt("wm:reason"), text(reason)
    if position.fitting_event is not None:
        yield state, spelt("wm:fittingEvent"), text(position.fitting_event)
    if position.made is not None and any(position.made):
        yield from spans(state, "wm:partMade", (position.made,))


def _readings(names: Names, report: Report) -> Iterator[Triple]:
    for reading in report.readings:
        here = names.finding(report.instrument, reading.id)
        yield here, spelt("wm:ofLine"), names.premise(report.instrument, f"line:{reading.line}")
        yield here, spelt("wm:markText"), text(reading.text)
        yield here, spelt("wm:readAs"), text(reading.reading)
        yield here, spelt("wm:reason"), text(reading.reason)
        yield here, spelt("wm:knownFrom"), text(reading.source)
        yield here, spelt("wm:isPlain"), truth(reading.is_plain)
        yield here, spelt("wm:isUsed"), truth(reading.is_used)
        if reading.standing:
            yield here, spelt("wm:standing"), text(reading.standing)
        yield from spans(here, "wm:readSpan", reading.days)


def _swaps_and_surprises(names: Names, report: Report) -> Iterator[Triple]:
    own = report.instrument
    for swap in report.swaps:
        here = names.finding(own, swap.finding)
        yield here, spelt("wm:subject"), text(swap.subject)
        yield here, spelt("wm:accountsGivingUp"), whole(swap.accounts_giving_up)
        yield here, spelt("wm:accountsTotal"), whole(swap.accounts_total)
        for position in swap.positions:
            yield here, spelt("wm:ofPosition"), names.part_of(own, "position", position)
    for surprise in report.surprises:
        here = names.finding(own, surprise.id)
        yield here, spelt("wm:isOpen"), truth(surprise.is_open)
        yield here, spelt("wm:seen"), text(surprise.sentence)
        yield here, spelt("wm:ofLine"), names.premise(own, f"line:{surprise.line}")
        if surprise.explained_by is not None:
            explaining = names.premise(own, f"line:{surprise.explained_by}")
            yield here, spelt("wm:explainedBy"), explaining


# A later part of a report is told by one more of these.
PARTS: Final[tuple[Callable[[Names, Report], Iterator[Triple]], ...]] = (
    _report,
    _findings,
    _suppositions,
    _conflicts,
    _accounts,
    _positions,
    _readings,
    _swaps_and_surprises,
    datings,
    timeline,
    chances,
)
