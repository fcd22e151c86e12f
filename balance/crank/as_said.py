"""What was really done to a crank, as a hand says it, in phrases apart by commas, a member's name first:

    3 front, 137 deg, 12.7 mm drill, 18 mm deep
    3 front, 137 deg, 12.7 mm drill, 18 mm deep, along the crank, 60 mm radius
    3 front, 137 deg, ground 20 deg wide, 1.5 mm deep
    1 front, 150 deg, 25 mm slug, 20 mm long, 62 mm radius, 148.2 g
    3 front, 137 deg, took 4.2 g, 80 mm radius
    3 front, 137 deg, added 6.5 g, 80 mm radius

An angle may say whose it is: 213 deg station, as the display of this station has it, or 177 deg crank. A bare one
is the crank's, and is taken only where it cannot be the station's.

What was done is done: nothing is refused because a maker's limit is broken or a wall is thin. Only what this crank
cannot have, and what cannot be reckoned from its figures, is: then the grams that came off, or went on, tell it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from truethrow.balance.base import units
from truethrow.balance.base.amounts import METRIC, ToldIn, reach
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.units import LENGTH, MASS, NotAQuantity
from truethrow.balance.crank import drill_sizes, spoken
from truethrow.balance.crank.crank import Crank, Face, Member
from truethrow.balance.crank.holes import (
    COMMON_POINT_DEG,
    FLAT_DEG,
    SHARPEST_POINT_DEG,
    Drill,
    Hole,
    HoleKind,
    axial_centroid_mm,
    axial_hole,
    ball_mm,
    cone_height_mm,
    ground_arc,
    moved_mass,
    radial_hole,
    weighed_slug,
)

OPTION = "--did"
EXAMPLE = '"3 front, 137 deg, 12.7 mm drill, 18 mm deep"'
HEAVIEST_G = 5000.0
LARGEST_MM = 2000.0

_DEGREES = ("deg", "degree", "degrees", "°")
_PHRASE = re.compile(r"([a-z ]*?)\s*(-?\d+(?:[.,]\d+)?)\s*(°|[a-z]+)?\s*([a-z ]*)")
# Phrase without its figure → the field that it fills.
_LENGTHS = {
    "drill": "diameter",
    "hole": "diameter",
    "bore": "diameter",
    "slug": "diameter",
    "deep": "depth",
    "long": "depth",
    "radius": "radius",
    "at radius": "radius",
    "off": "offset",
}
_ANGLES = {"": "angle", "at": "angle", "wide": "arc", "ground wide": "arc", "over": "arc", "ground over": "arc"}
_ANGLES |= {"point": "point", "ground": "arc"}
_STATION, _CRANK = "station", "crank"
_ANGLES |= {
    words: whose
    for whose in (_STATION, _CRANK)
    for words in (whose, f"at {whose}", f"at the {whose}", f"of the {whose}")
}
_MASSES = dict.fromkeys(
    ("", "took", "taken", "off", "ground", "added", "weighed", "weighs", "slug", "put on"), "mass"
)
_KINDS: dict[str, HoleKind] = {
    "slug": "slug",
    "wide": "grind",
    "ground wide": "grind",
    "ground over": "grind",
    "over": "grind",
    "ground": "grind",
    "took": "took",
    "taken": "took",
    "added": "added",
    "put on": "added",
    "axial": "axial",
    "rim": "radial",
    "along the crank": "axial",
}
_FLAGS = (
    "ground",
    "axial",
    "along the crank",
    "through",
    "flat",
    "from the front",
    "from the rear",
    "rim",
    "slug",
)
# What is typed without a unit is one of these sizes, else it is another unit's. Common practice, no source.
BARE_MM = {"diameter": (1.5, 60.0), "depth": (0.5, 150.0)}
_NEEDED: dict[HoleKind, tuple[str, ...]] = {
    "radial": ("diameter", "depth"),
    "axial": ("diameter", "depth", "radius"),
    "slug": ("diameter", "depth", "radius", "mass"),
    "grind": ("arc", "depth"),
    "took": ("mass", "radius"),
    "added": ("mass", "radius"),
}
_TYPED = {
    "angle": "its angle, such as 213 deg station, or 177 deg crank",
    "diameter": "the drill or slug, such as 12.7 mm drill",
    "depth": "how deep, such as 18 mm deep (a slug: 20 mm long)",
    "radius": "the radius of its axis, such as 60 mm radius",
    "mass": "its grams on the scale, such as 148.2 g",
    "arc": "how wide, such as ground 20 deg wide",
}


@dataclass
class _Said:
    """The phrases read. told_in: the units of a fault; figures: by field, in mm, g and degrees."""

    member: str
    told_in: ToldIn
    figures: dict[str, float] = field(default_factory=dict)
    kinds: set[HoleKind] = field(default_factory=set)
    face: Face | None = None
    through: bool = False
    rim: bool = False


def holes_said(
    crank: Crank,
    texts: Sequence[str],
    drills: Sequence[Drill] = (),
    crank_deg: Callable[[float], float] | None = None,
    told_in: ToldIn = METRIC,
) -> list[Hole]:
    """What was done, each as it was said. drills: of the shop, whose points are known; crank_deg: the crank's
    angle for one of the station's own, None where no station is known; told_in: the unit of a length without one,
    and those of a fault. Raises BadInput with everything that is wrong with any of them."""
    found, faults = [], []
    for text in texts:
        try:
            found.append(_hole(crank, text, drills, crank_deg, told_in))
        except _NotSaid as error:
            faults += [Fault(f"{OPTION} {shown(text)!r}", wrong, allowed) for wrong, allowed in error.wrong]
    if faults:
        raise BadInput(faults)
    return found


class _NotSaid(Exception):
    def __init__(self, *wrong: tuple[str, str]) -> None:
        self.wrong = wrong
        super().__init__(wrong)


def _hole(
    crank: Crank,
    text: str,
    drills: Sequence[Drill],
    crank_deg: Callable[[float], float] | None,
    told_in: ToldIn,
) -> Hole:
    said, member = _read(crank, text, told_in)
    _in_reach(said)
    _whose_angle(said.figures, member, crank_deg)
    kind = _kind(said, member)
    if member.external and kind in ("axial", "took", "added") and member.pitch_mm:
        said.figures.setdefault("radius", member.pitch_mm)
    if said.rim and kind in ("took", "added") and not member.external:
        said.figures.setdefault("radius", member.outer_mm)
    if said.through and kind == "axial":
        said.figures["depth"] = member.thickness_mm
    needed = ("angle", *_NEEDED[kind])
    if kind == "grind" and not said.figures.keys() & {"arc", "depth"}:
        raise _unsaid("ground", told_in)
    if missing := [name for name in needed if name not in said.figures]:
        raise _NotSaid(*((f"no {name}", spoken.example(_TYPED[name], told_in.length)) for name in missing))
    taken = {*needed, "point", *(("offset",) if kind in ("radial", "took", "added") else ())}
    if strange := sorted(said.figures.keys() - taken):
        raise _NotSaid((f"a {kind} has no {strange[0]}", f"one such as {_example(told_in)}"))
    return _MAKERS[kind](member, said, kind, drills)


def _whose_angle(figures: dict[str, float], member: Member, crank_deg: Callable[[float], float] | None) -> None:
    """Make the crank's angle of whatever was said."""
    bare, own, crank = (figures.pop(name, None) for name in ("angle", _STATION, _CRANK))
    if own is not None and crank_deg is None:
        raise _NotSaid(("the profile does not tell how the station counts", "the crank's angle: 177 deg crank"))
    found = [one for one in (bare, crank) if one is not None]
    found += [crank_deg(own)] if own is not None and crank_deg else []
    if any(_apart_deg(one, found[0]) > SAME_DEG for one in found):
        raise _NotSaid((f"its angles are {digits(_apart_deg(found[0], found[-1]))} degrees apart", "one angle"))
    if found == [bare] and bare is not None and crank_deg:
        other = crank_deg(bare)
        if _apart_deg(other, bare) > SAME_DEG and any(arc.holds(other % 360) for arc in member.arcs):
            whose = f"{digits(bare)} deg station (the crank's {digits(other)}), or {digits(bare)} deg crank"
            raise _NotSaid((f"{digits(bare)} deg can be the station's angle as well as the crank's", whose))
    if found:
        figures["angle"] = found[0]


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


