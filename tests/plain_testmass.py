"""What a known mass says of a station, as the text at the top of `testmass` and its constants tell it, done with
amounts and angles on paper: no vectors. Angles are turned round in degrees, a middle of angles is that of unit
arrows laid end to end, and every case has its own few lines."""

import math
from typing import NamedTuple

# What the program's constants say in words, said again.
CERTAIN, AS_IT_SHOULD, PART, DEGREES = 5.0, 0.25, 0.10, 6.0
MASS_IS_KNOWN_TO, ITS_ANGLE_TO = 0.01, 1.0
BLEEDS, IS_TOLD_FROM = 0.10, 0.04
LITTLE_OFF, NOT_ALIKE, CALIBRATED_WITHIN = 1.2, 1.25, 2.0
NEAREST_MM, FARTHEST_MM = 20.0, 500.0
GRAMS = {"g": 1.0, "oz": 28.349523125, "lb": 453.59237, "kg": 1000.0}
INCH = 25.4
MIX_UPS = [
    ("inches and millimeters", INCH, 0.01, 0.05),
    ("ounces and grams", GRAMS["oz"], 0.01, 0.05),
    ("ounce-inches and gram-millimeters", GRAMS["oz"] * INCH, 0.01, 0.05),
    ("ounce-inches and gram-centimeters", GRAMS["oz"] * 2.54, 0.01, 0.05),
    ("pounds and ounces", 16.0, 0.01, 0.05),
    ("pounds and grams", GRAMS["lb"], 0.01, 0.05),
    ("kilograms and grams", 1000.0, 0.01, 0.05),
    ("centimeters and millimeters", 10.0, 0.01, 0.05),
    ("newtons and kilograms", 9.80665, 0.01, 0.05),
    ("newtons and kilograms, with 10 for 9.81", 0.980665, 0.0, 0.005),
]


class Profile(NamedTuple):
    """What the profile says. radius_mm: None where it reads unbalance; a unit of that is per_mm long."""

    unit: str
    radius_mm: float | None
    per_mm: float
    with_rotation: bool
    zero_deg: float
    amount_part: float
    angle_deg: float


class Hung(NamedTuple):
    """A mass that was hung: where, and what both planes' changes are, each an amount and an angle as the profile
    has them; standard: of a change in each direction."""

    plane: str
    grams: float
    at_mm: float
    at_deg: float
    front: tuple[float, float]
    rear: tuple[float, float]
    standard: float
    typed_with_units: bool

    @property
    def should(self):
        return self.grams * self.at_mm

    @property
    def both(self):
        """Its own plane's change, and the other's."""
        return (self.front, self.rear) if self.plane == "front" else (self.rear, self.front)


def turned(degrees):
    """Between a half turn back and a half turn on."""
    while degrees >= 180:
        degrees -= 360
    while degrees < -180:
        degrees += 360
    return degrees


def middle(angles):
    across = sum(math.cos(math.radians(one)) for one in angles)
    up = sum(math.sin(math.radians(one)) for one in angles)
    return math.degrees(math.atan2(up, across))


def root_of_squares(*parts):
    return math.sqrt(sum(part**2 for part in parts))


def found(hung, profile, changed, rescaled, refit):
    """All that does not agree, each as (kind, what is said of it)."""
    last = hung[-1]
    own, other = last.both
    times = certainty(last)
    if times < CERTAIN and is_as_it_should(last):
        return not_known_well_enough(last, own, profile)
    says = []
    if times < CERTAIN:
        says.append(("unseen", {"off": times, "plane": last.plane, **heavier(last, profile)}))
    elif other[0] > own[0]:
        says.append(("planes", {}))
    # What was seen; of planes that are exchanged the one that shows most.
    shown = [(one, max(one.both, key=lambda change: change[0])) for one in hung if certainty(one) >= CERTAIN]
    if shown:
        says += angles(shown, profile, changed)
    if times >= CERTAIN:
        says += amounts(shown, profile, rescaled)
        more, less = max(own[0], other[0]), min(own[0], other[0])
        if less > IS_TOLD_FROM * more + 2 * last.standard and less / more > IS_TOLD_FROM:
            advice = [one for one in says if one[0] in ("sense", "zero", "either", "scale")]
            says = [one for one in says if one not in advice]
            aside = refit or advice or less / more > BLEEDS
            says.insert(0, ("aside" if aside else "separation", {"off": less / more}))
        if all(kind == "separation" for kind, _ in says):
            says += not_known_well_enough(last, shown[-1][1], profile)
    return says


def certainty(one):
    """The larger change, in times its ±."""
    most = max(one.front[0], one.rear[0])
    if one.standard == 0:
        return math.inf if most else 0.0
    return most / (2 * one.standard)


def is_as_it_should(one):
    """By the law of cosines: how far its own plane's change is from the one expected."""
    (amount, at), _ = one.both
    square = amount**2 + one.should**2 - 2 * amount * one.should * math.cos(math.radians(at - one.at_deg))
    return math.sqrt(max(0.0, square)) <= AS_IT_SHOULD * one.should


def amount_known(one, change, profile):
    return root_of_squares(profile.amount_part, MASS_IS_KNOWN_TO, 2 * one.standard / change[0])


