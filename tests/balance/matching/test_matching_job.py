"""A job matched: its rules by name, the proposal, and what the screen and the JSON say."""

import json
import random
import sys

import interrupting
import invented
import numpy as np
import pytest
import questions
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.job import load
from truethrow.balance.matching.match import ask, match, moves_of, reseated
from truethrow.balance.matching.rules import rules
from truethrow.balance.result.least_metal import least_metal
from truethrow.balance.result.work import work
from truethrow.cli.main import app
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import matching_words as worded


def scattered(seed=1, count=8, labelled=False, **spreads):
    """Cylinders whose parts scatter as those of the demo."""
    draw = random.Random(seed)
    deviation = {"piston": 1.2, "pin": 0.3, "small_end": 1.8, "big_end": 1.8} | spreads
    made = invented.cylinders(count)
    for number, parts in enumerate(made, start=1):
        for kind, sigma in deviation.items():
            parts[kind] = round(draw.gauss(invented.PARTS[kind], sigma), 1)
        if labelled:
            parts["labels"] = {"piston": f"P{number}", "rod": f"R{number}", "pin": f"N{number}"}
    return made


def worked(parts=None, **tables):
    return work(invented.build(invented.document(scattered() if parts is None else parts, **tables)))


def matched(parts=None, seconds=10.0, **tables):
    return match(worked(parts, **tables), seconds, now=questions.by_looks())


def spread_of(result, quantity):
    return next(s.spread_g for s in result.spreads if s.quantity == quantity)


def test_the_job_as_matched_has_the_values_that_were_reached():
    """What the arrays say is what the job itself says once its parts sit there."""
    found = matched(match={"aims": ["bobweight", "reciprocating", "rotating", "residual"]})
    by_name = {aim.name: aim for aim in found.reached}
    for quantity in ("bobweight", "reciprocating", "rotating"):
        assert spread_of(found.matched, quantity) == pytest.approx(by_name[quantity].value, abs=1e-9)
        assert spread_of(found.now, quantity) == pytest.approx(by_name[quantity].before, abs=1e-9)
    cost = found.matched.cost
    assert max(cost.front.amount_gmm, cost.rear.amount_gmm) == pytest.approx(by_name["residual"].value, abs=1e-5)
    assert by_name["bobweight"].value < by_name["bobweight"].before


def test_no_part_is_lost_and_each_keeps_its_ends():
    found = matched()
    for kind in invented.PARTS:
        before = sorted(parts[kind].mean_g for parts in found.now.job.parts.values())
        assert sorted(parts[kind].mean_g for parts in found.matched.job.parts.values()) == before
    rods = {(p["big_end"].mean_g, p["small_end"].mean_g) for p in found.now.job.parts.values()}
    assert {(p["big_end"].mean_g, p["small_end"].mean_g) for p in found.matched.job.parts.values()} == rods


def test_inside_the_limits_without_trimming_where_that_can_be():
    parts = scattered(3, big_end=0.4, small_end=0.4, piston=0.5)
    limits = {"bobweight": 0.8, "reciprocating": 1.3}
    found = matched(parts, limits=limits)
    assert found.now.outside
    assert not found.matched.outside
    aims = {aim.name: aim for aim in found.reached}
    assert (aims["limits"].before, aims["limits"].value) == (1.0, 0.0)
    assert aims["grams"].value == 0.0
    assert found.matched.trim is None


def test_a_limit_on_single_parts_is_not_met_by_any_arrangement():
    found = matched(limits={"piston": 0.5, "bobweight": 30.0})
    limits = found.reached[0]
    assert (limits.name, limits.value, limits.bound) == ("limits", 1.0, 1.0)


def test_the_metal_counts_before_the_spread():
    """The job asks for the least metal first: nothing that is reached afterwards may cost any."""
    tight = {"limits": {"reciprocating": 0.5}, "match": {"aims": ["grams", "bobweight"]}}
    found = matched(scattered(5, piston=2.0), **tight)
    metal = found.reached[0]
    sure = found.now.certainty
    assert metal.value <= metal.before
    assert least_metal(found.matched.job, sure).cost == pytest.approx(metal.value, abs=2e-3)
    draw = np.random.default_rng(1)
    for _ in range(40):
        order = np.array([draw.permutation(8) for _ in found.units])
        other = reseated(found.now.job, moves_of(found.now.job, ask(found.now, found.units), order))
        assert least_metal(other, sure).cost >= metal.bound - 1e-6


