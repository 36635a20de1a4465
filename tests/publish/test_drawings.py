from __future__ import annotations

from dataclasses import asdict, replace
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.spans import iso_date
from ledger.errors import PublicationError
from ledger.findings import Account, End, EventDating, Reading, Report, Shift, TimelineItem
from ledger.publish.drawings import (
    Node,
    chain_svg,
    date_bounds_svg,
    marker_svg,
    part_map_svg,
    time_axis_svg,
)
from ledger.publish.instrument_sections import key
from ledger.publish.outlines import OUTLINES
from ledger.publish.part_drawing import LEAST_DISTANCE, SHAPES, spread
from ledger.publish.svg import anchor, cut, text_width, wrapped
from ledger.publish.time_rows import NARROW_UNITS, WIDE_UNITS
from ledger.publish.time_scale import Scale, date_words, day_of

# Invented throughout.
HOSTILE = "<script>alert(\"x\")</script> & 'quoted' \x00\x0b"
LONG = "an unusually long name of a part that nobody would ever give to anything " * 4
SVG = "{http://www.w3.org/2000/svg}"
WIDTHS = [WIDE_UNITS, NARROW_UNITS]
LANES = [
    "made",
    "completed",
    "dispatched",
    "first sold",
    "work",
    "custody",
    "sighting",
    "paper",
    "testimony",
]


def parsed(svg):
    return ET.fromstring(svg)  # noqa: S314 - our own text, and whether it parses is the question


def ids(root):
    return [node.get("id") for node in root.iter() if node.get("id")]


def shown_texts(root):
    return [node for node in root.iter(f"{SVG}text") if (node.text or "").strip()]


def text_box(node):
    size = float(node.get("font-size"))
    boldness = 1.1 if node.get("font-weight") == "600" else 1.0
    width = text_width(node.text, size) * boldness
    x, y = float(node.get("x")), float(node.get("y"))
    left = x - {"middle": width / 2, "end": width}.get(node.get("text-anchor"), 0)
    return left, y - size * 0.8, left + width, y + size * 0.2


