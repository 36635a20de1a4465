from __future__ import annotations

from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from ledger.publish.plot_drawing import MOST_BARS, NARROW_UNITS, WIDE_UNITS, plot_bars, plot_svg

FIGURES = st.one_of(st.floats(0, 1e6), st.integers(0, 10**6))


@given(
    st.lists(st.fixed_dictionaries({"name": st.text(), "value": FIGURES}), max_size=60),
    st.sampled_from([WIDE_UNITS, NARROW_UNITS]),
)
def test_every_row_with_a_figure_has_a_bar_within_the_drawing(rows, width):
    bars = plot_bars(rows, ("name", "value"))
    assert len(bars) == min(len(rows), MOST_BARS)
    svg = plot_svg(bars, "Title", width, "plot")
    if not rows:
        assert svg == ""
        return
    root = ET.fromstring(svg)  # noqa: S314 - our own
    for rect in root.iter("{http://www.w3.org/2000/svg}rect"):
        assert float(rect.get("x")) + float(rect.get("width")) <= width


def test_a_row_without_a_figure_has_no_bar():
    rows = [{"name": "nut", "value": None}, {"name": "jack", "value": "none"}]
    assert plot_bars(rows, ("name", "value")) == []


def test_a_range_is_told_with_its_bar():
    row = {"name": "nut", "value": "under 0.1", "low": "under 0.1", "high": 3.0}
    svg = plot_svg(plot_bars([row], ("name", "value", "low", "high")), "Nuts", WIDE_UNITS, "plot")
    assert "nut: under 0.1, range 0.1 to 3" in svg
    assert "the thin line over it is the range" in svg
