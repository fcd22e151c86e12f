"""Holes and the sum that is signed, worked by hand: each line out of its text alone."""

import math

import pytest
from added_by_hand import adds_up, is_sum, off_by

from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction.room import wall_left_mm
from truethrow.balance.crank import holes
from truethrow.balance.crank.crank import Arc
from truethrow.balance.crank.holes import Hole
from truethrow.balance.demo import story
from truethrow.balance.station import balancing
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words.station_working_words import AtStation, names, working


@pytest.fixture(scope="module")
def states(tmp_path_factory):
    """The demo's job at each stage of its story."""
    folder = tmp_path_factory.mktemp("story")
    return {stage: balancing.load(job, station) for stage, job, station in story.told(folder)}


def added_up(made):
    assert [str(line) for line in made.lines if is_sum(line) and not adds_up(line)] == []
    return {line.what: line for line in made.lines}


@pytest.mark.parametrize("show", [None, "inch"])
def test_each_hole_of_the_plan_takes_what_the_plan_says_and_leaves_the_wall_it_says(states, show):
    state = states["2-spun"]
    display = Display.of(state.job, show)
    one_gmm, one_mm = (25.4, 25.4) if show else (1.0, 1.0)
    assert len(state.plan.operations) > 1
    for number, hole in enumerate(state.plan.operations, start=1):
        told = added_up(working(state, f"hole {number}", display))
        takes = told["the hole takes"].figure
        assert takes.unit == ("g·in" if show else "g·mm")
        assert float(takes.value) * one_gmm == pytest.approx(hole.removes_gmm, abs=1e-3)
        assert float(told["metal off"].figure.value) == pytest.approx(hole.mass_g, abs=1e-3)
        both = [float(told[f"it takes from the {plane} plane"].figure.value) for plane in ("front", "rear")]
        assert sum(both) * one_gmm == pytest.approx(hole.removes_gmm, abs=1e-3)
        least = next(one for one in state.plan.cautions if one.operation == hole).wall_mm
        assert float(told["least wall"].figure.value) * one_mm == pytest.approx(least, abs=1e-3)
        assert float(told["its angle, from throw 1 with rotation"].figure.value) == hole.angle_deg


@pytest.mark.parametrize("show", [None, "inch"])
def test_a_hand_that_has_the_printed_digits_alone_gets_the_printed_answer(states, show):
    """With nothing in the place of …: within two of the last digit."""
    state = states["2-spun"]
    display = Display.of(state.job, show)
    asked = [f"hole {n}" for n in range(1, 1 + len(state.plan.operations))] + ["sum front", "sum rear"]
    lines = [line for one in asked for line in working(state, one, display).lines if is_sum(line)]
    assert len(lines) > 40
    assert [str(line) for line in lines if off_by(line) > 2] == []


def test_what_is_done_is_asked_for_by_its_record(states):
    state = states["3-signed"]
    for one in state.drilled:
        told = added_up(working(state, f"hole {one.id}", Display.of(state.job)))
        assert float(told["the hole takes"].figure.value) == pytest.approx(one.hole.removes_gmm, abs=1e-3)
        assert one.id in told["drill"].comes_from


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("plane", ["front", "rear"])
@pytest.mark.parametrize("stage", ["2-spun", "3-signed"])
def test_the_sum_is_the_one_that_is_signed(states, stage, plane, show):
    state = states[stage]
    found = state.in_engine[("front", "rear").index(plane)]
    one_gmm = 25.4 if show else 1.0
    made = working(state, f"sum {plane}", Display.of(state.job, show))
    told = added_up(made)
    assert float(told["unbalance"].figure.value) * one_gmm == pytest.approx(found.whole.amount_gmm, abs=1e-4)
    assert float(told["at"].figure.value) == pytest.approx(found.whole.angle_deg, abs=1e-6)
    assert float(told["±"].figure.value) * one_gmm == pytest.approx(found.whole.expanded_gmm, abs=1e-4)
    limit = told[f"allowed in the {plane} plane"].figure
    assert float(limit.value) * one_gmm == pytest.approx(found.limit_gmm, abs=1e-4)
    assert made.lines[-1].comes_from.startswith(found.verdict)
    if stage == "3-signed":
        signed = next(one for one in state.signed.left if one.plane == plane)
        assert float(told["unbalance"].figure.value) * one_gmm == pytest.approx(signed.unbalance_gmm, abs=1e-4)