def overlapping(root):
    boxes = [(text_box(node), node.text) for node in shown_texts(root)]
    return [
        (one, two)
        for (a, one), (b, two) in combinations(boxes, 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.5 and min(a[3], b[3]) - max(a[1], b[1]) > 0.5
    ]


def an_end(side, date, shifts=()):
    return End(side, date, "bound/pot" if date else None, "", ("first-fitted:jack",), shifts)


def completed(account, first, last, possible, shifts=()):
    lower = an_end("not before", first, shifts)
    return EventDating("completed", account, lower, an_end("not after", last), possible)


@pytest.fixture
def rich(report) -> Report:
    """Three leading accounts, open ends on either side, several decades, hostile and long text."""
    accounts = tuple(
        Account(f"account-{n}", f"{text} {n}", ("sound:rewired",), is_leading=True, odds_note="")
        for n, text in enumerate((HOSTILE, LONG, "The third"), start=1)
    )
    decades = tuple(
        Reading(
            f"reading/pot/{n}",
            "pot-code",
            f"304 ?12 {HOSTILE}",
            f"week 12 of {year}",
            "One digit tells the year.",
            "Register",
            is_plain=True,
            is_used=True,
            days=((f"{year}-03-14", f"{year}-03-27"),),
        )
        for n, year in enumerate((1956, 1966, 1976), start=1)
    )
    shift = Shift("line:pot-code", None, "")
    return replace(
        report,
        name=f"The {HOSTILE} {LONG}",
        accounts=accounts,
        readings=decades,
        datings=(
            completed("account-1", "1956-03-14", None, (("1956-03-14", None),), (shift,)),
            completed("account-2", None, "1966-12-31", ((None, "1966-12-31"),)),
            completed(
                "account-3",
                "1966-01-01",
                "1979-12-31",
                (("1966-01-01", "1966-12-31"), ("1976-01-01", "1979-12-31")),
            ),
        ),
        timeline=(
            *report.timeline,
            *(
                TimelineItem(f"extra.{lane}", lane, f"{LONG} {HOSTILE}", None, None, n % 2 == 0)
                for n, lane in enumerate(LANES)
            ),
            TimelineItem("two.1", "paper", "Named twice", "1960-01-01", "1960-02-01"),
            TimelineItem("two.2", "paper", "Named twice", "1970-01-01", "1970-02-01"),
        ),
    )


@pytest.fixture
def empty(report) -> Report:
    nothing = {
        name: ()
        for name, value in asdict(report).items()
        if isinstance(value, tuple) and name != "packs"
    }
    return replace(report, **nothing)


DRAWINGS = {
    "time axis": time_axis_svg,
    "date bounds": date_bounds_svg,
    "part map": part_map_svg,
}


@pytest.mark.parametrize("draw", DRAWINGS.values(), ids=DRAWINGS.keys())
@pytest.mark.parametrize("which", ["report", "rich", "empty"])
def test_a_drawing_is_well_formed_named_and_free_of_scripts_and_styles(draw, which, request):
    svg = draw(asdict(request.getfixturevalue(which)))
    root = parsed(svg)
    assert root.find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text
    assert root.get("aria-labelledby") in ids(root)
    assert len(ids(root)) == len(set(ids(root)))
    assert "<script" not in svg
    assert " style=" not in svg
    assert "var(" not in svg


@pytest.mark.parametrize("draw", DRAWINGS.values(), ids=DRAWINGS.keys())
def test_a_drawing_is_the_same_every_time(draw, rich):
    assert draw(asdict(rich)) == draw(asdict(rich))


@pytest.mark.parametrize("draw", DRAWINGS.values(), ids=DRAWINGS.keys())
def test_a_drawing_with_links_is_a_group_so_that_the_links_are_not_hidden(draw, report, empty):
    assert parsed(draw(asdict(report))).get("role") == "group"
    assert parsed(draw(asdict(empty))).get("role") == "img"


@pytest.mark.parametrize("width", WIDTHS, ids=["wide", "narrow"])
@pytest.mark.parametrize("draw", [time_axis_svg, date_bounds_svg], ids=["axis", "bounds"])
def test_words_on_an_axis_never_lie_on_one_another_nor_leave_the_drawing(draw, width, rich):
    root = parsed(draw(asdict(rich), width=width))
    assert overlapping(root) == []
    assert all(box[0] >= -1 and box[2] <= width + 1 for box in map(text_box, shown_texts(root)))


def test_an_open_end_is_told_in_words(rich):
    words = " ".join(node.text for node in shown_texts(parsed(date_bounds_svg(asdict(rich)))))
    assert "not before 14 March 1956, no upper bound known" in words
    assert "no lower bound known, not after 31 December 1966" in words


def test_an_event_without_any_bound_is_told_to_have_neither(report):
    item = TimelineItem("t", "first sold", "First sold", None, None)
    words = [
        node.text
        for node in shown_texts(parsed(time_axis_svg(asdict(replace(report, timeline=(item,))))))
    ]
    assert "no bound known on either side" in words


def test_every_decade_of_a_reading_has_a_bar_of_its_own(rich):
    svg = time_axis_svg(asdict(replace(rich, timeline=())))
    assert len(parsed(svg).findall(f".//{SVG}rect[@class='bar plain']")) == 3


def test_items_told_in_the_same_words_share_a_row(rich):
    root = parsed(time_axis_svg(asdict(rich)))
    assert sum(node.text == "Named twice" for node in shown_texts(root)) == 1


def test_a_contested_item_is_hatched_and_said_to_be_contested(report):
    item = TimelineItem("t", "work", "Rewired", "1981-01-01", "1981-12-31", is_contested=True)
    svg = time_axis_svg(asdict(replace(report, timeline=(item,))))
    assert 'fill="url(#events-hatch)"' in svg
    assert "contested" in [node.text for node in shown_texts(parsed(svg))]


def words_of(svg):
    return " ".join(node.text for node in shown_texts(parsed(svg)))


def test_a_piece_that_closes_one_side_is_not_said_to_close_the_other(report):
    words = words_of(date_bounds_svg(asdict(report)))
    assert "not before 14 March 1976, no word on how late: sets the earliest day" in words
    assert "closes both sides" not in words


def test_every_bound_on_completion_has_a_row_though_it_closes_no_side(report):
    words = words_of(date_bounds_svg(asdict(report)))
    assert "Work: Repair of the wiring" in words
    assert "not after 31 December 1970, no word on how early: sets neither end" in words


def test_a_bound_on_a_part_that_closes_no_side_is_not_drawn(report):
    dating = replace(report.datings[0], not_before=an_end("not before", None))
    words = words_of(date_bounds_svg(asdict(replace(report, datings=(dating,)))))
    assert "14 March 1976" not in words


def test_a_bound_that_the_account_gives_up_is_said_to_be_set_aside(report):
    account = replace(report.accounts[0], gives_up=("sound:rewired",))
    words = words_of(date_bounds_svg(asdict(replace(report, accounts=(account,)))))
    assert "set aside under account 1 (leading)" in words


def test_accounts_are_named_shortly_however_long_their_sentence(rich):
    words = [node.text for node in shown_texts(parsed(date_bounds_svg(asdict(rich))))]
    assert [f"Account {n} (leading)" in words for n in (1, 2, 3)] == [True] * 3
    assert not [word for word in words if word.startswith("Account 1 (leading):")]


def test_a_bound_far_beyond_the_days_in_question_is_cut_and_marked_so(report):
    told = replace(report.findings[2], days=((None, "1610-12-31"),))
    far = replace(report, findings=(*report.findings[:2], told, *report.findings[3:]))
    assert 'class="cut"' not in date_bounds_svg(asdict(replace(report, findings=())))
    svg = date_bounds_svg(asdict(far))
    assert 'class="cut"' in svg
    assert "not after 31 December 1610" in words_of(svg)


def test_items_that_say_the_same_of_several_accounts_share_a_row(report):
    items = [
        TimelineItem(f"t{n}", "dispatched", f"Dispatched (account {n})", "1976-03-19", None)
        for n in (1, 2)
    ]
    words = words_of(time_axis_svg(asdict(replace(report, timeline=tuple(items)))))
    assert "Dispatched (accounts 1, 2)" in words
    assert "(account 1)" not in words


def test_nothing_dated_is_said_rather_than_drawn(empty):
    words = [node.text for node in shown_texts(parsed(time_axis_svg(asdict(empty))))]
    assert words[-1].startswith("Nothing that can be put on an axis")


def test_a_date_that_is_none_is_refused_with_a_sentence():
    with pytest.raises(PublicationError, match="circa 1950"):
        day_of("circa 1950")
    with pytest.raises(PublicationError, match="no date"):
        day_of("1957-02-29")


def test_a_year_alone_covers_the_whole_year():
    assert day_of("1956", is_end=True) - day_of("1956") == 365  # a leap year
    assert date_words("1956-07") == "July 1956"


days = st.integers(min_value=-400_000, max_value=1_500_000)
ends = st.one_of(st.none(), days)
items = st.builds(
    lambda n, lane, label, span, is_contested: TimelineItem(
        f"t{n}",
        lane,
        label,
        *(None if day is None else iso_date(day) for day in span),
        is_contested=is_contested,
    ),
    st.integers(),
    st.sampled_from(LANES),
    st.text(max_size=60),
    st.tuples(ends, ends).map(lambda two: two if None in two else (min(two), max(two))),
    st.booleans(),
)


@given(st.lists(items, max_size=8), st.sampled_from(WIDTHS))
def test_any_spans_give_a_well_formed_axis_whose_words_do_not_overlap(found, width):
    report = {
        "instrument": "tiny",
        "name": "A tiny case",
        "timeline": [asdict(item) for item in found],
        "readings": [],
        "findings": [],
        "lines": [],
        "references": [],
        "suppositions": [],
        "accounts": [],
    }
    root = parsed(time_axis_svg(report, width=width))
    assert overlapping(root) == []


@given(st.lists(days, max_size=4), st.sampled_from([(0.0, 300.0), (400.0, 1000.0)]))
def test_every_day_stands_on_its_axis_in_order(found, reach):
    scale = Scale.over(found, *reach)
    places = [scale.x(day) for day in sorted(found)]
    assert places == sorted(places)
    assert all(reach[0] <= x <= reach[1] for x in places)
    ticks = scale.ticks()
    assert [tick.x for tick in ticks] == sorted(tick.x for tick in ticks)
    assert len(ticks) >= 1


@pytest.mark.parametrize("kind", [*OUTLINES, "a kind nobody drew"])
def test_every_kind_has_a_map_and_an_unknown_one_has_no_outline(kind, report):
    svg = part_map_svg(asdict(replace(report, kind=kind)))
    root = parsed(svg)
    assert (root.find(f".//{SVG}g[@class='outline']") is not None) == (kind in OUTLINES)
    assert [a.get("href") for a in root.iter(f"{SVG}a")] == [
        f"#{anchor('position', position.position)}" for position in report.positions
    ]


def test_parts_of_one_place_are_spread_out_and_those_of_none_stand_aside(report):
    many = tuple(
        replace(report.positions[0], position=f"pot.{n}", place=(50, 50) if n < 12 else None)
        for n in range(16)
    )
    markers = spread(asdict(replace(report, positions=many))["positions"])
    spots = [marker.at for marker in markers if marker.at]
    assert len(spots) == 12
    assert all(
        (a - c) ** 2 + (b - d) ** 2 >= LEAST_DISTANCE**2 - 0.01
        for (a, b), (c, d) in combinations(spots, 2)
    )
    svg = part_map_svg(asdict(replace(report, positions=many)))
    assert "With no place on the drawing:" in svg
    assert len(list(parsed(svg).iter(f"{SVG}a"))) == 16


def test_every_state_has_a_shape_of_its_own():
    assert len(set(SHAPES.values())) == len(SHAPES)
    drawn = {marker_svg([state], prefix="k").split("</desc>")[1] for state in SHAPES}
    assert len(drawn) == len(SHAPES)


def test_a_part_that_there_is_not_is_not_drawn_as_one_that_nobody_looked_at(report):
    none = replace(report.positions[0], states=(), label="not applicable")
    unseen = replace(report.positions[0], states=("not examined",), label="not examined")
    svg = marker_svg(none.states, prefix="k")
    assert parsed(svg).find(f"{SVG}title").text == "not applicable"
    assert svg.split("</desc>")[1] != marker_svg(unseen.states, prefix="k").split("</desc>")[1]
    both = asdict(replace(report, positions=(none, unseen)))
    assert [each["name"] for each in key(both)] == ["not applicable", "not examined"]


def test_a_marker_tells_its_number_name_and_state_in_words(report):
    links = list(parsed(part_map_svg(asdict(report))).iter(f"{SVG}a"))
    assert links[1].get("aria-label") == "2. Volume pot: first-fitted"
    assert links[1].find(f"{SVG}title").text == "2. Volume pot: first-fitted"


def a_chain(count):
    kinds = ["line", "reference", "reading", "supposition", "bound", "date"]
    nodes = [
        Node(f"n{i}", kinds[min(i * 6 // count, 5)], f"{HOSTILE} {LONG} {i}", f"#n{i}")
        for i in range(count)
    ]
    edges = [(f"n{i}", f"n{j}") for i in range(count) for j in (i + 7, i + 11) if j < count]
    return nodes, edges


def boxes_of(svg):
    return [
        tuple(float(rect.get(name)) for name in ("x", "y", "width", "height"))
        for rect in parsed(svg).iter(f"{SVG}rect")
        if rect.get("class")
    ]


def test_forty_nodes_stand_apart_with_their_words_inside():
    svg = chain_svg(*a_chain(40))
    boxes = boxes_of(svg)
    assert len(boxes) == 40
    for (ax, ay, aw, ah), (bx, by, bw, bh) in combinations(boxes, 2):
        assert ax + aw <= bx or bx + bw <= ax or ay + ah <= by + 0.2 or by + bh <= ay + 0.2
    assert overlapping(parsed(svg)) == []
    assert svg == chain_svg(*a_chain(40))


def test_a_chain_with_a_circle_or_a_missing_end_is_drawn_without_that_edge():
    nodes = [Node("a", "bound", "a"), Node("b", "bound", "b")]
    svg = chain_svg(nodes, [("a", "b"), ("b", "a"), ("c", "a")])
    assert svg.count('class="edge"') == 1


def test_a_chain_of_nothing_is_still_a_drawing():
    assert parsed(chain_svg([], [])).tag == f"{SVG}svg"


@given(st.text(max_size=200), st.integers(min_value=20, max_value=300))
def test_cut_and_wrapped_text_fits(said, width):
    assert text_width(cut(said, width, 12), 12) <= max(width, text_width("…", 12)) + 0.01
    for line in wrapped(said, width, 12, 3):
        assert text_width(line, 12) <= max(width, 20)
