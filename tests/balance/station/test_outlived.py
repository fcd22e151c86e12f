"""What ends a signature by the records alone."""

from __future__ import annotations

import pytest
from station_shop import proved, struck

from truethrow.balance.base.amounts import METRIC
from truethrow.balance.log.place import open_log
from truethrow.balance.station.outlived import outlived, to_weigh_again


@pytest.fixture
def signed(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    run("sign", "--by", "AB")
    return job


def why(job):
    found = outlived(open_log(job).records)
    return None if found is None else [one.why for one in found.why]


def test_nothing_does_while_it_counts_nor_before_anybody_signed(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    assert why(job) is None
    run("sign", "--by", "AB")
    assert why(job) is None


def test_the_first_record_that_ended_it_is_named(run, signed):
    run("spin", "0.3@2", "0.1@4")
    run("spin", "0.3@3", "0.1@4")
    assert why(signed) == ["spun after"]
    assert "spin 2 came after it" in outlived(open_log(signed).records).said(METRIC)
    run("sign", "--by", "CD")
    assert why(signed) is None


def test_a_signature_that_is_canceled(run, signed):
    struck(signed, "sign")
    assert why(signed) == ["sign canceled"]


def test_parts_that_are_to_be_weighed_again_end_one_that_no_record_ended(run, signed):
    records = open_log(signed).records
    assert [one.why for one in to_weigh_again(records).why] == ["to weigh"]
    run("spin", "0.3@2", "0.1@4")
    assert [one.why for one in to_weigh_again(open_log(signed).records).why] == ["spun after"]
