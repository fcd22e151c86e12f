"""What is kept together on a page: the cautions never stand on one alone."""

from __future__ import annotations

import math
from typing import Any

Node = dict[str, Any]

KEPT_MOST = 0.2  # of a page: a higher block is not pushed to the next one for the sake of the cautions
LINE_MM, LINE_CHARACTERS, ROW_MM = 5.0, 60, 12.0
BIGS_MM, STOP_MM = 45.0, 30.0  # a row of big figures; what the heading of a stop takes besides


def together(nodes: list[Node], cautions: Node, room_mm: float) -> list[Node]:
    """A card's laid-out blocks and its cautions. They stand before the drawings that go over pages of their own,
    and are kept with the block before them; where that is high they stand before it, so that neither is pushed
    away."""
    drawings = next((at for at, node in enumerate(nodes) if node["type"] == "tiles"), len(nodes))
    while drawings and nodes[drawings - 1]["type"] == "picture":
        drawings -= 1
    before, after = nodes[:drawings], nodes[drawings:]
    if not before:
        return [cautions, *after]
    *before, last = before
    if _about_mm(last) <= room_mm * KEPT_MOST:
        return [*before, {"type": "kept", "nodes": [last, cautions]}, *after]
    return [*before, cautions, last, *after]


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
    return high
