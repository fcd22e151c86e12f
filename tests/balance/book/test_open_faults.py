"""A book that is made or opened when something goes wrong. `pytest -s` prints the counts."""

from __future__ import annotations

import contextlib
import random
import time

import pytest
from book_faults import FAULTS, found_in, log_of, read, with_job
from bookstation import Stations, fill, small_disk

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.book.open import open_book

pytestmark = FAULTS


def test_kills_while_a_book_is_made_leave_one_that_can_be_made(url, tmp_path):
    chance = random.Random(20250307)
    with Stations() as stations:
        for _ in range(20):
            both = [stations.start(url, "", "maker", tmp_path / "none") for _ in range(2)]
            time.sleep(chance.uniform(0, 0.08))
            for station in both:
                stations.kill(station)
    opened = with_job(url, tmp_path)
    made = read(log_of(opened))
    opened.close()
    assert found_in(url) == [made]


def test_a_full_disk_is_told_in_one_line_also_to_who_opens_the_book_then(tmp_path):
    with contextlib.ExitStack() as stack:
        try:
            disk = stack.enter_context(small_disk(2, tmp_path / "disk"))
        except PermissionError:
            pytest.skip("nobody may mount a disk here")
        fill(disk / "full")
        for url in (f"sqlite:///{disk / 'book.db'}", f"sqlite:///{disk / 'new' / 'book.db'}"):
            with pytest.raises(TruethrowError) as caught:
                open_book(url)
            assert len(str(caught.value).splitlines()) == 1
        (disk / "full").unlink()
        opened = with_job(f"sqlite:///{disk / 'book.db'}", tmp_path)
        made = read(log_of(opened))
        opened.close()
        fill(disk / "full")
        with contextlib.suppress(TruethrowError):  # the system may need room to open it, or none
            assert found_in(f"sqlite:///{disk / 'book.db'}") == [made]
        (disk / "full").unlink()
        assert found_in(f"sqlite:///{disk / 'book.db'}") == [made]
