"""A job out of another: what is kept, what is blank, what is lost. Told again by the new job itself."""

from __future__ import annotations

import json

import pytest
from commands import refused
from demo_shop import DemoShop

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.job import own_readings
from truethrow.balance.job.like import like, new_kinds


@pytest.fixture
def shop(tmp_path):
    return DemoShop(tmp_path)


def written(shop, new, name="again"):
    path = shop.file.with_name(f"{name}.toml")
    made = like(shop.file, name, new_kinds([new]))
    path.write_text(made.text, encoding="utf-8")
    return path, made


def test_what_is_kept_weighs_what_it_did_and_what_is_new_waits_for_the_scale(shop):
    path, _ = written(shop, "pistons,rings")
    faults = refused(own_readings, path)
    assert "missing" in faults and "piston" in faults and "pin" not in faults.replace("rings", "")
    text = path.read_text("utf-8")
    assert 'id = "again"' in text
    assert "P28" not in text and "R11" in text
    filled = text.replace('piston = ""', "piston = 538.0").replace(
        "[every_cylinder]", "[every_cylinder]\nrings = 41.2"
    )
    path.write_text(filled, encoding="utf-8")
    old, new = own_readings(shop.file), own_readings(path)
    assert new.engine == old.engine
    assert new.limits_g == old.limits_g
    assert new.crank == old.crank
    for cylinder, parts in old.parts.items():
        for kind in ("pin", "big_end", "small_end", "rod_total"):
            assert new.parts[cylinder][kind].repeats_g == parts[kind].repeats_g
    assert new.ground is None


def test_kept_parts_sit_where_they_sit_now_and_their_pads_have_less_left(shop):
    shop.must("ground", "piston", "P28", "--took", "1.2")
    shop("weigh", stdin="go 1 piston\n536.9\n536.9\n")
    path, made = written(shop, "bearings")
    assert any(note.startswith("[trim] piston: 4.8 g for all") for note in made.notes)
    text = path.read_text("utf-8")
    first = text.split("[[cylinder]]")[1]
    assert "536.9 g" in first
    assert "538.1" not in first
    assert 'piston = "4.8 g"' in text


def test_a_kept_crank_has_its_holes_and_a_new_one_has_none(shop):
    shop.spun()
    planned = json.loads(shop.at_station("spins", "--json"))["plan"]["operations"]
    shop.at_station("holes", "--done")
    shop.at_station("holes", "--did", "1 front, 180 deg, 16 mm slug, 20 mm long, 78 mm radius, 70 g")
    shop.at_station("holes", "--did", "4 rear, 10 deg, took 3 g, 80 mm radius")
    path, made = written(shop, "bearings")
    text = path.read_text("utf-8")
    path.write_text(text.replace("[every_cylinder]", "[every_cylinder]\nbearings = 42.0"), encoding="utf-8")
    kept = {hole.member: hole for one in own_readings(path).crank.members for hole in one.holes}
    assert len(planned) == 2
    assert sorted(kept) == sorted(["1 front", *(one["member"] for one in planned)])
    for one in planned:
        assert kept[one["member"]].angle_deg == one["crank_angle_deg"]
        assert kept[one["member"]].removes_gmm == pytest.approx(one["removes_gmm"], abs=0.01)
    assert made.notes[-1] == "in the crank already, and in no [[hole]]: took, 4 rear at 10°"
    assert "[[crank.counterweight.hole]]" not in written(shop, "bearings,crank", "other")[1].text


def test_a_part_that_waits_for_the_scale_is_not_taken_over(shop):
    shop.must("ground", "piston", "P28", "--took", "1.2")
    with pytest.raises(BadInput, match="cut since; weigh it again"):
        like(shop.file, "again", new_kinds(["pins"]))
    assert like(shop.file, "again", new_kinds(["all"])).text


def test_what_is_new_has_to_be_said(shop):
    assert "missing: what is new" in refused(new_kinds, [])
    assert "'spoons' is not known" in refused(new_kinds, ["spoons"])
    assert new_kinds(["Pistons, pins", "rods"]) == {"piston", "pin", "rod"}
