"""What a site tells of searches of registers of stolen property: that a register was asked.

What it answered stays off a site, whatever it was. A match is for the register, the police and
those concerned, and a site that told every other answer would tell a match by its silence. The
record and the dossier have the answers.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from ledger.findings import LineText, Report

SECTION: Final = "register_searches"
NOT_TOLD: Final = (
    "What it answered is not told on a site: an answer is that of one register on one day, and "
    "a match is for the register, the police and those concerned."
)
ASKED: Final = "A register of stolen property was asked."
CONCEDED: Final = "No match was found in the registers that were asked"

_ANSWER: Final = re.compile(
    r"(?P<asked>.*): (?:no match found|possible match|match found|no answer)\..*", re.DOTALL
)


def without_answers(report: Report) -> Report:
    """The report as a site may tell it; the very same one where no register was asked."""
    told = {line.id: _told(line) for line in report.lines if line.section == SECTION}
    if not told:
        return report
    sentences = {line.sentence: told[line.id].sentence for line in report.lines if line.id in told}
    return replace(
        report,
        lines=tuple(told.get(line.id, line) for line in report.lines),
        challenges=tuple(
            replace(
                dispute,
                observations=tuple(
                    replace(each, sentence=sentences.get(each.sentence, each.sentence))
                    for each in dispute.observations
                ),
                # Left out and not replaced: where one matched there is nothing to replace.
                conceded=tuple(each for each in dispute.conceded if not each.startswith(CONCEDED)),
            )
            for dispute in report.challenges
        ),
    )


def _told(line: LineText) -> LineText:
    found = _ANSWER.fullmatch(line.sentence)
    asked = f"{found['asked']}." if found else ASKED
    return replace(line, sentence=f"{asked} {NOT_TOLD}", exhibits=())
