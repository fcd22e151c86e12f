"""What the tests of the drawings share: the parts of an SVG, cranks to draw, and what holds for every drawing."""

from __future__ import annotations

import cmath
import itertools
import math
import re
from types import SimpleNamespace
from xml.etree import ElementTree

import invented

from truethrow.balance.crank.holes import Hole, ground_arc, radial_hole
from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.station.spin import Measured
from truethrow.worksheets.drawn import lettering, pen

SVG = "{http://www.w3.org/2000/svg}"


NINE_POINTS_MM = 9 * 25.4 / 72


def numbers(text):
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


def at(element, *names):
    return tuple(float(element.get(name)) for name in names)


def centre_of(element):
    return at(element, "cx", "cy")


def box_of(text):
    """What a text fills: capitals and the half of a descender."""
    size, x, y = at(text, "font-size", "x", "y")
    width = lettering.wide_mm(text.text, size)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor")]
    return left, y - 0.75 * size, left + width, y + 0.12 * size


def overlap(one, other):
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > 0.01
        and min(one[3], other[3]) - max(one[1], other[1]) > 0.01
    )


def checked(text):
    """A drawing that holds what all must hold: nothing but shapes, whole, readable, no text over another."""
    root = ElementTree.fromstring(text)
    left, top, width, height = numbers(root.get("viewBox"))
    assert (left, top) == (0, 0)
    assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
    for one in root.iter():
        assert one.tag.removeprefix(SVG) in {
            "svg",
            "line",
            "circle",
            "rect",
            "polygon",
            "polyline",
            "path",
            "text",
        }
        assert not {name for name in one.attrib if name in ("id", "style", "href") or name.startswith("on")}
        assert "nan" not in "".join(one.attrib.values()) and "inf" not in "".join(one.attrib.values())
        assert float(one.get("stroke-width") or 1) >= 0.25 or one.get("stroke") == "none"
    boxes = []
    for one in root.iter(f"{SVG}text"):
        if not one.text:
            continue
        assert float(one.get("font-size")) >= NINE_POINTS_MM
        boxes.append((one.text, box_of(one)))
    for said, box in boxes:
        assert box[0] >= -0.05 and box[2] <= width + 0.05, f"{said!r} leaves the drawing at its side"
        assert box[1] >= -0.05 and box[3] <= height + 0.05, f"{said!r} leaves the drawing above or below"
    for (said, box), (other, under) in itertools.combinations(boxes, 2):
        assert not overlap(box, under), f"{said!r} lies over {other!r}"
    badges = [
        centre_of(one) for one in root.iter(f"{SVG}circle") if (one.get("data-part") or "").startswith("badge")
    ]
    for one, other in itertools.combinations(badges, 2):
        assert math.dist(one, other) >= 2 * pen.BADGE_MM
    for x, y in badges:
        assert pen.BADGE_MM <= x <= width - pen.BADGE_MM and pen.BADGE_MM <= y <= height - pen.BADGE_MM
    return root


def drilled(of, angle_deg, kind="radial", diameter_mm=12.0, depth_mm=14.5):
    """A hole in a member, wherever that is."""
    density = of.density_g_mm3
    if kind == "radial":
        removed = radial_hole(density, of.outer_mm, diameter_mm, depth_mm)
        return Hole(
            of.name, kind, angle_deg % 360, of.outer_mm, of.z_mm, diameter_mm, depth_mm, *removed[::-1], 118.0
        )
    if kind == "grind":
        removed = ground_arc(density, of.outer_mm, of.thickness_mm, 20.0, 3.0)
        return Hole(of.name, kind, angle_deg % 360, of.outer_mm, of.z_mm, 0.0, 3.0, *removed[::-1], 180.0, 20.0)
    radius = of.pitch_mm or 72.0
    return Hole(of.name, kind, angle_deg % 360, radius, of.z_mm - 4, diameter_mm, depth_mm, 800.0, 12.0)


def job_of(name="v8-90-crossplane", **tables):
    count = len(generic_layout(name).places)
    changes = {
        kind: {n: invented.PARTS[kind] + 0.1 * (7 * n % 11) for n in range(1, count + 1)}
        for kind in ("piston", "big_end")
    }
    data = invented.document(
        invented.cylinders(count, **changes),
        engine=invented.V8 | {"layout": name},
        limits={"piston": 0.5, "big_end": 0.6, "bobweight": 0.4},
        **tables,
    )
    return invented.build(data)


def parts(root, name, tag=None):
    """The elements of a drawing that stand for something."""
    return [one for one in root.iter() if one.get("data-part") == name and tag in (None, one.tag)]


def state_of(*vectors, limit=130.0, expanded_gmm=30.0):
    """As much of where a job stands at the station as a drawing of its spins asks for."""
    half = expanded_gmm / 2
    made = [Measured(vector, half, half) for vector in vectors]
    found = tuple(SimpleNamespace(number=n, front=m, rear=m) for n, m in enumerate(made, start=1))
    return SimpleNamespace(counted=found, limits_gmm=(limit, limit))


def turned(amount, angle):
    return cmath.rect(amount, math.radians(angle))
