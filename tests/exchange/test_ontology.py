"""Every term is explained, is used, and agrees with the vocabularies that it stands below."""

from __future__ import annotations

import owlrl
import pyoxigraph as ox
import pytest
from rdflib import OWL, RDF, Graph, Namespace, URIRef

from ledger.exchange.iris import PREFIXES, TERMS, slug
from ledger.exchange.ontology import terms
from ledger.exchange.rdf import Telling, exported, written
from ledger.exchange.statements import SLOTS
from ledger.findings import State
from ledger.holdings import schema_file

# How owlrl names the inconsistencies that a closure finds.
ERROR = URIRef("http://www.daml.org/2002/03/agents/agent-ont#error")
PROV = Namespace(PREFIXES["prov"])
# Of the vocabularies that ours stands below, what makes an inconsistency possible at all.
# PROV-O (W3C Recommendation, 30 April 2013): Activity and Entity are disjoint, and domains.
OUTSIDE = """
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix prov: <http://www.w3.org/ns/prov#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
prov:Activity owl:disjointWith prov:Entity .
prov:wasGeneratedBy rdfs:domain prov:Entity ; rdfs:range prov:Activity .
prov:wasDerivedFrom rdfs:domain prov:Entity ; rdfs:range prov:Entity .
prov:hadPrimarySource rdfs:subPropertyOf prov:wasDerivedFrom .
prov:used rdfs:domain prov:Activity ; rdfs:range prov:Entity .
prov:Plan rdfs:subClassOf prov:Entity .
prov:Collection rdfs:subClassOf prov:Entity .
skos:ConceptScheme owl:disjointWith skos:Concept .
"""


def closed(graph):
    owlrl.DeductiveClosure(owlrl.OWLRL_Semantics).expand(graph)
    return [str(found) for found in graph.objects(None, ERROR)] + [
        str(subject) for subject in graph.subjects(RDF.type, OWL.Nothing)
    ]


@pytest.fixture
def ontology():
    graph = Graph().parse(schema_file("ontology.ttl"), format="turtle")
    return graph.parse(data=OUTSIDE, format="turtle")


def test_every_term_has_a_label_a_definition_an_example_and_a_kind():
    assert len(terms()) > 100
    for term in terms():
        assert all((term.label, term.definition, term.example, term.kind)), term
        if term.kind == "class":
            assert term.above, f"{term.name} stands below nothing"


def test_the_ontology_has_no_blank_nodes():
    content = schema_file("ontology.ttl").read_bytes()
    for found in ox.parse(content, format=ox.RdfFormat.TURTLE):
        assert isinstance(found.subject, ox.NamedNode)
        assert not isinstance(found.object, ox.BlankNode)


def test_what_a_line_can_say_and_what_a_state_can_be_is_in_the_ontology():
    known = {term.name for term in terms()}
    assert {slot.term for slots in SLOTS.values() for slot in slots.values()} <= known
    assert {slug(state) for state in State.__args__} <= known


def test_every_term_that_is_exported_is_in_the_ontology(samples):
    quads = exported(Telling([(one.case, one.report) for one in samples.values()]))
    used = {term for quad in quads for term in quad if term.startswith(f"<{TERMS}")}
    assert used - {f"<{term.iri}>" for term in terms()} == {f"<{TERMS}>"}


def test_the_four_vocabularies_are_met_by_classes_of_ours():
    above = {name.partition(":")[0] for term in terms() for name in term.above}
    assert {"prov", "crm", "time", "skos"} <= above


def test_the_closure_of_a_sample_with_the_ontology_is_consistent(ontology, samples):
    one = samples["whinchat-mandolin"]
    turtle = written(exported(Telling([(one.case, one.report)])), "turtle").decode()
    graph = ontology.parse(data=turtle, format="turtle")
    found = closed(graph)
    # owlrl takes a double that is nought for one that cannot be read; "0.0" is one all the same
    # (XML Schema 1.1 part 2, 3.3.5).
    assert [each for each in found if "literal '0.0'" not in each] == []
    # The closure says of findings and lines what PROV says of entities.
    assert len(set(graph.subjects(RDF.type, PROV.Entity))) > 100


def test_a_thing_that_is_finding_and_record_at_once_is_found_inconsistent(ontology):
    wm = Namespace(TERMS)
    here = URIRef("https://b.example/x")
    ontology.add((here, RDF.type, wm.Mark))
    ontology.add((here, RDF.type, wm.Bound))
    assert closed(ontology)
