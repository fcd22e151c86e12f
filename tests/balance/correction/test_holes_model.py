"""Plans of holes as models: solved again by a solver that the tool does not use, out of the file's text alone."""

import cranks
import pytest
import solved_again

from truethrow.balance.base.model import text
from truethrow.balance.correction import TwoPlanes, plan
from truethrow.balance.correction.holes_model import model, why_not


def planned(seed, **more):
    asked = cranks.scattered(seed)
    tools = more.pop("tools", cranks.TOOLS)
    return plan(
        more.pop("crank", asked.crank),
        tools,
        TwoPlanes(*asked.measured),
        cranks.PLANES_MM,
        allowed_gmm=asked.allowed_gmm,
        slugs=False,
        **more,
    )


@pytest.mark.simulation(whole=14, sample=2)
def test_models_solved_again_agree(seed):
    """No fewer holes than the plan has, where the tool says that it is proved, else from its bound on; and the
    plan's own holes keep every row."""
    made = planned(seed)
    if why := why_not(made):
        assert "beyond the plan's aim" in why
        return
    written = text(*model("job", "digest", made), ".lp")
    assert solved_again.wrong(written, solved_again.NEAR) == []
    own, again = solved_again.read(written), solved_again.solve(written)
    assert own.stated == len(made.operations)
    assert again.status == "optimal"
    assert own.bound - solved_again.NEAR <= again.value <= own.stated + solved_again.NEAR
    assert sum("planned: " in line for line in own.head) == len(made.operations)


def test_one_hole_less_is_not_said_to_do():
    """A plan that lost its last hole is no answer: its planes are outside the polygon."""
    made = planned(1)
    less = made._replace(operations=made.operations[:-1])
    assert "beyond the plan's aim" in why_not(less)
    own, claim = model("job", "digest", less)
    assert any(name.startswith("inside_") for name in own.broken(solved_again.NEAR))
    assert "row" in " ".join(solved_again.wrong(text(own, claim, ".lp"), solved_again.NEAR))


def test_nothing_planned_has_no_model():
    assert why_not(None) == "no hole is planned"
    assert why_not(planned(0)._replace(operations=())) == "no hole is planned"


def test_heavy_metal_has_no_model():
    made = planned(0)
    slug = made.operations[0]._replace(kind="slug")
    assert "heavy metal" in why_not(made._replace(operations=(slug,)))


def test_the_fewest_is_in_the_plan():
    made = planned(2)
    assert made.asked.fewest == len(made.operations) == 3


def test_a_changed_digit_is_noticed(as_many):
    written = text(*model("job", "digest", planned(0)), ".lp")
    places = [at for at, letter in enumerate(written) if letter in "0123456789"]
    for at in places[:: len(places) // as_many(30, 5)]:
        assert solved_again.wrong(solved_again.changed(written, at), solved_again.NEAR)