def angle_known(one, change, profile):
    aside = min(1.0, 2 * one.standard / change[0])
    return root_of_squares(profile.angle_deg, ITS_ANGLE_TO, math.degrees(math.asin(aside)))


def not_known_well_enough(one, change, profile):
    part, degrees = amount_known(one, change, profile), angle_known(one, change, profile)
    if part <= PART and degrees <= DEGREES:
        return []
    needs = heavier(one, profile)
    says = {"off": part, "sure_deg": degrees, "plane": one.plane, "calibrate": needs["needed_g"] == 0, **needs}
    return [("rough", says)]


def heavier(one, profile):
    """The lightest mass there that would prove something. Whatever the noise of two spins may be beside the rest:
    its part of the amount, and as far aside as its angle may be off."""
    part = PART**2 - profile.amount_part**2 - MASS_IS_KNOWN_TO**2
    degrees = DEGREES**2 - profile.angle_deg**2 - ITS_ANGLE_TO**2
    says = {"needed_g": 0.0, "at_mm": one.at_mm}
    if part <= 0 or degrees <= 0:
        return says
    left = min(math.sqrt(part), math.sin(math.radians(math.sqrt(degrees))))
    if left <= profile.amount_part or left <= math.radians(profile.angle_deg):
        return says
    proves, is_seen = 2 * one.standard / left / one.at_mm, CERTAIN * 2 * one.standard / one.at_mm
    return {**says, "needed_g": max(1.0, proves, is_seen)}


def angles(shown, profile, changed):  # noqa: PLR0911 (every case by itself)
    sure = [angle_known(one, change, profile) for one, change in shown]
    as_is = [turned(change[1] - one.at_deg) for one, change in shown]
    mirror = [turned(change[1] + one.at_deg) for one, change in shown]

    def fit(turns):
        return all(abs(turn) <= slack for turn, slack in zip(turns, sure, strict=True))

    def agree(turns):
        return fit([turned(turn - middle(turns)) for turn in turns])

    # Where every mass hangs near throw 1 or opposite, the mirror is where it is itself.
    near = [min(abs(turned(one.at_deg)), abs(turned(one.at_deg - 180))) for one, _ in shown]
    if all(way <= slack for way, slack in zip(near, sure, strict=True)) and (fit(as_is) or fit(mirror)):
        return [("unsure", {"at_deg": 90.0})]
    last_deg = shown[-1][0].at_deg % 360
    beside = (last_deg + 90) % 360
    if fit(as_is):
        return [("alone", {"at_deg": beside})] if changed and agree(mirror) else []
    if fit(mirror):
        says = {"with_rotation": not profile.with_rotation}
        if agree(as_is) and abs(middle(as_is)) > max(sure):
            says |= {"off": middle(as_is), "at_deg": beside}
        return [("sense", says)]

    def zero(turns):
        sense = 1 if profile.with_rotation else -1
        return round(profile.zero_deg + sense * middle(turns), 3) % 360

    if agree(as_is) and agree(mirror):
        return [("either", {"off": middle(as_is), "at_deg": beside, "zero_deg": zero(as_is)})]
    if agree(as_is):
        return [("zero", {"off": middle(as_is), "zero_deg": zero(as_is)})]
    if agree(mirror):
        says = {"off": middle(mirror), "zero_deg": zero(mirror), "with_rotation": not profile.with_rotation}
        return [("sense", says)]
    return [("differ", {"at_deg": last_deg})]


def amounts(shown, profile, rescaled):  # noqa: PLR0911 (every case by itself)
    one, change = shown[-1]
    many, sure = change[0] / one.should, amount_known(one, change, profile)

    def seconds(other, its):
        heavy, light = max(one.grams, other.grams), min(one.grams, other.grams)
        apart = abs(its[0] / other.should - many)
        return heavy >= NOT_ALIKE * light and apart <= (sure + amount_known(other, its, profile)) * max(1, many)

    second = any(seconds(*before) for before in shown[:-1])
    if abs(many - 1) <= sure * max(1, many):
        return [("gain", {"off": many})] if rescaled and not (second and one.typed_with_units) else []
    looks = []
    for units, times, least, most in MIX_UPS:
        off = min(abs(many / times - 1), abs(many * times - 1))
        if off <= min(most, max(least, sure)):
            looks.append((off, units))
    if looks:
        return [("units", {"off": many, "mixed": min(looks)[1]})]
    if not second and max(many, 1 / many) >= LITTLE_OFF:
        return [("scale", {"off": many})]
    if profile.radius_mm is not None:
        true_mm = profile.radius_mm / many
        if NEAREST_MM <= true_mm <= FARTHEST_MM:
            return [("scale", {"off": many, "radius_mm": true_mm})]
        return [("units", {"off": many, "mixed": "units"})]
    if max(many, 1 / many) < CALIBRATED_WITHIN:
        return [("scale", {"off": many, "calibrate": True})]
    one_shown = GRAMS[profile.unit.split("·")[0]] * profile.per_mm
    for unit in ("g", "oz"):
        true_mm = one_shown / many / GRAMS[unit]
        if NEAREST_MM <= true_mm <= FARTHEST_MM:
            return [("scale", {"off": many, "unit": unit, "radius_mm": true_mm})]
    return [("units", {"off": many, "mixed": "units"})]
