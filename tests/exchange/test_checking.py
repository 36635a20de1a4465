from __future__ import annotations

import pyshacl
import pytest
from rdflib import BNode, Graph

from ledger.exchange.checking import troubles
from ledger.exchange.iris import TERMS, spelt, text
from ledger.exchange.rdf import Telling, exported
from ledger.exchange.statements import Checkpoint
from ledger.holdings import schema_file
from ledger.reason.rules import RULES

BASE = "https://witnessmark.example/"
LINE = f"<{BASE}instrument/tiny/line/pot-code>"
BOUND = f"<{BASE}instrument/tiny/finding/made.pot-code>"


@pytest.fixture(scope="module")
def quads(weigh_lines):
    """A small case with a mark, a work and a testimony: sound, as everything that is exported."""
    one = weigh_lines(
        marks=[{"id": "pot-code", "position": "pot.volume", "text": "137 428"}],
        testimony=[{"id": "told", "says": "Bought new", "event": "first sold", "date": "1955"}],
    )
    checkpoint = Checkpoint(187, "ab" * 32)
    return exported(Telling([(one.case, one.report)], checkpoint=checkpoint, rules=RULES))


def without(quads, subject, term):
    return [quad for quad in quads if quad[1:3] != (subject, spelt(term))]


def instead(quads, subject, term, value):
    return [(*quad[:3], value) if quad[1:3] == (subject, spelt(term)) else quad for quad in quads]


def test_what_is_exported_of_the_samples_is_sound(samples):
    every = Telling(
        [(one.case, one.report) for one in samples.values()],
        samples["whinchat-mandolin"].packs.files,
        rules=RULES,
    )
    assert troubles(exported(every)) == ()


def test_the_shapes_are_sound_by_the_shapes_of_shacl_itself_and_have_names():
    shapes = Graph().parse(schema_file("shapes.ttl"), format="turtle")
    # "SHACL Shapes to validate shapes graphs": W3C Recommendation of 20 July 2017, appendix C.
    assert pyshacl.validate(Graph(), shacl_graph=shapes, meta_shacl=True)[0]
    assert not any(isinstance(node, BNode) for node in shapes.all_nodes())


def test_there_is_a_shape_for_every_class_that_is_exported(quads):
    shapes = schema_file("shapes.ttl").read_text(encoding="utf-8")
    kinds = {value for _, _, p, value in quads if p == spelt("rdf:type")}
    for kind in kinds:
        name = kind.removeprefix(f"<{TERMS}").rstrip(">")
        if kind.startswith(f"<{TERMS}") and name not in ("Part", "Relation"):
            above = ("Statement", "Bound", "Comparison", "DateEnd", "IdentityFinding", "Dependency",
                     "Practice", "Question", "RegisterSearch", "Answer", "Challenge")  # fmt: skip
            assert f"targetClass wm:{name} " in shapes or name in above, name


PLANTED = {
    "no-source": (lambda q: without(q, LINE, "wm:source"), "names its source"),
    "no-sentence": (lambda q: without(q, BOUND, "wm:says"), "A finding needs its sentence"),
    "two-sentences": (
        lambda q: [*q, ("", BOUND, spelt("wm:says"), text("Another."))],
        "There is more than that.",
    ),
    "legibility": (
        lambda q: instead(q, LINE, "wm:legibility", text("good")),
        "clear, worn or partial",
    ),
    "unknown-premise": (
        lambda q: instead(q, f"{BOUND[:-1]}#from-1>", "prov:entity", f"<{BASE}nowhere>"),
        "A derivation needs a premise that is there",
    ),
    "misspelt-term": (
        lambda q: [*q, ("", LINE, f"<{TERMS}txet>", text("x"))],
        "a term that the ontology does not have",
    ),
    "foreign-name": (
        lambda q: [*q, ("", "<https://other.example/x>", spelt("rdfs:label"), text("x"))],
        f"only things under {BASE}",
    ),
    "blank-node": (
        lambda q: [*q, ("", "_:b", spelt("rdfs:label"), text("x"))],
        "a blank node",
    ),
    "holder": (
        lambda q: [
            *q,
            ("", f"<{BASE}instrument/tiny/line/owner-3>", spelt("wm:holder"), text("x")),
            ("", f"<{BASE}instrument/tiny/line/owner-3>", spelt("rdf:type"),
             spelt("wm:Custody")),
        ],
        "who had it is never told",
    ),
    "missing-graph": (
        lambda q: [quad for quad in q if quad[0] != f"{LINE[:-1]}#provenance>"],
        "every graph that it names is there",
    ),
    "circle": (
        lambda q: [*q, ("", LINE, spelt("prov:wasDerivedFrom"), BOUND)],
        "nothing is derived from itself",
    ),
    "date": (
        lambda q: [
            *q,
            ("", LINE, spelt("wm:reads"), f'"1929-02-30"^^{spelt("edtf:EDTF")}'),
        ],
        "a date in the Extended Date/Time Format",
    ),
    "base-without-slash": (
        lambda q: [tuple(term.replace(f"<{BASE}#exp", f"<{BASE[:-1]}#exp") for term in quad)
                   for quad in q],
        "a base is an http address ending in /",
    ),
    "set-by-another-name": (
        lambda q: [tuple(term.replace("#exported>", "exported>") for term in quad) for quad in q],
        "a set is named by its base and #exported",
    ),
    "no-set": (
        lambda q: [quad for quad in q if quad[3] != spelt("wm:ExportedSet")],
        "one exported set",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("plant", "said"), PLANTED.values(), ids=PLANTED)
def test_a_planted_fault_is_told_in_plain_words(quads, plant, said):
    found = troubles(plant(quads))
    assert any(said in str(each) for each in found), [str(each) for each in found]
    assert all("sh:" not in str(each) for each in found)
