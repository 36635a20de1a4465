"""What the rules write down as they go: constraints, suppositions, findings, rows used.

Question answered: none; this is the sheet of paper on which the rules work. Suppositions are
named at once and given their prior odds at the end, when the age of the instrument is known.

Sources of the priors: the practice pack; every one is common practice and a starting value.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from ledger.basis.spans import Spans, spans_as_text
from ledger.findings import Finding, FindingKind, Order
from ledger.knowledge.packs import Packs, Row
from ledger.models import Custody, Mark, Measurement, Paper, Sighting, Source, Testimony, Work
from ledger.reason.anatomy import PARTS_TOGETHER, Anatomy
from ledger.reason.given import NOTHING_GIVEN, Given
from ledger.reason.network import Bound, Clash, Network, Relation
from ledger.reason.row_wording import row_name, row_sentence
from ledger.reason.wording import soundness
from ledger.record.case import Case, Recorded


@dataclass(frozen=True, slots=True)
class Because:
    """Why something follows: the rule, its sentence, what it stands on and what it supposes."""

    rule: str
    sentence: str
    premises: tuple[str, ...] = ()
    suppositions: tuple[str, ...] = ()

    @property
    def supposed(self) -> tuple[str, ...]:
        """The suppositions, each once, in alphabetical order."""
        return tuple(sorted(set(self.suppositions)))


@dataclass(frozen=True, slots=True)
class Doubt:
    """A supposition as the rules name it, before it has its prior."""

    id: str
    kind: str
    subject: str
    sentence: str
    practice: str | None
    group: str


@dataclass(slots=True)
class Draft:
    """The working paper of the rules for one case."""

    case: Case
    packs: Packs
    anatomy: Anatomy
    network: Network = field(default_factory=Network)
    doubts: dict[str, Doubt] = field(default_factory=dict)
    findings: dict[str, Finding] = field(default_factory=dict)
    rows: dict[str, Row[Any]] = field(default_factory=dict)
    given: Given = NOTHING_GIVEN

    # -- suppositions -------------------------------------------------------------------------

    def sound(self, recorded: Recorded[Any]) -> str:
        """The supposition that the line is so: seen aright, told truly."""
        name = f"sound:{recorded.id}"
        if name not in self.doubts:
            sentence = soundness(recorded, self.anatomy.name)
            self.doubts[name] = Doubt(
                name,
                "sound",
                recorded.id,
                sentence,
                self.soundness_row(recorded),
                self.doubted_with(recorded),
            )
        return name

    def holds(self, row: Row[Any], part: str = "") -> str:
        """The supposition that a row of a pack holds (for one part of it, where given)."""
        name = f"holds:{row.id}#{part}" if part else f"holds:{row.id}"
        self.rows[row.id] = row
        if name not in self.doubts:
            # What is told without a source of its own in one pack is one teller's word as well.
            source = row.row.source
            self.doubts[name] = Doubt(
                name,
                "holds",
                row.id,
                self._reference(row, part),
                "example-dated-right" if part else f"holds-{row.row.confidence}",
                name if part else f"rows of {row.pack.pack} from {source}",
            )
        return name

    @staticmethod
    def _reference(row: Row[Any], example: str) -> str:
        if example:
            return f"the example “{example}” of {row_name(row.id)} is dated aright"
        return f"{row_name(row.id)} holds ({row_sentence(row.row).rstrip('.')})"

    def within_stock_limit(self, row: Row[Any], place: str, years: float) -> str:
        """The supposition that this part did not lie in stock beyond the limit of practice."""
        name = f"holds:{row.id}#{place}"
        self.rows[row.id] = row
        self.doubts.setdefault(
            name,
            Doubt(
                name,
                "holds",
                place,
                f"the {self.anatomy.name(place)} did not lie in stock for more than {years:g} years",
                "holds-stock-limit",
                name,
            ),
        )
        return name

    def fitting(self, place: str) -> tuple[str, ...]:
        """The suppositions under which the part was fitted at completion."""
        return self._fitment(self.anatomy.fitting(place))

    def scope(self, row: Row[Any], place: str) -> tuple[str, ...]:
        """What must hold for a row about a maker's or model's instruments to speak of the place."""
        if not (row.row.scope.maker or row.row.scope.model):
            return ()
        return self._unions(self.anatomy.belonging(place))

    def _unions(self, names: Iterable[str]) -> tuple[str, ...]:
        found = tuple(names)
        for name in found:
            one, _, other = name.partition(":")[2].partition("+")
            self.joined(name, one, other)
        return found

    def makeup(self, place: str) -> tuple[str, ...]:
        """The suppositions under which the part is now as it left the works."""
        return self._fitment(self.anatomy.makeup(place))

    def _fitment(self, names: Iterable[str]) -> tuple[str, ...]:
        found = tuple(names)
        for name in found:
            kind, _, subject = name.partition(":")
            self.doubts.setdefault(
                name, Doubt(name, kind, subject, self._fitment_sentence(kind, subject), None, name)
            )
        return found

    def _fitment_sentence(self, kind: str, subject: str) -> str:
        if kind == "as-made":
            return f"the {self.anatomy.name(subject)} is as the works made it, not altered since"
        named = self.event_name(subject)
        return f"the {named} left the works with the instrument"

    @property
    def mix(self) -> tuple[str, str, str]:
        """The rows of practice for how replacements divide: service, chosen to match, transplant."""
        of = "mix-collected" if self.case.instrument.collected else "mix"
        return f"{of}-service", f"{of}-matching", f"{of}-transplant"

    def event_name(self, subject: str) -> str:
        """The plain name of a fitting event or a single part."""
        for event in self.anatomy.events.values():
            if event.id == subject:
                parts = ", ".join(self.anatomy.name(p) for p in event.positions)
                if event.name == PARTS_TOGETHER:
                    return f"group fitted as one ({parts})"
                return f"{event.name.replace('-', ' ')} (fitted as one: {parts})"
        return self.anatomy.name(subject)

    def joined(self, union: str, one: str, other: str) -> str:
        """The supposition that two roots belong together."""
        names = f"the {self.anatomy.name(one)} and the {self.anatomy.name(other)}"
        self.doubts.setdefault(
            union, Doubt(union, "joined", f"{one}+{other}", f"{names} belong together", None, union)
        )
        return union

    def soundness_row(self, recorded: Recorded[Any]) -> str:
        """The row of practice that says how often a line of this kind is right."""
        line = recorded.line
        source = self.source_of(recorded)
        if isinstance(line, Paper):
            named = line.names_this_object == "yes"
            return "sound-paper-naming-object" if named else "sound-document"
        told = source is not None and source.kind == "testimony"
        relayed = source is not None and source.hand == "relayed"
        if isinstance(line, Testimony) or told:
            return "sound-testimony-relayed" if relayed else "sound-testimony"
        own: dict[type, str] = {
            Mark: f"sound-{getattr(line, 'legibility', '')}-mark",
            Measurement: "sound-measurement",
            Sighting: "sound-sighting",
            Work: "sound-work",
            Custody: "sound-custody",
        }
        return own.get(type(line)) or _soundness_of_source(source)

    def doubted_with(self, recorded: Recorded[Any]) -> str:
        """What is told by one teller or one paper is one doubt; what is seen is doubted singly."""
        source = self.source_of(recorded)
        if source is None or source.kind in ("examination", "photograph"):
            return f"sound:{recorded.id}"
        return f"source:{self.first_source(source).id}"

    def explained_by(self, line: str) -> Recorded[Work] | None:
        """The recorded work that accounts for an observation, or None."""
        works = self.case.of(Work)
        return next((work for work in works if line in work.line.explains), None)

    def source_of(self, recorded: Recorded[Any]) -> Source | None:
        """The source of an assertion."""
        found = self.case.lines.get(getattr(recorded.line, "source", ""))
        return found.line if found is not None and isinstance(found.line, Source) else None

    def first_source(self, source: Source) -> Source:
        """The source from which a chain of copies starts."""
        seen = {source.id}
        while source.copied_from is not None:
            found = self.case.lines.get(source.copied_from)
            if found is None or not isinstance(found.line, Source) or found.id in seen:
                break
            source = found.line
            seen.add(source.id)
        return source

    # -- what the rules give ------------------------------------------------------------------

    def finding(self, name: str, kind: FindingKind, because: Because) -> str:
        """Write down a finding; its id is returned."""
        self.findings[name] = Finding(
            name, kind, because.sentence, because.rule, because.premises, because.supposed
        )
        return name

    def bound(self, name: str, moment: str, spans: Spans, because: Because) -> None:
        """Keep ``moment`` within ``spans``, as a finding of its own."""
        self.network.bounds.append(
            Bound(
                name,
                moment,
                spans,
                because.rule,
                because.sentence,
                because.premises,
                because.supposed,
            )
        )
        self.findings[name] = Finding(
            name,
            "bound",
            because.sentence,
            because.rule,
            because.premises,
            because.supposed,
            moment,
            spans_as_text(spans),
        )

    def relation(
        self, name: str, between: tuple[str, str], because: Because, gap_days: int = 0
    ) -> None:
        """Keep the first moment of ``between`` at least ``gap_days`` before the second."""
        supposed = because.supposed
        self.network.relations.append(
            Relation(
                name,
                between[0],
                between[1],
                gap_days,
                because.rule,
                because.sentence,
                because.premises,
                supposed,
            )
        )
        told = self.findings.get(name)
        orders = (*(told.orders if told else ()), Order(*between, gap_days))
        self.findings[name] = Finding(
            name,
            "relation",
            because.sentence,
            because.rule,
            because.premises,
            supposed,
            orders=tuple(dict.fromkeys(orders)),
        )

    def same_day(self, name: str, between: tuple[str, str], because: Because) -> None:
        """Hold two moments to one day: two relations that share one finding."""
        self.relation(name, between, because)
        self.relation(name, between[::-1], because)

    def clash(self, name: str, because: Because) -> None:
        """Say that the suppositions cannot all hold, as a finding of its own."""
        self.network.clashes.append(
            Clash(name, because.rule, because.sentence, because.premises, because.supposed)
        )
        self.finding(name, "comparison", because)


def line_of(recorded: Recorded[Any]) -> str:
    """A line as a premise."""
    return f"line:{recorded.id}"


def reference_of(row: Row[Any]) -> str:
    """A row as a premise."""
    return f"reference:{row.id}"


def _soundness_of_source(source: Source | None) -> str:
    """The row for what is seen, read or concluded, by where it comes from."""
    by_kind = {
        "document": "sound-document",
        "publication": "sound-publication",
        "comparison": "sound-comparison",
    }
    if source is not None and source.kind in by_kind:
        return by_kind[source.kind]
    if source is not None and source.hand == "relayed":
        return "sound-relayed-observation"
    return "sound-first-hand-observation"
