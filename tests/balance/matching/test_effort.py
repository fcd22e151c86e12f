"""Work is counted, and time only caps it."""

import questions

from truethrow.balance.matching import aims, solve
from truethrow.balance.matching.effort import Effort


def ticking(tick_s):
    """A machine on which so much time is over between two looks at the clock."""
    seen = [0.0]

    def now():
        seen[0] += tick_s
        return seen[0]

    return now


def test_a_part_takes_from_the_whole():
    whole = Effort(10.0, lambda: 0.0, looks=100)
    part = whole.part(0.4)
    assert (part.looks, part.left_s) == (40, 4.0)
    part.spend(30)
    assert (part.looks, whole.looks) == (10, 70)
    assert not part.is_out()
    part.spend(10)
    assert part.is_out()
    assert not whole.is_out()
    assert not part.is_late


def test_time_that_ended_it_is_remembered_by_the_whole():
    clock = [0.0]
    whole = Effort(10.0, lambda: clock[0], looks=100)
    part = whole.part(0.5)
    clock[0] = 6.0
    assert part.is_out()
    assert whole.is_late
    assert not whole.is_out()


def test_a_busy_machine_gives_the_same_answer_later():
    """The same question on a machine a thousand times as busy: aims that are proved, and one that is not."""
    asked = questions.question(3, "v8-90-flatplane", ("rod", "piston", "pin", "rings"), step_g=0.01)
    names = ("reciprocating", "residual")
    made = [aims.MAKERS[name](asked) for name in names]
    answers = []
    for tick_s in (1e-3, 1.0):
        effort = Effort(1e9, ticking(tick_s), looks=400_000)
        found = solve.solve(asked, made, questions.as_listed(asked), effort)
        assert not effort.is_late
        answers.append((found.arrangement.tolist(), found.reached))
    assert answers[0] == answers[1]


def test_a_cap_on_the_time_that_bites_is_known():
    asked = questions.question(3, "v8-90-flatplane", ("rod", "piston", "pin", "rings"), step_g=0.01)
    made = [aims.MAKERS["reciprocating"](asked)]
    effort = Effort(0.5, ticking(1.0))
    solve.solve(asked, made, questions.as_listed(asked), effort)
    assert effort.is_late
