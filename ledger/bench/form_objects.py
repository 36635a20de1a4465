"""The pages of the folder and of one instrument: what is on the bench, and where to go next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.datastructures import UploadFile
from starlette.responses import RedirectResponse, Response

from ledger.bench.columns import parts_of_list
from ledger.bench.form_asked import Asked
from ledger.bench.form_desk import OnBench, SheetFile, summary
from ledger.bench.form_drafts import Draft, DraftLine, new_key, with_line
from ledger.bench.form_map import map_places, map_svg
from ledger.bench.form_pictures import (
    Upload,
    exhibit_line,
    known_files,
    small_picture,
    take_upload,
    take_waiting,
    waiting_pictures,
)
from ledger.bench.form_tree import line_of
from ledger.bench.plan import Look, Plan, positions_of
from ledger.bench.recorded import erased_fields, recorded_sheet
from ledger.bench.sheet_writer import sheet_text
from ledger.bench.steps import STAGES, Stage, examination, interview
from ledger.errors import Fault, FaultsFound, UnknownName
from ledger.models import Exhibit
from ledger.record.case import case_at
from ledger.record.store import Ledger
from ledger.reporting import instruments

ABOUT_FIELDS = ("id", "kind", "name", "maker", "model", "invented", "collected", "note")


async def home(asked: Asked) -> Response:
    """What lies in the folder, what the ledger has besides, and the form to begin anew."""
    return _home(asked, {}, ())


async def begin(asked: Asked) -> Response:
    """Begin the record of an instrument; its faults are told at their fields."""
    typed = {name: asked.text(name) for name in ABOUT_FIELDS}
    try:
        bench = asked.desk.begin(typed)
    except FaultsFound as error:
        return _home(asked, typed, error.faults)
    return RedirectResponse(f"/object/{bench.id}", 303)


def _home(asked: Asked, typed: dict[str, str], faults: Sequence[Fault]) -> Response:
    desk = asked.desk
    names = desk.names()
    packs = desk.packs()
    context = {
        "names": names,
        "broken": [each for each in desk.sheets() if not isinstance(each, SheetFile)],
        "elsewhere": {
            name: title
            for name, title in instruments(desk.entries()).items()
            if name not in names
        },
        "kinds_of_instrument": [(kind, packs.catalogue(kind).name) for kind in packs.kinds()],
        "typed": typed,
        "faults": {fault.path.rpartition(".")[2]: fault for fault in faults},
        "folder": desk.folder.resolve().name,
    }  # fmt: skip
    return asked.page("home.html", context, status=422 if faults else 200)


async def write_sheet(asked: Asked) -> Response:
    """Write what the ledger holds of an instrument as a sheet here, so that it can be gone on with."""
    desk, name = asked.desk, asked.name
    entries = desk.entries()
    if name not in instruments(entries) or name in desk.names():
        raise UnknownName("instrument of the ledger without a sheet here", name, ())
    path = desk.folder / f"{name}.yaml"
    if path.exists():
        fault = Fault(str(path), 0, 0, "", "a file of that name", "none", "It was left alone")
        raise FaultsFound([fault])
    with Ledger.open(desk.ledger_path, read_only=True) as ledger:
        case = case_at(entries, name, None, ledger.opened())
    gone = erased_fields(case)
    if gone:
        found = f"{', '.join(gone)}, erased"
        advice = "Write the sheet with witnessmark worksheet, and leave them out"
        raise FaultsFound([Fault(name, 0, 0, "", found, "values that are still there", advice)])
    path.write_text(sheet_text(recorded_sheet(case), "As the ledger holds it."), encoding="utf-8")
    return RedirectResponse(f"/object/{name}", 303)


async def show(asked: Asked) -> Response:
    """One instrument: the map, the plan by stages, what waits in the draft."""
    bench = asked.taken_up()
    todo = bench.plan()
    places = map_places(bench.view, _counts(bench), f"/object/{bench.id}")
    words = {each.stage: each for each in examination().stages}
    stages = [
        {"words": words[stage], "looks": todo.of(stage), "gates": _open_gates(todo, stage)}
        for stage in STAGES
        if todo.of(stage)
    ]
    context = {
        "map": map_svg(bench.view, places),
        "places": places,
        "stages": stages,
        "cautions": todo.cautions,
        "lines": [_told(line) for line in bench.draft.lines],
        "held": _held(bench),
        "has_source": bool(bench.offered("sources")),
        "questions": interview().questions,
    }
    return asked.page("object.html", context, bench)


async def at(asked: Asked) -> Response:
    """One position: what is asked there, with its care, and a form for whatever is found."""
    bench = asked.taken_up()
    name = str(asked.request.path_params["position"])
    row = bench.view.find(name)
    if row is None:
        raise UnknownName("position", name, bench.view.names())
    todo = bench.plan()
    base = name.partition(".")[0]
    looks = [look for look in todo.looks if look.position.partition(".")[0] == base]
    named = list(dict.fromkeys(look.position for look in looks)) or [name]
    context = {
        "row": row,
        "position": name if "." in name or not row.many else named[0],
        "named": named if row.many else [],
        "looks": looks,
        "gates": [g for look in looks for g in look.before],
        "cautions": asked.desk.packs().cautions(
            dict.fromkeys((*row.cautions, *(c for look in looks for c in look.cautions)))
        ),
        "count": _counts(bench).get(base, 0),
        "at_kinds": ("mark", "measurement", "feature", "trace", "nothing", "work", "part"),
    }
    return asked.page("position.html", context, bench)


async def about(asked: Asked) -> Response:
    """The instrument itself, to be described anew."""
    bench = asked.taken_up()
    return _about(asked, bench, {name: str(bench.about.get(name, "")) for name in ABOUT_FIELDS}, {})


async def describe(asked: Asked) -> Response:
    """Describe the instrument anew; its id and its kind stay."""
    bench = asked.taken_up()
    typed = {name: asked.text(name).strip() for name in ABOUT_FIELDS}
    typed |= {name: str(bench.about.get(name, "")) for name in ("id", "kind")}
    given = {name: text for name, text in typed.items() if text}
    changed = OnBench(
        bench.id, bench.folder, bench.file, bench.draft.model_copy(update={"about": given}),
        bench.packs,
    )  # fmt: skip
    try:
        changed.instrument()
    except FaultsFound as error:
        faults = {fault.path.rpartition(".")[2]: fault for fault in error.faults}
        return _about(asked, bench, typed, faults)
    version = bench.draft.version + 1
    asked.desk.drafts.write(bench.id, changed.draft.model_copy(update={"version": version}))
    return RedirectResponse(f"/object/{bench.id}?done=saved", 303)


def _about(asked: Asked, bench: OnBench, typed: dict[str, str], faults: dict[str, Any]) -> Response:
    context = {"typed": typed, "faults": faults}
    return asked.page("about.html", context, bench, 422 if faults else 200)


async def pictures(asked: Asked) -> Response:
    """Pictures: to be taken with a camera, and those that lie in the folder already."""
    return _pictures(asked, asked.taken_up(), ())


async def take_pictures(asked: Asked) -> Response:
    """Take the pictures that were sent, or those of the folder that were chosen."""
    # Read before the draft is: nothing may come between reading a draft and writing it.
    sent = [
        (each.filename, await each.read())
        for each in asked.typed.getlist("pictures")
        if isinstance(each, UploadFile) and each.filename
    ]
    bench = asked.taken_up()
    said: list[str] = []
    positions = tuple(parts_of_list(asked.text("positions")))
    strange = [name for name in positions if bench.view.find(name) is None]
    if strange:
        said = [f"{', '.join(strange)}: no position of this kind. Nothing was taken."]
        return _pictures(asked, bench, tuple(said), 422)
    known = known_files(bench)
    draft = bench.draft
    for name, content in sent:
        current = OnBench(bench.id, bench.folder, bench.file, draft, bench.packs)
        taken = take_upload(current, Upload(name, positions, content), known)
        said.append(f"{taken.name}: {taken.says}")
        if taken.exhibit is not None:
            draft = _with_exhibit(draft, taken.exhibit)
    wanted = [value for value in asked.typed.getlist("waiting") if isinstance(value, str)]
    if wanted:
        picked = [(name, tuple(parts_of_list(asked.text(f"at:{name}")))) for name in wanted]
        current = OnBench(bench.id, bench.folder, bench.file, draft, bench.packs)
        for exhibit in take_waiting(current, wanted, picked):
            draft = _with_exhibit(draft, exhibit)
            said.append(f"{exhibit.file}: taken as it lies there")
    if draft != bench.draft:
        asked.desk.drafts.write(bench.id, draft)
    return _pictures(asked, asked.taken_up(), tuple(said) or ("Nothing was chosen.",))


def _with_exhibit(draft: Draft, exhibit: Exhibit) -> Draft:
    return with_line(draft, exhibit_line(new_key(), exhibit), f"a picture: {exhibit.id}")


def _pictures(asked: Asked, bench: OnBench, said: tuple[str, ...], status: int = 200) -> Response:
    context = {
        "said": said,
        "waiting_pictures": waiting_pictures(bench),
        "exhibits": bench.offered("exhibits"),
        "positions": [(name, row.name) for name, row in bench.view.positions.items()],
        "at": asked.query("position"),
    }
    return asked.page("pictures.html", context, bench, status)


async def picture(asked: Asked) -> Response:
    """A picture of the folder, small, with nothing but its pixels."""
    bench = asked.taken_up()
    media_type, content = small_picture(bench, asked.query("file"))
    return Response(content, media_type=media_type)


def _counts(bench: OnBench) -> dict[str, int]:
    found: dict[str, int] = {}
    for line in bench.lines():
        for base in {place.partition(".")[0] for place in positions_of(line)}:
            found[base] = found.get(base, 0) + 1
    return found


def _open_gates(todo: Plan, stage: Stage) -> tuple[Look, ...]:
    """What has to be recorded before a stage is begun and is not yet."""
    last = STAGES.index(stage)
    return tuple(
        look for look in todo.open_looks() if look.is_gate and STAGES.index(look.stage) <= last
    )


def _told(line: DraftLine) -> dict[str, Any]:
    return {
        "key": line.key,
        "id": line.id,
        "section": line.section,
        "state": line.state,
        "mends": line.mends,
        "says": summary(line.section, line_of(line.section, line.fields)),
    }


def _held(bench: OnBench) -> list[dict[str, str]]:
    """The lines of the sheet that nothing in the draft mends, without their readings."""
    mended = {line.mends for line in bench.draft.lines}
    return [
        {"id": str(line.get("id")), "section": section, "says": summary(section, line)}
        for section, lines in bench.held.items()
        for line in lines
        if str(line.get("id")) not in mended
    ]
