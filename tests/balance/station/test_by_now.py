"""The crank by now, and what it would read: against moments by hand and the station's own plan."""

import cmath
import math

import invented
import pytest
from cranks import v8_weights
from demo_shop import DemoShop

from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.crank.holes import Drill, Slug, Tools
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.place import open_log
from truethrow.balance.station import balancing, stationfile
from truethrow.balance.station.by_now import ByNow, Reading, by_now, planned, would_read

TOOLS = Tools((Drill(16.0, 118.0, 0.5, 30.0), Drill(8.0, 118.0, 0.5, 20.0)), (Slug(16.0, 16.0),))


def job(**tables):
    made = {"crank": {"counterweight": v8_weights()}, "station": {"limit": 300.0}} | tables
    return invented.build(invented.document(**made))


def test_a_crank_that_was_never_spun_is_in_balance_now():
    made = job()
    now = by_now(made, ())
    assert now == ByNow(made.crank, leaves_gmm=(300.0, 300.0))
    assert would_read(now, made, [1800.0] * 4, [1800.0] * 4) == TwoPlanes(0j, 0j)
    with pytest.raises(BadInput, match="crank: missing"):
        by_now(job(crank=None), ())


def test_other_bobweights_and_what_changes_on_the_crank_act_by_moments():
    """By hand: throws at 0, 112, 224, 336 mm and 0, 90, 270, 180 degrees on 46 mm; planes at the outer throws."""
    made = job()
    now = by_now(made, ())
    found = would_read(now, made, [1800.0] * 4, [1810.0, 1800.0, 1797.0, 1800.0], [(900j, -80.0)])
    third = -3 * 46 * cmath.exp(1j * math.radians(270))
    assert found.front == pytest.approx(10 * 46 + third / 3 + 900j * (336 + 80) / 336)
    assert found.rear == pytest.approx(third * 2 / 3 - 900j * 80 / 336)


def test_without_the_lengths_other_bobweights_are_not_told_and_the_same_ones_are():
    engine = {k: v for k, v in invented.V8.items() if k != "stroke"}
    made = job(engine=engine, station={"limit": 300.0, "front_plane": 0.0, "rear_plane": 336.0})
    now = by_now(made, ())
    assert would_read(now, made, [1800.0] * 4, [1801.0] * 4) is None
    assert would_read(now, made, [1800.0] * 4, [1800.0] * 4, [(10j, 0.0)]).front == pytest.approx(10j)


def test_after_a_spin_it_reads_that_and_takes_the_stations_own_plan(tmp_path):
    shop = DemoShop(tmp_path)
    shop.spun()
    made, records = own_readings(shop.file, given=True), open_log(shop.file).records
    now, state = by_now(made, records), balancing.load(shop.file, shop.station)
    assert now.reads == state.last.residual
    hung_g = state.last.record.hung_g
    reads = would_read(now, made, hung_g, hung_g)
    tools = stationfile.load(shop.station, ("drill",)).tools
    assert planned(now, made.crank, tools, reads, made).operations == state.plan.operations
    # What hung at the spin counts, and not what the job hangs by now.
    more = would_read(now, made, [0.0] * 4, [g + 5 for g in hung_g])
    assert more == pytest.approx(would_read(now, made, hung_g, [g + 5 for g in hung_g]))


def test_what_is_drilled_is_in_the_crank_and_in_what_it_reads(tmp_path):
    shop = DemoShop(tmp_path)
    shop.spun()
    shop.at_station("holes", "--done")
    made, records = own_readings(shop.file, given=True), open_log(shop.file).records
    now = by_now(made, records)
    assert len(now.drilled) == sum(len(member.holes) for member in now.crank.members) > 0
    state = balancing.load(shop.file, shop.station)
    assert now.reads == pytest.approx(state.expected)
    assert planned(now, now.crank, TOOLS, now.reads, made) is None


def test_of_a_spun_crank_only_what_was_on_can_be_drilled():
    damper = {"name": "damper", "at": -80.0, "radius": 70.0, "thickness": 22.0}
    made = job(crank={"counterweight": v8_weights(), "external": [damper]})
    assert ByNow(made.crank).mounted == made.crank
    assert ByNow(made.crank, on=()).mounted == made.crank.only(())
    assert ByNow(made.crank, on=("damper",)).mounted == made.crank


def test_a_reading_counts_holes_slugs_and_grams_of_both_stages():
    made = job()
    now = by_now(made, ())
    reads = TwoPlanes(9000 + 0j, -9000 + 0j)
    plan = planned(now, made.crank, TOOLS, reads, made)
    found = Reading(reads, plan)
    every = [*plan.operations, *plan.then]
    assert found.slugs == len([one for one in every if one.kind == "slug"]) > 0
    assert found.holes + found.slugs == len(every)
    assert found.mass_g == pytest.approx(sum(one.mass_g for one in every))
    assert found.stays == bool(plan.stays)
    nothing = Reading(TwoPlanes(0j, 0j), planned(now, made.crank, TOOLS, TwoPlanes(299j, 0j), made))
    assert (nothing.plan, nothing.holes, nothing.slugs, nothing.mass_g, nothing.stays) == (None, 0, 0, 0, False)
    with pytest.raises(ValueError, match="tolerance"):
        planned(ByNow(made.crank), made.crank, TOOLS, reads, made)


def test_what_is_on_goes_by_the_name_of_what_is_in_its_place():
    made = job()
    assert ByNow(made.crank, on=("damper", "flexplate")).swapped({"damper": "new"}).on == ("new", "flexplate")
    assert ByNow(made.crank).swapped({"damper": "new"}).on is None


def test_a_spin_of_the_crank_as_it_was_is_not_what_it_reads_and_what_was_drilled_stays(tmp_path):
    shop = DemoShop(tmp_path)
    shop.spun()
    shop.at_station("holes", "--done")
    text = shop.file.read_text(encoding="utf-8")
    shop.file.write_text(text.replace("outer_radius = 90.0", "outer_radius = 86.0"), encoding="utf-8")
    now = by_now(own_readings(shop.file, given=True), open_log(shop.file).records)
    assert (now.reads, len(now.drilled)) == (None, 2)
    assert now.stale.startswith("the [crank] in the job is not as it was at spin 1 (")


def test_a_spin_that_the_profile_reads_otherwise_now_is_not_what_it_reads(tmp_path):
    shop = DemoShop(tmp_path)
    shop.spun()
    made, records = own_readings(shop.file, given=True), open_log(shop.file).records
    profile = stationfile.load(shop.station)
    assert by_now(made, records, profile=profile).stale == ""
    other = profile._replace(instrument=profile.instrument._replace(zero_deg=40.0))
    found = by_now(made, records, profile=other)
    assert (found.reads, found.stale[:40]) == (None, "the station's profile was edited since s")
