"""What will be recorded, line by line, and the recording itself.

The review is worked out from the very text that is written as the sheet, by the steps that record
it: what it shows and what becomes permanent cannot differ. The sheet stays its owner's: where lines
are only added they are put into it and nothing else is touched; where it has to be written anew, the
old one is kept beside it.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ledger import workflow
from ledger.basis.hashing import sha256_hex
from ledger.basis.yamltext import read_tree
from ledger.bench.exhibits_in import KEPT_ENDING, text_with_lines
from ledger.bench.form_desk import Desk, OnBench
from ledger.bench.form_drafts import Draft, DraftLine, keep_file
from ledger.bench.form_tree import TypedSheet, in_words, key_of
from ledger.bench.plan import Look, Plan, positions_of
from ledger.bench.sheet_writer import sheet_text
from ledger.bench.steps import STAGES
from ledger.errors import Fault, FaultsFound
from ledger.models import SECTIONS, BenchSheet, Work
from ledger.record.changes import Book, Change, changes_to, current_lines, instrument_lines
from ledger.record.sheet import SheetRead, sheet_of
from ledger.record.store import Ledger
from ledger.workflow import Recording

OPENING: Final = (
    "One instrument, as filled in at the bench. It is yours to keep and to mend: recorded again,\n"
    "what has not changed adds nothing, and what was said before stays in the ledger."
)
_ACTS: Final = {"record": "new", "supersede": "changed", "retract": "taken back"}


@dataclass(frozen=True, slots=True)
class ReviewedLine:
    """One line that will be recorded: what it says now, what it said, what stays with you."""

    act: str
    section: str
    id: str
    says: tuple[tuple[str, str], ...]
    said: tuple[tuple[str, str], ...]
    withheld: frozenset[str]


@dataclass(frozen=True, slots=True)
class ReviewFault:
    """What keeps the sheet from being recorded; ``key`` leads to the line that it is in."""

    key: str
    says: str


@dataclass(frozen=True, slots=True)
class Review:
    """What will be recorded, what will not be yet, and what should be done first.

    ``text`` is the sheet that will be written and ``digest`` stands for it; without ``text``
    there are faults, and nothing can be recorded.
    """

    lines: tuple[ReviewedLine, ...] = ()
    unfinished: tuple[DraftLine, ...] = ()
    faults: tuple[ReviewFault, ...] = ()
    gates: tuple[tuple[str, tuple[Look, ...]], ...] = ()
    notices: tuple[str, ...] = ()
    text: str = ""
    is_rewritten: bool = False

    @property
    def digest(self) -> str:
        """Stands for exactly this sheet and these changes."""
        told = [f"{line.act} {line.section} {line.id}" for line in self.lines]
        return sha256_hex("\n".join([self.text, *told]).encode("utf-8"))


def review(desk: Desk, bench: OnBench) -> Review:
    """What recording the instrument now would come to."""
    unfinished = bench.draft.of_state("typed")
    typed = bench.sheet_with()
    try:
        text, read, is_rewritten = _written(bench, typed)
    except FaultsFound as error:
        faults = tuple(ReviewFault(key_of(typed, each), _told(each)) for each in error.faults)
        return Review(unfinished=unfinished, faults=faults)
    lines = tuple(_changes(desk, read))
    seen = {line.id for line in lines if line.act != "taken back"}
    return Review(
        lines=lines,
        unfinished=unfinished,
        gates=tuple(_gates(bench, read.sheet, seen)),
        notices=tuple(
            f"{each.line}: {each.says}" for each in workflow.noticed(read, desk.entries())
        ),
        text=text,
        is_rewritten=is_rewritten,
    )


def record(desk: Desk, bench: OnBench, digest: str) -> Recording:
    """What was recorded, once the sheet is written and the finished lines have left the draft.

    Where the ledger cannot take it, the sheet is again as it was and the draft is left as it is.

    Raises:
        FaultsFound: it has faults, or is not what ``digest`` was reviewed as; nothing is recorded.
        LedgerError: the ledger cannot take it; nothing is recorded.
    """
    shown = review(desk, bench)
    if not shown.text or shown.digest != digest:
        found = "something that changed since the review was opened"
        advice = "Read it once more"
        raise FaultsFound([Fault(str(bench.path), 0, 0, "", found, "what was reviewed", advice)])
    if bench.file is not None and bench.file.content != shown.text.encode("utf-8"):
        kept = bench.path.with_name(f"{bench.path.stem}{KEPT_ENDING}{bench.path.suffix}")
        keep_file(kept, bench.file.content)
    with ExitStack() as undoing:
        undoing.callback(_put_back, bench)
        keep_file(bench.path, shown.text.encode("utf-8"))
        (done,) = workflow.record_files(desk.ledger_path, [bench.path], desk.recorder, desk.now())
        undoing.pop_all()
    left = Draft(lines=bench.draft.of_state("typed"), version=bench.draft.version + 1)
    desk.drafts.write(bench.id, left)
    return done


def _put_back(bench: OnBench) -> None:
    """The sheet as it was before; where that fails, what led to it is told and not this.

    A draft whose lines are in the sheet already can still be recorded: they are passed over.
    """
    with suppress(OSError):
        if bench.file is None:
            bench.path.unlink(missing_ok=True)
        else:
            keep_file(bench.path, bench.file.content)


def _written(bench: OnBench, typed: TypedSheet) -> tuple[str, SheetRead, bool]:
    """The text of the sheet, what it reads as, and whether the old one is written anew."""
    tree = typed.tree()
    wanted = sheet_of(tree, bench.folder, "", bench.packs)
    if bench.file is None:
        text = sheet_text(wanted.sheet, OPENING)
        return text, _read(bench, text, wanted.sheet), False
    added = _only_added(bench, wanted.sheet)
    if added is not None:
        try:
            text = _with_added(bench.file.content.decode("utf-8-sig"), bench.path, added)
            return text, _read(bench, text, wanted.sheet), False
        except FaultsFound:  # a section within brackets, to which no line can be added as it is
            pass
    text = sheet_text(wanted.sheet, OPENING)
    return text, _read(bench, text, wanted.sheet), True


def _only_added(bench: OnBench, sheet: BenchSheet) -> dict[str, list[Any]] | None:
    """The lines that are new, by section; None where anything that is there changes."""
    if bench.draft.about is not None or any(
        line.mends and line.state != "typed" for line in bench.draft.lines
    ):
        return None
    there = {str(line.get("id")) for lines in bench.held.values() for line in lines}
    return {
        section: new
        for section in SECTIONS
        if (new := [line for line in getattr(sheet, section) if line.id not in there])
    }


def _with_added(text: str, path: Path, added: Mapping[str, list[Any]]) -> str:
    for section, lines in added.items():
        tree = read_tree(text.encode("utf-8"), str(path))
        text = text_with_lines(text, tree, section, lines)
    return text


def _read(bench: OnBench, text: str, wanted: BenchSheet) -> SheetRead:
    """The text read back as the recorder reads it.

    Raises:
        FaultsFound: it does not say what was typed.
    """
    content = text.encode("utf-8")
    tree = read_tree(content, str(bench.path))
    read = sheet_of(tree, bench.folder, sha256_hex(content), bench.packs)
    if _in_order(read.sheet) != _in_order(wanted):
        found = "a sheet that reads otherwise than what was typed"
        raise FaultsFound([Fault(str(bench.path), 0, 0, "", found, "the same")])
    return read


def _in_order(sheet: BenchSheet) -> list[Any]:
    """What a sheet says, whatever the order of its lines."""
    lines = [sorted(getattr(sheet, name), key=lambda line: line.id) for name in SECTIONS]
    return [sheet.instrument, *lines]


def _changes(desk: Desk, read: SheetRead) -> Iterator[ReviewedLine]:
    book = Book("instrument", read.sheet.instrument.id)
    wanted = instrument_lines(read.sheet, read.hashes)
    hidden = {line.line: line.withheld for line in wanted}
    plain = {line.line: line.body for line in wanted}
    entries, opened = desk.entries(), {}
    if desk.ledger_path.exists():
        with Ledger.open(desk.ledger_path, read_only=True) as ledger:
            opened = ledger.opened()
    current = current_lines(entries, book)
    for change in changes_to(book, wanted, entries, opened, secrets.token_bytes):
        held = current.get(change.line)
        before = {} if held is None or held.body is None else held.body
        yield ReviewedLine(
            _ACTS[change.act],
            change.section,
            change.line,
            tuple(_said(_body(change, plain))),
            tuple(_said(before)),
            hidden.get(change.line, frozenset()),
        )


def _body(change: Change, plain: Mapping[str, Mapping[str, Any]]) -> Mapping[str, Any]:
    return {} if change.body is None else plain.get(change.line, {})


def _said(body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    last = [name for name in ("note", "withhold") if name in body]
    for name in (*(name for name in body if name not in (*last, "id")), *last):
        yield name.replace("_", " "), _value(body[name])


def _value(value: Any) -> str:  # noqa: ANN401 - what a body holds
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(_value(each) for each in value)
    if isinstance(value, dict):
        if set(value) == {"withheld"}:
            return "(withheld)"
        return ", ".join(f"{name.replace('_', ' ')} {_value(each)}" for name, each in value.items())
    return str(value)


def _gates(
    bench: OnBench, sheet: BenchSheet, seen: Iterable[str]
) -> Iterator[tuple[str, tuple[Look, ...]]]:
    """What the plan asks for first: before the works on record, and before what was opened."""
    todo, new = bench.plan(), set(seen)
    for work in sheet.works:
        if isinstance(work, Work) and work.id in new:
            for position in work.positions:
                if open_looks := todo.gate(position):
                    yield f"before the work {work.id} on {position}", open_looks
    places = {
        place
        for section in ("marks", "measurements", "features", "traces")
        for line in getattr(sheet, section)
        if line.id in new
        for place in positions_of(line)
    }
    reached = max((_reached(todo, place) for place in places), default=0)
    before = tuple(
        look for look in todo.open_looks() if look.is_gate and STAGES.index(look.stage) <= reached
    )
    if reached >= STAGES.index("opened") and before:
        yield "before anything was opened", before


def _reached(todo: Plan, place: str) -> int:
    """How far one has to go, at least, to look at a place: the number of the stage."""
    return min(
        (STAGES.index(look.stage) for look in todo.looks if look.position == place), default=0
    )


def _told(fault: Fault) -> str:
    where = f"{fault.path}: " if fault.path else ""
    return f"{where}{in_words(fault)}"
