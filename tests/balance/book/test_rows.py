"""The seal of a row: of its values, whatever their order, and of each of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.book.rows import is_sealed, seal, sealed

ROW = {"id": "launch-7", "seq": 3, "grams": 538.4, "typed": "538,4", "kind": None}


def test_a_seal_covers_the_values_and_not_the_order_nor_itself():
    made = sealed(**ROW)
    assert made["seal"] == seal(ROW) == seal(dict(reversed(ROW.items()))) == seal(made)
    assert len(made["seal"]) == 16


@given(st.sampled_from(list(ROW)), st.text(max_size=9) | st.integers() | st.none())
def test_no_value_is_changed_without_the_seal(name, value):
    if value != ROW[name]:
        assert seal(ROW | {name: value}) != seal(ROW)


def test_no_number_is_sealed_that_no_file_could_give_back():
    with pytest.raises(ValueError, match="no number"):
        seal(ROW | {"grams": float("nan")})


def test_a_row_with_a_value_that_none_has_has_no_seal_that_fits():
    row = sealed(kind="rod", grams=1.5)
    assert is_sealed(row)
    assert not is_sealed(row | {"grams": b"\xff"})
    assert not is_sealed(row | {"grams": float("nan")})
    assert not is_sealed(row | {"seal": b"\xff"})
