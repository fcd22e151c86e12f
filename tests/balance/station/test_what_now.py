"""The one next step of a job, state by state. The whole way is walked in stories/test_what_do_i_do_now."""

import invented
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import lifecycle
from truethrow.balance.station.what_now import what_now


def a_job(folder, parts=None, **tables):
    path = folder / "my.toml"
    path.write_text(invented.text(invented.document(parts, **tables)), encoding="utf-8")
    return path


def first(path):
    return what_now(path).steps[0]


def test_parts_that_wait_for_the_scale_come_first(tmp_path):
    parts = invented.cylinders(piston={3: 532.4})
    del parts[6]["pin"]
    path = a_job(tmp_path, parts)
    assert first(path) == f"weigh what is missing of cylinder 7: truethrow weigh {path}"


def test_then_what_looks_like_a_slip_and_that_blocks(tmp_path):
    path = a_job(tmp_path, invented.cylinders(piston={3: 532.4}), match={"aims": ["grams"]})
    now = what_now(path)
    assert now.blocked and now.steps[0].startswith("look again at piston 3: ")


def test_then_the_matching_that_the_job_asks_for(tmp_path):
    path = a_job(tmp_path, match={"aims": ["grams"]})
    assert first(path) == f"match, before anything is ground: truethrow match {path}"
    invented.propose(path, {"piston": {1: 2, 2: 1}})
    assert first(path) == f"accept the matching that was proposed: truethrow accept {path}"


def test_then_the_trim(tmp_path):
    path = a_job(tmp_path, invented.cylinders(piston={3: [540.4, 540.4]}), limits={"piston": 1.0})
    assert what_now(path).steps == (
        f"grind by the trim plan, the scale beside you: truethrow weigh {path} --grind",
        f"or, once it is ground: truethrow ground {path}",
    )


def test_a_set_that_is_done_goes_to_the_station_or_is_closed(tmp_path):
    """Without a tolerance nothing can be spun by it, and no spin is told."""
    path = a_job(tmp_path)
    sheet, closing = what_now(path).steps
    assert sheet.endswith(f"truethrow send {path}") and f"truethrow close {path}" in closing
    path = a_job(tmp_path, station={"limit": "100 g mm"})
    assert f"truethrow next {path} --station STATION" in what_now(path).steps[1]
    lifecycle.close(path, "closed", "handed over", "AB")
    assert first(path).startswith("nothing, the job is closed by AB; to open it again: truethrow reopen ")


@pytest.mark.parametrize(("limit", "told"), [(4.4, "piston (too close to call)"), (6.0, "")])
def test_a_spread_that_no_second_weighing_settles_is_not_done(tmp_path, limit, told):
    """Weighed twice where it counts, and nothing declared to trim: the screen above says so, and so does this."""
    twice = {3: [541.7, 541.7], 6: [537.2, 537.2]}
    path = a_job(tmp_path, invented.cylinders(piston=twice), limits={"piston": limit})
    said = first(path)
    assert said.startswith(
        f"no second weighing settles the spread of {told}: " if told else "the parts are done; "
    )
    assert said.endswith(f"truethrow send {path}")


def test_a_job_with_faults_says_what_to_mend(tmp_path):
    path = a_job(tmp_path, scale={"resolution": -1})
    with pytest.raises(BadInput, match="scale, resolution"):
        what_now(path)
