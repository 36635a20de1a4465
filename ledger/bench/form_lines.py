"""The forms of the lines: opened, kept as one types, saved, taken out, read a second time.

A line is kept under its key from the first letter on. Saving holds it against the models and tells
every fault at its field; what has faults stays in the draft as typed. A page that was opened before
somebody else changed the line cannot overwrite it unseen.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from starlette.responses import JSONResponse, RedirectResponse, Response

from ledger.bench.columns import tabs
from ledger.bench.form_asked import Asked
from ledger.bench.form_desk import OnBench
from ledger.bench.form_drafts import KEY, Draft, DraftLine, is_stale, new_key, undone, with_line
from ledger.bench.form_kinds import BLIND, FormKind, form_kinds, kind_of_section
from ledger.bench.form_pages import form_context, plain, shown_form
from ledger.bench.form_readings import after_saving, blind_text, compared, read_anew
from ledger.bench.form_tree import FieldFault, faults_of_line, fields_of, hidden_faults
from ledger.errors import UnknownName
from ledger.models import SECTIONS

# What the address may fill in beforehand, where the plan or the map leads to a form.
_BEFOREHAND: Final = (
    "position", "positions", "feature", "quantity", "what", "value", "kind", "question", "about",
)  # fmt: skip
_PRIVATE: Final = frozenset(
    {"form_token", "key", "version", "page", "look", "mends", "seconds", "next", "take", "act"}
)
_SECOND: Final = "A second reading, made without sight of the first"
MOST_FIELDS_KEPT: Final = 300


async def new(asked: Asked) -> Response:
    """An empty form of a kind, at the position and for the step that the address names."""
    bench = asked.taken_up()
    kind = _kind(str(asked.request.path_params["kind"]))
    fields = {name: asked.query(name) for name in _BEFOREHAND if asked.query(name)}
    line = DraftLine(
        key=new_key(), section=kind.section, fields=fields, version=0, look=asked.query("look")
    )
    return _form(asked, bench, line)


async def opened(asked: Asked) -> Response:
    """The form of a line that waits."""
    bench = asked.taken_up()
    return _form(asked, bench, _line(bench, asked))


async def mended(asked: Asked) -> Response:
    """The form of a line of the sheet, to be changed; what was recorded before stays recorded."""
    bench = asked.taken_up()
    name = str(asked.request.path_params["line"])
    waiting = next((line for line in bench.draft.lines if line.mends == name), None)
    if waiting is not None:
        return RedirectResponse(f"/object/{bench.id}/line/{waiting.key}", 303)
    found = bench.held_line(name)
    if found is None:
        raise UnknownName("line of the sheet", name, ())
    section, line = found
    fields = fields_of(section, line)
    given = DraftLine(key=new_key(), section=section, fields=fields, version=0, mends=name)
    return _form(asked, bench, given)


async def again(asked: Asked) -> Response:
    """A form to read a mark or a figure once more; nothing of the first reading is on it."""
    bench = asked.taken_up()
    name = str(asked.request.path_params["line"])
    section, fields = _first_reading(bench, name)
    kept = {"position": fields.get("position", ""), "part": fields.get("part", "")}
    if section == "measurements":
        kept["quantity"] = fields.get("quantity", "")
    line = DraftLine(
        key=new_key(), section=section, fields={k: v for k, v in kept.items() if v}, version=0,
        seconds=name,
    )  # fmt: skip
    return _form(asked, bench, line)


async def keep(asked: Asked) -> Response:
    """Keep a line as it is being typed; nothing of it is judged."""
    bench = asked.taken_up()
    line = _typed_line(asked, bench)
    if is_stale(bench.draft, line.key, _version(asked), asked.text("page")):
        says = "Not kept: this was changed in another tab or on another machine. Press Save to see both."
        return JSONResponse({"says": says}, 409)
    before = bench.draft.line(line.key)
    if before is None and not any(text.strip() for text in line.fields.values()):
        return JSONResponse({"version": 0, "says": ""})
    if before is not None and before.fields == line.fields:
        return JSONResponse({"version": before.version, "says": "Kept in the draft."})
    draft = with_line(bench.draft, line)
    asked.desk.drafts.write(bench.id, draft)
    kept = draft.line(line.key)
    return JSONResponse({"version": kept.version if kept else 0, "says": "Kept in the draft."})


async def save(asked: Asked) -> Response:
    """Save a line: held against the models, its faults told at their fields, kept whatever they are."""
    bench = asked.taken_up()
    line = _typed_line(asked, bench)
    if is_stale(bench.draft, line.key, _version(asked), asked.text("page")):
        return _conflict(asked, bench, line)
    faults = hidden_faults(line.fields)
    source: DraftLine | None = None
    if not faults:
        line, source = _with_second_reader(asked, bench, line)
        line = bench.with_id(line)
        also = (line,) if source is None else (source, line)
        faults = faults_of_line(bench.sheet_with(*also), line.key, bench.packs)
        faults += _faults_beside(asked, line)
    draft = bench.draft
    if faults:
        draft = with_line(draft, line.model_copy(update={"state": "typed"}))
        asked.desk.drafts.write(bench.id, draft)
        kept = draft.line(line.key) or line
        return _form(asked, asked.taken_up(), kept, faults, status=422)
    line = _with_history(draft, line)
    if source is not None and draft.line(source.key) is None:
        draft = with_line(draft, source, f"a source: {source.id}")
    says = f"{plain(line.section)}: {line.id}"
    draft = with_line(draft, line.model_copy(update={"state": "saved"}), says)
    asked.desk.drafts.write(bench.id, draft)
    return RedirectResponse(_after(asked, bench, line), 303)


async def read(asked: Asked) -> Response:
    """What a saved reading may mean, and what was expected; beside it a second reading, if any."""
    bench = asked.taken_up()
    line = _line(bench, asked)
    if line.state != "saved":
        return RedirectResponse(f"/object/{bench.id}/line/{line.key}", 303)
    second = None
    if line.seconds:
        section, first = _first_reading(bench, line.seconds)
        texts = blind_text(section, first), blind_text(section, line.fields)
        second = {"of": line.seconds, "texts": texts, "glyphs": compared(*texts)}
    context = {
        "line": line,
        "kind": kind_of_section(line.section),
        "after": after_saving(bench, line.section, line.fields),
        "second": second,
        "may_repeat": line.section in BLIND and not line.seconds,
    }
    return asked.page("read.html", context, bench)


async def take_out(asked: Asked) -> Response:
    """Take a line out of the draft, or a line of the sheet out of the sheet; it can be put back."""
    bench = asked.taken_up()
    line = bench.draft.line(str(asked.request.path_params["key"]))
    name = asked.text("mends")
    if line is None and (found := bench.held_line(name)):
        section, held = found
        line = DraftLine(
            key=new_key(), section=section, fields=fields_of(section, held), version=0, mends=name
        )
    if line is not None:
        is_back = line.state == "out"
        state = "typed" if is_back else "out"
        if is_back and line.id:
            state = "saved"
            back = line.model_copy(update={"state": "saved"})
            if faults_of_line(bench.sheet_with(back), line.key, bench.packs):
                state = "typed"
        says = f"{'put back' if is_back else 'taken out'}: {line.id or plain(line.section)}"
        draft = with_line(bench.draft, line.model_copy(update={"state": state, "page": ""}), says)
        asked.desk.drafts.write(bench.id, draft)
        done = "back" if is_back else "out"
        return RedirectResponse(f"/object/{bench.id}?done={done}", 303)
    return RedirectResponse(f"/object/{bench.id}", 303)


async def undo(asked: Asked) -> Response:
    """Undo the last step; as often as there are steps that are not recorded."""
    bench = asked.taken_up()
    asked.desk.drafts.write(bench.id, undone(bench.draft))
    return RedirectResponse(f"/object/{bench.id}?done=undone", 303)


def _kind(name: str) -> FormKind:
    kinds = form_kinds()
    if name not in kinds:
        raise UnknownName("kind of form", name, tuple(kinds))
    return kinds[name]


def _line(bench: OnBench, asked: Asked) -> DraftLine:
    key = str(asked.request.path_params["key"])
    line = bench.draft.line(key)
    if line is None:
        raise UnknownName("line that waits", key, ())
    return line


def _version(asked: Asked) -> int:
    text = asked.text("version")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


def _form(
    asked: Asked,
    bench: OnBench,
    line: DraftLine,
    faults: tuple[FieldFault, ...] = (),
    status: int = 200,
) -> Response:
    kind = kind_of_section(line.section)
    if kind is None:
        raise UnknownName("form for the section", line.section, tuple(form_kinds()))
    form = shown_form(bench, kind, line, faults)
    context = {**form_context(bench, form), "next": _next(asked), "theirs": None}
    return asked.page("line.html", context, bench, status)


def _conflict(asked: Asked, bench: OnBench, line: DraftLine) -> Response:
    """Both texts, so that nobody's work is lost unseen; saving once more is then a choice."""
    theirs = bench.draft.line(line.key)
    mends = line.mends or (line.id if bench.held_line(line.id) else "")
    version = theirs.version if theirs else 0
    mine = line.model_copy(update={"version": version, "mends": mends})
    kind = kind_of_section(line.section) or _kind("mark")
    names = {field.name: field.label for field in kind.fields}
    others = dict(theirs.fields) if theirs else {}
    differing = [
        (names.get(name, name), others.get(name, ""), mine.fields.get(name, ""))
        for name in dict.fromkeys((*others, *mine.fields))
        if others.get(name, "").strip() != mine.fields.get(name, "").strip()
    ]
    form = shown_form(bench, kind, mine)
    context = {
        **form_context(bench, form),
        "next": _next(asked),
        "theirs": {"is_gone": theirs is None, "differing": differing},
    }
    return asked.page("line.html", context, bench, 409)


