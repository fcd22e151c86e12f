"""The tables that declare an engine."""

import pytest
from pydantic import ValidationError

from truethrow.balance.base.fields import Units
from truethrow.balance.engine.declared import CylinderPlace, EngineTable

UNITS = Units("g", "mm", 0.1, 3000.0)


@pytest.mark.parametrize(("typed", "name"), [(2, "2"), ("2a", "2a"), ("rear", "rear")])
def test_a_throw_goes_by_its_number_or_its_name(typed, name):
    assert CylinderPlace.model_validate({"throw": typed}).throw == name


@pytest.mark.parametrize("typed", [True, 1.0, None, ["2"]])
def test_what_is_neither_is_no_throw(typed):
    with pytest.raises(ValidationError):
        CylinderPlace.model_validate({"throw": typed})


@pytest.mark.parametrize("bolts", [0, 9])
def test_a_rod_has_one_to_eight_bolts(bolts):
    given = {"stroke": 92.0, "rod_length": 155.0, "rod_bolts": bolts}
    with pytest.raises(ValidationError, match="rod_bolts"):
        EngineTable.model_validate(given, context=UNITS)
