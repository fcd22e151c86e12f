"""Parts beside the box that [estimate] tells of."""

import pytest
from invented import PARTS, cylinders, document

from truethrow.balance.job.boxes import SCATTERS, Box, boxes_of, off_boxes
from truethrow.balance.job.job import build

BOX = {"about": 521, "within": 2, "scatter": 0.8}


def job(pistons, box=None, **tables):
    parts = cylinders(piston=dict(enumerate(pistons, start=1)))
    return build(document(parts, estimate={"piston": box or BOX}, **tables))


@pytest.mark.parametrize(
    ("grams", "is_of"), [(521, True), (525.5, True), (516.5, True), (525.6, False), (516, False)]
)
def test_a_piece_is_of_its_box_within_that_and_three_scatters_and_a_step(grams, is_of):
    """2 + 3 · 0.8 + 0.1 = 4.5 g on either side of 521."""
    assert SCATTERS == 3.0
    assert Box(521.0, 2.0, 0.8).is_of(grams, 0.1) is is_of


def test_what_is_none_of_its_box_is_told_by_kind_with_its_cylinders():
    (found,) = job([521.0, 532.3, 531.2, 520.1, 519.0, 520.0, 522.0, 521.0]).off_boxes
    assert (found.kind, found.cylinders, found.least_g, found.most_g) == ("piston", (2, 3), 531.2, 532.3)
    assert found.box == Box(521.0, 2.0, 0.8)
    assert job([521.0] * 8).off_boxes == ()


def test_what_nobody_weighed_and_what_was_cut_are_none_to_be_held_against_it():
    made = job([521.0] * 8, {"about": 600, "within": 1})
    assert len(made.off_boxes[0].cylinders) == 8
    step = made.scale.resolution_g
    left = off_boxes(made.boxes, made.parts, step, {(n, "piston") for n in (1, 2, 3)})
    assert left[0].cylinders == (4, 5, 6, 7, 8)
    table = document([], estimate={kind: {"about": g, "within": 0} for kind, g in PARTS.items()})
    assert build(table, estimated=True).off_boxes == ()


def test_a_job_without_estimates_has_no_box():
    assert boxes_of(None) == {}
    assert build(document(cylinders())).off_boxes == ()


def test_the_doubt_is_in_no_digest_but_the_estimate_of_what_is_weighed_never_was():
    assert job([521.0] * 8).digest == job([521.0] * 8, {"about": 600, "within": 1}).digest
