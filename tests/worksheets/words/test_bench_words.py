"""What the bench tells of a reading that looks wrong, and of a scale that drifts."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.fields import Units
from truethrow.balance.base.naming import Part
from truethrow.balance.job.enter import Entered
from truethrow.balance.weighing.belongs import Doubt
from truethrow.balance.weighing.flags import Flag
from truethrow.balance.weighing.session import SEEN, Check, Taken
from truethrow.worksheets.words import bench_words as words

NOW = SimpleNamespace(mass="{:.1f} g".format, allowed="{:g} g".format, job=SimpleNamespace(name="my.toml"))


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Flag("outlier", 6.6, is_above=True), "6.6 g above the median of the others"),
        (
            Flag("outlier", 519.4, mistake="ounces read as grams"),
            "519.4 g below the median of the others; ounces read as grams?",
        ),
        (
            Flag("cut", 1.8, is_above=True, against_g=539.2),
            "1.8 g above the 539.2 g that the cut was to leave; was it ground, and is it this part?",
        ),
        (Flag("repeat", 0.4), "0.4 g apart from the reading before; weigh it again"),
        (
            Flag("file", 1.8, against_g=541.0, may_be_ground=True),
            "the job file has 541.0 g, 1.8 g apart; this reading counts from now on; weigh it again, or was it "
            "ground and not recorded? (truethrow ground my.toml)",
        ),
        (
            Flag("file", 0.1, against_g=541.0, agrees=True),
            "the job file has 541.0 g, 0.1 g apart; this reading counts from now on",
        ),
        (Flag("closure", 1.5, against_g=0.5), "the ends and the whole rod are 1.5 g apart, allowed 0.5 g"),
    ],
)
def test_a_flag_says_what_is_off_by_how_much_and_what_may_be_behind_it(found, said):
    assert words.flag(found, NOW) == said


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Check("zero", "end", 0.3, 0.3), "zero at the end reads 0.3 g, 0.3 g off"),
        (Check("zero", SEEN, -0.2, 0.2), "zero between loads reads -0.2 g, 0.2 g off"),
        (Check("reference", "end", None, 0.4), "reference drifted 0.4 g since the start"),
    ],
)
def test_a_check_says_what_the_scale_read(found, said):
    assert words.check(found, NOW) == said
    assert words.of_taken(Taken(None, (Flag("repeat", 0.4),), (found,)), NOW)[1] == said


@pytest.mark.parametrize(
    ("count", "said"), [(1, "before 1 reading, and its ± does"), (3, "before 3 readings, and their ± does")]
)
def test_a_scale_whose_zero_nobody_saw_is_told_with_how_many_readings(count, said):
    session = SimpleNamespace(missed_checks=list, unzeroed=count)
    (told,) = words.missed_checks(session)
    assert said in told


def test_why_a_sheet_brought_nothing_new():
    part = Part("piston", 1, 3, "P3")
    assert words.entered(Entered(2, 1, 0), "my.toml", "my.toml") == [
        "2 new readings entered into my.toml, 1 new label"
    ]
    (said,) = words.entered(Entered(1, 0, 7), "my.toml", "my.toml")
    assert said.endswith("; the others of the sheet, 7, are in the job file already")
    assert words.entered(Entered(0, 0, 0), "my.toml", "my.toml")[0].endswith("; the sheet has none")
    _, cut, weigh, moved = words.entered(Entered(0, 0, 8, (part,), (part,)), "my.toml", "my.toml")
    assert cut == "Cut since, so that what the sheet reads is history: piston P3 (weighed in 3, goes in 1)"
    assert weigh.endswith("truethrow weigh my.toml")
    assert moved.startswith("Traded places since")


def test_what_holds_the_grinder_is_told_a_line_each_and_once():
    told = BadInput([Fault("piston 3", "one"), Fault("piston 5", "other")])
    session = SimpleNamespace(held=told)
    assert words.after_grinding(session, "j").splitlines()[1:] == ["! piston 3: one", "! piston 5: other"]
    assert words.after_grinding(session, "j", set(told.lines())) == words.HELD_ABOVE


@pytest.mark.parametrize(("unit", "said"), [("in", "4.125 in"), ("mm", "104.775 mm")])
def test_the_bore_is_told_in_the_unit_of_the_job(unit, said):
    """An inch is 25.4 mm (NIST SP 811)."""
    now = SimpleNamespace(job=SimpleNamespace(units=Units("oz", unit)))
    assert words.of_doubt(Doubt("bore", 104.775), now) == f"with a bore of {said} that is unusual"
