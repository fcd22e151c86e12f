"""What a line of a scale means."""

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from simulated_scale import STYLES

from truethrow.balance.base.units import MASS, parse
from truethrow.balance.weighing.scaleline import Frame, ScaleProfile, Trouble, check_profile, read_line

GRAMS = ScaleProfile()


@pytest.mark.parametrize(
    ("line", "grams", "stable"),
    [
        ("540.2", 540.2, None),
        ("  540.2 g", 540.2, None),
        ("540.2g", 540.2, None),
        ("540.2 G", 540.2, None),
        ("+   540.2 g", 540.2, None),
        ("-  0.5 g", -0.5, None),
        ("-0.0 g", 0.0, None),
        ("0540.2 g", 540.2, None),
        ("540. g", 540.0, None),
        (".5 g", 0.5, None),
        ("540,2 g", 540.2, None),
        ("0,540 kg", 540.0, None),
        ("1 540.2 g", 1540.2, None),
        ("12 345 678 mg", 12345.678, None),
        ("0.5402 kg", 540.2, None),
        ("0.5402 KG", 540.2, None),
        ("19.055 oz", 540.200163146875, None),
        ("1.191 LB", 540.22851267, None),
        ("ST,+00540.2 g", 540.2, True),
        ("US,+00540.2 g", 540.2, False),
        ("ST,GS,+  540.2,g", 540.2, True),
        ("S 540.2 g", 540.2, True),
        ("S     540.2", 540.2, True),
        ("D 540.2 g", 540.2, False),
        ("540.2 g S", 540.2, True),
        ("540.2 g U", 540.2, False),
        ("540.2 S", 540.2, True),
        ("540.2 g ?", 540.2, False),
        ("540.2 g?", 540.2, False),
        ("? 540.2 g", 540.2, False),
        ("540.2 g stable", 540.2, True),
        ("540.2 g Unstable", 540.2, False),
        ("Net: 540.2 g", 540.2, None),
        ("N    540.2 g", 540.2, None),
        ("G    540.2 g", 540.2, None),
        ("\x02540.2 g\x03", 540.2, None),
        ("\t540.2\tg", 540.2, None),
    ],
)
def test_a_line_with_one_number_is_a_mass(line, grams, stable):
    frame = read_line(line, GRAMS)
    assert isinstance(frame, Frame), frame
    assert (frame.grams, frame.stable) == (pytest.approx(grams, rel=1e-8, abs=0), stable)
    assert parse(frame.typed, MASS, "g") == frame.grams


@pytest.mark.parametrize(
    ("line", "what"),
    [
        *(
            (line, "overload")
            for line in ("OL", " -OL- g", "Err", "Err 4", "^^^^^^", "------", "ST, ---- g", "12 OVER")
        ),
        *((line, "unit") for line in ("12.3 pcs", "12.3 %", "60.1 ct", "12.3 gr", "12.3 GN")),
        *(
            (line, "garbage")
            for line in ("12.3 14.5", "1 lb 3.2 oz", "12:30:05", "2024-05-01", "Ready", "nan", "inf")
        ),
        *(
            (line, "garbage")
            for line in ("1e400", "1e4 g", "12.3.4 g", "--5 g", "12.3- g", "S ,5 g", ",5", "0x12")
        ),
        *(
            (line, "garbage")
            for line in ("Tare 50.0 g", "540.2 \x00g", "54\ufffd.2 g", "५४० g", "9" * 201, "9" * 40)
        ),
        *((line, "garbage") for line in ("540.2 g g", "1234 567 g", "1,234.5 g", "−5 g", "-", "?")),
    ],
)
def test_anything_else_is_a_trouble_in_one_sentence(line, what):
    trouble = read_line(line, GRAMS)
    assert isinstance(trouble, Trouble), trouble
    assert trouble.what == what
    assert trouble.said.isprintable()


@pytest.mark.parametrize("line", ["", " ", "\r\n", "\t", "\x02\x03"])
def test_an_empty_line_is_nothing(line):
    assert read_line(line, GRAMS) is None


def test_a_comma_that_may_group_thousands_is_not_guessed_at():
    assert read_line("1,234 g", GRAMS).what == "garbage"
    assert read_line("1,234 g", ScaleProfile(resolution_g=0.001)).grams == 1.234
    assert read_line("1,234 kg", GRAMS).grams == 1234.0


def test_a_bare_number_takes_the_profiles_unit_and_says_so():
    assert read_line("2.5", ScaleProfile(unit="kg")) == Frame(2500.0, "2.5 kg", None, "kg")
    assert read_line("2.5", ScaleProfile(unit="stone")).what == "unit"


