"""What does the material or technique of a part say of days?

Question answered: before which day can a part not have been made, or not have been fastened or
finished as it is, given what it is seen to be made of?

Method: a feature in whose value a technology's words stand, neither denied nor in doubt, bounds
the making of its part from below; of screws, glue, solder and finish, which are renewed without
the part being changed, it bounds the fitting, and only if they were not renewed since. The span
is widened by the row's overlap. Nothing here bounds from above.

Cost: linear in features times rows.

What it does not do: take a common beginning for a bound, or a material's absence for anything.
"""

from __future__ import annotations

from ledger.basis.phrases import is_said_in_doubt, phrase_in
from ledger.basis.spans import Spans
from ledger.knowledge.packs import Row
from ledger.models import Feature
from ledger.reason.draft import Because, Doubt, Draft, line_of, reference_of
from ledger.reason.recorded_dates import UNDATED, recorded_days
from ledger.reason.row_wording import row_sentence
from ledger.reason.wording import article, line_sentence
from ledger.record.case import Recorded
from ledger.references import Technology

RULE = "technology of the trade"


def date_technologies(draft: Draft) -> None:
    """Bound the making or the fitting of every part by what it is seen to be made of."""
    rows = draft.packs.applying(Technology, draft.case.instrument)
    for recorded in draft.case.of(Feature):
        # A row that fits a withheld value would tell it.
        if draft.explained_by(recorded.id) is not None or recorded.withheld & {"feature", "value"}:
            continue
        for row in rows:
            if _speaks_of(draft, row.row, recorded):
                _bound(draft, recorded, row)


def _speaks_of(draft: Draft, row: Technology, recorded: Recorded[Feature]) -> bool:
    line = recorded.line
    base = draft.anatomy.position_of(_place(line)).partition(".")[0]
    if row.positions and base not in row.positions:
        return False
    if row.features and phrase_in(line.feature, row.features) is None:
        return False
    return phrase_in(line.value, row.values) is not None


def _place(line: Feature) -> str:
    return line.position if line.position is not None else f"part/{line.part}"


def _bound(draft: Draft, recorded: Recorded[Feature], row: Row[Technology]) -> None:
    name = f"technology.{recorded.id}.{row.id}"
    draft.rows[row.id] = row
    premises: tuple[str, ...] = (line_of(recorded), reference_of(row))
    said = line_sentence(recorded, draft.anatomy.name)
    is_dated = row.row.not_before is not None
    told = recorded_days(draft.packs, row.row.not_before or "") if is_dated else UNDATED
    draft.rows.update((each.id, each) for each in told.rows)
    premises = (*premises, *told.premises)
    earliest = told.spans.earliest
    if earliest is None or is_said_in_doubt(recorded.line.value):
        why = "which is said in doubt" if earliest is not None else "which bounds nothing"
        sentence = f"{said} Compare: {row_sentence(row.row).rstrip('.')}; {why}."
        draft.finding(name, "comparison", Because(RULE, sentence, premises))
        return
    days = Spans.between(earliest - row.row.overlap_days, None)
    place = _place(recorded.line)
    part = draft.anatomy.name(place)
    lap = row.row.overlap_days
    margin = f", allowing {lap} days" if lap else ""
    common = f", and seldom before {row.row.common_from}" if row.row.common_from else ""
    begins = f"{told.doubt} {row.row.not_before}".strip()
    since = f"not before {begins}{told.allowed}{margin}{common} ({row.row.source})"
    supposed = [draft.sound(recorded), draft.holds(row)]
    if row.row.dates == "fitted":
        supposed.append(_not_renewed(draft, recorded, row))
        moment = draft.anatomy.fitted(place)
        sentence = (
            f"{said} Of {row.row.means}: {since}. If it was not renewed since, the {part} was "
            f"{'completed' if draft.anatomy.is_root(place) else 'fitted'} no earlier."
        )
    else:
        supposed += [s for s in draft.makeup(place) if s.startswith("as-made:")]
        moment = draft.anatomy.made(place)
        sentence = f"{said} The {part} was made {since}: {row.row.means}."
    draft.bound(name, moment, days, Because(RULE, article(sentence), premises, tuple(supposed)))


def _not_renewed(draft: Draft, recorded: Recorded[Feature], row: Row[Technology]) -> str:
    """The supposition that what joins or covers the part is of its fitting, not of a repair."""
    name = f"holds:{row.id}#{recorded.id}"
    place = draft.anatomy.name(_place(recorded.line))
    draft.doubts.setdefault(
        name,
        Doubt(
            name,
            "holds",
            recorded.id,
            f"what is seen in {recorded.id.replace('-', ' ')} on the {place} was not renewed since",
            "unrenewed-fastening",
            name,
        ),
    )
    return name