def _typed_line(asked: Asked, bench: OnBench) -> DraftLine:
    """The line as the form has it.

    Raises:
        UnknownName: the form is of no kind, or of a line that cannot be.
    """
    key = str(asked.request.path_params["key"])
    section = asked.text("section")
    if not KEY.fullmatch(key) or section not in SECTIONS:
        raise UnknownName("form", section, tuple(SECTIONS))
    before = bench.draft.line(key)
    fields = _fields(asked, section)
    if before is not None:
        return before.model_copy(update={"fields": fields, "page": asked.text("page")})
    mends, seconds = asked.text("mends"), asked.text("seconds")
    return DraftLine(
        key=key,
        section=section,
        fields=fields,
        version=0,
        page=asked.text("page"),
        mends=mends if bench.held_line(mends) else "",
        seconds=seconds,
        look=asked.text("look"),
    )


def _fields(asked: Asked, section: str) -> dict[str, str]:
    """What was typed, by field; a list of boxes becomes one text."""
    lists = {c.field for c in tabs()[section.replace("_", " ")].columns if c.is_list}
    fields: dict[str, str] = {}
    for name in list(dict.fromkeys(asked.typed))[:MOST_FIELDS_KEPT]:
        if name in _PRIVATE or name in ("section", "reader"):
            continue
        given = [value for value in asked.typed.getlist(name) if isinstance(value, str)]
        fields[name] = ", ".join(v for v in given if v.strip()) if name in lists else given[-1]
    taken = asked.text("take").partition("=")
    if taken[1] and taken[0] in fields:
        fields[taken[0]] = taken[2]
    return fields


