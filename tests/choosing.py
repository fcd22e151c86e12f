"""A file of candidates to change: the demo's, with its drills and slugs, and little ones of an in-line three."""

from __future__ import annotations

from pathlib import Path

from within import demo

TOOLS = """
[[drill]]
diameter = 12.0
deepest = 30.0

[[drill]]
diameter = 16.0
deepest = 30.0

[[slug]]
diameter = 16.0
length = 16.0
"""

SMALL = """
[candidates]
id = "pump"

[engine]
layout = "inline-2"
stroke = 80.0
rod_length = 140.0
cylinder_spacing = 100.0
top_speed = 3000

[bobweight]
share = 0.5
oil = 2.0

[every_set]
rings = { about = 30, within = 0 }
locks = { about = 3, within = 0 }
bearings = { about = 40, within = 0 }

[[set]]
name = "A"
piston = { about = 400, within = 3 }
pin = { about = 100, within = 0 }
small_end = { about = 150, within = 0 }
big_end = { about = 380, within = 0 }

[[set]]
name = "B"
piston = { about = 402, within = 4 }
pin = { about = 100, within = 0 }
small_end = { about = 150, within = 0 }
big_end = { about = 390, within = 0 }

[[crank]]
name = "C"
target = 800
"""


def demo_text() -> str:
    """The demo's candidates with the drills and slugs of their own."""
    return demo.text("choice.toml") + TOOLS


def written(folder: Path, text: str = SMALL, name: str = "choice.toml") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file