def _read(crank: Crank, text: str, told_in: ToldIn) -> tuple[_Said, Member]:
    begins = _whole_name(crank, text)
    # A comma inside a figure has no space behind it: 12,7 mm.
    name, *phrases = (part.strip() for part in re.split(r"(?<!\d),|,(?!\d)|;|\n", text.strip()[len(begins) :]))
    name = begins or name
    member, at = _member_at(crank, name, told_in)
    said = _Said(member.name, told_in)
    if not at and phrases and re.fullmatch(r"(?:at |@ ?)?-?\d+(?:[.,]\d+)?", phrases[0].lower()):
        at, *phrases = phrases  # what comes first without a word is the angle
    if at:
        said.figures["angle"] = float(re.sub(r"[^\d.,-]", "", at).replace(",", "."))
    parts = (part for phrase in phrases if phrase for part in re.split(r" (?:and|&|\+) ", phrase))
    for phrase in (one for part in parts for one in spoken.apart(spoken.plain(part))):
        _take(phrase, said)
    return said, member


def _take(phrase: str, said: _Said) -> None:
    """One phrase more."""
    if phrase in _FLAGS:
        if phrase in _KINDS and phrase != "rim":
            said.kinds.add(_KINDS[phrase])
        said.through |= phrase == "through"
        said.rim |= phrase == "rim"
        if phrase == "flat":
            said.figures["point"] = FLAT_DEG
        if phrase.startswith("from the"):
            said.face = "front" if phrase.endswith("front") else "rear"
        return
    field_name, value, words = _figure(phrase, said.told_in)
    if field_name in said.figures:
        raise _NotSaid((f"{shown(phrase)!r}: {field_name} comes twice", "each once"))
    said.figures[field_name] = value
    if field_name == "mass" and words in ("off", "ground"):
        said.kinds.discard("grind")
        said.kinds.add("took")
    elif words in _KINDS:
        said.kinds.add(_KINDS[words])


