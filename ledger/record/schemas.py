"""The published JSON Schemas, made from the models so that they cannot disagree with them.

A sheet and a pack are typed by hand, and a YAML reader of an editor takes ``1955`` for a number
and ``yes`` for true: where the program takes the text as typed, their schemas take both.
"""

from __future__ import annotations

import json
from typing import Any, Final

from pydantic import BaseModel, TypeAdapter
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue

from ledger.dossier import Dossier
from ledger.findings import Report
from ledger.models import BenchSheet
from ledger.references import PackFile

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
REMAKE: Final = "Made from the models; do not edit."


class _AsTyped(GenerateJsonSchema):
    """Takes a scalar as the text typed or as what an editor makes of it."""

    def str_schema(self, schema: Any) -> JsonSchemaValue:  # noqa: ANN401 - pydantic's own dict
        made = super().str_schema(schema)
        return {**made, "type": ["string", "number"]}

    def bool_schema(self, schema: Any) -> JsonSchemaValue:  # noqa: ANN401, ARG002 - as above
        return {"enum": ["yes", "no", True, False]}

    def int_schema(self, schema: Any) -> JsonSchemaValue:  # noqa: ANN401, ARG002 - as above
        return {"type": ["integer", "string"], "pattern": "^[0-9]{1,9}$"}

    def float_schema(self, schema: Any) -> JsonSchemaValue:  # noqa: ANN401, ARG002 - as above
        return {"type": ["number", "string"], "pattern": r"^-?[0-9]{1,12}(\.[0-9]{1,12})?$"}

    def literal_schema(self, schema: Any) -> JsonSchemaValue:  # noqa: ANN401 - as above
        choices: list[Any] = []
        for choice in schema["expected"]:
            choices.append(choice)
            if choice in ("yes", "no"):
                choices.append(choice == "yes")
            elif choice.isdigit():
                choices.append(int(choice))
        return {"enum": choices}


def sheet_schema() -> dict[str, Any]:
    """The JSON Schema of a bench sheet."""
    return _schema_of(BenchSheet, "Bench sheet")


def pack_schema() -> dict[str, Any]:
    """The JSON Schema of a pack."""
    return _schema_of(PackFile, "Pack of reference statements")


def report_schema() -> dict[str, Any]:
    """The JSON Schema of a report."""
    made = TypeAdapter(Report).json_schema(mode="serialization")
    return {"$schema": DIALECT, "$comment": REMAKE, **made, "title": "Report"}


def dossier_schema() -> dict[str, Any]:
    """The JSON Schema of a dossier; one of which nothing is signed has no proof."""
    made = TypeAdapter(Dossier).json_schema(mode="serialization")
    made["required"] = [name for name in made["required"] if name != "proof"]
    made["properties"]["proof"] = {"$ref": "#/$defs/Proof"}
    signed = made["$defs"]["Proof"]
    signed["required"] = [name for name in signed["required"] if name != "document"]
    signed["properties"]["document"] = {"$ref": "#/$defs/SignedRest"}
    return {"$schema": DIALECT, "$comment": REMAKE, **made, "title": "Dossier"}


def schema_documents() -> dict[str, str]:
    """The text of each schema by its file name in the folder ``schema``."""
    made = {
        "sheet.schema.json": sheet_schema(),
        "pack.schema.json": pack_schema(),
        "report.schema.json": report_schema(),
        "dossier.schema.json": dossier_schema(),
    }
    return {
        name: json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"
        for name, schema in made.items()
    }


def _schema_of(model: type[BaseModel], title: str) -> dict[str, Any]:
    made = model.model_json_schema(schema_generator=_AsTyped)
    return {"$schema": DIALECT, "$comment": REMAKE, **made, "title": title}