def test_of_several_runs_the_mean_is_worked(states, tmp_path):
    """The spin of the demo's story has one run; a station shows three here, and counts the other way."""
    from truethrow.balance.station.spin import Instrument, PlaneReading, Runs, averages

    state = states["3-signed"]
    runs = tuple(
        (PlaneReading(front, "203.5"), PlaneReading("1.2", degrees))
        for front, degrees in (("6.1", "10"), ("6.05", "11"), ("6.2", "9"))
    )
    instrument = Instrument("g", 100.0, False, zero_deg=12.0)
    typed = Runs(runs, "g", 100.0)
    mean = averages(typed, instrument)[1].vector_gmm
    spin = state.last._replace(typed=typed)
    made = AtStation(state, Display.of(state.job))
    made.state = type("Spun", (), {"last": spin, "instrument": instrument, "called": "my.toml"})()
    lines = list(made._spin(state.in_engine[1]))
    assert [str(line) for line in lines if is_sum(line) and not adds_up(line)] == []
    told = {line.what: float(line.figure.value) for line in lines}
    assert complex(told["spin, up"], told["spin, across"]) == pytest.approx(mean, abs=1e-4)


def operation(kind, **figures):
    """An operation on the demo's second counterweight, as the formulas have it."""
    density = 7.85e-3
    given = {"diameter_mm": 12.0, "depth_mm": 9.0, "radius_mm": 70.0, "point_deg": 118.0, "arc_deg": 0.0} | figures
    thick = 24.0
    match kind:
        case "axial":
            took = holes.axial_hole(density, given["radius_mm"], 12.0, given["depth_mm"], 118.0, thick)
        case "slug":
            took = holes.weighed_slug(density, given["radius_mm"], 12.0, 24.0, 46.2)
            given |= {"depth_mm": 24.0, "point_deg": 180.0}
        case "grind":
            took = holes.ground_arc(density, 90.0, thick, 20.0, 2.0)
            given |= {"radius_mm": 90.0, "depth_mm": 2.0, "arc_deg": 20.0, "diameter_mm": 0.0}
        case _:
            took = holes.moved_mass(4.2 if kind == "took" else -4.2, given["radius_mm"])
    return Hole("2 front", kind, 270.0, z_mm=90.0, removes_gmm=took.unbalance_gmm, mass_g=took.mass_g, **given)


@pytest.mark.parametrize(
    ("kind", "figures"),
    [("axial", {}), ("axial", {"depth_mm": 22.0}), ("slug", {}), ("grind", {}), ("took", {}), ("added", {})],
)
def test_every_kind_of_operation_adds_up(states, kind, figures):
    state, hole = states["3-signed"], operation(kind, **figures)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, state.job.crank, "test"))
    takes = told["it takes from the front plane"].figure.value + told["it takes from the rear plane"].figure.value
    assert float(takes) == pytest.approx(hole.removes_gmm, abs=1e-2)
    if kind in ("axial", "slug"):
        assert float(told["least wall"].figure.value) == pytest.approx(
            wall_left_mm(state.job.crank, hole), abs=1e-3
        )


def test_the_end_of_an_arc_is_a_wall(states):
    """By hand: 60 mm · sin 14° − 6 mm."""
    state = states["3-signed"]
    hole = operation("axial", radius_mm=60.0)._replace(angle_deg=224.0)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, state.job.crank, "test"))
    wall = float(told["wall to the end of the arc"].figure.value)
    assert wall == pytest.approx(60 * math.sin(math.radians(14)) - 6, abs=1e-4)