def _figure(phrase: str, told_in: ToldIn) -> tuple[str, float, str]:
    """The field that a phrase fills, its value, and its words."""
    # A letter with its word alone: with "a drill" nobody means the letter A.
    of_a_drill = phrase.removesuffix("drill").strip() if phrase.endswith("drill") else ""
    if len(of_a_drill) > 1 and (called := drill_sizes.named(of_a_drill)):
        return "diameter", called[1], "drill"
    wrong = _unsaid(phrase, told_in)
    found = _PHRASE.fullmatch(phrase)
    if found is None:
        raise wrong
    before, number, unit, after = found.groups()
    number = number.replace(",", ".")
    if unit and unit not in _DEGREES and unit not in MASS.factors and unit not in LENGTH.factors:
        unit, after = None, f"{unit} {after}"  # 18 deep: no unit, a word
    words = f"{before} {after}".strip()
    if unit in _DEGREES and words in _ANGLES:
        return _ANGLES[words], float(number), words
    try:
        if unit in MASS.factors and words in _MASSES:
            return _MASSES[words], units.parse(f"{number} {unit}", MASS, "g"), words
        if unit not in _DEGREES and unit not in MASS.factors and words in _LENGTHS:
            typed = f"{number} {unit}" if unit else Decimal(number)
            value = units.parse(typed, LENGTH, told_in.length)
            if unit is None:
                _must_be_its_unit(_LENGTHS[words], value, phrase, number, told_in)
            return _LENGTHS[words], value, words
    except NotAQuantity:
        pass
    raise wrong


def _must_be_its_unit(name: str, value_mm: float, phrase: str, number: str, told_in: ToldIn) -> None:
    """A bare figure that is no drill's size, or no hole's depth, in the job's unit was meant in another."""
    least, most = BARE_MM.get(name, (0.0, LARGEST_MM))
    if not least <= value_mm <= most:
        other = "mm" if told_in.length == "in" else "in"
        told = f"with its unit: {phrase.replace(number, f'{number} {other}', 1)}"
        raise _NotSaid((f"{shown(phrase)!r} would be {told_in.size(value_mm)}", told))


def _unsaid(phrase: str, told_in: ToldIn) -> _NotSaid:
    """What cannot be read of a phrase, with the one line that mends it."""
    if more := spoken.mended(phrase):
        missing, typed = more
        return _NotSaid((f"{shown(phrase)!r}: {missing}", spoken.example(typed, told_in.length)))
    return _NotSaid((f"{shown(phrase)!r} is not understood", f"phrases such as {_example(told_in)}"))


