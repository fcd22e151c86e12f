"""The balancing station in sentences, and which operations of a plan are to be told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import Amount, ToldIn, factor
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import shown
from truethrow.balance.base.readings import digits_for
from truethrow.balance.base.units import MASS
from truethrow.balance.correction import NEUTRAL, HolePlan, Stays, TwoPlanes
from truethrow.balance.correction.slug_sizes import Misfit
from truethrow.balance.crank.holes import Hole, Slug
from truethrow.balance.engine.lengths import listed
from truethrow.balance.log.log import when
from truethrow.balance.log.records import SIGN
from truethrow.balance.station import built, may_go
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.members import bare
from truethrow.balance.station.next_steps import command, masses_to_hang, to_mount, ways_out, what_the_edit_was
from truethrow.balance.station.revisions import changes, what_changed
from truethrow.balance.station.spin import Instrument, Measured
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stacked import Inventory, Stack, Stacks
from truethrow.balance.station.stationlog import Edit, KnownMass
from truethrow.balance.station.testmass import AMOUNTS, SURE_DEG, SURE_PART, Finding, FindingKind
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import result_words

NO_CRANK = "The job has no [crank], so there is no plan"
NO_TOOLS = "The profile has no [[drill]], so there is no plan."
NO_HELP = "Nothing that these tools can do would help."
MAY_BE_SIGNED = "nothing is against it: both planes are inside"
ALL_DONE = "All of it is done: spin again."
HEAVY_METAL_DONE = "The heavy metal is in: spin again. The holes are planned from what that reads."
OTHER_DEPTH = "What is done is not as deep as planned: a spin before the rest tells what is left."
NOTHING_UNTIL_IT_AGREES = "Drill nothing and sign nothing by this station until a test mass agrees."
FOR_THESE_PARTS = "For these parts in these cylinders only"
SUM_IS_INSIDE = (
    "What turns in the engine, the sum, is inside as it is; these holes make the crank true for its bobweight, "
    "and what hanging leaves then stays."
)
ALL_AGREE = "Unit, sense, zero, gain and the order of the planes agree. Take both masses off."
ONE_AGREES = "Sense, zero, scale and planes agree. Take the test mass off."
IN_ENGINE = (
    "In the engine: what the spin read and what hanging leaves (what each throw is off by), added as vectors"
)
OF_THE_GIVEN = (
    "The crank with the given bobweights: what the spin read and what hanging leaves (what each bobweight is off "
    "the given mass by), added as vectors"
)
OF_THE_GIVEN_WITH_MEMBERS = (
    "The crank with the given bobweights: what the spin read, what the members bring that were off, and what "
    "hanging leaves (what each bobweight is off the given mass by), added as vectors"
)
IN_ENGINE_WITH_MEMBERS = (
    "In the engine: what the spin read, what the members bring that were off the crank, and what hanging leaves, "
    "added as vectors"
)
MEMBERS = "Damper, flexplate and so on: what each brings"
HUNG = "What hung at the last spin"
THEN_SPIN = "Once the profile is edited, say so (truethrow profile), take the mass off, spin, hang it again."
NOTHING_UNTIL = "Drill nothing and sign nothing by this station until then."
ANOTHER = "hang another mass, a quarter heavier or lighter at least"
# What says nothing of an angle or an amount of the profile: of two masses at once, of one alone after them, of one
# that is not in its plane, of what was read with the fixture turned.
SAID: dict[FindingKind, str] = {
    "half": "it agrees, but two at once did not: hang one alone on the {one.plane} plane, too",
    "aside": (
        "{one.off:.0%} of it shows in the other plane, so the mass is not in its plane, or the station does not "
        "separate its planes: see how far along the crank it sits, and set the station's plane distances; change "
        "no radius, zero or sense by it, and hang it again, in its plane"
    ),
    "turned": (
        "the turned runs do not read as they must: were their angles counted from the fixture instead of throw 1? "
        "Cancel them (truethrow strike), and make them again with angles from throw 1"
    ),
    "exchanged": (
        "the amounts are those of the two masses exchanged: see which one is on which plane, cancel this one "
        "(truethrow strike), put them right and spin again"
    ),
    "crossed": (
        "the two planes do not agree with each other, {one.off:.0%} of the other mass is too much or missing: see "
        "where both are; then hang one alone, which tells more"
    ),
}
CHANGED = (
    "The station profile, the job or what holes aim at has changed since this spin, and the plan may have, too."
)


# How an offset is known.
SOURCES = {"maker": "by its maker", "arbor": "by two runs on an arbor", "spins": "by spins with and without it"}


def reads(state: Balancing, vectors: TwoPlanes) -> tuple[str, ...]:
    """An unbalance of both planes as the station shows it: ``12.4@37``; nothing where nobody knows what it
    shows."""
    return tuple(_reading(state.instrument, *one) for one in state.shows(vectors))


def _reading(instrument: Instrument, amount: float, degrees: float) -> str:
    return f"{amount:.{digits_for(instrument.floor_gmm / instrument.gmm)}f}@{round(degrees) % 360}"


def at(instrument: Instrument | None, crank_deg: float, places: int = 1) -> str:
    """An angle by both its names, the station's own first: ``station 213.0°, crank 177.0°``. instrument: None
    where no station is known."""
    crank = f"crank {turned(crank_deg, places)}°"
    if instrument is None or instrument.reads_divisions:  # whose angles say nothing of a place
        return crank
    return f"station {turned(instrument.own_deg(crank_deg), places)}°, {crank}"


def turned(degrees_: float, places: int = 0) -> str:
    """An angle in digits, 0 to below 360."""
    return f"{round(degrees_ % 360, places) % 360:.{places}f}"


def hole(found: Hole, show: Display, instrument: Instrument | None = None) -> str:
    """One operation in one line: where, with what, how deep, and what it takes away."""
    takes = f"{show.unbalance(abs(found.removes_gmm), 10.0)} {show.unbalance_unit}"
    place = f"{found.member}, at {at(instrument, found.angle_deg)}"
    deep = f"{show.length(round(found.depth_mm, 2))} deep"
    wide = show.length(found.diameter_mm) if found.kind == "slug" else show.drill(found.diameter_mm)
    match found.kind:
        case "radial":
            tip = show.worked_out(found.tip_mm)
            return f"{place}: drill {wide} into the rim, {deep}, {tip} to the tip; takes {takes}"
        case "axial":
            along = f"along the crank at radius {show.length(found.radius_mm)}"
            point = f", {show.worked_out(found.tip_mm)} to the tip" if found.tip_mm > found.depth_mm else ""
            return f"{place}: drill {wide} {along}, {deep}{point}; takes {takes}"
        case "slug":
            side = "brings" if found.removes_gmm < 0 else "takes"
            return f"{place}: slug {wide} at radius {show.length(found.radius_mm)}, bore {deep}; {side} {takes}"
        case "took" | "added":
            side, brings = ("came off", "takes") if found.kind == "took" else ("put on", "brings")
            out = f"at radius {show.length(found.radius_mm)}"
            return f"{place}: {show.told_in.given(abs(found.mass_g))} {side} {out}; {brings} {takes}"
    return f"{place}: grind the rim over {found.arc_deg:g}°, {deep}; takes {takes}"


def tool(found: Hole, show: Display, bore: str = "") -> str:
    """With what an operation is done, and from where. bore: from which face of its member a bore starts."""
    match found.kind:
        case "radial":
            return f"drill {show.drill(found.diameter_mm)} into the rim"
        case "axial" | "slug":
            what = "drill" if found.kind == "axial" else "slug"
            wide = show.length(found.diameter_mm) if found.kind == "slug" else show.drill(found.diameter_mm)
            face = f"from the {bore}" if bore else "along the crank"
            return f"{what} {wide}, {face}, at radius {show.length(found.radius_mm)}"
        case "grind":
            return f"grind the rim over {found.arc_deg:g}°"
    return ""


def stays(found: Stays, show: Display) -> str:
    why = {
        "reach": "no counterweight has metal where it is needed",
        "room": "the counterweights have not metal enough for these tools",
        "steps": "the steps of these tools are too coarse",
    }[found.why]
    over = f"{show.unbalance(found.over_gmm, 10.0)} {show.unbalance_unit}"
    frees = " or ".join(found.frees)
    return f"{found.plane} plane: {over} over tolerance will be left, {why}; what would help: {frees}"


def misfit(found: Misfit, show: Display) -> str:
    """A slug that fits nowhere, and the size that would."""
    size = _slug_size(found.slug, show)
    by = show.length(round(found.by_mm, 2))
    why = {
        "long": f"{by} too long",
        "wide": f"{by} too wide between its rim, less the wall, and its inner radius",
        "arc": "no room for it along its arc",
    }[found.why]
    said = f"the slug {size} fits in no counterweight (nearest: {found.member}, {why})"
    if found.fits is None:
        return f"{said}, nor does any smaller one that would bring enough to matter"
    enough = ", and would bring both planes inside" if found.is_enough else ", though some would still be left"
    return f"{said}; {_slug_size(found.fits, show)} fits in {found.fits_in}{enough}"


def _slug_size(slug: Slug, show: Display) -> str:
    return f"{show.length(round(slug.diameter_mm, 3))} across, {show.length(round(slug.length_mm, 3))} long"


def stage(made: HolePlan, now: TwoPlanes, leaves: TwoPlanes, show: Display) -> str:
    """What a stage of heavy metal leaves, and what comes after it; empty where all is done in one go. now: what
    the crank has; leaves: with what is done of it as it is."""
    if not made.then:
        return ""
    more = ", more than now, which the holes take" if max(map(abs, leaves)) > max(map(abs, now)) else ""
    unit = show.unbalance_unit
    front, rear = (f"{show.unbalance(abs(one), 10.0)} {unit}" for one in leaves)
    foreseen = f"{len(made.then)} hole{'s' if len(made.then) > 1 else ''} foreseen"
    return (
        f"Stage 1 of 2, heavy metal alone: it leaves about {front} front and {rear} rear{more}. Then spin again: "
        f"the holes are planned from what that reads ({foreseen})"
    )


def stage_of(state: Balancing, show: Display) -> str:
    """The same of where the loop stands."""
    if state.plan is None or state.last is None or state.expected is None:
        return ""
    return stage(state.plan, state.last.residual, state.expected, show)


def all_done(made: HolePlan) -> str:
    return HEAVY_METAL_DONE if made.then else ALL_DONE


def pulls(made: HolePlan, show: Display) -> list[str]:
    """What pulls at each slug of a plan; those that it pulls alike in one line."""
    alike: dict[str, list[str]] = {}
    for one in made.cautions:
        if one.force_n is not None:
            wall = show.worked_out(one.wall_mm)
            said = f"{show.force(one.force_n)} pull at a wall of {wall} at top speed"
            alike.setdefault(said, []).append(one.operation.member)
    return [
        f"{'slug' if len(members) == 1 else 'each slug'} in {', '.join(dict.fromkeys(members))}: {said}"
        for said, members in alike.items()
    ]


def finding(found: Finding, told_in: ToldIn) -> str:
    """What a test mass says, and what to change."""
    match found.kind:
        case "unseen":
            return _unseen(found, told_in)
        case "planes":
            return "the mass shows in the other plane: type front before rear, or see which plane it is on"
        case "separation":
            return (
                f"{found.off:.0%} of it shows in the other plane: set the station's plane distances, or put the "
                "mass in the plane itself"
            )
        case "rough":
            return _rough(found, told_in)
    if found.kind in SAID:
        return SAID[found.kind].format(one=found)
    return _amounts(found, told_in) if found.kind in AMOUNTS else _angle(found)


def _unseen(found: Finding, told_in: ToldIn) -> str:
    said = (
        f"the readings hardly moved, {found.off:.1f} times their uncertainty: is the mass on, and the unit right? "
    )
    if not found.needed_g:
        return f"{said}The profile itself is not sure enough for any mass: calibrate the station, or another one"
    return f"{said}It takes {_needed(found, told_in)} to be seen"


def _needed(found: Finding, told_in: ToldIn) -> str:
    """The lightest mass that tells something, rounded up, so that what is told does."""
    needed = found.needed_g / factor(told_in.scale, MASS)
    places = max(0, 1 - math.floor(math.log10(needed)))
    most = Amount.as_it_is(math.ceil(needed * 10**places) / 10**places, told_in.scale)
    return f"{most} at least on the {found.plane} plane, at {told_in.size(found.at_mm)}"


def _rough(found: Finding, told_in: ToldIn) -> str:
    said = (
        f"nothing speaks against the profile, but the change is known to ± {found.off:.0%} and "
        f"{found.sure_deg:.0f}° only, and no worse than {SURE_PART:.0%} and {SURE_DEG:.0f}° proves anything: "
    )
    if found.calibrate:
        return said + "the profile itself is not sure enough for any mass; calibrate the station, or another one"
    heavier = f", {_needed(found, told_in)}" if found.needed_g else ""
    return f"{said}hang what is heavier{heavier}, or type more runs"


def of_masses(masses: Sequence[KnownMass], speed_rpm: float | None, show: Display, instrument: Instrument) -> str:
    """Known masses as they are to hang, and what each pulls at its bolt."""
    said = []
    for one in masses:
        pull = f", pulls {show.force(one.pulls_n(speed_rpm))} at {speed_rpm:g} r/min" if speed_rpm else ""
        where = f"at {at(instrument, one.angle_deg, 0)}, radius {show.length(round(one.radius_mm, 2))}"
        said.append(f"{show.as_given(one.mass_g)} on the {one.plane} plane {where}{pull}")
    return "; ".join(said)


def to_hang(state: Balancing, show: Display) -> str:
    """What to hang next, where that is what comes next, with what it pulls; empty where it is not."""
    told = " ".join(ways_out(state))
    if "truethrow test-mass" not in told and "--radius" not in told:
        return ""
    return of_masses(masses_to_hang(state), speed_of(state), show, state.instrument)


def speed_of(state: Balancing) -> float | None:
    """At which the station spins: as the last spin tells, or the profile."""
    return (state.last.record.speed_rpm if state.last else 0.0) or state.profile.speed_rpm


def proved_by(state: Balancing, told_in: ToldIn) -> str:
    """Which known masses proved the station, and when; empty where none did."""
    test = state.proved_by
    if test is None:
        return ""
    masses = " and ".join(
        f"{told_in.weighed(one.mass_g)} at crank {one.angle_deg:g}° on the {one.plane} plane, "
        f"radius {told_in.set_at(one.radius_mm)}"
        for one in test.masses
    )
    if state.reads_divisions:
        return f"Station proved by trial masses, both at once as foretold: {masses}; record {test.id}"
    whole = "unit, sense, zero, gain and plane order" if test.beside else "sense, zero and scale, by one mass"
    return f"Station proved: {whole}; {masses}; record {test.id}, {when(test.record.at)} UTC"


def _amounts(found: Finding, told_in: ToldIn) -> str:
    times = f"the amount is {digits(found.off, 3)} times what it should be"
    match found.kind:
        case "units":
            return (
                f"{times}, as where {found.mixed} are mixed up: look at the mass and the radius as they were "
                "typed, and at the unit on the display, before anything in the profile is changed"
            )
        case "gain":
            return (
                "the profile's unit or radius was changed since a test mass did not agree, and one mass alone "
                f"would fit its own slip: {ANOTHER}, with the units of its mass and its radius"
            )
    if not (found.radius_mm or found.calibrate):
        return f"{times}: {_scale(found, told_in)}"
    at = f"{found.off:.3g} times the radius that was typed"
    looks = f", as where what was hung sits at {at}: measure that first, and if it does not"
    return f"{times}{looks}: {_scale(found, told_in)}"


def _scale(found: Finding, told_in: ToldIn) -> str:
    if found.unit is not None:
        radius = f" and its radius, about {told_in.measured(found.radius_mm)}" if found.radius_mm else ""
        return f'in [spin] set unit = "{found.unit}"{radius}'
    if found.radius_mm:
        is_bare = told_in.length == "mm"  # as a profile has it without a unit
        return (
            f"in [spin] set radius = {found.radius_mm:.2f}"
            if is_bare
            else (f'in [spin] set radius = "{told_in.measured(found.radius_mm)}"')
        )
    if found.calibrate:
        return "calibrate the station"
    return f"look at mass and radius as they were typed; then {ANOTHER}, before anything in the profile is changed"


# What the hand may have done, which the station shows just so: looked at before the profile is touched.
HUNG_TURNED = (
    ", as where what was hung sits so far off, or was counted from another throw: look at that first, and if it "
    "sits where it was typed"
)
HUNG_MIRRORED = (
    ", as where the angles of what was hung were counted against the rotation: look at that first, and if they "
    "were not"
)


def _angle(found: Finding) -> str:
    too = "" if found.at_deg is None else f"put the mass at the crank's {found.at_deg:.0f}° too"
    said = "the test masses contradict each other: see what was put where, cancel what was wrong, spin again"
    match found.kind:
        case "sense":
            sense = "with" if found.with_rotation else "against"
            said = f'the angle is mirrored{HUNG_MIRRORED}: in [spin] set sense = "{sense}"'
            if found.zero_deg is not None:
                said += f" and zero = {found.zero_deg:.1f}, which is off, too"
            elif found.off:
                said += f"; a zero off by {found.off:.0f}° would look the same, so {too}"
        case "zero":
            said = f"the zero is off by {found.off:.1f}°{HUNG_TURNED}: in [spin] set zero = {found.zero_deg:.1f}"
        case "either":
            said = (
                f"the angle is off by {found.off:.1f}°: with the sense as it is, in [spin] set zero = "
                f"{found.zero_deg:.1f}; a wrong sense and another zero would look the same, so {too}"
            )
        case "unsure":
            said = (
                "at this angle a mirrored reading looks like a true one, so the sense is not proved: put the mass "
                f"at the crank's {found.at_deg:.0f}° and spin again"
            )
        case "alone":
            said = f"sense or zero were changed, and a wrong sense with another zero would look the same, so {too}"
    return said


def never_inside(state: Balancing, show: Display) -> list[str]:
    """Each plane whose readings are never sure enough to say inside, and what would help."""
    unit = show.unbalance_unit
    return [
        f"{plane} plane: the station is sure to ± {show.unbalance(least, least)} {unit} at best, "
        f"{_surer(state, at)}"
        for at, (plane, least) in enumerate(zip(PLANES, state.least_expanded_gmm, strict=True))
        if least >= state.limits_gmm[at]
    ]


def _surer(state: Balancing, at: int) -> str:
    if state.floor_expanded_gmm[at] >= state.limits_gmm[at]:
        return (
            "so it can never say inside; its floor in the profile is above the tolerance: another station, or a "
            "coarser grade"
        )
    return "as far as its runs tell so far; spin more runs"


def not_proved(state: Balancing) -> str:
    """Who went on without a test mass, and why; empty where none is missed, or nobody did."""
    if state.unproved is None:
        return ""
    record = state.unproved
    did = "signs" if state.unproved.to == SIGN else "drills"
    return (
        f"NOT PROVED by a test mass: {record.by} {did} without one, {when(record.at)} UTC, record {record.id}: "
        f"{record.why}"
    )


def of_the_proof(state: Balancing, told_in: ToldIn) -> list[str]:
    """Why the last spin is believed, or is not: other spins, and the test mass."""
    found = []
    if state.last is not None and not state.is_edited and state.agreeing and not state.unlike:
        found.append(f"Spin {state.last.number} agrees with spin {state.agreeing.number}, so it counts")
    if said := not_proved(state):
        found.append(said)
    if state.tested is not None:
        found += [f"By the last test mass {finding(one, told_in)}" for one in state.tested[1]]
    return found


def for_these_parts(state: Balancing) -> str:
    """That the crank goes with these parts alone, and who says so; empty where it is good for its bobweight."""
    record = state.for_these_parts
    if record is None:
        return ""
    return (
        "The holes aim at the sum, so this crank is right for these parts in these cylinders only, says "
        f"{shown(record.by)}, {when(record.at)} UTC, record {record.id}: {record.why}"
    )


def weighed_bobweights(state: Balancing, show: Display) -> str:
    """What hung as it was weighed; empty where nothing was."""
    weighed = [
        f"throw {one.throw.throw.name} {show.as_given(one.record.grams)}" for one in state.hung if one.record
    ]
    return f"Bobweights as weighed: {', '.join(weighed)}" if weighed else ""


def minds_of_the_bobweights(state: Balancing, show: Display) -> list[str]:
    """What to mind of what hung at the last spin: what nobody weighed, and what it costs; what is off by more
    than a step of the stack; that how far loads scatter is only assumed."""
    step_g = state.profile.step_g or state.job.scale.resolution_g
    weighed = {one.throw.throw.name: one.record for one in state.hung if one.record}
    found = [off_by_more(one, show) for one in built.off_by_more(state.worked, weighed, step_g)]
    if names := state.unweighed:
        sure_g = max(one.nominal_g for one in state.hung)
        which = f"bobweight{'s' if len(names) > 1 else ''} of throw{'s' if len(names) > 1 else ''}"
        found.append(
            f"Not weighed, clamp and all: the {which} {', '.join(names)}; what was asked for counts, ± "
            f"{show.mass(sure_g, finer=1)} {show.mass_unit} each, and a wrong plate would not be seen"
        )
    ways = {way for one in state.in_engine or () if one.is_by_what_is_assumed for way in one.assumed}
    if ways:
        found.append(result_words.scatter_assumed(ways).removesuffix("."))
    return found


def off_by_more(one: built.Off, show: Display) -> str:
    """That a bobweight is not what was asked for."""
    side = "over" if one.off_g > 0 else "under"
    return (
        f"The bobweight of throw {one.throw} weighs {show.as_given(one.grams)}, {show.mass(abs(one.off_g))} "
        f"{show.mass_unit} {side} what is asked for: the sum counts it as it is; or mend it, weigh it again, "
        "and spin again"
    )


def in_engine(state: Balancing) -> str:
    """What the sum is made of."""
    has_off = bool(state.last and state.members.off(state.last))
    if not state.job.has_parts:
        return OF_THE_GIVEN_WITH_MEMBERS if has_off else OF_THE_GIVEN
    return IN_ENGINE_WITH_MEMBERS if has_off else IN_ENGINE


def not_placed(state: Balancing) -> str:
    """What the sum rests on that the job does not have."""
    lacking = f"{listed(state.not_placed)} in [engine] of {state.called}"
    return (
        f"No sum is told: what a bobweight that is off brings to the planes rests on {lacking}; the spin alone is "
        "not signed"
    )


def mounted(state: Balancing, spin: Spin) -> str:
    """Which members were on at a spin, those among them that came off for good since; empty for a crank without
    any."""
    on, off = spin.record.members, state.members.off(spin)
    if not (on or off):
        return ""
    return f"on the crank: {', '.join(on) or 'none'}" + (f"; off: {', '.join(off)}" if off else "")


def next_to_mount(state: Balancing) -> str:
    """Which member to mount next, once what is on is inside; empty where all are on, or it is not."""
    if state.last is None or not (mounting := to_mount(state)):
        return ""
    name = state.members.off(state.last)[0]
    where = f"Or mount {name} next, where its keyway or dowel is"
    return f"{where}, and spin with it on, nothing else done: {mounting}"


def mended_on(state: Balancing) -> str:
    """That what is left is mended on what was mounted last; empty where it is not."""
    if state.plan is None or not state.mends or any(h.member not in state.mends for h in state.plan.operations):
        return ""
    return f"Without {' and '.join(state.mends)} it was inside: what is left is mended there"


def members(state: Balancing, show: Display) -> list[str]:
    """What each member brings, and what the crank must read without those that have an offset and with them."""
    crank = state.job.crank
    if crank is None or not state.members.must_be_told:
        return []
    found = [
        f"{one.name}: offset {show.unbalance(abs(one.offset.gmm), one.offset.expanded_gmm)} ± "
        f"{show.unbalance(one.offset.expanded_gmm, one.offset.expanded_gmm)} {show.unbalance_unit} at "
        f"{angle(degrees(one.offset.gmm))} from throw 1 ({SOURCES[one.offset.source]})"
        for one in crank.externals
        if one.offset
    ]
    names = [one.name for one in crank.externals if one.offset]
    must = bare(crank, state.planes_mm, names)
    told = " and ".join(f"{one} {plane}" for one, plane in zip(reads(state, must), PLANES, strict=False))
    return [
        *found,
        f"Without {' and '.join(names)} a true crank reads {told or 'the reverse'}; with all on, nothing",
    ]


def sum_is_inside(state: Balancing) -> bool:
    """Whether what turns in the engine is inside, though the spin is not, and holes aim at that."""
    is_inside = {one.verdict for one in state.in_engine or ()} == {"inside"}
    return state.job.has_parts and state.for_these_parts is None and is_inside


def read_before(state: Balancing, spin: Spin, told_in: ToldIn) -> str:
    """That a spin was read by another profile, and how, or is of the crank as it was; empty where it counts."""
    if state.is_fresh(spin):
        return ""
    if spin.id in state.as_it_was:
        return "of the crank as it was, before its [crank] was edited in the job; it no longer counts"
    if spin.is_read_anew:
        return f"read anew, as its profile had been wrong ({spin.basis.told(told_in)}); it no longer counts"
    return f"read by the profile as it was then ({spin.basis.told(told_in)}); it no longer counts"


def said_of(edit: Edit, told_in: ToldIn) -> str:
    """What somebody said of an edit of the profile."""
    record = edit.record
    what = "the profile had been wrong" if edit.is_mend else "the station was changed"
    changed = what_changed(edit.was, edit.now, told_in)
    return f"{what} ({changed}), says {shown(record.by)}, {when(record.at)} UTC, record {record.id}: {record.why}"


def edited_since_signed(state: Balancing, told_in: ToldIn) -> tuple[str, ...]:
    """What the profile says otherwise today than when the crank was signed; nothing where it says the same."""
    return changes(state.instrument, state.today.instrument, told_in) if state.today else ()


def signed_by_its_day(state: Balancing, told_in: ToldIn) -> str:
    """That the profile was edited since a crank was signed, which holds by the profile of that day; empty where it
    was not."""
    edited = edited_since_signed(state, told_in)
    return f"Signed by the station's profile of that day; edited since: {', '.join(edited)}." if edited else ""


def if_it_was_wrong(state: Balancing) -> str:
    """What to do where the profile that a crank was signed by had been wrong, and nobody said yet what its edit
    was; empty where there is nothing to say."""
    if state.today is None or not state.today.unsaid:
        return ""
    return f"Had it been wrong when it was signed: {what_the_edit_was(state.today)[0].command}"


def learned(state: Balancing) -> str:
    """What the steps so far taught; empty where they taught nothing."""
    if state.answers.response == NEUTRAL:
        return ""
    said = [
        f"{plane} reads {abs(one):.2f} times what the holes say, {(degrees(one) + 180) % 360 - 180:+.1f}°"
        for plane, one in zip(PLANES, state.answers.response, strict=True)
    ]
    return f"Learned from the holes so far: {', '.join(said)}"


def signed_before(state: Balancing, told_in: ToldIn) -> str:
    """That it was signed, and why what was signed is no more; empty where that is not so."""
    return found.said(told_in) if (found := may_go.no_longer(state)) else ""


def ends_what_is_signed(state: Balancing) -> str:
    """That what is about to be recorded ends a signature; empty where none counts."""
    if state.signed is None or not may_go.holds(state):
        return ""
    by, at = shown(state.signed.by), when(state.signed.at)
    return f"{by} signed this crank, {at} UTC: recorded, this ends that signature; it then has to be signed again."


class Operation(NamedTuple):
    """One of a plan: as it is, or is to be. record: that it is done, None while it is not."""

    number: int
    hole: Hole
    record: str | None

    @property
    def is_done(self) -> bool:
        return self.record is not None


def operations(state: Balancing) -> list[Operation]:
    """The plan's operations; of one that is halted only what is done, of one that is withheld none."""
    if state.plan is None or may_go.withheld(state):
        return []
    found = []
    for number, one in enumerate(state.plan.operations, start=1):
        done = state.done(one)
        if done is not None:
            found.append(Operation(number, done.hole, done.record.id))
        elif not state.halted:
            found.append(Operation(number, one, None))
    return found


