"""The target bobweight before the parts are there, by its command, and what an estimate may never do."""

import json

import pytest
from demo_shop import DemoShop
from within import demo

ESTIMATE = """
[estimate]
piston = { about = 521, within = 2, scatter = 0.8 }
pin = { about = 118, within = 0.5 }
small_end = { about = "180 g", within = 3, scatter = 1 }
big_end = { about = 445, within = 4, scatter = 1.5 }
"""


@pytest.fixture
def job(tmp_path):
    """The launch with a catalog's weights, none of it weighed."""
    demo.copy_into(tmp_path)
    file = tmp_path / "launch.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("[every_cylinder]", f"{ESTIMATE}\n[every_cylinder]"), encoding="utf-8")
    return file


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    return DemoShop(folder)


def test_from_catalog_weights_alone_it_tells_what_to_order_and_what_to_weigh_first(job, shop):
    status, said = shop.run("forecast", job)
    assert status == 0
    assert "ESTIMATE: not weighed yet: piston, pin, both rod ends of cylinders 1-8" in said
    assert "Target bobweight: 1849 g; these parts will weigh in between 1839 and 1860 g." in said
    assert "Weigh first, or ask the maker: big end." in said
    found = json.loads(shop.run("forecast", job, "--json")[1])
    assert found["forecast"]["target"]["value_g"] == pytest.approx(1849.2)
    assert found["job"]["estimated"]["piston"] == list(range(1, 9))


def test_a_weighed_part_replaces_its_estimate_without_an_edited_file(job, shop):
    """The sheet goes into the log; the job file keeps its [estimate], and nothing of it counts any more."""
    before = json.loads(shop.run("forecast", job, "--json")[1])["forecast"]["target"]
    sheet = job.parent / "pistons.csv"
    rows = "".join(f"{n},{520 + n / 10:.1f}\n" for n in range(1, 9))
    sheet.write_text(f"cylinder,piston\n{rows}", encoding="utf-8")
    assert shop.run("enter", job, sheet)[0] in (0, 1)
    found = json.loads(shop.run("forecast", job, "--json")[1])
    assert "piston" not in found["job"]["estimated"]
    assert found["forecast"]["target"]["uncertainty_g"] < before["uncertainty_g"]
    assert "ESTIMATE: not weighed yet: pin, both rod ends of" in shop.run("forecast", job)[1]


def test_no_estimate_is_hung_cut_sent_or_signed(job, shop):
    station = job.parent / "station.toml"
    for words in (
        ("work", job),
        ("trim", job),
        ("send", job),
        ("match", job),
        ("stack", job, "--station", station),
        ("spin", job, "--station", station, "1@0", "1@0"),
        ("sign", job, "--station", station, "--by", "AB"),
    ):
        status, said = shop.run(*words)
        assert status == 2, words
        assert "missing" in said, words
    status, said = shop.run("hang", job)
    assert status == 2
    assert "1849" not in said


def test_what_shakes_says_that_it_is_an_estimate(job, shop):
    for words in (("shake", job), ("share", job), ("sure", job)):
        said = shop.run(*words)[1]
        assert said.lstrip().startswith("! ESTIMATE: not weighed yet"), words
    station = job.parent / "station.toml"
    said = shop.run("target", job, "1850", "--station", station)[1]
    assert said.lstrip().startswith("! ESTIMATE: not weighed yet")
    assert json.loads(shop.run("sure", job, "--json")[1])["job"]["estimated"]


def test_a_slip_in_it_is_a_fault_of_its_table(job, shop):
    text = job.read_text(encoding="utf-8")
    for wrong, said in [
        ("about = 521", "abuot = 521"),
        ("within = 2,", "within = -2,"),
        ('about = "180 g"', 'about = "180 mm"'),
    ]:
        job.write_text(text.replace(wrong, said), encoding="utf-8")
        status, told = shop.run("forecast", job)
        assert status == 2
        assert "estimate, " in told
