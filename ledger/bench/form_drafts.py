"""Drafts: what is typed into the form and not recorded yet.

A draft is a file of its own beside the sheet. It is written anew in one step each time, so that a
server that is killed, a browser that is closed or a plug that is pulled leaves the draft as it was
last kept. Each line carries a version and the page that wrote it last: what comes from another page
with an older version is not taken, and is told.
"""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from ledger.errors import Fault, FaultsFound

FOLDER: Final = "drafts"
KEY: Final = re.compile(r"[0-9a-f]{8,16}")
MOST_LINES: Final = 2_000
MOST_STEPS: Final = 200
GREATEST_SIZE_BYTES: Final = 50_000_000

State = Literal["typed", "saved", "out"]


class _Kept(BaseModel):
    """Closed and frozen, with every space that was typed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class DraftLine(_Kept):
    """One line as typed; ``mends`` is the id of the line of the sheet whose place it takes.

    ``page`` is the opened page that wrote it last, ``look`` the step of the plan that it answers,
    ``seconds`` the id of the line that was read again without sight of it. ``shown`` holds the
    reading to which candidates have been shown.
    """

    key: str
    section: str
    fields: Mapping[str, str]
    version: int = 1
    page: str = ""
    state: State = "typed"
    mends: str = ""
    seconds: str = ""
    look: str = ""
    shown: str = ""

    @property
    def id(self) -> str:
        """The id it goes by, once it has one."""
        return self.fields.get("id", "")


class Step(_Kept):
    """Something that can be undone: the line as it was before, None where there was none."""

    says: str
    key: str
    before: DraftLine | None


class Draft(_Kept):
    """Everything that waits to be recorded of one instrument; ``about`` where it is described."""

    draft: Literal["1"] = "1"
    about: Mapping[str, str] | None = None
    lines: tuple[DraftLine, ...] = ()
    steps: tuple[Step, ...] = ()
    version: int = 0

    def line(self, key: str) -> DraftLine | None:
        """The line with that key."""
        return next((line for line in self.lines if line.key == key), None)

    def of_state(self, state: State) -> tuple[DraftLine, ...]:
        """The lines of one state, in order."""
        return tuple(line for line in self.lines if line.state == state)

    @property
    def is_empty(self) -> bool:
        """Whether nothing waits."""
        return self.about is None and not self.lines


def is_stale(draft: Draft, key: str, version: int, page: str) -> bool:
    """Whether a page that opened the line at that version would overwrite what it has not seen."""
    line = draft.line(key)
    if line is None:
        return version > 0
    return line.version != version and line.page != page


def with_line(draft: Draft, line: DraftLine, says: str = "") -> Draft:
    """The draft with the line in its place or at the end, its version one higher.

    With ``says`` it is a step that can be undone.

    Raises:
        FaultsFound: there are too many lines.
    """
    before = draft.line(line.key)
    if before is None and len(draft.lines) >= MOST_LINES:
        found, advice = f"more than {MOST_LINES} lines", "Record what is there first"
        raise FaultsFound([Fault("draft", 0, 0, "", found, "fewer", advice)])
    version = (before.version if before else 0) + 1
    kept = line.model_copy(update={"version": version})
    if before is None:
        lines = (*draft.lines, kept)
    else:
        lines = tuple(kept if each.key == line.key else each for each in draft.lines)
    steps = draft.steps
    if says:
        steps = (*steps, Step(says=says, key=line.key, before=before))[-MOST_STEPS:]
    return draft.model_copy(update={"lines": lines, "steps": steps, "version": draft.version + 1})


def undone(draft: Draft) -> Draft:
    """The draft without its last step; the same where there is none.

    The version of the line goes up all the same, so that a page that still shows it is told.
    """
    if not draft.steps:
        return draft
    step, now = draft.steps[-1], draft.line(draft.steps[-1].key)
    if step.before is None:
        lines = tuple(line for line in draft.lines if line.key != step.key)
    else:
        version = (now.version if now else step.before.version) + 1
        back = step.before.model_copy(update={"version": version, "page": ""})
        lines = tuple(back if line.key == step.key else line for line in draft.lines)
    return draft.model_copy(
        update={"lines": lines, "steps": draft.steps[:-1], "version": draft.version + 1}
    )


def new_key() -> str:
    """A key for a line that is opened for the first time."""
    return secrets.token_hex(6)


class Drafts:
    """The drafts of a folder, each in a file of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / FOLDER

    def names(self) -> tuple[str, ...]:
        """The ids of the instruments that have a draft, in order."""
        return tuple(sorted(path.stem for path in self._folder.glob("*.json")))

    def read(self, name: str) -> Draft:
        """The draft of the instrument; an empty one where there is none.

        Raises:
            FaultsFound: the file is damaged; it is left as it is.
        """
        path = self._path(name)
        try:
            with path.open("rb") as file:
                content = file.read(GREATEST_SIZE_BYTES)
        except FileNotFoundError:
            return Draft()
        except OSError as error:
            found = error.strerror or "a file that cannot be read"
            raise FaultsFound([Fault(str(path), 0, 0, "", found, "a draft")]) from error
        try:
            return Draft.model_validate_json(content)
        except ValidationError as error:
            advice = "Move the file away to begin a new draft; nothing recorded is in it"
            found = "a file that is not a draft of this program, or is damaged"
            raise FaultsFound([Fault(str(path), 0, 0, "", found, "a draft", advice)]) from error

    def write(self, name: str, draft: Draft) -> None:
        """Keep the draft: the old one or this one is on the disk at any moment, and whole.

        An empty one with no step to undo is no file.

        Raises:
            FaultsFound: it cannot be written.
        """
        path = self._path(name)
        try:
            if draft.is_empty and not draft.steps:
                path.unlink(missing_ok=True)
                return
            self._folder.mkdir(parents=True, exist_ok=True)
            keep_file(path, draft.model_dump_json(indent=1).encode("utf-8"), mode=0o600)
        except OSError as error:
            found = error.strerror or "a place that cannot be written"
            fault = Fault(str(path), 0, 0, "", found, "a place to keep the draft")
            raise FaultsFound([fault]) from error

    def _path(self, name: str) -> Path:
        return self._folder / f"{name}.json"


def keep_file(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Put the content in the place of the file in one step, and have it on the disk first."""
    waiting = path.with_name(f".{path.name}.new")
    handle = os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    waiting.replace(path)
