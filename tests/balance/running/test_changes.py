"""What somebody asks about, against the same job with its file edited by hand, and the crank against moments."""

import cmath
import math

import invented
import pytest
from cranks import v8_weights
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.crank import turning
from truethrow.balance.result.work import work
from truethrow.balance.running import changes as asked

DAMPER = {
    "name": "damper",
    "at": -80.0,
    "radius": 70.0,
    "thickness": 22.0,
    "keyway": 45.0,
    "offset": {"unbalance": 900.0, "angle": 30.0, "uncertainty": 30.0},
}
NEW = DAMPER | {
    "name": "new damper",
    "at": -84.0,
    "offset": {"unbalance": 600.0, "angle": -15.0, "uncertainty": 30.0},
    "replaces": "damper",
}
CRANK = {"counterweight": v8_weights(), "external": [DAMPER]}
KINDS = tuple(invented.PARTS)
TENTHS = st.integers(-20, 20).filter(bool)


def job(parts=None, **tables):
    return invented.build(invented.document(parts, **tables))


def changed(made, **typed):
    return asked.changed(made, asked.read(made, **typed))


def figures(made):
    """All that the parts tell, in plain numbers."""
    found = work(made)
    weights = found.bobweights
    return (
        [(t.bobweight.value_g, t.hung_g, found.certainty.expanded_g(t.bobweight)) for t in weights.throws],
        [(c.rotating.value_g, c.reciprocating.value_g) for c in weights.cylinders],
        found.left and [(p.vector_gmm, p.expanded_gmm, p.verdict) for p in found.left.planes],
        [(s.quantity, s.spread_g, s.expanded_g, s.verdict) for s in found.spreads],
        [(s.check, s.cylinder, s.kind) for s in found.slips],
    )


class TestAsIfTheFileWereEdited:
    def test_share_and_oil(self):
        edited = job(bobweight={"share": 0.48, "oil": 6.0})
        assert figures(changed(job(), share="0.48", oil="6 g")) == figures(edited)

    def test_one_part(self):
        parts = invented.cylinders(piston={3: 512.0})
        assert figures(changed(job(), parts=["piston 3 = 512"])) == figures(job(parts))

    def test_all_of_a_kind_lighter(self):
        start = invented.cylinders(piston={3: 540.1, 5: 537.2})
        lighter = invented.cylinders(piston=dict.fromkeys(range(1, 9), 526.4) | {3: 528.1, 5: 525.2})
        for typed in ("piston -12", "piston -12g", "piston - 12 g", "piston −12", "PISTON -0.012kg"):
            assert figures(changed(job(start), parts=[typed])) == figures(job(lighter)), typed

    def test_a_rod_replaced_and_what_was_weighed_in_one_go_goes_with_the_old_one(self):
        start = invented.cylinders(rod_total=dict.fromkeys(range(1, 9), 623.5))
        new = invented.cylinders(
            rod_total={n: 623.5 for n in range(1, 9) if n != 7}, big_end={7: 455.0}, small_end={7: 170.0}
        )
        assert figures(changed(job(start), parts=["rod 7 = 455 + 170"])) == figures(job(new))

    def test_one_figure_for_every_cylinder_stays_one(self):
        every = {"rings": 41.0, "locks": 3.2}
        rest = [{k: v for k, v in one.items() if k not in every} for one in invented.cylinders()]
        start = job(rest, every_cylinder=every, scale={"resolution": 0.1, "repeatability": None})
        edited = job(
            rest, every_cylinder=every | {"rings": 39.0}, scale={"resolution": 0.1, "repeatability": None}
        )
        for typed in ("rings -2", "rings = 39"):
            assert figures(changed(start, parts=[typed])) == figures(edited)

    def test_several_count_in_their_order(self):
        parts = invented.cylinders(piston=dict.fromkeys(range(1, 9), 526.4) | {3: 530.0})
        edited = job(parts, bobweight={"share": 0.5, "oil": 0.0})
        typed = ["piston -12", "piston 3 = 530"]
        assert figures(changed(job(), parts=typed, oil="0")) == figures(edited)

    def test_an_inch_jobs_bare_numbers_are_ounces(self):
        scale = {"resolution": "0.1 g"}
        inch = {"id": "i", "mass_unit": "oz", "length_unit": "in"}
        in_grams = [{k: v if k == "number" else f"{v} g" for k, v in p.items()} for p in invented.cylinders()]
        tables = {"job": inch, "scale": scale, "engine": invented.V8 | MILLIMETRES, "bobweight": {"oil": "4 g"}}
        made = invented.build(invented.document(in_grams, **tables))
        found = changed(made, parts=["piston 3 -0.5", "pin 2 = 4oz"])
        assert found.parts[3]["piston"].mean_g == pytest.approx(538.4 - 0.5 * 28.349523125)
        assert found.parts[2]["pin"].mean_g == pytest.approx(4 * 28.349523125)

    @given(
        share=st.integers(0, 100),
        oil=st.integers(0, 200),
        moved=st.lists(st.tuples(st.sampled_from(KINDS), st.integers(1, 8), TENTHS), max_size=5),
    )
    def test_whatever_is_changed(self, share, oil, moved):
        by_hand = {kind: dict.fromkeys(range(1, 9), grams) for kind, grams in invented.PARTS.items()}
        told = []
        for kind, number, tenths in moved:
            would_g = round(by_hand[kind][number] + tenths / 10, 1)
            if would_g >= 0.1:  # what weighs nothing is refused, by the file and by what is typed
                by_hand[kind][number] = would_g
                told.append((kind, number, tenths))
        edited = job(invented.cylinders(**by_hand), bobweight={"share": share / 100, "oil": oil / 10})
        typed = [f"{kind.replace('_', ' ')} {number} {tenths / 10:+}" for kind, number, tenths in told]
        found = changed(job(), share=str(share / 100), oil=str(oil / 10), parts=typed)
        assert figures(found) == figures(edited)


