"""The house: every module on its floor, imports from lower floors only, fences, and habits.

The modules are read, never run. The checker is itself tried on small houses with one fault
planted in each.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "DEVELOPERS.md"

# A module imports only from floors above it in this table; not from its own.
FLOORS: tuple[str, ...] = (
    (
        "advice chances disputes errors basis.conformity basis.date_wordings basis.hashing "
        "basis.merkle basis.pattern_cost basis.percentages basis.phrases basis.spans "
        "basis.uncertainty basis.units basis.verbal_scale basis.visible bench.row_ids "
        "exchange.iris exchange.terms knowledge.compiled knowledge.glyphs publish.chain_layout "
        "publish.connection publish.csv_cells publish.gathered publish.outlines "
        "publish.page_contexts publish.shortening publish.writing reason.factors reason.plans "
        "reason.rules record.exhibit_files record.pictures"
    ),
    (
        "findings holdings basis.copper basis.date_patterns basis.frets basis.limits "
        "basis.yamltext bench.form_drafts commands.paragraphs knowledge.readings "
        "publish.challenge_contexts publish.dossier_files publish.percentages publish.questions "
        "publish.rendering publish.searching publish.support_contexts publish.svg "
        "publish.tables publish.time_scale reason.domains reason.groups reason.information "
        "reason.likelihoods reason.network record.connections record.entries record.exhibits"
    ),
    (
        "dossier basis.edtf basis.modelfaults basis.quantities bench.tables exchange.dates_rdf "
        "exchange.ontology publish.answers publish.chain_drawing publish.chance_contexts "
        "publish.chance_drawing publish.chance_rows publish.dossier_contexts publish.evidence "
        "publish.guard publish.originality publish.placing publish.register_answers "
        "publish.time_rows reason.explain reason.given reason.stretches reason.sums "
        "reason.sweeps record.chain"
    ),
    (
        "lines basis.circuits bench.form_dates bench.form_door exchange.chances_rdf "
        "exchange.checking exchange.provenance publish.challenge_rows publish.doubt_sections "
        "publish.naming publish.part_drawing publish.passage_rows publish.time_drawing "
        "reason.other_roots reason.tighten reason.turns reason.windows record.migrations"
    ),
    (
        "challenges masks searches basis.electrical bench.steps exchange.alternatives "
        "exchange.findings_rdf publish.chance_sections publish.curve_drawing "
        "publish.date_sections publish.report_rows publish.wording reason.costs reason.roots"
    ),
    (
        "models publish.plot_drawing publish.report_pages publish.search_views publish.support "
        "reason.candidates"
    ),
    (
        "rows bench.columns bench.sheet_writer bench.treatments publish.bound_drawing "
        "publish.question_pages publish.timeline_drawing reason.hitting record.links"
    ),
    (
        "marking bench.form_kinds publish.dossier_lines publish.drawings publish.question_views "
        "publish.reference_views reason.independence"
    ),
    "references publish.dossier_drawings publish.instrument_sections reason.reconcile",
    (
        "knowledge.catalogues knowledge.practice_limits knowledge.tree_rings "
        "publish.challenge_sections publish.dossier_sections publish.pack_rows "
        "publish.shared_sections record.case record.schemas"
    ),
    (
        "bench.form_map bench.photographs_in bench.recorded bench.still_open exchange.graph "
        "exchange.statements knowledge.packs publish.dossier_answers publish.pages "
        "reason.dispute_wording reason.wording record.changes record.sheet"
    ),
    (
        "printing bench.form_tree bench.mapping_draft bench.plan exchange.assertions_rdf "
        "exchange.chances_moved exchange.graph_changes exchange.graph_files exchange.histories "
        "exchange.support knowledge.component_values knowledge.facts knowledge.patents "
        "knowledge.production_codes knowledge.serials knowledge.source_codes publish.dossier "
        "publish.drawn_pages reason.anatomy reason.recorded_dates reason.row_wording "
        "record.chaining record.exposure record.keys record.turns"
    ),
    (
        "narrowing bench.bench_rows bench.markup exchange.circles exchange.differing "
        "exchange.references_rdf exchange.resting knowledge.colour_bands "
        "knowledge.source_alternatives publish.sitedb publish.views reason.draft "
        "reason.supposing record.store"
    ),
    (
        "workflow bench.forms bench.rows_in bench.spreadsheet_out commands.options exchange.rdf "
        "exchange.sharing knowledge.source_dates reason.cautions reason.ends reason.fretting "
        "reason.measuring reason.technology record.checkpoints record.copying record.erasing"
    ),
    (
        "bench.exhibits_in bench.mapping bench.sheet_rows bench.worksheet exchange.asking "
        "exchange.bearing_text exchange.formats exchange.theirs knowledge.marks reason.standing "
        "record.audit"
    ),
    (
        "bench.first_steps bench.form_desk bench.spreadsheet_in commands.others "
        "exchange.left_out knowledge.slips publish.mark_views reason.comparing reason.dating "
        "record.matter_audit record.proofs"
    ),
    (
        "bench.form_pictures bench.form_readings bench.form_record publish.plugin "
        "reason.contradicting reason.happenings reason.priors reason.witnesses record.documents "
        "record.ledger_audit"
    ),
    ("bench.form_pages publish.site reason.derive reason.evidence reason.weighed record.seals"),
    (
        "bench.form_asked reason.concluding reason.date_marks reason.disputing reason.swaps "
        "reason.telling reason.tellings reason.work_evidence reason.work_states "
        "record.verification"
    ),
    (
        "bench.form_entering bench.form_lines commands.trust reason.bearing "
        "reason.doubted_pictures reason.part_evidence reason.reaches reason.rivals "
        "reason.states reason.told_evidence"
    ),
    "reason.conceding reason.surprises reason.weighing",
    "reason.answering reason.examination reason.own_priors reason.ranges",
    (
        "reason.foreseen_comparisons reason.foreseen_marks reason.foreseen_traces "
        "reason.posteriors reason.prospects"
    ),
    "reason.advising reason.leaving_out reason.likely",
    "reason.reasoner reason.settling",
    "reporting reason.in_full reason.next_steps reason.suppose",
    (
        "gathering handing_over bench.form_objects commands.advising commands.bench "
        "commands.disputing commands.graphs commands.histories commands.recording "
        "commands.reference commands.telling commands.weighing"
    ),
    "publishing commands.dossier",
    "demonstration bench.form_settling",
    "bench.form_app commands.site",
    "bench.form_server",
    "commands.bench_form",
    "cli",
    "__main__",
)

# What a room never imports, and why.
FENCES: tuple[tuple[str, str, str], ...] = (
    (
        "reason",
        "sqlite3 sqlite_utils datasette ledger.record.store ledger.publish",
        "the reasoner never sees a database",
    ),
    ("reason", "os pathlib time random secrets", "the reasoner is a pure function"),
    (
        "publish",
        "ledger.reason ledger.record.store ledger.workflow",
        "what publishes does not reason and does not read the ledger",
    ),
    ("knowledge", "ledger.record ledger.reason", "what is known does not look at a case"),
    (
        "exchange",
        "sqlite3 sqlite_utils datasette ledger.record.store ledger.publish ledger.workflow",
        "what goes out to other tools is made from a report and its case alone",
    ),
)

# Libraries that are met in few places, and those places.
MET_IN: Mapping[str, str] = {
    "sqlite3": (
        "record.store record.connections record.chain record.turns record.migrations record.ledger_audit record.matter_audit record.seals publish.sitedb publish.writing publish.drawn_pages publish.site publish.connection"
    ),
    "sqlite_utils": "publish.sitedb",
    "click": "cli commands",
    "rich": "printing",
    "numpy": "reason",
    "PIL": "record.pictures bench.photographs_in",  # the latter for what the camera wrote
    "rfc8785": "basis.hashing",
    "cryptography": "record.keys",
    "yaml": "basis.yamltext knowledge.packs",
    "networkx": "exchange",
    "openpyxl": "bench",
    "starlette": "bench",  # the form; the site has datasette
    "rdflib": "exchange",
    "pyoxigraph": "exchange",
    "pyshacl": "exchange.checking",  # of an extra: only the commands that check import it
    "prov": "exchange.provenance",
    # record.pictures for an extra, which is not always there; commands.weighing for what only the
    # full report needs; the others for files of the package.
    "importlib": "cli commands.weighing knowledge.packs record.pictures bench.steps bench.worksheet",
}
LATE_IN = "cli"
DRAWERS = frozenset({"utils", "util", "helpers", "helper", "core", "misc", "common", "manager"})
MOST_LINES, MOST_FUNCTION_LINES, MOST_PARAMETERS = 400, 60, 6

# Faults that stand, each with its reason. One that no longer occurs is itself a fault.
STANDING: Mapping[str, str] = {
    "reason.rules: does not open with the question it answers": "a table of words, no engine",
}


@dataclass(frozen=True)
class Module:
    """The text of one module and its tree; ``name`` leaves out ``ledger.``."""

    name: str
    text: str

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text)

    @property
    def is_room(self) -> bool:
        """Whether it is the ``__init__`` of a folder."""
        return self.name.rpartition(".")[2] == "__init__"


def read_house(folder: Path) -> tuple[Module, ...]:
    found = []
    for path in sorted(folder.rglob("*.py")):
        name = ".".join(path.relative_to(folder).with_suffix("").parts)
        found.append(Module(name, path.read_text(encoding="utf-8")))
    return tuple(found)


def imports_of(module: Module, known: frozenset[str]) -> Iterator[tuple[str, ast.stmt]]:
    """What the module imports, by full dotted names, with the statement that does."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            origin = "." * node.level + (node.module or "")
            for alias in node.names:
                whole = f"{origin}.{alias.name}"
                is_module = whole.removeprefix("ledger.") in known
                if is_module or alias is node.names[0]:
                    yield (whole if is_module else origin), node


