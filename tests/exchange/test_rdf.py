from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pyoxigraph as ox
import pytest
from rdflib import Dataset, Graph

from ledger.errors import WitnessmarkError
from ledger.exchange.iris import TERMS, spelt
from ledger.exchange.rdf import FORMATS, Telling, exported, n_quads, read_quads, respelt, written
from ledger.exchange.statements import Checkpoint
from ledger.reason.rules import RULES

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def telling(samples):
    return Telling(
        [(one.case, one.report) for one in samples.values()],
        samples["whinchat-mandolin"].packs.files,
        Checkpoint(187, "ab" * 32, "2026-03-02T10:00:00Z"),
        rules=RULES,
    )


@pytest.fixture(scope="module")
def quads(telling):
    return exported(telling)


# Parsers of rdflib warn of names of rdflib that are old.
@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib")
@pytest.mark.parametrize("form", FORMATS)
def test_a_file_is_read_by_another_library_as_what_was_written(quads, form):
    mine = [quad for quad in quads if "dunnock" not in quad[0] and "garganey" not in quad[0]]
    content = written(mine, form).decode()
    name = {"n-quads": "nquads"}.get(form, form)
    if not FORMATS[form].has_graphs:
        found = {
            tuple(term.n3() for term in triple)
            for triple in Graph().parse(data=content, format=name)
        }
        assert found == {quad[1:] for quad in mine}
        return
    dataset = Dataset()
    dataset.parse(data=content, format=name)
    default = (None, dataset.default_graph.identifier)
    assert {
        ("" if graph in default else graph.n3(), *(term.n3() for term in triple))
        for *triple, graph in dataset.quads()
    } == set(mine)


def test_there_are_no_blank_nodes_and_nothing_stands_twice(quads):
    assert not any(term.startswith("_:") for quad in quads for term in quad)
    assert list(quads) == sorted(set(quads))


def test_the_lines_are_canonical_n_quads(quads):
    content = n_quads(quads)
    assert (
        ox.serialize(ox.parse(content, format=ox.RdfFormat.N_QUADS), format=ox.RdfFormat.N_QUADS)
        == content
    )


def test_the_order_of_the_cases_changes_nothing(telling, quads):
    assert exported(replace(telling, cases=list(telling.cases)[::-1])) == quads


PRINT_HASHES = """
import hashlib, sys
from pathlib import Path
from ledger.commands.telling import telling_of
from ledger.exchange.provenance import prov_json, prov_n
from ledger.exchange.rdf import FORMATS, exported, written
quads = exported(telling_of(Path(sys.argv[1]), ("whinchat-mandolin",), "https://b.example/"))
texts = [written(quads, form) for form in FORMATS]
texts += [make(quads, "https://b.example/").encode() for make in (prov_n, prov_json)]
print([hashlib.sha256(text).hexdigest() for text in texts])
"""


def test_every_format_gives_the_same_bytes_under_two_hash_seeds(sample_ledger):
    said = {
        subprocess.run(
            [sys.executable, "-c", PRINT_HASHES, sample_ledger],
            capture_output=True,
            check=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "7")
    }
    assert len(said) == 1


def withheld_values(samples):
    """Every withheld text of the samples that no other field of any of them tells as well."""
    told, withheld = [], set()
    for one in samples.values():
        for recorded in one.case.lines.values():
            for name, value in recorded.line.model_dump(mode="json").items():
                if name in recorded.withheld:
                    withheld.add(str(value))
                elif name != "id":
                    told.append(json.dumps(value, ensure_ascii=False))
    return {text for text in withheld if len(text) > 3 and not any(text in each for each in told)}


@pytest.mark.parametrize("form", FORMATS)
def test_withheld_matter_is_in_no_format(samples, quads, form):
    content = written(quads, form).decode()
    values = withheld_values(samples)
    assert len(values) > 5
    for value in values:
        assert value not in content
        assert json.dumps(value)[1:-1] not in content


def test_serial_numbers_of_examples_are_not_told(telling, quads):
    texts = {found for _, _, _, found in quads}
    numbers = {
        str(example.serial)
        for pack in telling.packs
        for row in pack.timelines
        for example in row.examples
        if example.serial is not None
    }
    assert not {f'"{number}"' for number in numbers} & texts


def test_every_format_says_what_it_loses():
    for form in FORMATS.values():
        assert len(form.losses) >= 4
    assert any("named graphs" in loss for loss in FORMATS["turtle"].losses)
    assert not any("named graphs" in loss for loss in FORMATS["trig"].losses)


def test_a_base_that_is_none_and_terms_that_are_none_are_refused(telling, quads):
    with pytest.raises(WitnessmarkError, match="ends in a slash"):
        exported(replace(telling, base="bench.example"))
    with pytest.raises(WitnessmarkError, match="ends in /term/"):
        respelt(quads, TERMS, "https://b.example/words/")


def test_terms_under_another_address_are_read_back_as_ours(quads):
    served = respelt(quads, TERMS, "https://b.example/term/")
    assert not any(term.startswith(f"<{TERMS}") for quad in served for term in quad)
    assert read_quads(written(served, "trig"), ".trig") == quads


@pytest.mark.parametrize(
    ("content", "ending", "said"),
    [
        pytest.param(b"<a:s> <a:p> .", ".ttl", "cannot be read", id="broken"),
        pytest.param(b"{}", ".txt", "does not say by its ending", id="no-rdf"),
        pytest.param(b"\xff\xfe", ".nq", "cannot be read", id="no-text"),
        pytest.param(b"[{", ".jsonld", "cannot be read", id="half-json"),
    ],
)
def test_what_cannot_be_read_is_told(content, ending, said):
    with pytest.raises(WitnessmarkError, match=said):
        read_quads(content, ending)


def test_every_finding_has_its_premises_qualified_down_to_entries(samples, quads):
    known = {}
    for _, subject, predicate, found in quads:
        known.setdefault((subject, predicate), set()).add(found)
    derived, qualified = spelt("prov:wasDerivedFrom"), spelt("prov:qualifiedDerivation")
    entity, kinds = spelt("prov:entity"), spelt("rdf:type")
    for (subject, predicate), premises in known.items():
        if predicate == derived and "#assertion" not in subject:
            ways = known[subject, qualified]
            assert {found for way in ways for found in known[way, entity]} == premises
            for premise in premises:
                assert (premise, kinds) in known
    for one in samples.values():
        for line in one.case.lines:
            here = f"<https://witnessmark.example/instrument/{one.report.instrument}/line/{line}>"
            (entry,) = known[here, derived]
            assert known[entry, kinds] == {spelt("wm:Entry")}