MILLIMETRES = {key: f"{invented.V8[key]} mm" for key in ("stroke", "bore", "rod_length", "cylinder_spacing")}


def test_a_part_is_called_by_its_mark():
    parts = invented.cylinders()
    for one in parts:
        one["labels"] = {"piston": f"P-{one['number'] + 20}", "rod": f"R{one['number'] + 20}"}
    made = job(parts)
    assert changed(made, parts=["piston P-23 = 512"]).parts[3]["piston"].mean_g == 512.0
    assert changed(made, parts=["piston P-23 -3"]).parts[3]["piston"].mean_g == 535.4
    assert changed(made, parts=["big end R25 +1.5"]).parts[5]["big_end"].mean_g == 453.8


def test_the_job_that_was_asked_about_is_not_touched_and_what_comes_out_has_no_digest():
    made = job(invented.cylinders())
    before = figures(made), made.digest, repr(made)
    found = changed(made, share="0.4", parts=["piston -12"])
    assert (figures(made), made.digest, repr(made)) == before
    assert made.digest
    assert not found.digest


def test_a_part_that_was_weighed_three_times_keeps_what_that_tells():
    parts = invented.cylinders(piston={3: [538.1, 538.3, 538.2]})
    lighter = invented.cylinders(piston={3: [526.1, 526.3, 526.2]})
    scale = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
    assert figures(changed(job(parts, scale=scale), parts=["piston 3 -12"])) == figures(job(lighter, scale=scale))