def _example(told_in: ToldIn) -> str:
    return spoken.example(EXAMPLE, told_in.length)


_AT = re.compile(
    r"(.*?\S)(?:\s*(?:\bat\b|@)\s*(-?\d+(?:[.,]\d+)?)|\s+(-?\d+(?:[.,]\d+)?)(?=\s*(?:deg|°|º)))\s*(.*)"
)
_CALLED = re.compile(r"^(?:counter ?weight|external|cw|c/w|weight|wt\.?|no\.?|number|#)\s*(?=\S)")


def _member_at(crank: Crank, name: str, told_in: ToldIn) -> tuple[Member, str]:
    """The member that a text begins with, and the angle that is said with it, as typed: ``1 front at 137 deg``."""
    if found := _found(crank, name):
        return found, ""
    at = _AT.fullmatch(name.lower())
    if at and (found := _found(crank, at[1])):
        angle, rest = at[2] or at[3], at[4].strip(" .")
        if rest in (*_DEGREES, "", "degs", "º"):
            return found, angle
        raise _unsaid(f"{angle} {rest}", told_in)
    if re.search(r"\d,\d", name):
        raise _NotSaid(
            (f"{shown(name)!r} begins with no counterweight", f"a blank behind the comma: {_spaced(name)}")
        )
    return _member(crank, name), ""


def _whole_name(crank: Crank, text: str) -> str:
    """The name that a text begins with, where a comma is part of it; empty where none is."""
    named = (one.name for one in crank.members if re.search("[,;]", one.name))
    return max((one for one in named if text.strip().lower().startswith(one.lower())), key=len, default="")


def _spaced(text: str) -> str:
    return re.sub(r"(?<=\d),(?=\d)", ", ", text, count=1)


def _found(crank: Crank, name: str) -> Member | None:
    """The member of a name: as it is, with what it is called before it, or written in one word."""
    wanted = _bare(name)
    for written in (name.lower(), _CALLED.sub("", name.lower())):
        for one in crank.members:
            if one.name.lower() == written.strip():
                return one
    alike = [one for one in crank.members if _bare(one.name) == wanted]
    return alike[0] if len(alike) == 1 else None


def _bare(name: str) -> str:
    return re.sub(r"[\s_-]", "", _CALLED.sub("", name.lower()))


def _member(crank: Crank, name: str) -> Member:
    if found := _found(crank, name):
        return found
    allowed = ", ".join(shown(one.name) for one in crank.members)
    raise _NotSaid((f"the [crank] has no {shown(name)!r}", allowed))


def _kind(said: _Said, member: Member) -> HoleKind:
    if len(said.kinds) > 1:
        raise _NotSaid((f"is {' and '.join(sorted(said.kinds))} at once", "one thing that was done"))
    if said.kinds:
        return next(iter(said.kinds))
    if not said.figures.keys() - {"angle"} and not said.rim:
        raise _NotSaid(("nothing is said of what was done", f"a hole such as {_example(said.told_in)}"))
    if "mass" in said.figures and "diameter" not in said.figures:
        raise _NotSaid(("came off, or went on", spoken.example("took 4.2 g, or added 4.2 g", said.told_in.length)))
    return "axial" if member.external else "radial"


def _in_reach(said: _Said) -> None:
    for name, value in said.figures.items():
        if name in ("diameter", "depth", "radius") and not 0 < value <= LARGEST_MM:
            allowed = reach(LENGTH, 0, LARGEST_MM, said.told_in.length)
            raise _NotSaid((f"{name} {said.told_in.size(value)}", allowed))
        if name == "mass" and not 0 < value <= HEAVIEST_G:
            allowed = reach(MASS, 0, HEAVIEST_G, said.told_in.scale)
            raise _NotSaid((str(said.told_in.given(value)), allowed))
        if name in ("angle", _STATION, _CRANK) and not -360 <= value <= 360:
            raise _NotSaid((f"{digits(value)} degrees", "-360 to 360 degrees"))
        if name == "arc" and not 0 < value <= 360:
            raise _NotSaid((f"{digits(value)} degrees wide", "above 0 and at most 360 degrees"))
        if name == "point" and not SHARPEST_POINT_DEG <= value <= FLAT_DEG:
            raise _NotSaid(
                (
                    f"a point of {digits(value)} degrees",
                    f"{SHARPEST_POINT_DEG:g} to {FLAT_DEG:g} degrees",
                )
            )


