from __future__ import annotations

import re

import pytest

from ledger.bench.plan import NON_VALUES, STAGE_OF, plan, positions_of
from ledger.bench.steps import STAGES, examination
from ledger.errors import UnknownName
from ledger.lines import ID_PATTERN
from ledger.models import Feature, Mark, Measurement, NonValue, Sighting, Source, Trace

KINDS = (
    "acoustic-guitar",
    "archtop",
    "banjo",
    "bowed-string",
    "lap-steel",
    "mandolin",
    "solid-body-electric",
    "valve-amplifier",
)


def mark(position, text="912 818", name="m"):
    return Mark(id=name, source="bench", position=position, text=text)


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_every_position_and_every_check_of_the_catalogue_is_in_the_plan(packs, kind):
    looks = plan(kind, packs).looks
    planned = {(look.position.partition(".")[0], look.look_for) for look in looks}
    for row in packs.catalogue(kind).positions.values():
        for check in row.checks:
            assert (row.id, check) in planned


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_the_least_invasive_come_first(packs, kind):
    order = [STAGES.index(look.stage) for look in plan(kind, packs).looks]
    assert order == sorted(order)
    for look in plan(kind, packs).looks:
        row = packs.catalogue(kind).find(look.position)
        if look.look_for in row.checks and look.id.startswith(look.position):
            reached = STAGE_OF[row.examine]
            assert look.stage == reached or (look.stage, reached) == ("under light", "outside")


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_the_ids_are_ids_of_lines_and_no_two_are_the_same(packs, kind):
    names = [look.id for look in plan(kind, packs).looks]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(ID_PATTERN, name) and len(name) <= 80 for name in names)


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_every_position_is_photographed_and_every_caution_of_the_catalogue_stands_by_it(
    packs, kind
):
    todo = plan(kind, packs)
    view = packs.catalogue(kind)
    for row in view.positions.values():
        own = [look for look in todo.looks if look.position.partition(".")[0] == row.id]
        assert any(look.photograph for look in own), row.id
        assert set(row.cautions) <= {name for look in own for name in look.cautions}
    shown = {row.row.id for row in todo.cautions}
    assert shown >= set(view.cautions) | {name for look in todo.looks for name in look.cautions}


def test_an_amplifier_is_made_safe_by_somebody_qualified_before_anything_inside_is_looked_at(packs):
    # 29 CFR 1910.333(b)(2)(ii)(C): stored electric energy is released before work (from memory).
    inside = plan("valve-amplifier", packs).of("opened")
    assert inside[0].id == "made-safe"
    assert inside[0].is_gate
    assert "qualified" in inside[0].how
    first = next(look for look in inside if look.id.startswith("mains-transformer"))
    assert any("made safe" in text for text in first.before)
    assert not any(look.id == "setup-before" for look in plan("valve-amplifier", packs).looks)


def test_what_cannot_be_seen_without_changing_it_comes_last_and_says_so(packs):
    last = plan("solid-body-electric", packs).of("left alone")
    assert {look.position for look in last} == {"pickup-coil.1"}
    assert all("changing" in look.destroys for look in last)


def test_a_reading_is_counted_and_never_shown(packs):
    lines = [mark("pot.volume", "912 818"), mark("pot.tone", "912 82?", "n")]
    looks = plan("lap-steel", packs, lines).looks
    codes = {look.position: look for look in looks if look.look_for == "source-date code"}
    assert set(codes) == {"pot.volume", "pot.tone"}
    assert codes["pot.volume"].recorded == ("1 mark",)
    assert not any("912" in str(look) for look in looks)


def test_what_is_recorded_is_no_longer_open(packs):
    lines = [
        Measurement(id="w", source="bench", position="body", quantity="weight", value="3 kg"),
        Feature(id="f", source="bench", position="tailpiece", feature="plating", value="nickel"),
        Trace(id="t", source="bench", trace="extra-holes", positions=("tuners",)),
        NonValue(
            id="n", source="bench", positions=("serial",), value="searched, not found",
            what="digits", method="all over",
        ),
    ]  # fmt: skip
    todo = plan("lap-steel", packs, lines)
    closed = {look.id for look in todo.looks} - {look.id for look in todo.open_looks()}
    assert closed >= {"weight", "tailpiece-plating", "tuners-screw-holes", "serial-digits"}
    assert "tailpiece-screws" not in closed


def test_before_a_part_is_worked_on_all_that_can_be_seen_of_it_is_recorded(packs):
    todo = plan("lap-steel", packs)
    wanted = {look.id for look in todo.gate("pot.1")}
    assert {"seals", "setup-before", "inside-before", "pot.1-joints"} <= wanted
    assert not any(name.startswith("tuners") for name in wanted)
    assert "removal-order" not in wanted  # of a later stage than the position is seen in
    recorded = plan("lap-steel", packs, [mark("pot.1")])
    assert "pot.1-source-date-code" not in {look.id for look in recorded.gate("pot.1")}


def test_a_place_that_no_catalogue_has_is_behind_every_gate(packs):
    wanted = {look.id for look in plan("lap-steel", packs).gate("nowhere")}
    assert wanted == {
        step.id for step in examination().steps if step.is_gate and step.is_for("lap-steel")
    }


def test_the_steps_name_only_cautions_that_there_are(packs):
    for step in examination().steps:
        assert packs.cautions(step.cautions) is not None


def test_a_kind_that_nobody_describes_has_no_plan(packs):
    with pytest.raises(UnknownName):
        plan("theremin", packs)


def test_the_four_nothings_are_those_of_the_record():
    assert set(NON_VALUES) == set(NonValue.model_fields["value"].annotation.__args__)


def test_the_positions_of_a_line_are_those_it_names():
    seen = Sighting(
        id="s", source="p", date="1950", same_instrument="yes",
        shows=({"position": "bridge", "feature": "f", "value": "v"},),
    )  # fmt: skip
    assert positions_of(seen) == ("bridge",)
    assert positions_of(Mark(id="m", source="s", part="p", text="x")) == ()
    assert positions_of(Source(id="s", kind="document", title="t")) == ()
