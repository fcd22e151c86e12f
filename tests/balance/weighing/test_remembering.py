"""What a bench profile remembers of its scale."""

import math

import pytest

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.remembering import for_the_job, pooled, to_remember
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
    found = pooled(Scatter(0.2, 3), Scatter(0.4, 1, "repeats"))
    assert found == Scatter(pytest.approx(math.sqrt((3 * 0.04 + 0.16) / 4)), 4, "repeats")
    assert pooled(None, Scatter(0.4, 1, "repeats")) == Scatter(0.4, 1, "repeats")
    assert pooled(Scatter(0.2), Scatter(0.4, 1, "repeats")) == Scatter(0.2)


def test_a_session_adds_its_own_second_weighings_to_what_the_profile_knows(session):
    bench = session("[bench]\nrepeatability = 0.2\nrepeatability_from = 3\nrepeatability_on = 2026-01-15\n")
    assert to_remember(bench) == {}
    weigh(bench, "piston", 538.0, 538.2)
    weigh(bench, "big_end", 450.0, 450.3)
    found = to_remember(bench)
    assert found["pan"] == Scatter(pytest.approx(math.sqrt((3 * 0.04 + 0.02) / 4)), 4, "repeats")
    assert found["support"] == Scatter(pytest.approx(0.3 / math.sqrt(2)), 1, "repeats")


def test_what_another_session_weighed_is_not_counted_twice(session):
    first = session()
    weigh(first, "piston", 538.0, 538.2)
    second = session()
    weigh(second, "piston", 538.0)
    assert to_remember(second) == {}


def test_the_job_is_told_what_the_profile_knows_and_it_does_not_say(session):
    profile = "[bench]\nrepeatability = 0.05\nrepeatability_from = 12\nrod_end_repeatability = 0.2\n"
    assert for_the_job(session(profile)) == {"pan": Scatter(0.05, 12), "support": Scatter(0.2)}
    declared = session(profile, scale=UNKNOWN | {"repeatability": 0.1})
    assert for_the_job(declared) == {"support": Scatter(0.2)}
    assert for_the_job(session()) == {}
