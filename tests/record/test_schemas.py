from __future__ import annotations

import json
import re

import pytest
import yaml
from jsonschema import Draft202012Validator
from pydantic import BaseModel

from ledger.basis.modelfaults import read_model
from ledger.holdings import schema_file
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.record.schemas import pack_schema, schema_documents, sheet_schema
from ledger.record.sheet import catalogue_faults, read_sheet
from ledger.references import PackFile

SHEET, PACK = schema_file("example-sheet.yaml"), schema_file("example-pack.yaml")


@pytest.mark.parametrize("name", sorted(schema_documents()))
def test_the_published_schema_is_the_one_made_from_the_models(name):
    text = schema_file(name).read_text(encoding="utf-8")
    assert text == schema_documents()[name], f"remake schema/{name} from schema_documents()"
    Draft202012Validator.check_schema(json.loads(text))


def _as_text(text):
    return yaml.load(text, yaml.BaseLoader)  # noqa: S506 - it makes nothing but text


def _core_schema(text):
    """YAML as most editors read it: true and false are words, figures are numbers (YAML 1.2)."""

    class Loader(yaml.SafeLoader):
        yaml_implicit_resolvers = {}  # noqa: RUF012 - how the parser wants it

    Loader.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"[0-9]+$"), None)
    Loader.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"[0-9]+\.[0-9]+$"), None)
    return yaml.load(text, Loader)  # noqa: S506 - a safe loader with fewer types


@pytest.mark.parametrize("load", [_as_text, _core_schema], ids=["text", "editor"])
@pytest.mark.parametrize(
    ("path", "schema"), [(SHEET, sheet_schema()), (PACK, pack_schema())], ids=["sheet", "pack"]
)
def test_the_examples_fit_their_schemas(load, path, schema):
    given = load(path.read_text(encoding="utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(given)) == []
    given["unknown"] = "x"
    assert len(list(Draft202012Validator(schema).iter_errors(given))) == 1


def test_the_example_sheet_and_pack_read_without_a_fault():
    pack = read_model(PACK.read_bytes(), str(PACK), PackFile)
    packs = Packs.of((*built_in_packs(), pack))
    read = read_sheet(SHEET)
    kind = read.sheet.instrument.kind
    assert catalogue_faults(read, packs.catalogue(kind), packs.trace_kind_names()) == ()


def _fields_used(value, used):
    if isinstance(value, BaseModel):
        used.update((type(value), name) for name in value.model_fields_set)
        for name in type(value).model_fields:
            _fields_used(getattr(value, name), used)
    elif isinstance(value, tuple):
        for each in value:
            _fields_used(each, used)
    return used


@pytest.mark.parametrize(
    "example",
    [read_sheet(SHEET).sheet, read_model(PACK.read_bytes(), str(PACK), PackFile)],
    ids=["sheet", "pack"],
)
def test_the_examples_show_every_field_of_every_line(example):
    used = _fields_used(example, set())
    shared = {"note", "withhold", "scope", "n"}  # the same in every line, shown in one
    missing = {
        f"{model.__name__}.{name}"
        for model in {model for model, _ in used}
        for name in model.model_fields
        if (model, name) not in used and name not in shared
    }
    assert missing == set()
    shown = {name for _, name in used}
    assert shown >= shared & {name for model, _ in used for name in model.model_fields}
    assert all(getattr(example, section) for section in type(example).model_fields)


def test_the_examples_are_marked_invented():
    assert read_sheet(SHEET).sheet.instrument.invented
    assert read_model(PACK.read_bytes(), str(PACK), PackFile).invented