@pytest.mark.parametrize(
    "table",
    [
        {"fixed": ["rod R3", "piston P1"]},
        {"together": [["piston", "pin"]]},
        {"together": [["piston P2", "rod R7"]]},
        {"apart": [["piston P2", "rod R7"], ["rod R1", "cylinder 1"]]},
        {"bank": {"left": ["piston P2", "piston P4"], "right": ["rod R1"]}},
        {"offset_pins": True},
        {"move": ["piston"]},
    ],
)
def test_rules_by_name_are_kept(table):
    found = matched(scattered(labelled=True), match={"aims": ["bobweight", "reciprocating"], **table})
    at = {
        (unit, label): cylinder
        for cylinder, labels in found.matched.job.labels.items()
        for unit, label in labels.items()
    }
    banks = {place.cylinder: place.bank for place in found.now.job.layout.places}
    assert found.moves
    if "fixed" in table:
        assert (at["rod", "R3"], at["piston", "P1"]) == (3, 1)
    if table.get("together") == [["piston", "pin"]]:
        assert all(at["piston", f"P{n}"] == at["pin", f"N{n}"] for n in range(1, 9))
    elif "together" in table:
        assert at["piston", "P2"] == at["rod", "R7"]
    if "apart" in table:
        assert at["piston", "P2"] != at["rod", "R7"]
        assert at["rod", "R1"] != 1
    if "bank" in table:
        assert [banks[at[part]] for part in (("piston", "P2"), ("piston", "P4"))] == ["left", "left"]
        assert banks[at["rod", "R1"]] == "right"
    if "offset_pins" in table:
        assert all(banks[at["piston", f"P{n}"]] == banks[n] for n in range(1, 9))
    if "move" in table:
        assert set(found.moves) == {"piston"}


def test_a_part_without_a_label_has_the_number_under_which_it_was_first_weighed():
    job = invented.build(invented.document(scattered(), match={"fixed": ["rod 3"]}))
    moved = reseated(job, {"rod": {3: 5, 5: 3}})
    assert rules(job, ["rod"]).allowed["rod"][2].tolist() == [n == 3 for n in range(1, 9)]
    assert rules(moved, ["rod"]).allowed["rod"][4].tolist() == [n == 5 for n in range(1, 9)]


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"fixed": ["rod X9"]}, "match, fixed: 'rod X9' names no part"),
        ({"fixed": ["crank 1"]}, "match, fixed: 'crank 1' names nothing that moves"),
        ({"together": [["rod 1", "rod 2"]]}, "two of one kind cannot sit together"),
        ({"apart": [["rod 1", "rod 2"]]}, "two of one kind never sit together"),
        ({"bank": {"upper": ["rod 1"]}}, "match, bank: 'upper' is no bank of this layout; allowed: left, right"),
        (
            {"fixed": ["rod 1"], "apart": [["rod 1", "cylinder 1"]]},
            "no arrangement was found that keeps to all rules",
        ),
        ({"aims": ["bobweigt"]}, "match, aims: 'bobweigt' is not known (did you mean bobweight?)"),
        ({"aims": ["grams", "grams"]}, "match, aims: ['grams', 'grams'] does not do"),
        ({"aims": []}, "match, aims: [] does not do"),
        ({"together": [["piston", "piston"]]}, "two of one kind cannot sit together"),
        ({"move": ["crank"]}, "match, move, entry 1: 'crank' is not known"),
        ({"fastened": []}, "match: 'fastened' is not known here"),
    ],
)
def test_a_rule_that_makes_no_sense_is_named(table, said):
    with pytest.raises(BadInput) as error:
        matched(match=table)
    assert said in str(error.value)


def test_a_label_that_is_another_parts_number_is_not_guessed():
    parts = scattered()
    parts[4]["labels"] = {"rod": "3"}
    with pytest.raises(BadInput, match=r"can mean rod weighed in 3 .* or rod marked 3"):
        matched(parts, match={"fixed": ["rod 3"]})


def test_what_was_weighed_once_for_all_does_not_move():
    parts = [{k: v for k, v in p.items() if k != "pin"} for p in scattered()]
    found = matched(parts, every_cylinder={"pin": 112.0})
    assert "pin" not in found.units
    parts = [{"number": p["number"]} for p in parts]
    with pytest.raises(BadInput, match="nothing of it was weighed cylinder by cylinder"):
        matched(parts, every_cylinder=dict(invented.PARTS))


def test_parts_that_break_the_rules_as_they_sit_are_moved_and_it_is_said():
    table = {"aims": ["bobweight"], "bank": {"right": ["rod 1"]}}
    found = matched(match=table)
    assert not found.kept_rules
    assert found.moves["rod"][1] % 2 == 0


