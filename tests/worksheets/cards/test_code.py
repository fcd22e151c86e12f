"""The text of a card's code: read back, whatever the job is called, and new with every figure."""

import pytest
from commands import refused
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.cards.card import KINDS
from truethrow.worksheets.cards.code import Code, digest, parse


@given(st.text(min_size=1, max_size=30), st.sampled_from(list(KINDS)), st.booleans())
def test_a_code_is_read_back_whatever_the_job_is_called(job_id, kind, station):
    made = Code(job_id, kind, "t0123456789abcde", "0123456789", station)
    assert parse(f" {made}\n") == made


@pytest.mark.parametrize(
    "text",
    [
        "",
        "launch-7",
        "other:a:trim:b:c",
        "truethrow:a:trim:b",
        "truethrow:a:menu:b:c",
        "truethrow:a:trim:b:c:shelf",
    ],
)
def test_what_is_no_code_is_refused(text):
    assert refused(parse, text).startswith("CODE: ")


def test_the_digest_is_of_the_data_and_not_of_their_order():
    data = {"hang_g": 1864.8, "throws": [1, 2]}
    assert digest(data) == digest(dict(reversed(data.items())))
    assert digest(data) != digest(data | {"hang_g": 1864.9})
    assert digest(data) != digest(data | {"throws": [2, 1]})
    assert len(digest(data)) == 10
