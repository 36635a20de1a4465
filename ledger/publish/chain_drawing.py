"""The drawing of a chain of support, from what was seen on the left to the finding on the right."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ledger.publish.chain_layout import Edge, Layers, layers
from ledger.publish.svg import Box, Caption, drawing, element, link, text, told, wrapped

NODE_WIDTH, COLUMN_GAP, NODE_GAP, DUMMY_HEIGHT = 145.0, 28.0, 12.0, 6.0
TEXT_SIZE, KIND_SIZE, LINE_HEIGHT, MOST_LINES, PADDING = 12.0, 10.5, 15.0, 7, 7.0
MARGIN, HEADING_HEIGHT, SETTLINGS = 8.0, 24.0, 6
STAGE_WORDS = (
    "Exhibits",
    "Lines of the record",
    "References",
    "Readings",
    "Supposed",
    "What follows",
    "Finding",
)


@dataclass(frozen=True, slots=True)
class Node:
    """One thing in a chain: its kind, what it says and where it is shown."""

    id: str
    kind: str
    text: str
    href: str = ""
    is_asked: bool = False


def chain_svg(
    nodes: Sequence[Node],
    edges: Iterable[Edge],
    *,
    title: str = "Chain of support",
    prefix: str = "chain",
) -> str:
    """The nodes in columns with arrows from each premise to what follows from it."""
    told_once = {node.id: node for node in nodes}
    found = layers({node.id: node.kind for node in told_once.values()}, edges)
    shown = {
        name: wrapped(node.text, NODE_WIDTH - 2 * PADDING, TEXT_SIZE, MOST_LINES)
        for name, node in told_once.items()
    }
    boxes = _boxes(found, {name: _height(lines) for name, lines in shown.items()})
    body = element("defs", _arrow_head(f"{prefix}-arrow"))
    body += "".join(_edge(path, boxes, f"{prefix}-arrow") for path in found.paths.values())
    body += "".join(_node(node, shown[name], boxes[name]) for name, node in told_once.items())
    body += _headings(found)
    width = max((box.x + box.width for box in boxes.values()), default=NODE_WIDTH) + MARGIN
    height = max((box.y + box.height for box in boxes.values()), default=0.0) + MARGIN
    caption = Caption(
        title,
        f"{len(told_once)} boxes in {len(found.columns)} columns; arrows run from each premise "
        "to what follows from it. The list of support says the same in words.",
    )
    return drawing(prefix, (width, height), caption, body)


def _height(lines: Sequence[str]) -> float:
    return 2 * PADDING + LINE_HEIGHT * (1 + len(lines))


def _boxes(found: Layers, heights: Mapping[str, float]) -> dict[str, Box]:
    """A box for every node, dummies too, in its column and near its neighbours' height."""
    neighbours: dict[str, list[str]] = {}
    for path in found.paths.values():
        for start, end in itertools.pairwise(path):
            neighbours.setdefault(start, []).append(end)
            neighbours.setdefault(end, []).append(start)
    tall = {n: heights.get(n, DUMMY_HEIGHT) for column in found.columns for n in column}
    middle: dict[str, float] = {}
    for column in found.columns:
        middle.update(_stacked(column, tall, {}))
    columns = list(enumerate(found.columns))
    for _ in range(SETTLINGS):
        for _, column in (*columns, *reversed(columns)):
            wanted = {
                node: sum(middle[each] for each in neighbours[node]) / len(neighbours[node])
                for node in column
                if node in neighbours
            }
            middle.update(_stacked(column, tall, wanted))
    top = min((middle[node] - tall[node] / 2 for node in middle), default=0.0)
    return {
        node: Box(
            MARGIN + index * (NODE_WIDTH + COLUMN_GAP),
            middle[node] - tall[node] / 2 - top + HEADING_HEIGHT + MARGIN,
            NODE_WIDTH,
            tall[node],
        )
        for index, column in columns
        for node in column
    }


