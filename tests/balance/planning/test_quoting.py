"""A quote: each count against the job and its log, each amount as a hand multiplies it, at every stage."""

import pytest
from invented import PARTS, cylinders, document
from planned import ESTIMATE, PRICES

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.demo import story
from truethrow.balance.job.job import build, load
from truethrow.balance.log.place import open_log
from truethrow.balance.planning import quoting
from truethrow.balance.planning.prices import load as load_prices
from truethrow.balance.result import plans
from truethrow.balance.result.work import work
from truethrow.balance.station import balancing, stationfile


@pytest.fixture
def prices(tmp_path):
    def made(old="", new=""):
        file = tmp_path / "prices.toml"
        file.write_text(PRICES.replace(old, new) if old else PRICES, encoding="utf-8")
        return load_prices(file)

    return made


@pytest.fixture(scope="module")
def tools(tmp_path_factory):
    file = tmp_path_factory.mktemp("tools") / "station.toml"
    file.write_text(demo.text("station.toml"), encoding="utf-8")
    return stationfile.load(file).tools


def counts(found):
    return {line.name: (int(line.how_many.least), int(line.how_many.most)) for line in found.lines}


def estimated():
    return work(build(demo.text("launch.toml") + ESTIMATE, estimated=True))


def test_by_the_catalog_it_is_a_range(prices, tools):
    """24 pads of pistons and rods (pins give nothing), four parts a cylinder to weigh and three that one reading
    stands for."""
    found = quoting.quote(estimated(), (), prices(), tools=tools, target_g=1850.0)
    assert found.stage == "estimate"
    assert found.not_counted == ()
    assert counts(found)["weighing"] == (8 * 3 + 3,) * 2
    assert counts(found)["cut"] == (0, 24)
    least, most = counts(found)["hole"]
    assert least < most, "right on the maker's target none are drilled, at an end of the range some"
    assert found.total[0] < found.total[1]


def test_right_on_the_makers_target_is_in_the_range(prices, tools):
    """An estimate whose range holds the maker's target may need no hole at all."""
    result = estimated()
    middle = sum(throw.hung_g for throw in result.bobweights.throws) / 4
    for off in (0.0, 4.0):
        found = quoting.quote(result, (), prices(), tools=tools, target_g=middle + off)
        assert counts(found).get("hole", (0, 0))[0] == 0
        assert counts(found)["spin"][0] == 2
        assert counts(found)["spin"][1] >= 3, "no maker's word keeps a crank from a round of holes"
    far = quoting.quote(result, (), prices(), tools=tools, target_g=middle - 60)
    assert counts(far)["hole"][0] + counts(far)["slug"][0] > 0


def test_what_nobody_can_know_is_named_and_in_no_total(prices, tools):
    found = quoting.quote(estimated(), (), prices(), tools=tools)
    assert found.not_counted == ("slug", "hole")
    assert {"slug", "hole"}.isdisjoint(counts(found))
    assert counts(found)["spin"] == (2, 4)
    assert quoting.quote(estimated(), (), prices(), tools=tools._replace(slugs=())).lines != found.lines


def test_the_amounts_are_those_of_a_hand(prices):
    """Seven readings of one cylinder's parts that stand for all: piston, pin, locks, rings, rod and shells are six
    parts on the scale, 6 · 2.50 = 15.00; 4.25 · 85 = 361.25; two to four spins of 35."""
    result = work(build(document(cylinders())))
    found = quoting.quote(result, (), prices())
    assert counts(found)["weighing"] == (48, 48)
    amounts = {line.name: (str(line.least), str(line.most)) for line in found.lines}
    assert amounts == {
        "weighing": ("120.00", "120.00"),
        "spin": ("70.00", "140.00"),
        "hour": ("361.25", "361.25"),
    }
    assert tuple(map(str, found.total)) == ("551", "622"), "481.25 + 70 and + 140, outward"


def test_a_line_of_fractions_of_a_cent_is_rounded_once_and_the_lines_add_up(prices):
    """48 · 0.3333 = 15.9984, told as 16.00; the hours 361.25; a crank that needs no more spins than two."""
    result = work(build(document(cylinders())))
    found = quoting.quote(result, (), prices("weighing = 2.50", "weighing = 0.3333"))
    assert str(found.lines[0].least) == "16.00"
    assert found.total[0] == int(sum(line.least for line in found.lines))


def test_a_single_cylinder_has_no_part_to_be_cut_to_another(prices):
    engine = {"layout": "inline-1", "stroke": 70.0, "rod_length": 125.0, "cylinder_spacing": 60.0}
    box = {kind: {"about": grams, "within": 1} for kind, grams in PARTS.items()}
    text = document([], engine=engine, estimate=box, limits={"piston": 1.0}, trim={"piston": 3.0})
    found = quoting.quote(work(build(text, estimated=True)), (), prices())
    assert "cut" not in counts(found)
    assert counts(found)["weighing"] == (6, 6)


def test_a_matching_is_counted_where_the_job_asks_for_one(prices):
    asked = work(build(document(cylinders(), match={"aims": ["bobweight"]})))
    assert counts(quoting.quote(asked, (), prices()))["match"] == (1, 1)
    assert "match" not in counts(quoting.quote(work(build(document(cylinders()))), (), prices()))


@pytest.mark.parametrize("name", ["weighing", "spin", "hour"])
def test_a_price_that_the_quote_needs_is_asked_for_by_its_name(prices, name):
    line = next(line for line in PRICES.splitlines() if line.startswith(f"{name} = "))
    with pytest.raises(BadInput) as refused:
        quoting.quote(work(build(document(cylinders()))), (), prices(line, ""))
    assert f"prices, {name}: missing, and the quote has " in refused.value.lines()[0]


def test_hours_are_never_guessed(prices):
    with pytest.raises(BadInput, match="prices, hours: missing"):
        quoting.quote(work(build(document(cylinders()))), (), prices("hours = 4.25", ""))


def test_at_each_stage_of_a_job_it_counts_what_is_done_and_what_is_planned(prices, tmp_path):
    seen = {}
    for stage, job, station in story.told(tmp_path / "told"):
        result, records = work(load(job)), open_log(job).records
        state = balancing.load(job, station)
        profile = stationfile.load(station)
        before = state if state.spins else None
        seen[stage] = (
            quoting.quote(
                result,
                records,
                prices(),
                state=before,
                standing=plans.standing(job),
                tools=profile.tools,
                target_g=1850.0,
            ),
            result,
            state,
        )
    found, result, _ = seen[story.WEIGHED]
    cuts = sum(len(part.cuts) for part in result.trim.parts)
    assert found.stage == "weighed"
    assert counts(found)["cut"] == (cuts, cuts)
    assert found.target_g == 1850.0
    found, _, state = seen[story.SPUN]
    assert (found.stage, found.target_g) == ("spun", None)
    assert counts(found)["cut"] == (cuts, cuts), "ground as planned"
    made = (*state.plan.operations, *state.plan.then)
    assert counts(found)["hole"] == (len(made), len(made))
    assert counts(found)["spin"] == (3, 3), "spun, proved, and one after the holes"
    assert found.total[0] == found.total[1]
    found, _, state = seen[story.SIGNED]
    assert found.stage == "done"
    assert counts(found)["hole"] == (len(state.drilled),) * 2
    assert counts(found)["spin"] == (len(state.spins) + len(state.proof.records),) * 2
    no_profile = quoting.quote(result, open_log(job).records, prices())
    assert (no_profile.not_counted, no_profile.no_profile) == (("slug", "hole"), True)
    assert counts(no_profile)["hole"] == counts(found)["hole"]