def is_otherwise(state: Balancing) -> bool:
    """Whether anything that is done of a plan is not as deep as it was planned."""
    planned = state.plan.operations if state.plan else ()
    return any(round(one.hole.depth_mm - planned[one.number - 1].depth_mm, 3) for one in operations(state))


def waits(state: Balancing) -> bool:
    """Whether the rest of a plan is better not done before another spin, something of it not being as planned."""
    return bool(state.to_do) and is_otherwise(state)


def unweighed_slugs(state: Balancing) -> str:
    """That slugs of the plan were recorded as their table has them, and how to tell what they weigh; empty where
    none was."""
    planned = state.plan.operations if state.plan else ()
    found = [one for one in operations(state) if one.is_done and one.hole.kind == "slug"]
    found = [one for one in found if round(one.hole.mass_g - planned[one.number - 1].mass_g, 5) == 0]
    if not found:
        return ""
    numbers = ", ".join(str(one.number) for one in found)
    back = "; ".join(f"truethrow strike {state.called} {one.record}" for one in found)
    again = command(
        state, "holes", "--done" + "".join(f" {one.number}=MASS{state.told_in.scale}" for one in found)
    )
    return (
        f"Slug {numbers} was not weighed: what its table says counts. If the scale says otherwise, take it back "
        f"and record it as weighed: {back}; then: {again}"
    )


