"""A card in ounces beside a scale in grams: the grinder works to 1.2 and leaves 1.2 of the wrong unit.

By hand: 541.0 g is to become 539.2 g; on a scale in steps of 0.005 oz the same piston reads 19.083 oz and is to
read 19.020 oz. One ounce is 28.349523125 g (international pound, 1959).
"""

from __future__ import annotations

import json
import re

import commands
import grinding_shop
import invented
import pytest

OZ = 28.349523125
OUNCES, GRAMS = re.compile(r"\d oz\b(?!\))"), re.compile(r"\d g\b(?!\))")


def job_file(folder, ounces, **tables):
    """A job in grams with one piston to be ground; ounces: how its readings were typed, None: in grams."""
    parts = invented.cylinders(piston={3: [541.0, 541.0]})
    if ounces:
        parts = [
            {kind: value if kind == "number" else read_in_ounces(value) for kind, value in part.items()}
            for part in parts
        ]
    path = folder / "job.toml"
    data = invented.document(parts, limits={"piston": 1.0}, trim=grinding_shop.PADS, **tables)
    path.write_text(invented.text(data), encoding="utf-8")
    return path


def read_in_ounces(value):
    return [read_in_ounces(one) for one in value] if isinstance(value, list) else f"{value / OZ:.3f} oz"


def words_of(folder, name):
    """A card as it is printed on the web page, without its tags and its drawings' own figures for machines."""
    page = (folder / f"{name}.html").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<style.*?</style>|<[^>]+>", " ", page, flags=re.DOTALL).split())


@pytest.mark.parametrize("show", [(), ("--show", "inch"), ("--show", "metric")])
def test_beside_a_scale_in_grams_no_card_and_no_command_says_ounces_alone(tmp_path, show):
    ran = commands.in_folder(tmp_path)
    job_file(tmp_path, ounces=False)
    trim = ran("trim", "job.toml", *show).out
    assert re.search(r"piston 3: take 1\.8 g( \(0\.063 oz\))?; expect 539\.2 g\n", trim)
    assert ("(0.063 oz)" in trim) == ("inch" in show)
    made = [ran(command, "job.toml", *show).out for command in ("trim", "hang", "check", "work")]
    made.append(ran("replace", "job.toml", "piston", "3", *show).out)
    ran("cards", "job.toml", "--into", "cards", *show)
    made += [words_of(tmp_path / "cards", card) for card in ("trim", "bench", "bobweight")]
    assert [OUNCES.findall(said) for said in made] == [[]] * len(made)
    assert "then 539.2 g" in made[-3]


@pytest.mark.parametrize("show", [(), ("--show", "inch"), ("--show", "metric")])
@pytest.mark.parametrize(
    ("ounces", "tables"),
    [(True, {"scale": {"resolution": "0.005 oz"}}), (True, {}), (False, {"bench": {"unit": "oz"}})],
    ids=["read in ounces", "read in ounces, its step in grams", "the bench says it"],
)
def test_a_job_in_grams_with_a_scale_in_ounces_is_told_ounces(tmp_path, ounces, tables, show):
    ran = commands.in_folder(tmp_path)
    job_file(tmp_path, ounces, **tables)
    made = [ran(command, "job.toml", *show).out for command in ("trim", "hang", "check", "work")]
    ran("cards", "job.toml", "--into", "cards", *show)
    made += [words_of(tmp_path / "cards", card) for card in ("trim", "bench", "bobweight")]
    assert [GRAMS.findall(said) for said in made] == [[]] * len(made)
    assert re.search(r"expect 19\.02\d? oz", made[0])
    done = ran("weigh", "job.toml", "--grind", stdin="19.083\n19.020\n")
    assert done.status == 0, done.out + done.err
    assert "piston 3 is done: 19.020 oz" in done.out
    last = json.loads((tmp_path / "job.readings.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert last["typed"] == "19.020 oz" and last["grams"] == pytest.approx(19.02 * OZ)


def test_a_bench_that_no_job_knows_of_tells_its_unit_by_what_was_read_on_it(tmp_path):
    """The whole set is weighed on a scale in ounces that only its profile knows."""
    ran = commands.in_folder(tmp_path)
    path = job_file(tmp_path, ounces=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[[cylinder]]")], encoding="utf-8")
    (tmp_path / "floor.toml").write_text('[bench]\nunit = "oz"\n', encoding="utf-8")
    pistons = "".join(f"go piston {n}\n{541.0 / OZ if n == 3 else 538.4 / OZ:.3f}\n" for n in range(1, 9))
    done = ran("weigh", "job.toml", "--bench", "floor.toml", stdin=pistons)
    assert "taken: piston 3: 19.083 oz" in done.out, done.out + done.err
    spreads = ran("check", "job.toml").out
    assert "[oz]" in spreads and re.search(r"piston +18\.99\d* \(1\) +19\.08\d* \(3\)", spreads), spreads


def test_a_bobweight_is_weighed_in_the_unit_of_the_scale(tmp_path):
    """65.849 oz hang, 1866.8 g; what is typed without a unit is what the scale shows."""
    ran = commands.in_folder(tmp_path)
    job_file(tmp_path, ounces=True)
    assert "Hang 65.849 oz (1866.8 g) on every throw" in ran("hang", "job.toml", "--show", "metric").out
    stack = '[stack]\nclamp_half = 700\n[[piece]]\nname = "plate"\nmass = 0.5\ncount = 900\n'
    (tmp_path / "station.toml").write_text(stack, encoding="utf-8")
    built = ran("stack", "job.toml", "--station", "station.toml", "--built", "1=65.850", "2=1866.9 g").out
    assert re.search(r"\n1 +65\.849 oz +65\.85 oz", built) and GRAMS.findall(built) == [], built
    log = (tmp_path / "job.readings.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["typed"] for line in log if '"built"' in line] == ["65.850oz", "1866.9 g"]