def test_what_is_drilled_has_its_rim_and_its_drill_by_its_record(states):
    """Of a hole of the plan they are the job's and the profile's."""
    done, planned = states["3-signed"], states["2-spun"]
    for one in done.drilled:
        told = added_up(working(done, f"hole {one.id}", Display.of(done.job)))
        assert told["rim"].comes_from == f"log, record {one.id}"
        assert not any("station profile" in line.comes_from for line in told.values())
    told = added_up(working(planned, "hole 1", Display.of(planned.job)))
    member = planned.plan.operations[0].member
    assert told["rim"].comes_from == f"job file, [[crank.counterweight]] {member}, outer_radius"


def damper(states, **figures):
    """The demo's crank with a damper in front of it, of its own metal, and a hole in that."""
    state = states["3-signed"]
    like = state.job.crank.members[0]
    given = {"density_g_mm3": 7.2e-3, "outer_mm": math.inf, "pitch_mm": 70.0, "thickness_mm": 30.0} | figures
    made = like._replace(name="damper", z_mm=-90.0, arcs=(Arc(0.0, 360.0),), inner_mm=0.0, holes=(), **given)
    crank = state.job.crank._replace(members=(made, *state.job.crank.members))
    took = holes.axial_hole(made.density_g_mm3, 70.0, 12.0, 9.0, 118.0, 30.0)
    hole = Hole("damper", "axial", 270.0, 70.0, -80.0, 12.0, 9.0, took.unbalance_gmm, took.mass_g, 118.0)
    return state, crank, hole


def test_a_dampers_density_is_its_own(states):
    state, crank, hole = damper(states)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, crank, "test"))
    assert told["density"].comes_from == "job file, [[crank.external]] damper, density"
    assert "wall to the rim" not in told  # nobody says where it is
    assert float(told["wall behind its tip"].figure.value) == pytest.approx(30 - hole.tip_mm, abs=1e-3)
    of_the_crank = state.job.crank.members[0].density_g_mm3
    state, crank, hole = damper(states, density_g_mm3=of_the_crank)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, crank, "test"))
    assert "else: job file, [crank] density" in told["density"].comes_from


def test_the_walls_of_a_bore_have_their_operands(states):
    """By hand: the rim less the radius less half the bore; the thickness less the tip."""
    state, hole = states["3-signed"], operation("axial")
    member = state.job.crank.member(hole.member)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, state.job.crank, "test"))
    assert float(told["wall to the rim"].figure.value) == pytest.approx(member.outer_mm - 70 - 6, abs=1e-3)
    behind = float(told["wall behind its tip"].figure.value)
    assert behind == pytest.approx(member.thickness_mm - hole.tip_mm, abs=1e-3)
    through = operation("axial", depth_mm=member.thickness_mm)
    told = added_up(AtStation(state, Display.of(state.job)).hole(through, state.job.crank, "test"))
    assert "wall behind its tip" not in told


@pytest.mark.parametrize(("wall_mm", "said"), [(3.0, "; without one, 3 mm"), (4.0, "job file, [crank] wall")])
def test_a_least_wall_that_nobody_asked_for_is_said_to_be_so(states, wall_mm, said):
    state, hole = states["3-signed"], operation("axial")
    crank = state.job.crank._replace(wall_mm=wall_mm)
    told = added_up(AtStation(state, Display.of(state.job)).hole(hole, crank, "test"))
    assert said in told["least wall"].comes_from
    assert ("without one" in told["least wall"].comes_from) == (wall_mm == 3.0)


def test_what_there_is_none_of_is_told_with_what_there_is(states):
    state = states["3-signed"]
    assert len(names(state)) == 6
    with pytest.raises(BadInput, match="sum front, sum rear"):
        working(state, "hole 9", Display.of(state.job))
    weighed = states["1-weighed"]
    assert names(weighed) == []
    with pytest.raises(BadInput, match="no spin yet"):
        working(weighed, "sum front", Display.of(weighed.job))
    with pytest.raises(BadInput, match="truethrow holes"):
        working(weighed, "hole 1", Display.of(weighed.job))