def test_a_scale_in_ounces_is_told_in_ounces():
    """Source: international avoirdupois pound (1959): 1 oz = 28.349523125 g, exact."""
    ounce = 28.349523125
    profile = ScaleProfile(unit="oz", resolution_g=0.005 * ounce, least_g=0.05 * ounce, capacity_g=100 * ounce)
    assert "101 oz is beyond its 100 oz;" in read_line("101 oz", profile).said
    assert check_profile(profile._replace(capacity_g=0.01 * ounce)) == [
        "capacity 0.01 oz; allowed: above the step and the least load"
    ]
    assert check_profile(profile._replace(least_g=0.001 * ounce))[0].startswith("least load 0.001 oz;")


def test_beyond_the_capacity_is_an_overload():
    small = ScaleProfile(capacity_g=500.0)
    assert read_line("500.0 g", small).grams == 500.0
    assert read_line("500.1 g", small).what == "overload"


@pytest.mark.parametrize(
    ("pattern", "line", "expected"),
    [
        ("{any}={number}{unit}", "W3=- 12.5kg", Frame(-12500.0, "-12.5 kg", None, "kg")),
        ("{number}{stable=*}", "12.5*", Frame(12.5, "12.5 g", True, "g")),
        ("{number}{stable=*}", "12.5", Frame(12.5, "12.5 g", False, "g")),
        ("{number}{moving=~}", "12.5~", Frame(12.5, "12.5 g", False, "g")),
        ("{number}{moving=~}", "12.5", Frame(12.5, "12.5 g", None, "g")),
        ("{stable},GS, {number} {unit}", "US,GS,  12.5 g", Frame(12.5, "12.5 g", False, "g")),
    ],
)
def test_a_profiles_own_pattern_stands_before_the_general_rule(pattern, line, expected):
    assert read_line(line, ScaleProfile(pattern=pattern)) == expected


def test_a_pattern_describes_the_whole_line():
    profile = ScaleProfile(pattern="#{number}#")
    assert read_line("#12.5", profile).what == "garbage"
    assert read_line("#----#", profile).what == "garbage"
    assert read_line("OL", profile).what == "overload"


@given(st.one_of(st.text(max_size=250), st.text(alphabet="0123456789+-., gkGSTUDOL?^e\x00", max_size=30)))
@examples(500)
def test_no_text_upsets_the_reader(text):
    for profile in (
        GRAMS,
        ScaleProfile(pattern="{any}{number}{any}{unit}"),
        ScaleProfile(pattern="{"),
        ScaleProfile(unit="?"),
    ):
        found = read_line(text, profile)
        if isinstance(found, Frame):
            assert parse(found.typed, MASS, "g") == found.grams
        elif found is not None:
            assert found.said.isprintable()


@given(st.integers(-99_999, 99_999), st.sampled_from(sorted(STYLES)), st.booleans())
def test_every_style_is_read_as_it_was_meant(tenths, style, moving):
    frame = read_line(STYLES[style](tenths / 10, 0.1, moving), GRAMS)
    assert frame.grams == pytest.approx(tenths / 10, abs=1e-9)
    assert frame.stable in (None, not moving)


def test_a_good_profile_is_not_faulted():
    assert check_profile(GRAMS) == []
    assert (
        check_profile(ScaleProfile("/dev/ttyUSB0", 115200, "7E1", "{number}", "kg", 1.0, 6000.0, 1.0, 5.0)) == []
    )


@pytest.mark.parametrize(
    "wrong",
    [
        {"port": "/dev/tty\nUSB0"},
        {"baud": 200},
        {"baud": 10**7},
        {"frame": "8X1"},
        {"frame": "81"},
        {"frame": ""},
        {"pattern": "{number"},
        {"pattern": "no number"},
        {"pattern": "x" * 501},
        {"unit": "stone"},
        {"resolution_g": 0.0},
        {"resolution_g": float("nan")},
        {"capacity_g": 0.05},
        {"capacity_g": float("nan")},
        {"settle_s": 0.0},
        {"settle_s": 11.0},
        {"least_g": 0.05},
        {"least_g": float("nan")},
    ],
)
def test_every_fault_of_a_profile_is_one_sentence(wrong):
    (sentence,) = check_profile(GRAMS._replace(**wrong))
    assert sentence.isprintable()


def test_all_faults_of_a_profile_come_at_once():
    assert len(check_profile(ScaleProfile(baud=1, frame="x", pattern="{", unit="x", settle_s=-1))) == 5