def throws_of(found: Stack) -> str:
    return f"throw{'s' if len(found.throws) > 1 else ''} {', '.join(found.throws)}"


def unmet(found: Stack, inventory: Inventory, show: Display) -> str:
    """What is said of a stack that the shop's pieces cannot make."""
    near = [show.masses(g, 1) for g in (found.below_g, found.above_g) if g is not None]
    said = f"cannot be met within {show.told_in.given(inventory.step_g)}; nearest: {' and '.join(near) or 'none'}"
    if found.short:
        more = " and ".join(f"{count} more of {name}" for name, count in found.short.items())
        return f"{said}; short: {more} would make it"
    if found.finer_g:
        finer = f"one of {show.told_in.about(found.finer_g)} more on each half would make it"
        return f"{said}; no piece is fine enough: {finer}"
    return said


def lacking(found: Stacks) -> list[str]:
    """What more it would take to make all stacks at once."""
    return [f"{count} more of {name}" for name, count in found.lacking.items()]


def half(counts: Mapping[str, int]) -> str:
    """What goes on one half of a clamp: ``2 × plate 200, 1 × shim 5``."""
    return ", ".join(f"{count} × {name}" for name, count in counts.items()) or "nothing"


def degrees(value: complex) -> float:
    """The angle of a vector, 0 of one that is nothing."""
    return Measured(value, 0.0, 0.0).angle_deg if value else 0.0
