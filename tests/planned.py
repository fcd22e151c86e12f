"""What a job may say before anything is cut: weights by the catalog, and what must clear. Invented."""

from __future__ import annotations

ESTIMATE = """
[estimate]
piston = { about = 521, within = 2, scatter = 0.8 }
pin = { about = 118, within = 0.5 }
small_end = { about = "180 g", within = 3, scatter = 1 }
big_end = { about = 445, within = 4, scatter = 1.5 }
"""

CLEAR = """
[clearance]
least = 1.5
skirt_below_pin = 16.2
skirt_width = 62.0
skirt_along = 70.0

[[clearance.rod]]
distance = 36.0
angle = 62.0
radius = 7.5

[[clearance.circle]]
name = "cam lobes"
distance = 122.0
radius = 24.0

[[clearance.line]]
name = "pan rail"
distance = 98.0
angle = 100
"""
