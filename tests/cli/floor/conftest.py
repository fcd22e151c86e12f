import pytest
from station_page import Screen
from station_shop import job

__all__ = ["job"]


@pytest.fixture
def screen(job):
    """A screen at a station whose bobweights are built."""
    made = Screen(job)
    made.builds()
    return made
