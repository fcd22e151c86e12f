"""What a bench profile remembers of its scale."""

import datetime
import math
import tomllib

import pytest

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.remembering import (
    MOST_FREEDOM,
    Found,
    for_the_job,
    found,
    pooled,
    remembered_in,
)
from truethrow.balance.weighing.session import Session

UNKNOWN = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}


@pytest.fixture
def session(blank, tmp_path):
    """A session on a job that says nothing of its scale, with a profile that may."""

    def begun(profile="[bench]\n", scale=UNKNOWN):
        path = blank(scale=scale)
        (tmp_path / "bench.toml").write_text(profile, encoding="utf-8")
        return Session(benchjob.load(path, tmp_path / "bench.toml"), ReadingLog(log_path(path)))

    return begun


def weigh(session, kind, *grams, cylinder=1):
    for one in grams:
        session.go(cylinder, kind)
        session.take(str(one))


def test_two_estimates_of_one_scatter_are_pooled_by_their_freedom():
    """JCGM 100:2008, H.3.6: s² = (3·0.2² + 1·0.4²)/4."""
    both = pooled(Scatter(0.2, 3), Scatter(0.4, 1, "repeats"))
    assert both == Scatter(pytest.approx(math.sqrt((3 * 0.04 + 0.16) / 4)), 4, "repeats")
    assert pooled(None, Scatter(0.4, 1, "repeats")) == Scatter(0.4, 1, "repeats")
    assert pooled(Scatter(0.2), Scatter(0.4, 1, "repeats")) == Scatter(0.2)


def test_a_session_adds_its_own_second_weighings_to_what_the_profile_knows(session):
    bench = session("[bench]\nrepeatability = 0.2\nrepeatability_from = 3\nrepeatability_on = 2026-01-15\n")
    assert found(bench).scatter == {}
    weigh(bench, "piston", 538.0, 538.2)
    weigh(bench, "big_end", 450.0, 450.3)
    known = {way: pooled(bench.job.remembered.get(way), new) for way, new in found(bench).scatter.items()}
    assert known["pan"] == Scatter(pytest.approx(math.sqrt((3 * 0.04 + 0.02) / 4)), 4, "repeats")
    assert known["support"] == Scatter(pytest.approx(0.3 / math.sqrt(2)), 1, "repeats")


def test_what_another_session_weighed_is_not_counted_twice(session):
    first = session()
    weigh(first, "piston", 538.0, 538.2)
    second = session()
    weigh(second, "piston", 538.0)
    assert found(second).scatter == {}


def test_the_job_is_told_what_the_profile_knows_and_it_does_not_say(session):
    profile = "[bench]\nrepeatability = 0.05\nrepeatability_from = 12\nrod_end_repeatability = 0.2\n"
    assert for_the_job(session(profile)) == {"pan": Scatter(0.05, 12), "support": Scatter(0.2)}
    declared = session(profile, scale=UNKNOWN | {"repeatability": 0.1})
    assert for_the_job(declared) == {"support": Scatter(0.2)}
    assert for_the_job(session()) == {}


def test_one_slip_does_not_spoil_what_is_remembered(session):
    """A piston of which one reading is 2 g off, on a scale that is known: it is left out, the other counts."""
    bench = session("[bench]\nrepeatability = 0.05\nrepeatability_from = 20\n")
    weigh(bench, "piston", 538.0, 540.0)
    weigh(bench, "piston", 538.2, 538.3, cylinder=2)
    new = found(bench)
    assert [(reading.kind, reading.cylinder) for reading in new.left_out] == [("piston", 1)]
    assert new.scatter == {"pan": Scatter(pytest.approx(0.1 / math.sqrt(2)), 1, "repeats")}


def test_of_a_scale_that_nobody_knows_a_pair_that_disagrees_says_nothing(session):
    bench = session()
    weigh(bench, "piston", 538.0, 540.0)
    assert found(bench).scatter == {}


def test_the_oldest_fades():
    """Sixty second weighings count; a scale that was repaired is known as it is after as many."""
    known = Scatter(0.2, 60, "repeats")
    for _ in range(20):
        known = pooled(known, Scatter(0.05, 10, "repeats"))
        assert known.freedom == MOST_FREEDOM
    assert known.standard_g == pytest.approx(0.05, rel=0.25)


PROFILE = """# the bench by the window
[bench]
port = ""   # none yet
repeatability = "0.2 g"  # of last year
repeatability_from = 3
"""


def test_a_profiles_comments_stay_and_a_session_counts_once():
    new = Found("a-1", {"pan": Scatter(0.4, 1, "repeats"), "support": Scatter(0.3, 2, "repeats")}, ())
    day = datetime.date(2026, 3, 4)
    text = remembered_in(PROFILE, {"pan": Scatter(0.2, 3)}, new, day, "bench.toml")
    assert text.startswith('# the bench by the window\n[bench]\nport = ""   # none yet\n')
    assert "# of last year" in text
    table = tomllib.loads(text)["bench"]
    assert table["repeatability"] == "0.2646 g"
    assert (table["repeatability_from"], table["repeatability_on"]) == (4, day)
    assert (table["rod_end_repeatability"], table["rod_end_repeatability_from"]) == ("0.3 g", 2)
    with pytest.raises(BadInput, match="remembered already"):
        remembered_in(text, {}, new, day, "bench.toml")


def test_an_empty_profile_gets_its_table():
    text = remembered_in(
        "", {}, Found("a-1", {"pan": Scatter(0.4, 1, "repeats")}, ()), datetime.date(2026, 3, 4), ""
    )
    assert tomllib.loads(text)["bench"]["repeatability_of"] == ["a-1"]
