"""What the page of an instrument takes from the tables beside its report."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from typing import Any, Final

from ledger.publish.chance_contexts import RecordingShown
from ledger.publish.time_scale import date_words
from ledger.publish.wording import worded

KEPT_BACK_SQL: Final = (
    "SELECT DISTINCT exhibit.sha256 FROM line JOIN line_exhibit ON line_exhibit.line = line.key"
    " JOIN exhibit ON exhibit.sha256 = line_exhibit.exhibit"
    " WHERE line.instrument = :instrument AND exhibit.media_type = 'not published'"
)
RECORDINGS_SQL: Final = (
    "SELECT key, recorded_at, sentence, is_compared FROM recording"
    " WHERE instrument = :instrument ORDER BY first_entry DESC"
)
CHANGES_SQL: Final = (
    "SELECT recording_change.recording, recording_change.sentence FROM recording_change"
    " JOIN recording ON recording.key = recording_change.recording"
    " WHERE recording.instrument = :instrument ORDER BY recording_change.id"
)

DECISIVE_SQL: Final = "SELECT ground FROM decisive WHERE finding = :finding"
# Where anything was gathered about the instrument, there is a recording of it.
WORKED_OUT_SQL: Final = "SELECT 1 FROM recording WHERE instrument = :instrument LIMIT 1"


def without_kept_back(report: dict[str, Any], kept_back: Container[str]) -> dict[str, Any]:
    """The report for a page: files that are kept back are not named as if they could be seen."""
    for line in report["lines"]:
        line["exhibits"] = [name for name in line["exhibits"] if name not in kept_back]
    return report


def recordings_told(
    recordings: Iterable[Sequence[Any]], changes: Iterable[Sequence[Any]]
) -> list[RecordingShown]:
    """The recordings with what followed otherwise, the latest first."""
    by_recording: dict[str, list[str]] = {}
    for recording, sentence in changes:
        by_recording.setdefault(recording, []).append(sentence)
    return [
        {
            "date": recorded_at[:10],
            "on": date_words(recorded_at[:10]),
            "sentence": worded(sentence),
            "is_compared": is_compared == "yes",
            "changes": [worded(each) for each in by_recording.get(key, [])],
        }
        for key, recorded_at, sentence, is_compared in recordings
    ]
