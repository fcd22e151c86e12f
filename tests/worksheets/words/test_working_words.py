"""The working of a figure, added up by hand: out of the printed text alone, without the tool."""

from decimal import Decimal

import invented
import pytest
from added_by_hand import FIGURE, adds_up, is_sum

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.parts import label
from truethrow.balance.job.job import load
from truethrow.balance.result.work import work
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import worked_lines, working_words
from truethrow.worksheets.words.working_words import working

LIMITS = {"piston": 1.0, "big_end": 1.0, "bobweight": 2.0}
UNEVEN = invented.cylinders(piston={3: [541.7, 541.8, 541.8], 6: 537.2}, big_end={2: 455.0, 5: [452.4, 452.5]})


STEPS = invented.cylinders(
    piston={n: round(538 + 0.4 * n, 1) for n in range(1, 9)},
    big_end={n: round(452 + 0.3 * n, 1) for n in range(1, 9)},
)


def results():
    station = {"grade": 6.3, "crank_mass": "24.3 kg"}
    rods = invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}
    v6 = invented.V8 | {"layout": "v6-60-even"}
    six = invented.cylinders(6, pin={2: 113.9}, small_end={4: 170.05})
    pads = {"piston": 6.0, "big_end_pad": {"at": -48, "most": 9}, "small_end_pad": {"at": 190, "most": 5}}
    return {
        "a V8": invented.worked(UNEVEN, station=station, limits=LIMITS),
        "rods side by side": invented.worked(UNEVEN, station=station, engine=rods),
        "split pins": invented.worked(six, engine=v6, bobweight={"share": 0.435, "oil": 3.3, "hang": "own"}),
        "a limit of the shop": invented.worked(UNEVEN, station={"limit": "150 g·mm", "front_plane": "-40 mm"}),
        "trimmed": invented.worked(STEPS, limits={"piston": 1, "big_end": 1}, trim=pads),
    }


RESULTS = results()
PLAIN = Display("g", "mm", 0.1)
EACH = [(name, figure) for name, result in RESULTS.items() for figure in working_words.names(result)]


@pytest.mark.parametrize(("name", "figure"), EACH)
def test_every_line_adds_up_by_hand(name, figure):
    made = working(RESULTS[name], figure, PLAIN)
    sums = [line for line in made.lines if is_sum(line)]
    assert [str(line) for line in sums if not adds_up(line)] == []
    for line in made.lines:
        if "nearest step" in line.by:
            before = Decimal(line.by.split()[0].rstrip("…").replace("−", "-"))
            assert abs(before - line.figure.value) <= Decimal("0.05001")


@pytest.mark.parametrize(("name", "figure"), EACH)
def test_a_line_takes_its_figures_from_those_before_it(name, figure):
    made = working(RESULTS[name], figure, Display("g", "mm", 0.1))
    known = {"1", "2", str(len(RESULTS[name].bobweights.throws))}
    for line in made.lines:
        # The typed weighings of a part, the grade's own figures, a sine: what no line before has.
        is_given = (
            line.comes_from.startswith(("job file", "ISO", "JCGM", "statics of")) or "of its angle" in line.what
        )
        if not is_given and "angle" not in line.by:
            assert {*FIGURE.findall(line.by)} - {"0"} <= known, str(line)
        known |= {*FIGURE.findall(line.figure.digits)}


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("name", RESULTS)
def test_it_comes_to_what_the_tool_says(name, show):
    result = RESULTS[name]
    display = Display.of(result.job, show)
    one_g, one_gmm = 1.0, 25.4 if show else 1.0  # the scale's grams, in or mm
    for throw in result.bobweights.throws:
        made = working(result, f"bobweight {throw.throw.name}", display).lines[-1].figure
        assert float(made.value) * one_g == pytest.approx(throw.bobweight.value_g, abs=1e-6)
    for plane in (result.left.front, result.left.rear):
        lines = {line.what: line for line in working(result, f"plane {plane.plane}", display).lines}
        assert float(lines["unbalance"].figure.value) * one_gmm == pytest.approx(plane.amount_gmm, abs=1e-4)
        assert lines["unbalance"].figure.unit == ("g·in" if show else "g·mm")
        assert float(lines["at"].figure.value) == pytest.approx(plane.angle_deg, abs=1e-6)
        if plane.verdict:
            assert plane.verdict in list(lines.values())[-1].comes_from
    for spread in result.spreads:
        lines = {line.what: line for line in working(result, f"spread {label(spread.quantity)}", display).lines}
        assert float(lines["spread"].figure.value) * one_g == pytest.approx(spread.spread_g, abs=1e-6)


