"""Catalogues: complete as delivered, and one tree to walk."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.catalogues import prior_at
from ledger.references import Prior

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


def test_every_kind_has_a_catalogue(packs):
    assert packs.kinds() == KINDS


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_every_position_has_shares_for_its_ages_a_place_and_something_to_look_for(packs, kind):
    view = packs.catalogue(kind)
    ages = [30, 50, 70, 150] if kind == "bowed-string" else [30, 50, 70]
    # A label in a bowed instrument is told for three centuries as well: it ages otherwise.
    for row in view.positions.values():
        told = [prior.years for prior in row.priors]
        assert told[: len(ages)] == ages, row.id
        assert told[len(ages) :] in ([], [300]), row.id
        assert row.checks, row.id
        assert row.place is not None, row.id
        assert all(0 <= at <= 100 for at in row.place), row.id
        middles = [prior.middle for prior in row.priors]
        assert middles == sorted(middles, reverse=True), row.id


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_no_two_positions_stand_on_the_same_spot_of_the_part_map(packs, kind):
    places = [row.place for row in packs.catalogue(kind).positions.values()]
    assert len(places) == len(set(places))


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_every_position_goes_down_to_a_root_and_every_root_is_joined_to_the_anchor(packs, kind):
    view = packs.catalogue(kind)
    for name in view.names():
        assert view.root_of(name) in view.roots()
    for root in view.roots():
        assert view.union_path(view.anchor, root) is not None


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_every_kind_has_a_mark_that_dates_the_completion(packs, kind):
    view = packs.catalogue(kind)
    assert [r.id for r in view.positions.values() if r.marks_date == "completed"]


def test_roots_and_unions_are_those_of_the_trade(packs):
    # common practice, no source
    roots = {kind: packs.catalogue(kind).roots() for kind in KINDS}
    assert roots["solid-body-electric"] == ("body", "neck")
    assert roots["valve-amplifier"] == ("chassis", "cabinet")
    assert roots["banjo"] == ("rim", "neck")
    assert roots["bowed-string"] == ("back", "ribs", "belly", "scroll")
    assert packs.catalogue("bowed-string").union_between("scroll", "back") is not None
    assert packs.catalogue("bowed-string").union_between("scroll", "belly") is None


def test_a_path_over_unions_goes_through_what_lies_between(packs):
    path = packs.catalogue("bowed-string").union_path("scroll", "belly")
    assert [union.between for union in path] == [("back", "scroll"), ("back", "belly")]
    assert packs.catalogue("mandolin").union_path("body", "neck") is None


def test_a_suffix_is_understood_only_where_there_can_be_several(packs):
    view = packs.catalogue("solid-body-electric")
    assert view.find("pot.volume").id == "pot"
    assert view.find("pot").id == "pot"
    assert view.find("bridge.1") is None
    assert view.find("nothing") is None
    assert view.find(".1") is None


def test_a_suffix_goes_along_to_the_parent(packs):
    view = packs.catalogue("solid-body-electric")
    assert view.ancestors("pickup-cover.neck") == ("pickup.neck", "body")
    assert view.ancestors("speaker-cone") == ()
    amplifier = packs.catalogue("valve-amplifier")
    assert amplifier.ancestors("speaker-cone.1") == ("speaker-frame.1", "baffle", "cabinet")
    assert amplifier.root_of("speaker-cone.1") == "cabinet"
    assert amplifier.parent_of("cabinet") is None


def test_the_harness_is_one_assembly(packs):
    view = packs.catalogue("solid-body-electric")
    together = {row.id for row in view.positions.values() if row.assembly == "harness"}
    assert together == {"pot", "switch", "capacitor", "jack", "wire"}


def test_inside_an_amplifier_the_stored_charge_is_always_named(packs):
    view = packs.catalogue("valve-amplifier")
    inside = [r for r in view.positions.values() if r.examine == "open" and r.link != "root"]
    outside = {"baffle"}
    assert all("stored-charge" in r.cautions for r in inside if r.id not in outside)
    assert "stored-charge" in view.cautions


def test_a_given_age_gives_back_its_own_share(packs):
    row = packs.catalogue("solid-body-electric").find("pot")
    assert prior_at(row.priors, 50).middle == pytest.approx(0.73)
    assert prior_at(row.priors, 50).low == pytest.approx(0.63)


def test_one_age_holds_for_all():
    only = (Prior(years=40, low=0.2, middle=0.5, high=0.7),)
    assert prior_at(only, 5) == prior_at(only, 400)
    assert prior_at(only, 5).middle == pytest.approx(0.5)


shares = st.floats(0.01, 0.99)


@given(
    st.lists(st.tuples(st.integers(0, 300), shares, shares, shares), min_size=1, max_size=5),
    st.floats(-50, 1000),
)
def test_a_share_at_any_age_is_in_order_and_within_its_limits(rows, years):
    priors = [
        Prior(years=age, low=low, middle=middle, high=high)
        for age, *three in rows
        for low, middle, high in [sorted(three)]
    ]
    share = prior_at(priors, years)
    assert 0.01 <= share.low <= share.middle <= share.high <= 0.99


@given(shares, shares, st.integers(1, 99))
def test_between_two_ages_the_share_lies_between_theirs(one, other, years):
    priors = [Prior(years=0, low=one, middle=one, high=one)]
    priors.append(Prior(years=100, low=other, middle=other, high=other))
    low, high = sorted((one, other))
    assert low - 1e-9 <= prior_at(priors, years).middle <= high + 1e-9
