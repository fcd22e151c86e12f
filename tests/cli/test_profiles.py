"""Which profile a word means, or is found without one (and in station/test_which_station.py)."""

import pytest

from truethrow.balance import demo
from truethrow.balance.base.errors import BadInput
from truethrow.balance.log.place import STANDARD_INPUT, file_of
from truethrow.balance.station.what_now import Now
from truethrow.cli import profiles


@pytest.fixture
def job(tmp_path):
    return demo.copy_into(tmp_path)[0]


def test_the_profile_beside_the_job_is_found_with_its_text(job, tmp_path):
    found, where = profiles.found_or_refused(job)
    assert (str(found), where) == (str(tmp_path / "station.toml"), "beside the job")
    assert found.text == demo.text("station.toml")
    assert profiles.found_for(job) == (found, where)


def test_what_comes_next_is_told_by_it_where_it_will_do(job):
    assert profiles.by_itself(job, lambda profile: Now((f"by {profile}",)))[0].steps == (
        f"by {job.with_name('station.toml')}",
    )

    def not_by_one(profile):
        if profile is not None:
            raise BadInput([])
        return Now(("without",))

    assert profiles.by_itself(job, not_by_one) == (Now(("without",)), "")


def test_nothing_is_looked_for_beside_standard_input():
    assert file_of(STANDARD_INPUT) is None
    assert profiles.by_itself(STANDARD_INPUT, lambda profile: Now((str(profile),))) == (Now(("None",)), "")
