"""The target bobweight before the parts are there, by its command, and what an estimate may never do."""

import json

import pytest


def test_from_catalog_weights_alone_it_tells_what_to_order_and_what_to_weigh_first(estimated, shop):
    status, said = shop.run("forecast", estimated)
    assert status == 0
    assert "ESTIMATE: not weighed yet: piston, pin, both rod ends of cylinders 1-8" in said
    assert "Target bobweight: 1849 g." in said
    assert "These parts: about 1849 g, between 1839 and 1860 g." in said
    assert "Weigh first, or ask the maker: big end." in said
    found = json.loads(shop.run("forecast", estimated, "--json")[1])
    assert found["forecast"]["target"]["value_g"] == pytest.approx(1849.2)
    assert found["job"]["estimated"]["piston"] == list(range(1, 9))


def test_a_weighed_part_replaces_its_estimate_without_an_edited_file(estimated, shop):
    """The sheet goes into the log; the job file keeps its [estimate], and nothing of it counts any more."""
    before = json.loads(shop.run("forecast", estimated, "--json")[1])["forecast"]["target"]
    sheet = estimated.parent / "pistons.csv"
    rows = "".join(f"{n},{520 + n / 10:.1f}\n" for n in range(1, 9))
    sheet.write_text(f"cylinder,piston\n{rows}", encoding="utf-8")
    assert shop.run("enter", estimated, sheet)[0] in (0, 1)
    found = json.loads(shop.run("forecast", estimated, "--json")[1])
    assert "piston" not in found["job"]["estimated"]
    assert found["forecast"]["target"]["uncertainty_g"] < before["uncertainty_g"]
    assert "ESTIMATE: not weighed yet: pin, both rod ends of" in shop.run("forecast", estimated)[1]


def test_no_estimate_is_hung_cut_sent_or_signed(estimated, shop):
    station = estimated.parent / "station.toml"
    for words in (
        ("work", estimated),
        ("trim", estimated),
        ("send", estimated),
        ("match", estimated),
        ("stack", estimated, "--station", station),
        ("spin", estimated, "--station", station, "1@0", "1@0"),
        ("sign", estimated, "--station", station, "--by", "AB"),
    ):
        status, said = shop.run(*words)
        assert status == 2, words
        assert "missing" in said, words
    status, said = shop.run("hang", estimated)
    assert status == 2
    assert "1849" not in said


def test_what_shakes_says_that_it_is_an_estimate(estimated, shop):
    for words in (("shake", estimated), ("share", estimated), ("sure", estimated)):
        said = shop.run(*words)[1]
        assert said.lstrip().startswith("! ESTIMATE: not weighed yet"), words
    station = estimated.parent / "station.toml"
    said = shop.run("target", estimated, "1850", "--station", station)[1]
    assert said.lstrip().startswith("! ESTIMATE: not weighed yet")
    assert "What it would take (drill nothing by this)" in said and "To do" not in said
    assert "by [estimate] where not weighed, with" in shop.run("shake", estimated)[1]
    assert json.loads(shop.run("sure", estimated, "--json")[1])["job"]["estimated"]


def test_a_slip_in_it_is_a_fault_of_its_table(estimated, shop):
    text = estimated.read_text(encoding="utf-8")
    for wrong, said in [
        ("about = 521", "abuot = 521"),
        ("within = 2,", "within = -2,"),
        ('about = "180 g"', 'about = "180 mm"'),
    ]:
        estimated.write_text(text.replace(wrong, said), encoding="utf-8")
        status, told = shop.run("forecast", estimated)
        assert status == 2
        assert "estimate, " in told
