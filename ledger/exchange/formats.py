"""The formats in which an instrument's evidence can be exported, one row each.

A format takes a report with its case and gives the text of one file, with a sentence for whatever
the format could not carry. A new format is a row here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

from ledger.exchange.graph import graph_of
from ledger.exchange.graph_files import Exported, graph_graphml, graph_json
from ledger.exchange.iris import DEFAULT_BASE, Quad
from ledger.exchange.provenance import LOST as LOST_IN_PROV
from ledger.exchange.provenance import prov_json, prov_n
from ledger.exchange.rdf import FORMATS as RDF_FORMATS
from ledger.exchange.rdf import LOST_EVERYWHERE, Telling, exported, written
from ledger.exchange.statements import Checkpoint
from ledger.findings import Report
from ledger.reason.rules import RULES
from ledger.record.case import Case

NO_CHECKPOINT: Final = (
    "a checkpoint of the ledger, the spans and examples of feature timelines, and names under an "
    "address of your own: the command tell gives them"
)
_PROV_LOSSES: Final = tuple(
    f"Not in it: {loss}." for loss in (*LOST_EVERYWHERE, *LOST_IN_PROV, NO_CHECKPOINT)
)


@dataclass(frozen=True, slots=True)
class Format:
    """What a format is, how its files end, and what writes it."""

    says: str
    suffix: str
    write: Callable[[Report, Case], Exported]


def _graphml(report: Report, case: Case) -> Exported:
    return graph_graphml(graph_of(report, case))


def _json(report: Report, case: Case) -> Exported:
    return graph_json(graph_of(report, case))


def _told(report: Report, case: Case) -> tuple[Quad, ...]:
    """The one instrument; only a whole ledger has a checkpoint (the command tell gives it)."""
    checkpoint = Checkpoint(report.sequence, "")
    return exported(Telling([(case, report)], checkpoint=checkpoint, rules=RULES))


def _rdf(form: str, report: Report, case: Case) -> Exported:
    losses = (*RDF_FORMATS[form].losses, NO_CHECKPOINT)
    text = written(_told(report, case), form).decode()
    return Exported(text, tuple(f"Not in it: {loss}." for loss in losses))


def _prov_n(report: Report, case: Case) -> Exported:
    return Exported(prov_n(_told(report, case), DEFAULT_BASE), _PROV_LOSSES)


def _prov_json(report: Report, case: Case) -> Exported:
    return Exported(prov_json(_told(report, case), DEFAULT_BASE), _PROV_LOSSES)


FORMATS: Final[Mapping[str, Format]] = {
    "graphml": Format("the evidence graph as GraphML", ".graphml", _graphml),
    "json": Format("the evidence graph by schema/graph.schema.json", ".json", _json),
    **{
        name: Format(f"RDF as {each.title}", f".{each.ending}", partial(_rdf, name))
        for name, each in RDF_FORMATS.items()
    },
    "prov-n": Format("provenance as PROV-N", ".provn", _prov_n),
    "prov-json": Format("provenance as PROV-JSON", ".json", _prov_json),
}
