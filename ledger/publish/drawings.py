"""The drawings of the site, all in one place to call: SVG text from the plain data of a report.

Every one is a pure function; the same report gives the same text, byte for byte.
"""

from __future__ import annotations

from ledger.publish.bound_drawing import date_bounds_svg
from ledger.publish.chain_drawing import Node, chain_svg
from ledger.publish.part_drawing import marker_svg, part_map_svg
from ledger.publish.time_drawing import time_axis_svg

__all__ = [
    "Node",
    "chain_svg",
    "date_bounds_svg",
    "marker_svg",
    "part_map_svg",
    "time_axis_svg",
]