def late_imports(module: Module) -> Iterator[tuple[str, int]]:
    """The modules named in calls of ``late``; an empty name where it is not told in the text."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and _called(node) == "late":
            first = node.args[0] if node.args else None
            told = isinstance(first, ast.Constant) and isinstance(first.value, str)
            yield (str(first.value) if told else ""), node.lineno


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


def _is_within(name: str, room: str) -> bool:
    return not room or name == room or name.startswith(f"{room}.")


def floor_faults(house: Sequence[Module], table: Sequence[str]) -> Iterator[str]:
    floors = {name: floor for floor, names in enumerate(table) for name in names.split()}
    names = frozenset(module.name for module in house)
    for name in sorted(set(floors) - names):
        yield f"{name}: has a floor and is not there"
    for module in house:
        if module.is_room:
            if any(not isinstance(node, ast.Expr) for node in module.tree.body):
                yield f"{module.name}: holds more than a docstring"
        elif module.name not in floors:
            yield f"{module.name}: has no floor"
        else:
            yield from _import_faults(module, names, floors)
            yield from _late_faults(module, floors)


def _import_faults(
    module: Module, names: frozenset[str], floors: Mapping[str, int]
) -> Iterator[str]:
    for name, node in imports_of(module, names):
        place = f"{module.name}:{node.lineno}"
        if node not in module.tree.body:
            yield f"{place}: imports {name} below the top of the file"
        if name.startswith("."):
            yield f"{place}: imports {name} by a relative name"
        elif _is_within(name, "ledger"):
            yield from _step_faults(place, name.removeprefix("ledger."), module, floors)


def _late_faults(module: Module, floors: Mapping[str, int]) -> Iterator[str]:
    for name, line in late_imports(module):
        place = f"{module.name}:{line}"
        if module.name != LATE_IN:
            yield f"{place}: imports late, which only {LATE_IN} may"
        elif not name:
            yield f"{place}: does not say which module it imports late"
        else:
            yield from _step_faults(place, name, module, floors)


def _step_faults(place: str, name: str, module: Module, floors: Mapping[str, int]) -> Iterator[str]:
    if name not in floors:
        yield f"{place}: imports {name}, which has no floor"
    elif floors[name] >= floors[module.name]:
        yield f"{place}: imports {name}, which is not on a lower floor"


def fence_faults(house: Sequence[Module]) -> Iterator[str]:
    names = frozenset(module.name for module in house)
    for module in house:
        for name, node in imports_of(module, names):
            place = f"{module.name}:{node.lineno}"
            for room, forbidden, reason in FENCES:
                if _is_within(module.name, room) and any(
                    _is_within(name, each) for each in forbidden.split()
                ):
                    yield f"{place}: imports {name}, but {reason}"
            library = name.partition(".")[0]
            if library in MET_IN and not any(
                _is_within(module.name, place) for place in MET_IN[library].split()
            ):
                yield f"{place}: imports {name}, which is met only in {MET_IN[library]}"
            if library == "datasette" and not _is_within(module.name, "publish"):
                yield f"{place}: imports {name}, which is met only in publish"


def habit_faults(house: Sequence[Module]) -> Iterator[str]:
    for module in house:
        if DRAWERS & set(module.name.split(".")):
            yield f"{module.name}: a file is a subject, not a drawer"
        if (count := len(module.text.splitlines())) > MOST_LINES:
            yield f"{module.name}: {count} lines"
        if not ast.get_docstring(module.tree) and module.text.strip():
            yield f"{module.name}: has no docstring"
        is_reason = _is_within(module.name, "reason") and not module.is_room
        if is_reason and "Question answered:" not in (ast.get_docstring(module.tree) or ""):
            yield f"{module.name}: does not open with the question it answers"
        for number, line in enumerate(module.text.splitlines(), 1):
            place = f"{module.name}:{number}"
            if re.search(r"\b(TODO|FIXME|XXX)\b", line):
                yield f"{place}: leaves something to do"
            if "type: ignore" in line and not re.search(r"type: ignore\[[\w, -]+\]  # \S", line):
                yield f"{place}: ignores a type without code and reason"
        yield from _node_faults(module)


def _node_faults(module: Module) -> Iterator[str]:
    for node in ast.walk(module.tree):
        place = f"{module.name}:{getattr(node, 'lineno', 0)}"
        if isinstance(node, ast.Assert):
            yield f"{place}: asserts"
        elif isinstance(node, ast.ExceptHandler) and _catches_all(node):
            yield f"{place}: catches everything"
        elif isinstance(node, ast.Call) and _called(node) in {"print", "__import__"}:
            yield f"{place}: calls {_called(node)}"
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield from _function_faults(place, node)
    yield from _undocumented(module.name, module.tree.body)


def _catches_all(node: ast.ExceptHandler) -> bool:
    caught = [] if node.type is None else [*ast.walk(node.type)]
    names = {each.id for each in caught if isinstance(each, ast.Name)}
    return node.type is None or bool(names & {"Exception", "BaseException"})


def _function_faults(place: str, node: ast.FunctionDef | ast.AsyncFunctionDef) -> Iterator[str]:
    count = (node.end_lineno or node.lineno) - node.lineno + 1
    if count > MOST_FUNCTION_LINES:
        yield f"{place}: {node.name} has {count} lines"
    taken = node.args
    given = [*taken.posonlyargs, *taken.args, *taken.kwonlyargs, taken.vararg, taken.kwarg]
    names = [each.arg for each in given if each is not None and each.arg not in {"self", "cls"}]
    if len(names) > MOST_PARAMETERS:
        yield f"{place}: {node.name} has {len(names)} parameters"


def _undocumented(name: str, body: Sequence[ast.stmt]) -> Iterator[str]:
    for node in body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_"):
            continue
        if not ast.get_docstring(node):
            yield f"{name}:{node.lineno}: {node.name} has no docstring"
        if isinstance(node, ast.ClassDef):
            yield from _undocumented(name, node.body)


HOUSE = read_house(ROOT / "ledger")


def _less_standing(found: Iterator[str]) -> list[str]:
    return [fault for fault in found if _unplaced(fault) not in STANDING]


def _unplaced(fault: str) -> str:
    return re.sub(r":\d+:", ":", fault, count=1)


def test_every_module_has_a_floor_and_imports_from_lower_ones():
    assert _less_standing(floor_faults(HOUSE, FLOORS)) == []


def test_no_fence_is_climbed():
    assert _less_standing(fence_faults(HOUSE)) == []


def test_the_habits_of_the_house_are_kept():
    assert _less_standing(habit_faults(HOUSE)) == []


def test_every_standing_fault_still_occurs_and_has_a_reason():
    found = [*floor_faults(HOUSE, FLOORS), *fence_faults(HOUSE), *habit_faults(HOUSE)]
    assert set(STANDING) <= {_unplaced(fault) for fault in found}
    assert all(STANDING.values())


def test_no_imports_run_in_a_circle():
    names = frozenset(module.name for module in HOUSE)
    graph = {
        module.name: {name.removeprefix("ledger.") for name, _ in imports_of(module, names)}
        for module in HOUSE
    }
    assert list(TopologicalSorter(graph).static_order())


def test_the_floors_in_the_developers_page_are_these():
    rows = [f"{floor:2}  {names}" for floor, names in enumerate(FLOORS)]
    block = "```floors\n" + "\n".join(rows) + "\n```"
    assert block in PAGE.read_text(encoding="utf-8"), f"the page should hold:\n{block}"


CELLAR = Module("basis.spans", '"""Days."""\nimport re\n')
STORE = Module("record.store", '"""The ledger."""\n')
ATTIC = Module("cli", '"""The command."""\nimport click\nlate("basis.spans")\n')
SMALL_TABLE = (
    "basis.spans errors",
    "reason.weigh record.store publish.site knowledge.packs",
    "cli",
)
OPENING = '"""Weigh.\n\nQuestion answered: which.\n"""\n'
PLANTED = {
    "upward": ("basis.spans", "from ledger.cli import main", "not on a lower floor"),
    "sideways": ("errors", "import ledger.basis.spans", "not on a lower floor"),
    "by-the-room": ("errors", "from ledger.basis import spans", "not on a lower floor"),
    "relative": ("errors", "from . import cli", "relative name"),
    "hidden": ("errors", "def f():\n    '''F.'''\n    import re", "below the top"),
    "under-an-if": ("errors", "if 1:\n    import re", "below the top"),
    "unknown": ("errors", "from ledger.nowhere import x", "has no floor"),
    "no-floor": ("annex", "", "has no floor"),
    "late-elsewhere": ("errors", "late('basis.spans')", "imports late"),
    "late-upward": ("cli", "late('cli')", "not on a lower floor"),
    "late-untold": ("cli", "late(1)", "does not say"),
    "reason-sqlite": ("reason.weigh", "import sqlite3", "never sees a database"),
    "reason-store": ("reason.weigh", "import ledger.record.store", "never sees a database"),
    "reason-clock": ("reason.weigh", "from time import time", "pure function"),
    "publish-reason": ("publish.site", "from ledger.reason.weigh import x", "does not reason"),
    "publish-store": ("publish.site", "from ledger.record import store", "does not read"),
    "knowledge-case": ("knowledge.packs", "import ledger.record.store", "does not look"),
    "graph": ("errors", "import rdflib.term", "met only in exchange"),
    "second-writer": ("errors", "import sqlite3", "met only in record.store"),
    "server": ("errors", "from datasette.app import Datasette", "met only in publish"),
    "importlib": ("errors", "from importlib import import_module", "met only in cli"),
    "drawer": ("basis.utils", "", "not a drawer"),
    "long-file": ("errors", "x = 1\n" * 400, "401 lines"),
    "long-function": ("errors", "def f():\n    '''F.'''\n" + "    f()\n" * 59, "61 lines"),
    "many-parameters": (
        "errors",
        "class A:\n    '''A.'''\n\n    def _f(self, a, b, /, c, *d, e, f, **g):\n        pass",
        "7 parameters",
    ),
    "assert": ("errors", "assert 1", "asserts"),
    "bare-except": ("errors", "try:\n    f()\nexcept:\n    pass", "catches everything"),
    "wide-except": (
        "errors",
        "try:\n    f()\nexcept (OSError, Exception):\n    pass",
        "everything",
    ),
    "to-do": ("errors", "# TO" + "DO: later", "leaves something"),
    "ignore": ("errors", "x = 1  # type: ig" + "nore[assignment]", "without code and reason"),
    "print": ("errors", "print(1)", "calls print"),
    "no-docstring": ("errors", "def f():\n    pass", "f has no docstring"),
    "no-method-docstring": (
        "errors",
        "class A:\n    '''A.'''\n    def f(self): ...",
        "no docstring",
    ),
    "question": ("reason.weigh", None, "question it answers"),
    "busy-room": ("basis.__init__", "import re", "more than a docstring"),
}


def _all_faults(house: Sequence[Module]) -> list[str]:
    given = {module.name for module in house}
    table = [" ".join(n for n in names.split() if n in given) for names in SMALL_TABLE]
    return [*floor_faults(house, table), *fence_faults(house), *habit_faults(house)]


def test_a_sound_house_has_no_faults():
    sound = Module("reason.weigh", f"{OPENING}from ledger.basis.spans import x\n")
    assert (
        _all_faults([CELLAR, STORE, ATTIC, sound, Module("basis.__init__", '"""Room."""\n')]) == []
    )


@pytest.mark.parametrize(("name", "code", "said"), PLANTED.values(), ids=PLANTED)
def test_a_planted_fault_is_found(name, code, said):
    opening = OPENING if name.startswith("reason") and code is not None else '"""A file."""\n'
    planted = Module(name, f"{opening}{code or ''}")
    others = [module for module in (CELLAR, STORE, ATTIC) if module.name != name]
    found = [fault for fault in _all_faults([*others, planted]) if fault.startswith(name)]
    assert any(said in fault for fault in found), found


def test_a_floor_without_its_module_is_found():
    assert list(floor_faults([CELLAR], ("basis.spans gone",))) == [
        "gone: has a floor and is not there"
    ]
