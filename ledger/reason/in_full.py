"""What is there to say of a case when everything is asked?

Question answered: besides the usual report what each line is worth, how far every starting value
of practice sways the conclusions, what to examine next, and what there is to say to each
challenge on record.

Method: the one way to a report (:mod:`ledger.reason.reasoner`), with the worth of lines
(:mod:`ledger.reason.leaving_out`) and advice (:mod:`ledger.reason.advising`) added to its chances
before the states rest on them: the wider ranges can only make it claim less. Then each challenge
is answered (:mod:`ledger.reason.answering`).

Cost: a turn of one weighing for each line and both ends of each starting value, and a further usual
report for each challenge.

What it does not do: read a clock, a file or a database.
"""

from __future__ import annotations

from dataclasses import replace

from ledger.advice import Advice
from ledger.chances import Chances
from ledger.disputes import Dispute
from ledger.findings import CautionText, Report
from ledger.knowledge.packs import Packs
from ledger.models import Challenge
from ledger.reason.advising import advise
from ledger.reason.answering import answer_challenges, with_members
from ledger.reason.draft import Draft
from ledger.reason.leaving_out import with_weights
from ledger.reason.reasoner import conclude_case, reason
from ledger.reason.supposing import Supposing, case_supposing, packs_supposing
from ledger.reason.weighing import Outcome, Scales
from ledger.record.case import Case


def reason_in_full(case: Case, packs: Packs) -> Report:
    """The full report on the case: pure, and the same for any hash seed.

    Raises:
        UnknownName: no pack has a catalogue for the instrument's kind.
    """
    weighed, report = conclude_case(case, packs, more=_weights_and_advice)
    if not case.of(Challenge):
        return report

    def again(what: Supposing) -> Report:
        return reason(
            case_supposing(case, what),
            packs_supposing(packs, what),
            with_members(weighed.draft, what.given),
        )

    disputes = answer_challenges(weighed, report, again)
    cautions = (*report.cautions, *_cautions_of(weighed.draft, report, disputes))
    return replace(report, challenges=disputes, cautions=cautions)


def _weights_and_advice(
    draft: Draft, scales: Scales, outcome: Outcome, chances: Chances
) -> tuple[Chances, tuple[Advice, ...]]:
    return with_weights(scales, chances), advise(scales, outcome, draft)


def _cautions_of(
    draft: Draft, report: Report, disputes: tuple[Dispute, ...]
) -> tuple[CautionText, ...]:
    """The cautions that the words of challenges call for and that the report does not give."""
    told = {each.id for each in report.cautions}
    called: dict[str, str] = {}
    for dispute in disputes:
        for name in dispute.cautions:
            if name not in told:
                called.setdefault(name, dispute.id.replace("-", " "))
    rows = draft.packs.cautions(called)
    return tuple(
        CautionText(row.row.id, f"challenge “{about}”", row.row.says, row.row.defer_to)
        for row, about in zip(rows, called.values(), strict=True)
    )