def _faults_beside(asked: Asked, line: DraftLine) -> tuple[FieldFault, ...]:
    """What only the form asks for: who reads a second time."""
    if line.seconds and not line.mends and not line.fields.get("source"):
        says = "Say who reads it this time, so that the two readings are kept apart."
        return (FieldFault("reader", says),) if not asked.text("reader").strip() else ()
    return ()


def _with_second_reader(
    asked: Asked, bench: OnBench, line: DraftLine
) -> tuple[DraftLine, DraftLine | None]:
    """The line under a source of its own for whoever reads a second time, and that source."""
    reader = asked.text("reader").strip()
    if not line.seconds or not reader:
        return line, None
    fields: Mapping[str, str] = {"kind": "examination", "title": _SECOND, "by": reader}
    source = next(
        (
            each
            for each in bench.draft.lines
            if each.section == "sources"
            and each.state == "saved"
            and (each.fields.get("title"), each.fields.get("by")) == (_SECOND, reader)
        ),
        None,
    )
    if source is None:
        made = DraftLine(key=new_key(), section="sources", fields=fields, version=0, state="saved")
        source = bench.with_id(made.model_copy(update={"look": "second-reading"}))
    note = f"{_SECOND} ({line.seconds})."
    typed = {**line.fields, "source": source.id}
    typed["note"] = f"{typed.get('note', '')}\n{note}".strip()
    if not typed.get("id"):
        typed["id"] = bench.ids().made(line.section, {}, f"{line.seconds}-second")
    return line.model_copy(update={"fields": typed}), source


def _with_history(draft: Draft, line: DraftLine) -> DraftLine:
    """The line, noting in it that its reading was changed after candidates had been shown."""
    text = blind_text(line.section, line.fields)
    before = draft.line(line.key)
    if before is None or not before.shown or before.shown == text or not text:
        return line.model_copy(update={"shown": text})
    note = read_anew(line.fields.get("note", ""), before.shown)
    return line.model_copy(update={"fields": {**line.fields, "note": note}, "shown": text})


def _first_reading(bench: OnBench, name: str) -> tuple[str, Mapping[str, str]]:
    """Section and fields of the line that is read again.

    Raises:
        UnknownName: there is none of that id that is read blind.
    """
    for line in bench.draft.lines:
        if line.id == name and line.section in BLIND:
            return line.section, line.fields
    found = bench.held_line(name)
    if found is None or found[0] not in BLIND:
        raise UnknownName("mark or measurement", name, ())
    return found[0], fields_of(*found)


def _next(asked: Asked) -> str:
    """Where to go afterwards: a page of this bench, and no other."""
    wanted = asked.text("next") or asked.query("next")
    is_ours = wanted.startswith("/object/") and "\\" not in wanted and "\n" not in wanted
    return wanted if is_ours else ""


def _after(asked: Asked, bench: OnBench, line: DraftLine) -> str:
    if _next(asked):
        return _next(asked)
    if after_saving(bench, line.section, line.fields) is not None:
        return f"/object/{bench.id}/line/{line.key}/read"
    place = line.fields.get("position") or line.fields.get("positions", "").partition(",")[0]
    base = place.strip().partition(".")[0]
    if base and bench.view.find(base) is not None:
        return f"/object/{bench.id}/at/{base}?done=saved"
    return f"/object/{bench.id}?done=saved"