class TestTheCrank:
    def test_it_is_turned_as_the_lathe_turns_it(self):
        made = job(crank=CRANK)
        found = asked.changed_crank(made.crank, asked.read(made, turned_to="86mm", counterweights=["1a"]))
        turned = turning.turn(made.crank, 86.0, ("1a",))
        assert found.turned == turned
        assert found.crank == turning.after(made.crank, turned)
        assert sum(act for act, _ in found.acts) == pytest.approx(turned[0].change_gmm)

    def test_another_damper_brings_its_own_less_the_old_ones(self):
        """By hand, from throw 1: the keyway is at 45 degrees, the old offset 30 on from it."""
        made = job(crank=CRANK)
        found = asked.changed_crank(made.crank, asked.read(made, members=["damper = 20g·in at -15"]))
        brought = cmath.rect(508.0, math.radians(30)) - cmath.rect(900.0, math.radians(75))
        assert found.acts == (pytest.approx((brought, -80.0)),)
        assert found.crank.member("damper").offset.gmm == pytest.approx(cmath.rect(508.0, math.radians(30)))
        neutral = asked.changed_crank(made.crank, asked.read(made, members=["damper = 0"]))
        assert neutral.acts[0][0] == pytest.approx(-cmath.rect(900.0, math.radians(75)))

    def test_a_bare_number_is_told_with_the_unit_that_it_is_taken_in(self):
        """In an inch shop 0.7 may be meant as oz·in; taken is what all its documents take."""
        made = job(crank=CRANK)
        found = asked.read(
            made, oil="5", turned_to="88", members=["damper = 0.7 at 30"], counterweights=["1 front"]
        )
        assert found.said == ("oil 5 g", "1 front turned to 88 mm", "damper = 0.7 g·mm at 30")
        typed = asked.read(made, oil="0.2 oz", share="0.48", members=["damper = 1.2 oz in at 30"])
        assert typed.said == ("share 0.48", "oil 0.2 oz", "damper = 1.2 oz in at 30")

    def test_a_hole_that_was_drilled_into_the_old_one_goes_with_it(self):
        table = DAMPER | {"hole": [{"kind": "axial", "angle": 10.0, "diameter": 10.0, "depth": 8.0}]}
        made = job(crank=CRANK | {"external": [table]})
        hole = made.crank.member("damper").holes[0]
        change = asked.read(made, members=["damper = 900 at 30"])
        found = asked.changed_crank(made.crank, change, [hole])
        assert sum(act for act, _ in found.acts) == pytest.approx(-hole.change_gmm)
        assert found.crank.member("damper").holes == ()
        as_it_came = asked.changed_crank(made.crank, change)
        assert sum(act for act, _ in as_it_came.acts) == pytest.approx(0)

    def test_a_new_member_takes_the_place_of_the_one_that_it_replaces(self):
        """By moments, independent of what is asked: off comes 900 at 45 + 30 and a hole that was drilled, on goes
        600 at 45 - 15, each at its own place."""
        made = job(crank=CRANK | {"external": [DAMPER, NEW]})
        drilled = DAMPER | {"hole": [{"kind": "axial", "angle": 10.0, "diameter": 10.0, "depth": 8.0}]}
        hole = job(crank=CRANK | {"external": [drilled]}).crank.member("damper").holes[0]
        found = asked.changed_crank(made.crank, asked.read(made, members=["new damper"]), [hole])
        whole = [
            (-cmath.rect(900.0, math.radians(75)), -80.0),
            (cmath.rect(600.0, math.radians(30)), -84.0),
            (-hole.change_gmm, hole.z_mm),
        ]
        for moment in (lambda g, _: g, lambda g, z: g * z):
            own = sum(moment(*act) for act in found.acts)
            assert own == pytest.approx(sum(moment(*act) for act in whole))
        names = [one.name for one in found.crank.externals]
        assert (names, dict(found.swapped)) == (["new damper"], {"damper": "new damper"})
        assert found.crank.member("new damper").replaces == ""

    def test_a_member_is_changed_once_and_both_offsets_of_a_swap_are_known(self):
        made = job(crank=CRANK | {"external": [DAMPER, NEW]})
        with pytest.raises(BadInput, match="damper is changed twice"):
            asked.read(made, members=["new damper", "damper = 0"])
        for tables, said in (
            ([DAMPER, {k: v for k, v in NEW.items() if k != "offset"}], "external new damper, offset: missing"),
            ([{k: v for k, v in DAMPER.items() if k != "offset"}, NEW], "external damper, offset: missing"),
        ):
            with pytest.raises(BadInput, match=said):
                asked.read(job(crank=CRANK | {"external": tables}), members=["new damper"])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "nothing is changed; say what: --share, --oil, --part, --turned-to, --member"),
        ({"share": "1.2"}, "--share: 1.2; allowed: a number, 0 to 1"),
        ({"share": "nan"}, "--share: nan; allowed: a number, 0 to 1"),
        ({"oil": "-1"}, "--oil: -1 is out of reach; allowed: 0 to 50000 g"),
        ({"oil": "4 mm"}, "--oil"),
        ({"oil": "900"}, "--oil: 900 g; allowed: 0 to"),
        ({"parts": ["piston"]}, "--part: 'piston' says no part and mass; allowed: such as 'piston -12'"),
        ({"parts": ["piston 12"]}, "says no part and mass"),
        ({"parts": ["pistom -12"]}, "'pistom' is no part of this engine; allowed: piston, pin"),
        ({"parts": ["rod total 3 -1"]}, "--part"),
        ({"parts": ["piston 9 -12"]}, "names no part; allowed: piston 1"),
        ({"parts": ["rod 7 -12"]}, "a rod is two masses; allowed: 'rod 7 = 620 + 190', or one end"),
        ({"parts": ["rod 7 = 620"]}, "a rod is two masses"),
        ({"parts": ["piston = 0"]}, "above 0 and at most 50000 g"),
        ({"parts": ["piston = x"]}, "--part: 'x' is not a number; allowed: a mass"),
        ({"parts": ["piston -600"]}, "piston 1 would weigh -61.6 g; allowed: 0.1 to 50000 g"),
        ({"parts": ["pin = 1200"]}, "pin"),
        ({"turned_to": "-3"}, "--turned-to: -3 is out of reach"),
        ({"turned_to": "86"}, "crank: missing"),
        ({"counterweights": ["1 front"], "share": "0.4"}, "--counterweight: turned to what?"),
        ({"members": ["damper"]}, "'damper' says no member and offset; allowed: such as"),
        ({"members": ["damper = 3"]}, "damper is no damper or flexplate of the job; allowed: none"),
    ],
)
def test_what_makes_no_sense_is_one_line_that_says_what_is_allowed(typed, said):
    with pytest.raises(BadInput) as refused:
        changed(job(), **typed)
    assert said in str(refused.value)
    assert len(refused.value.lines()) == 1


@pytest.mark.parametrize(
    ("table", "typed", "said"),
    [
        (DAMPER, "dumper = 3", "dumper is no damper or flexplate of the job; allowed: damper"),
        (DAMPER, "damper = 900", "at which angle?"),
        (DAMPER, "damper = 900 at 400", "400 is out of reach"),
        (DAMPER, "damper = -9 at 40", "-9 is out of reach"),
        (
            {k: v for k, v in DAMPER.items() if k not in ("keyway", "offset")},
            "damper = 9 at 40",
            "keyway: missing",
        ),
    ],
)
def test_a_member_that_makes_no_sense(table, typed, said):
    made = job(crank=CRANK | {"external": [table]})
    with pytest.raises(BadInput) as refused:
        asked.read(made, members=[typed])
    assert said in str(refused.value)


def test_a_number_on_a_tag_has_no_parts_to_change():
    made = invented.job.build(
        invented.text(invented.document([], bobweight={"hang": 1846.0})), "invented.toml", given=True
    )
    with pytest.raises(BadInput, match="the job has no parts, only the bobweights given"):
        asked.read(made, parts=["piston -12"])
