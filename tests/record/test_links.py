from __future__ import annotations

import pytest

from ledger.basis.yamltext import read_tree
from ledger.models import SECTIONS
from ledger.record.links import LINKS, linked

HEAD = """\
instrument: {id: here}
sources:
  - {id: bench}
  - {id: paper}
exhibits: [{id: picture}]
parts: [{id: old-pot}]
"""


def _told(text):
    return [str(fault).removeprefix("f:") for fault in linked(read_tree(text.encode(), "f")).faults]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("marks: [{id: a, source: bench}]", None),
        ("marks: [{id: a, source: here/bench, exhibits: [picture]}]", None),
        ("marks: [{id: a, source: ' here/bench '}]", None),
        (
            "marks: [{id: a, source: bnech}]",
            "'bnech', which is nowhere in this sheet; expected the id of one of sources. Did you mean bench?",
        ),
        (
            "marks: [{id: a, source: picture}]",
            "'picture', which is one of exhibits; expected the id of one of sources",
        ),
        (
            "marks: [{id: a, source: there/bench}]",
            "'there/bench', which is of another instrument; expected a line of here. A sheet speaks of one",
        ),
        ("marks: [{id: there/a, source: bench}]", "'there/a', which is of another instrument"),
        ("marks: [{id: instrument, source: bench}]", "the id 'instrument', which the ledger keeps"),
        (
            "marks: [{id: bench, source: bench}]",
            "the id 'bench' again; it is also in line 3, sources[1].id",
        ),
        (
            "marks: [{id: a, part: old-pit}]",
            "'old-pit', which is nowhere in this sheet; expected the id of one of parts. Did you mean old-pot?",
        ),
        (
            "marks: [{id: a, exhibits: [picture, pitcure]}]",
            "'pitcure', which is nowhere in this sheet; expected the id of one of exhibits",
        ),
        ("traces: [{id: a, parts: [old-pot, there/b]}]", "'there/b', which is of another"),
        ("works: [{id: w, removed: [x], explains: []}]", "'x', which is nowhere"),
        (
            "works: [{id: w, explains: [w]}]",
            "'w', which is one of works; expected the id of one of observations",
        ),
        ("works: [{id: w, explains: [m]}]\nmarks: [{id: m}]", None),
        ("marks: [{id: [a], source: {b: c}, exhibits: [[d]]}, text]\nworks: text", None),
    ],
    ids=lambda value: str(value)[:44],
)
def test_ids_lead_where_they_may(line, told):
    found = _told(HEAD + line + "\n")
    if told is None:
        assert found == []
    else:
        assert len(found) == 1
        assert told in found[0]


def test_sources_that_repeat_one_another_in_a_circle_are_told_once():
    told = _told(
        "instrument: {id: here}\nsources:\n"
        "- {id: a, copied_from: b}\n- {id: b, copied_from: c}\n- {id: c, copied_from: here/b}\n"
        "- {id: d, copied_from: d}\n- {id: e, copied_from: f}\n- {id: f}\n"
    )
    assert [line.split(";")[0] for line in told] == [
        "4:24: sources[2].copied_from: found a circle: b, which repeats c, which repeats b",
        "6:24: sources[4].copied_from: found a circle: d, which repeats d",
    ]


@pytest.mark.parametrize("head", ["", "instrument: text\n", "instrument: {id: [x]}\n"])
def test_where_the_instrument_has_no_id_full_ids_are_not_judged(head):
    assert _told(head + "sources: [{id: x/bench}]\nmarks: [{id: a, source: y/bench}]\n") == []


def test_a_list_has_no_lines():
    assert _told("[a, b]") == []


def test_every_field_that_links_is_a_field_of_some_line():
    fields = {name for model in SECTIONS.values() for name in model.model_fields}
    assert set(LINKS) <= fields
    assert {target for sections in LINKS.values() for target in sections} <= set(SECTIONS)