def _stacked(
    column: Sequence[str], tall: Mapping[str, float], wanted: Mapping[str, float]
) -> dict[str, float]:
    """The middles of a column's boxes: as wanted, but in order and without overlap.

    Boxes that would overlap are pushed apart as one block about the mean of what they want.
    """
    blocks: list[tuple[list[str], float]] = []  # nodes from the top, top of the first
    for node in column:
        top = wanted.get(node, 0.0) - tall[node] / 2
        blocks.append(([node], top))
        while len(blocks) > 1 and _bottom(blocks[-2], tall) > blocks[-1][1]:
            (above, high), (below, low) = blocks[-2:]
            offset = sum(tall[n] + NODE_GAP for n in above)
            share = (high * len(above) + (low - offset) * len(below)) / (len(above) + len(below))
            blocks[-2:] = [([*above, *below], share)]
    middles: dict[str, float] = {}
    for nodes, first in blocks:
        top = first
        for node in nodes:
            middles[node] = top + tall[node] / 2
            top += tall[node] + NODE_GAP
    return middles


def _bottom(block: tuple[list[str], float], tall: Mapping[str, float]) -> float:
    return block[1] + sum(tall[node] + NODE_GAP for node in block[0])


def _arrow_head(name: str) -> str:
    head = element("path", d="M0 0L7 3.5L0 7Z", fill="currentColor", fill_opacity="0.7")
    return element(
        "marker",
        head,
        id=name,
        markerWidth=7,
        markerHeight=7,
        refX=7,
        refY=3.5,
        orient="auto",
        markerUnits="userSpaceOnUse",
    )


def _edge(path: Sequence[str], boxes: Mapping[str, Box], head: str) -> str:
    first = boxes[path[0]]
    x, y = first.x + first.width, first.y + first.height / 2
    drawn = f"M{x:.1f} {y:.1f}"
    for name in path[1:]:
        box = boxes[name]
        to_x, to_y = box.x, box.y + box.height / 2
        half = (x + to_x) / 2
        drawn += f"C{half:.1f} {y:.1f} {half:.1f} {to_y:.1f} {to_x:.1f} {to_y:.1f}"
        if name != path[-1]:
            drawn += f"H{box.x + box.width:.1f}"
        x, y = box.x + box.width, to_y
    return element(
        "path",
        d=drawn,
        class_="edge",
        fill="none",
        stroke="currentColor",
        stroke_opacity="0.55",
        marker_end=f"url(#{head})",
    )


def _node(node: Node, lines: Sequence[str], box: Box) -> str:
    left, top = box.x + PADDING, box.y + PADDING
    words = text(node.kind, left, top + 10, KIND_SIZE, class_="kind", font_style="italic")
    words += "".join(
        text(line, left, top + 10 + LINE_HEIGHT * (index + 1), TEXT_SIZE, class_="label")
        for index, line in enumerate(lines)
    )
    shown = told(f"{node.kind}: {node.text}") + _frame(node, box) + words
    return link(node.href, shown, class_="node")


def _frame(node: Node, box: Box) -> str:
    """The frame tells kinds apart: broken for what is supposed, double for references."""
    dashes = {"stroke_dasharray": "5 3"} if node.kind == "supposition" else {}
    rounding = 9 if node.kind in ("line", "exhibit") else 2
    frame = element(
        "rect",
        x=box.x,
        y=box.y,
        width=box.width,
        height=box.height,
        rx=rounding,
        class_="paper asked" if node.is_asked else "paper",
        fill="#ffffff",
        stroke="currentColor",
        stroke_width=2.6 if node.is_asked else 1,
        **dashes,
    )
    if node.kind != "reference":
        return frame
    return frame + element(
        "rect",
        x=box.x + 3,
        y=box.y + 3,
        width=box.width - 6,
        height=box.height - 6,
        fill="none",
        stroke="currentColor",
        stroke_opacity="0.6",
    )


def _headings(found: Layers) -> str:
    """The name of a stage above the first of its columns."""
    return "".join(
        text(
            STAGE_WORDS[stage],
            MARGIN + index * (NODE_WIDTH + COLUMN_GAP),
            MARGIN + 12,
            12,
            font_weight="600",
            class_="heading",
        )
        for index, stage in enumerate(found.stages)
        if index == 0 or found.stages[index - 1] != stage
    )