# In ounces and inches a digit is worth 28 times, or 720 times, what it is in grams and millimeters.
IN_OUNCES = Display("oz", "in", 0.005)


@pytest.mark.parametrize(("name", "figure"), EACH)
def test_in_ounces_every_line_adds_up_and_is_worked_as_finely_as_in_grams(name, figure):
    """What a hand is given of a figure is never coarser than a thousandth of a gram, a millimeter or a g·mm."""
    made = working(RESULTS[name], figure, IN_OUNCES)
    assert [str(line) for line in made.lines if is_sum(line) and not adds_up(line)] == []
    one = {"oz": 28.349523125, "in": 25.4, "oz·in": 28.349523125 * 25.4}
    for line in made.lines:
        shown = line.figure.digits.removesuffix(worked_lines.MORE)
        if line.figure.unit in one and shown != line.figure.digits:
            written = len(shown.partition(".")[2])
            assert one[line.figure.unit] * 10.0**-written <= 1e-3 * 1.0001, str(line)


def test_finer_is_as_fine_as_grams_and_millimeters():
    assert [worked_lines.finer(one) for one in (1.0, 10.0, 25.4, 28.35, 720.1)] == [3, 4, 5, 5, 6]
    assert worked_lines.finer(25.4, 4) == 6
    assert worked_lines.finer(0.001) == 3  # in kilograms of nothing: never coarser


def test_what_the_whole_crank_is_allowed_is_told_in_the_unit_of_the_plane():
    """By the grade it is in g·mm; the plane's own limit is in oz·in."""
    lines = [str(line) for line in working(RESULTS["a V8"], "plane front", IN_OUNCES).lines]
    (whole,) = (one for one in lines if one.startswith("allowed for the whole crank"))
    (own,) = (one for one in lines if one.startswith("that in oz·in"))
    gmm = whole.partition("   [")[0].rpartition(" = ")[2].removesuffix(" g·mm")
    assert own.startswith(f"that in oz·in = {gmm} / (28.349523125 × 25.4) = ")
    assert not any("that in" in str(line) for line in working(RESULTS["a V8"], "plane front", PLAIN).lines)


def test_a_cut_leaves_what_the_trim_expects():
    result = RESULTS["trimmed"]
    assert {part.part for part in result.trim.parts} == {"piston", "rod"}
    for part in result.trim.parts:
        made = working(result, f"cut {part.part} {part.cylinder}", Display("g", "mm", 0.1))
        left = [line.figure.value for line in made.lines if line.what.endswith("should show")]
        assert [float(value) for value in left] == pytest.approx(list(part.expected_g.values()))


def test_each_reading_says_where_it_is_from(tmp_path):
    """Of the job file, of every cylinder, of the weigh sheet, of the log."""
    job, sheet = demo.copy_into(tmp_path)

    def said(result):
        lines = working(result, "bobweight 1", Display.of(result.job)).lines
        return " ".join(str(line) for line in lines)

    with_sheet = said(work(load(job, sheet)))
    assert "[weigh sheet launch-weigh.csv]" in with_sheet
    assert "bearings 1 = 46.0 g   [job file, [every_cylinder]]" in with_sheet
    invented_job = tmp_path / "own.toml"
    invented_job.write_text(invented.text(invented.document()), encoding="utf-8")
    assert "piston 1 = 538.4 g   [job file, cylinder 1]" in said(work(load(invented_job)))


@pytest.mark.parametrize(
    "figure", ["bobweight 9", "plane middle", "spread wheel", "bobweight", "cut piston 99", "x\ny"]
)
def test_what_has_no_working_is_told_with_what_has(figure):
    with pytest.raises(BadInput, match="bobweight 1, bobweight 2"):
        working(RESULTS["trimmed"], figure, Display("g", "mm", 0.1))


def test_nothing_is_cut_by_a_reading_in_doubt(tmp_path):
    result = work(load(*demo.copy_into(tmp_path)))
    with pytest.raises(BadInput, match="looks like a slip"):
        working(result, "cut piston P6", Display.of(result.job))
