"""PROV-JSON comes back as it went, and the records keep to the constraints of PROV that apply.

The numbers are those of "Constraints of the PROV Data Model", W3C Recommendation of 30 April 2013.
Those on times, agents, invalidation and plans do not apply: nothing of the kind is told.
"""

from __future__ import annotations

from collections import Counter
from graphlib import TopologicalSorter

import pytest
from prov.model import (
    ProvActivity,
    ProvDerivation,
    ProvDocument,
    ProvEntity,
    ProvGeneration,
    ProvUsage,
)

from ledger.errors import WitnessmarkError
from ledger.exchange.iris import DEFAULT_BASE, spelt, text
from ledger.exchange.provenance import document, prov_json, prov_n
from ledger.exchange.rdf import Telling, exported
from ledger.reason.rules import RULES


@pytest.fixture(scope="module")
def quads(samples):
    one = samples["whinchat-mandolin"]
    return exported(Telling([(one.case, one.report)], one.packs.files, rules=RULES))


@pytest.fixture(scope="module")
def told(quads):
    return document(quads, DEFAULT_BASE)


def ids_of(told, kind):
    return {record.identifier for record in told.get_records(kind)}


def ends_of(told, kind):
    """The two things that each relation of a kind joins, the later first."""
    return [tuple(value for _, value in record.formal_attributes)[:2] for record in told.get_records(kind)]  # fmt: skip


def test_prov_json_comes_back_as_it_went(quads, told):
    text_of_it = prov_json(quads, DEFAULT_BASE)
    assert ProvDocument.deserialize(content=text_of_it, format="json") == told
    assert prov_json(quads[::-1], DEFAULT_BASE) == text_of_it


def test_prov_n_names_findings_lines_and_rules(quads):
    said = prov_n(quads, DEFAULT_BASE)
    assert said.startswith("document\n")
    assert "wasDerivedFrom(b:instrument/whinchat-mandolin/finding/made.plate-design#from-1;" in said
    assert "entity(b:instrument/whinchat-mandolin/line/plate-design," in said
    assert prov_n(quads[::-1], DEFAULT_BASE) == said


def test_no_entity_is_an_activity(told):  # constraint 54, impossible-object-property-overlap; 55
    entities, activities = ids_of(told, ProvEntity), ids_of(told, ProvActivity)
    assert len(entities) > 200
    assert len(activities) > 100
    assert not entities & activities


def test_each_record_has_a_name_of_its_own(told):  # constraints 22 and 23, key constraints
    names = Counter(record.identifier for record in told.records if record.identifier)
    assert [name for name, count in names.items() if count > 1] == []


def test_a_finding_is_generated_once(told):  # constraint 24, unique-generation
    made = Counter(ends_of(told, ProvGeneration))
    assert max(made.values()) == 1
    assert max(Counter(entity for entity, _ in made).values()) == 1


def test_a_derivation_by_a_step_has_its_use_and_its_generation(told):  # inference 11
    uses, makings = set(ends_of(told, ProvUsage)), set(ends_of(told, ProvGeneration))
    by_step = 0
    for record in told.get_records(ProvDerivation):
        later, earlier, step = (value for _, value in record.formal_attributes[:3])
        if step is not None:
            by_step += 1
            assert (step, earlier) in uses
            assert (later, step) in makings
    assert by_step > 100


def test_no_derivation_leads_back_to_itself(told):  # constraints 41 and 42, ordering
    rests: dict = {}
    for later, earlier in ends_of(told, ProvDerivation):
        rests.setdefault(later, set()).add(earlier)
    assert list(TopologicalSorter(rests).static_order())


def test_what_is_used_or_derived_is_an_entity_and_what_uses_is_an_activity(told):  # constraint 50
    entities, activities = ids_of(told, ProvEntity), ids_of(told, ProvActivity)
    graphs = {name for name in (d[0] for d in ends_of(told, ProvDerivation)) if "#assertion" in str(name)}  # fmt: skip
    for later, earlier in ends_of(told, ProvDerivation):
        assert later in entities | graphs
        assert earlier in entities
    for step, used in ends_of(told, ProvUsage):
        assert step in activities
        assert used in entities
    for made, step in ends_of(told, ProvGeneration):
        assert made in entities
        assert step in activities


def test_a_name_under_no_known_beginning_is_refused():
    bad = ("", "<https://elsewhere.example/x>", spelt("rdf:type"), spelt("wm:Finding"))
    with pytest.raises(WitnessmarkError, match="under none of the beginnings"):
        prov_n([bad, ("", bad[1], spelt("wm:says"), text("x"))], DEFAULT_BASE)