def _by_grams(wrong: str, told_in: ToldIn) -> _NotSaid:
    typed = "what the scale says of the chips: took 4.2 g, 80 mm radius"
    return _NotSaid((wrong, spoken.example(typed, told_in.length)))


def _radial(member: Member, said: _Said, kind: HoleKind, drills: Sequence[Drill]) -> Hole:
    figures, told = said.figures, said.told_in.size
    diameter_mm, depth_mm, point_deg = figures["diameter"], figures["depth"], _point(said, drills)
    if member.external:
        raise _by_grams("a damper or flexplate is drilled along the crank", said.told_in)
    if depth_mm + cone_height_mm(diameter_mm, point_deg) >= member.outer_mm or diameter_mm > member.outer_mm:
        raise _by_grams(
            f"{told(depth_mm)} deep from a rim of {told(member.outer_mm)} is beyond the crank's axis", said.told_in
        )
    z_mm = member.z_mm + figures.get("offset", 0.0)
    _inside(member, z_mm, said.told_in)
    removed = radial_hole(member.density_g_mm3, member.outer_mm, diameter_mm, depth_mm, point_deg)
    rest = diameter_mm, depth_mm, removed.unbalance_gmm, removed.mass_g, point_deg
    return Hole(member.name, kind, figures["angle"] % 360, member.outer_mm, z_mm, *rest)


def _axial(member: Member, said: _Said, kind: HoleKind, drills: Sequence[Drill]) -> Hole:
    figures, told, member = said.figures, said.told_in.size, _bored(member, said)
    radius_mm, diameter_mm, depth_mm = figures["radius"], figures["diameter"], figures["depth"]
    point_deg = FLAT_DEG if said.through or kind == "slug" else _point(said, drills)
    if depth_mm > member.thickness_mm + THROUGH_MM:
        raise _by_grams(f"{told(depth_mm)} deep in {told(member.thickness_mm)} of metal", said.told_in)
    depth_mm = min(depth_mm, member.thickness_mm)
    if radius_mm + diameter_mm / 2 > member.outer_mm or radius_mm <= diameter_mm / 2:
        raise _by_grams(f"at {told(radius_mm)} it is not inside the rim, {told(member.outer_mm)}", said.told_in)
    drill = diameter_mm, depth_mm, point_deg, member.thickness_mm
    if kind == "slug":
        removed = weighed_slug(member.density_g_mm3, radius_mm, diameter_mm, depth_mm, figures["mass"])
    else:
        removed = axial_hole(member.density_g_mm3, radius_mm, *drill)
    z_mm = member.below_face_mm(axial_centroid_mm(*drill))
    rest = diameter_mm, depth_mm, removed.unbalance_gmm, removed.mass_g, point_deg
    return Hole(member.name, kind, figures["angle"] % 360, radius_mm, z_mm, *rest)


def _ground(member: Member, said: _Said, kind: HoleKind, drills: Sequence[Drill]) -> Hole:
    figures, told = said.figures, said.told_in.size
    if member.external:
        raise _by_grams("the rim of a damper or flexplate is not known", said.told_in)
    if figures["depth"] > member.outer_mm:
        raise _by_grams(f"{told(figures['depth'])} off a rim of {told(member.outer_mm)}", said.told_in)
    arc_deg, depth_mm, rim_mm = figures["arc"], figures["depth"], member.outer_mm
    removed = ground_arc(member.density_g_mm3, rim_mm, member.thickness_mm, arc_deg, depth_mm)
    rest = 0.0, depth_mm, removed.unbalance_gmm, removed.mass_g, FLAT_DEG, arc_deg
    return Hole(member.name, kind, figures["angle"] % 360, rim_mm, member.z_mm, *rest)


def _weighed(member: Member, said: _Said, kind: HoleKind, drills: Sequence[Drill]) -> Hole:
    """Grams that came off, or went on, of no shape: the room beside is kept as to a ball of them."""
    figures = said.figures
    z_mm = member.z_mm + figures.get("offset", 0.0)
    _inside(member, z_mm, said.told_in)
    mass_g = figures["mass"] if kind == "took" else -figures["mass"]
    moved = moved_mass(mass_g, figures["radius"])
    wide_mm = ball_mm(figures["mass"], member.density_g_mm3)
    rest = wide_mm, wide_mm, moved.unbalance_gmm, moved.mass_g, FLAT_DEG
    return Hole(member.name, kind, figures["angle"] % 360, figures["radius"], z_mm, *rest)


