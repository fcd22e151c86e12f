"""What is not weighed yet, and what must not be."""

from __future__ import annotations

import invented
import pytest
from full_document import document, engine, faults, one_fault, with_reading


@pytest.mark.parametrize("blank", ["", []], ids=repr)
def test_a_blank_reading_is_a_missing_one(blank):
    assert one_fault(with_reading(blank)).startswith("cylinder 3, piston: missing; allowed: a mass, 0.1 to 3000 g")


def test_a_missing_cylinder_a_strange_one_and_a_double_one_are_told_apart():
    parts = invented.cylinders()
    strange = parts[2] | {"number": 9}
    assert faults(document(parts=[*parts[:2], *parts[3:], strange, parts[0]])) == [
        "cylinder 1: is there twice; allowed: one table a cylinder",
        "cylinder 9: not in this layout; allowed: 1, 2, 3, 4, 5, 6, 7, 8",
        "cylinder 3: missing",
    ]


def test_a_part_that_the_engine_is_declared_without_must_not_be_weighed():
    found = faults(engine(without=["locks"]))
    assert found == [f"cylinder {n}, locks: the engine is declared without it" for n in range(1, 9)]
    parts = [{k: v for k, v in own.items() if k != "locks"} for own in invented.cylinders()]
    light = document(parts=parts, engine=invented.V8 | {"without": ["locks"]})
    assert "locks" not in invented.build(light).parts[1]
    assert one_fault(light | {"every_cylinder": {"locks": 3.2}}).startswith("every_cylinder, locks: ")


def test_readings_for_every_cylinder_are_enough():
    data = invented.document(parts=[], every_cylinder=dict(invented.PARTS))
    assert len(invented.build(data).parts) == 8
