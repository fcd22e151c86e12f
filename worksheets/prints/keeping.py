"""What is kept together on a page: the cautions never stand on one alone."""

from __future__ import annotations

import math
from typing import Any

Node = dict[str, Any]

KEPT_MOST = 0.8  # of a page: what is kept together must fit on one, though its height is only guessed
LINE_MM, LINE_CHARACTERS, ROW_MM = 5.0, 60, 12.0
BIGS_MM, STOP_MM = 45.0, 30.0  # a row of big figures; what the heading of a stop takes besides


def together(nodes: list[Node], cautions: Node, room_mm: float) -> list[Node]:
    """A card's laid-out blocks and its cautions, which are kept with the last block, or the last row of its tiles;
    where that is too high, or goes over pages, they stand before it."""
    *before, last = nodes
    if last["type"] == "tiles" and len(last["rows"]) > 1:
        before.append(last | {"rows": last["rows"][:-1]})
        last = last | {"rows": last["rows"][-1:]}
    if _about_mm(last) + _about_mm(cautions) <= room_mm * KEPT_MOST:
        return [*before, {"type": "kept", "nodes": [last, cautions]}]
    return [*nodes[:-1], cautions, nodes[-1]]


def _about_mm(node: Node) -> float:
    """How high a block stands, rather too much than too little; more than any page where it may go over pages."""
    high = float("inf")
    match node["type"]:
        case "lines" | "cautions":
            high = 15.0 + sum(LINE_MM * (1 + len(line) // LINE_CHARACTERS) for line in node["lines"])
            high += STOP_MM if node.get("weight") == "inverse" else 0.0
        case "side":
            high = max(sum(map(_about_mm, column)) for column in node["columns"])
        case "picture":
            high = node["height"] + 15.0
        case "table" if node["whole"]:
            high = 25.0 + len(node["rows"]) * ROW_MM
        case "bigs":
            high = BIGS_MM * math.ceil(len(node["bigs"]) / node["columns"])
        case "tiles":
            tiles = (tile for row in node["rows"] for tile in row)
            high = 20.0 + max(tile["picture"]["height"] + ROW_MM * len(tile["rows"]) for tile in tiles)
    return high
