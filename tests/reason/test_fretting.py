from __future__ import annotations

from ledger.basis.frets import EIGHTEEN, EQUAL, fret_distance


def distances(scale, rule=EQUAL, frets=range(1, 13), **moved):
    return [
        {
            "id": f"fret-{fret}",
            "position": "fingerboard",
            "quantity": f"nut to fret {fret}",
            "value": f"{fret_distance(scale, fret, rule) + moved.get(f'fret_{fret}', 0):.2f} mm",
            "uncertainty": "0.2 mm",
        }
        for fret in frets
    ]


def told(found):
    return [f.sentence for f in found.report.findings if f.rule == "fret positions"]


def test_frets_of_equal_temperament_are_told_with_their_scale(weigh_sheet):
    (sentence,) = told(weigh_sheet(measurements=distances(648)))
    assert "a scale of 648.00 mm" in sentence
    assert f"by {EQUAL}" in sentence
    assert "every fret measured fits" in sentence
    assert all(f"fret {fret} " in sentence for fret in range(1, 13))


def test_frets_of_the_older_rule_are_told_from_those_of_the_newer(weigh_sheet):
    (sentence,) = told(weigh_sheet(measurements=distances(648, EIGHTEEN)))
    assert f"by {EIGHTEEN}" in sentence
    assert "times less likely" in sentence


def test_a_fret_that_stands_elsewhere_is_named(weigh_sheet):
    (sentence,) = told(weigh_sheet(measurements=distances(648, fret_7=1.5)))
    assert "these do not fit: fret 7 1.5" in sentence
    assert "towards the bridge" in sentence


def test_a_doubt_that_is_not_told_is_that_of_practice(weigh_sheet):
    lines = [{k: v for k, v in line.items() if k != "uncertainty"} for line in distances(648)]
    found = weigh_sheet(measurements=lines)
    assert told(found)
    assert any(r.id == "practice/fret-distance-doubt" for r in found.report.references)


def test_two_frets_or_none_of_the_nut_say_nothing(weigh_sheet):
    assert told(weigh_sheet(measurements=distances(648, frets=(1, 12)))) == []
    others = [line | {"quantity": f"height of fret {i}"} for i, line in enumerate(distances(648))]
    assert told(weigh_sheet(measurements=others)) == []


def test_figures_that_cannot_be_what_they_say_are_left_alone(weigh_sheet):
    lines = [line | {"value": "-1 mm"} for line in distances(648)]
    assert told(weigh_sheet(measurements=lines)) == []
    withheld = [line | {"withhold": ["value"]} for line in distances(648)]
    assert told(weigh_sheet(measurements=withheld)) == []


def test_frets_bound_no_date(weigh_sheet):
    assert weigh_sheet(measurements=distances(648)).completed_ends() == {(None, None)}