_MAKERS = {
    "radial": _radial,
    "axial": _axial,
    "slug": _axial,
    "grind": _ground,
    "took": _weighed,
    "added": _weighed,
}


def _point(said: _Said, drills: Sequence[Drill]) -> float:
    """As said; else that of the shop's drill of this diameter, else the common one."""
    if "point" in said.figures:
        return said.figures["point"]
    same = (one.point_deg for one in drills if abs(one.diameter_mm - said.figures["diameter"]) < 0.01)
    return next(same, COMMON_POINT_DEG)


def _bored(member: Member, said: _Said) -> Member:
    face: Literal["front", "rear"] | None = said.face or member.bore
    if face is None:
        raise _NotSaid(("which face is it bored from", "from the front, or from the rear"))
    return member._replace(bore=face)


def _inside(member: Member, z_mm: float, told_in: ToldIn) -> None:
    if abs(z_mm - member.z_mm) > member.thickness_mm / 2 + 1e-9:
        off_mm = z_mm - member.z_mm
        raise _NotSaid(
            (
                f"{told_in.size(off_mm)} off the middle",
                f"inside the thickness, {told_in.size(member.thickness_mm)}",
            )
        )


def beyond(hole: Hole, there: Hole) -> Hole | None:
    """What a hole takes beyond one that was there already on the same axis, as deep and as wide at least: the old
    hole made deeper or wider, of which the old one was reckoned before. None where it is no such one."""
    same = (hole.member, hole.kind) == (there.member, there.kind) and hole.kind in ("radial", "axial")
    off_deg = abs((hole.angle_deg - there.angle_deg + 180) % 360 - 180)
    along_mm = abs(hole.z_mm - there.z_mm) if hole.kind == "radial" else abs(hole.radius_mm - there.radius_mm)
    covers = hole.diameter_mm >= there.diameter_mm - 1e-6 and hole.depth_mm >= there.depth_mm - 1e-6
    covers &= hole.tip_mm >= there.tip_mm - 1e-6
    more_gmm = hole.removes_gmm - there.removes_gmm
    if not same or off_deg > SAME_DEG or along_mm > SAME_MM or not covers or more_gmm <= 0:
        return None
    z_mm = (hole.z_mm * hole.removes_gmm - there.z_mm * there.removes_gmm) / more_gmm
    return hole._replace(z_mm=z_mm, removes_gmm=more_gmm, mass_g=hole.mass_g - there.mass_g)


def lies_in(hole: Hole, there: Hole) -> bool:
    """Whether a hole is one that was there already, or is in it: the same tool on the same axis, no deeper."""
    if hole.kind not in ("radial", "axial", "slug") or (hole.member, hole.kind) != (there.member, there.kind):
        return False
    off_deg = abs((hole.angle_deg - there.angle_deg + 180) % 360 - 180)
    off_mm = abs(hole.z_mm - there.z_mm) if hole.kind == "radial" else abs(hole.radius_mm - there.radius_mm)
    same = off_deg <= SAME_DEG and off_mm <= SAME_MM and abs(hole.diameter_mm - there.diameter_mm) < 0.01
    return same and hole.depth_mm <= there.depth_mm + 1e-6


def may_be_told_again(one: Hole, there: Hole) -> bool:
    """Whether an arc or grams are where such were told already, however deep or many: the same told again, or a
    second pass, which their figures don't tell."""
    if one.kind not in ("grind", "took", "added") or (one.member, one.kind) != (there.member, there.kind):
        return False
    off_deg = abs((one.angle_deg - there.angle_deg + 180) % 360 - 180)
    off_mm = max(abs(one.radius_mm - there.radius_mm), abs(one.z_mm - there.z_mm))
    return max(off_deg, abs(one.arc_deg - there.arc_deg)) <= SAME_DEG and off_mm <= SAME_MM


# What a degree wheel and a rule tell from one another. Common practice, no source.
SAME_DEG = 0.5
# A bore that leaves less metal behind it, or is told deeper by less, is right through: inches are told rounded.
THROUGH_MM = 0.01
SAME_MM = 0.5
