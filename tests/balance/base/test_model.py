"""A model put together by hand, and its file as a reader elsewhere has it."""

import random
from fractions import Fraction

import highspy
import pytest
import solved_again

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.model import Claim, Model, beside, ending, is_model, near, seal_of, text


def claim(value, **more):
    own = {"job": "j", "digest": "d", "asked": "the least", "unit": "a step", "found": "so much", "best": None}
    return Claim(**(own | {"value": Fraction(value), "bound": Fraction(value)} | more))


def parcels():
    """Three of five parcels of 3, 5, 7, 9 and 11 that weigh at least 20, for as little as there is: 3 + 7 + 11, by
    hand 21; and how far above 20 they are, as a number from 0 to 10."""
    made = Model()
    weights = (3, 5, 7, 9, 11)
    for weight in weights:
        made.variable(f"p{weight}", 0, 1, Fraction(int(weight in (3, 7, 11))), f"parcel of {weight}")
    made.variable("above", 0, 10, Fraction(1), "above 20")
    made.row("three", {f"p{weight}": 1 for weight in weights}, "=", 3)
    all_of_it = {f"p{weight}": Fraction(weight, 4) for weight in weights}
    made.row("enough", all_of_it, ">=", 5)
    made.row("above_is", all_of_it | {"above": Fraction(-1, 4)}, "=", 5)
    made.objective = {"above": Fraction(1)}
    return made


@pytest.mark.parametrize("kind", [".lp", ".opb"])
def test_it_is_read_and_solved_elsewhere(kind):
    made = parcels()
    written = text(made, claim(1), kind)
    assert made.broken() == []
    assert solved_again.wrong(written) == []
    assert solved_again.read(written).stated == 1
    assert solved_again.solve(written) == ("optimal", 1)


def test_another_program_reads_the_lp(tmp_path):
    """HiGHS's reader of LP files: the same names, bounds, rows and optimum."""
    path = tmp_path / "parcels.lp"
    path.write_text(text(parcels(), claim(1), ".lp"))
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    assert highs.readModel(str(path)) == highspy.HighsStatus.kOk
    own = highs.getLp()
    most = dict(zip(own.col_names_, own.col_upper_, strict=True))
    assert most == {"p3": 1.0, "p5": 1.0, "p7": 1.0, "p9": 1.0, "p11": 1.0, "above": 10.0}
    assert own.num_row_ == 3
    highs.run()
    assert highs.getInfo().objective_function_value == 1.0


@pytest.mark.parametrize("kind", [".lp", ".opb"])
def test_every_changed_digit_is_noticed(kind):
    written = text(parcels(), claim(1), kind)
    places = [at for at, letter in enumerate(written) if letter in "0123456789"]
    for at in places:
        changed = f"{written[:at]}{(int(written[at]) + 1) % 10}{written[at + 1 :]}"
        assert solved_again.wrong(changed)
        assert seal_of(changed) not in changed


def test_an_answer_that_does_not_hold_is_told():
    made = parcels()
    made.answer["p3"] = Fraction(0)
    assert made.broken() == ["three", "enough", "above_is"]
    assert {"row 0", "row 1"} < set(solved_again.wrong(text(made, claim(1), ".lp")))
    made.answer["above"] = Fraction(11)
    assert "above" in made.broken()


def test_a_row_of_nothing_is_none_or_cannot_hold():
    made = parcels()
    made.row("nothing", {"p3": 0}, "<=", 0)
    assert len(made.rows) == 3
    with pytest.raises(ValueError, match="nothing cannot hold"):
        made.row("nothing", {}, ">=", 1)


def test_opb_has_whole_numbers_alone():
    made = parcels()
    made.variable("part", 0, 1, Fraction(0), "", whole=False)
    with pytest.raises(ValueError, match="part"):
        text(made, claim(1), ".opb")
    made = parcels()
    made.variable("more", 1, 2, Fraction(1), "")
    made.objective = {"more": Fraction(1)}
    with pytest.raises(ValueError, match="begins at 1"):
        text(made, claim(1), ".opb")


def test_a_number_below_nothing_is_the_sum_of_its_bits_all_the_same():
    made = Model()
    made.variable("x", -3, 2, Fraction(-2), "")
    made.variable("size", 0, 9, Fraction(4), "")
    made.row("twice", {"x": 2, "size": 1}, ">=", 0)
    made.row("below", {"x": 1}, "<=", -2)
    made.objective = {"size": Fraction(1)}
    assert solved_again.wrong(text(made, claim(4), ".opb")) == []
    assert solved_again.solve(text(made, claim(4), ".opb")) == ("optimal", 4)


def test_a_float_is_the_short_fraction_that_it_stands_for():
    draw = random.Random(1)
    for _ in range(200):
        short = Fraction(draw.randint(-9999, 9999), draw.randint(1, 9999))
        assert near(float(short)) == short
    assert near(0.1234567891234) == Fraction(123456789, 10**9)


def test_what_is_not_proved_is_not_said_to_be():
    said = text(parcels(), claim(1, best="none", bound=Fraction(0)), ".lp")
    assert "not proved" in said
    assert "nothing better exists" not in solved_again.read(said).said("bound")
    assert "it is no proof by itself" in said


def test_the_name_says_the_format_and_models_are_known(tmp_path):
    assert ending(tmp_path / "my.OPB", (".opb", ".lp")) == ".opb"
    with pytest.raises(BadInput, match=r"allowed: a name such as model\.opb or model\.lp"):
        ending(tmp_path / "my.txt", (".opb", ".lp"))
    assert beside(tmp_path / "my.opb", "limits").name == "my.limits.opb"
    assert is_model(text(parcels(), claim(1), ".lp"))
    assert is_model(text(parcels(), claim(1), ".opb"))
    assert not is_model("Minimize\n")


def test_a_name_that_would_break_its_line_does_not():
    made = parcels()
    made.variable("odd", 0, 1, Fraction(0), "rod A\nx1 = 1; \x1b[2J")
    assert solved_again.wrong(text(made, claim(1), ".lp")) == []