def test_the_width_of_a_limit_holds_whoever_sits_where():
    """Repeats make one piston surer than another; the width leaves room for the less sure ones."""
    parts = scattered()
    parts[0]["piston"] = [538.0, 538.1, 538.0, 538.1]
    result = worked(
        parts, limits={"reciprocating": 2.0, "bobweight": 2.0}, scale={"resolution": 0.1, "repeatability": 0.1}
    )
    asked = ask(result, ["rod", "piston", "pin"])
    limited, per_g = asked.limited, asked.per_g
    for s in result.spreads:
        if s.quantity in limited:
            inside, most_inside, outside = (grains / per_g for grains in limited[s.quantity][:3])
            assert inside - 1e-9 <= s.limit_g - s.expanded_g <= most_inside + 1e-9
            assert s.limit_g - s.expanded_g - inside < 0.1
            assert s.limit_g + s.expanded_g <= outside + 1e-9


TIME_ENOUGH = ("--seconds", "3600")  # for a proof that takes a second, whatever else the machine does


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(scattered(labelled=True), limits={"bobweight": 2.0})))
    return path


def run(*arguments):
    return CliRunner().invoke(app, [*map(str, arguments)], catch_exceptions=False)


def test_propose_accept_and_match_again(job_file):
    before = load(job_file)
    data = json.loads(run("match", job_file, *TIME_ENOUGH, "--json", "--by", "AB").stdout)
    assert data["proposal"]
    assert json.loads(run("match", job_file, *TIME_ENOUGH, "--json").stdout)["proposal"] == data["proposal"]
    assert load(job_file).parts == before.parts
    said = run("accept", job_file)
    assert said.exit_code == 0
    after = load(job_file)
    for seat in data["seats"]:
        for unit, label in (("rod", "R"), ("piston", "P")):
            assert after.labels[seat["cylinder"]][unit] == seat[unit]["label"]
            assert seat[unit]["goes_in"] == seat["cylinder"]
            assert seat[unit]["label"] == f"{label}{seat[unit]['cylinder']}"
    again = json.loads(run("match", job_file, *TIME_ENOUGH, "--json").stdout)
    assert (again["moves"], again["proposal"]) == ({}, None)
    assert [aim["value"] for aim in again["aims"]] == [aim["value"] for aim in data["aims"]]


def test_the_screen_tells_seats_aims_and_the_gain(job_file):
    said = run("match", job_file, *TIME_ENOUGH).stdout
    for words in (
        "Who sits where",
        "proved best",
        "as they sit",
        "heaviest with lightest",
        "metal to trim in all [g]",
    ):
        assert words in said
    assert f"To accept: truethrow accept {job_file}" in said


def test_matching_with_a_sheet_is_accepted_once_the_sheet_is_entered(tmp_path):
    path, sheet = tmp_path / "launch.toml", tmp_path / "weigh.csv"
    parts = scattered()
    path.write_text(invented.text({k: v for k, v in invented.document([]).items() if k != "cylinder"}))
    kinds = list(invented.PARTS)
    rows = [["cylinder", *(kind.replace("_", " ") for kind in kinds)]]
    rows += [[str(p["number"]), *(str(p[kind]) for kind in kinds)] for p in parts]
    sheet.write_text("\n".join(";".join(row) for row in rows))
    assert run("match", path, "--sheet", sheet, *TIME_ENOUGH).exit_code == 0
    with pytest.raises(BadInput, match="enter"):
        run("accept", path)
    run("enter", path, sheet)
    assert run("accept", path).exit_code == 0


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "1e9"])
def test_seconds_out_of_reach(job_file, seconds):
    with pytest.raises(BadInput, match="--seconds"):
        run("match", job_file, "--seconds", seconds)


def test_ctrl_c_gives_the_best_so_far(tmp_path):
    """A V12 whose proof takes long; the interrupt comes from outside, as from a terminal."""
    path = tmp_path / "twelve.toml"
    engine = invented.V8 | {"layout": "v12-60"}
    match_table = {"aims": ["bobweight", "reciprocating", "rotating"]}
    document = invented.document(scattered(2, 12, rings=0.3, locks=0.1), engine=engine, match=match_table)
    path.write_text(invented.text(document))
    program = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
    command = [*program, "match", str(path), "--seconds", "3600", "--json"]
    ended = interrupting.once_it_shows(command, tmp_path, r"bobweight: 0\.|reciprocating: |rotating: ")
    data = json.loads(ended.out)
    assert data["broken_off"] is True
    assert all(aim["bound"] <= aim["value"] for aim in data["aims"])
    assert data["aims"][0]["value"] < 1.0


def test_a_value_is_told_with_the_words_that_fit_it():
    found = matched(limits={"bobweight": 2.0})
    show = Display("g", "mm", 0.1)
    told = {aim.name: (worded.value(aim.value, aim, show), worded.verdict(aim, show)) for aim in found.reached}
    assert told["limits"] == ("yes", "proved best")
    assert told["bobweight"][0].endswith(" g")
    assert told["residual"][0].endswith(" g·mm")
    open_aim = found.reached[2]._replace(value=0.95, bound=0.6)
    assert worded.verdict(open_aim, show) == "within 0.35 g of the bound"
    assert worded.verdict(found.reached[0]._replace(value=1.0, bound=0.0), show) == "not found; it may be"


