"""The part map of the form."""

from __future__ import annotations

import re

from ledger.bench.form_map import map_places, map_svg


def test_a_position_with_something_written_down_is_filled_and_says_how_much(packs):
    view = packs.catalogue("lap-steel")
    places = map_places(view, {"pot": 2}, "/object/steel")
    drawn = map_svg(view, places)
    assert "potentiometer: 2 recorded" in drawn
    assert drawn.count('class="ink"') == 1
    assert "body: nothing yet" in drawn


def test_every_kind_has_a_map_on_which_no_mark_covers_another(packs):
    for kind in packs.kinds():
        view = packs.catalogue(kind)
        drawn = map_svg(view, map_places(view, {}, "/object/x"))
        spots = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="11"', drawn)
        assert len(set(spots)) == len(spots) > 0, kind