def test_a_rod_weighed_in_one_go_is_one_reading_more_that_goes_along():
    """Only some rods have it: a cut one is weighed again by its ends alone."""
    parts = scattered()
    parts[2]["rod_total"] = round(parts[2]["big_end"] + parts[2]["small_end"], 1)
    found = matched(parts, match={"aims": ["bobweight"], "apart": [["rod 3", "cylinder 3"]]})
    to = found.moves["rod"][3]
    assert [c for c, own in found.matched.job.parts.items() if "rod_total" in own] == [to]
    assert found.matched.job.parts[to]["rod_total"].mean_g == parts[2]["rod_total"]


def test_unequal_repeats_are_not_taken_for_equal():
    """Which two parts differ most decides how sure the spread is, and with that whether metal must come off."""
    draw = random.Random(3)
    for seed in range(4):
        parts = scattered(seed, 4, piston=0.4, small_end=0.4)
        for part in parts:
            part["piston"] = [part["piston"]] * draw.choice([1, 1, 4])
        scale = {"resolution": 0.1, "repeatability": 0.3}
        engine = invented.V8 | {"layout": "inline-4"}
        found = matched(
            parts, engine=engine, limits={"reciprocating": 0.6}, scale=scale, match={"aims": ["grams"]}
        )
        metal = found.reached[0]
        assert metal.value == pytest.approx(least_metal(found.matched.job, found.now.certainty).cost, abs=2e-3)
        for _ in range(30):
            order = np.array([draw.sample(range(4), 4) for _ in found.units])
            other = reseated(found.now.job, moves_of(found.now.job, ask(found.now, found.units), order))
            assert metal.bound <= least_metal(other, found.now.certainty).cost + 1e-6


def test_without_a_pad_that_gives_the_excess_alone_is_made_least():
    none = {
        "piston": 0.0,
        "pin": 0.0,
        "big_end_pad": {"at": -48, "most": 0},
        "small_end_pad": {"at": 182, "most": 0},
    }
    limits = {"bobweight": 1.0, "reciprocating": 1.0}
    values = set()
    for seed in range(3):
        parts = scattered(9, piston=2.0)
        order = random.Random(seed).sample(range(8), 8)
        for part, piston in zip(parts, [parts[at]["piston"] for at in order], strict=True):
            part["piston"] = piston
        found = matched(parts, limits=limits, trim=none, match={"aims": ["grams"]}, seconds=6)
        assert found.reached[0].bound <= found.reached[0].value
        values.add((found.reached[0].proved, round(found.reached[0].value, 3)))
    assert len({value for proved, value in values if proved}) <= 1


def test_a_kind_that_was_weighed_once_for_all_goes_along_and_ties_nothing():
    parts = [{k: v for k, v in p.items() if k != "pin"} for p in scattered()]
    table = {"aims": ["bobweight"]}
    free = matched(parts, every_cylinder={"pin": 112.0}, match=table)
    tied = matched(parts, every_cylinder={"pin": 112.0}, match=table | {"together": [["piston", "pin"]]})
    assert tied.reached[0].value == free.reached[0].value


def test_what_does_not_move_holds_what_is_kept_with_it():
    table = {"aims": ["bobweight"], "move": ["piston", "rod"], "together": [["piston", "pin"]]}
    assert set(matched(match=table).moves) == {"rod"}


def test_fixed_cylinders_keep_all_that_sits_in_them():
    found = matched(scattered(labelled=True), match={"aims": ["bobweight"], "fixed": ["cylinder 3"]})
    assert found.matched.job.labels[3] == {"piston": "P3", "rod": "R3", "pin": "N3"}


def test_a_limit_finer_than_the_scale_can_tell_is_met_by_nothing():
    """Nothing can be said to be inside a limit of 0.1 g on a sum of five readings."""
    found = matched(limits={"reciprocating": 0.1})
    assert (found.reached[0].value, found.reached[0].bound) == (1.0, 1.0)


def test_heavy_parts_and_a_share_of_many_digits_are_still_exact():
    parts = scattered(1, 12)
    for part in parts:
        part["big_end"] = round(part["big_end"] + 45_000, 1)
    engine = invented.V8 | {"layout": "v12-60"}
    found = matched(
        parts,
        engine=engine,
        scale={"resolution": 0.1},
        bobweight={"share": 0.9999},
        match={"aims": ["bobweight"]},
        seconds=2,
    )
    assert found.reached[0].value == pytest.approx(spread_of(found.matched, "bobweight"), abs=1e-9)
