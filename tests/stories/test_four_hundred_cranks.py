"""Four hundred cranks of seven layouts, on stations that read wrong in every way at once, worked on by operators
who do what the program says and slip as operators do; nobody goes on unproved. Nothing is signed that is not
inside, no good crank is drilled, and who cannot bring one inside is told what would help.

Where the figures come from: the shop's own acceptance; an oracle (crank_shop.Shop.oracle) says what these drills
and this noise allow."""

from __future__ import annotations

import re
import statistics
from collections import Counter

from crank_shop import Operator, Shop

MANY, SAMPLE = 400, 12
# What a dead end has to name: what to change.
WAY_OUT = re.compile(r"another station|another limit|what would help: \w|grade", re.IGNORECASE)


def test_nothing_is_signed_that_is_not_inside_and_no_good_crank_is_drilled(as_many, tmp_path):
    many = as_many(MANY, SAMPLE)
    operators, ends, able = [], [], []
    for seed in range(0, many * (MANY // many), MANY // many):
        folder = tmp_path / str(seed)
        folder.mkdir()
        shop = Shop(folder, seed)
        able.append(shop.oracle())
        operators.append(Operator(shop))
        ends.append(operators[-1].work())
    signed = [one for one in ends if one.how == "signed"]
    brought = sum(one.how == "signed" for one, can in zip(ends, able, strict=True) if can)
    spins, holed, drilled, worse, slugs = (
        sum(getattr(one, name) for one in operators)
        for name in ("spins", "good_holed", "on_inside", "worse", "slugged")
    )
    after = statistics.median(one.spins_after_proof for one in signed)
    print(  # noqa: T201 (with -s)
        f"\n{dict(Counter(one.how for one in ends))}; signed at most {max(one.true for one in signed):.2f} of the "
        f"limit; {brought} of {sum(able)} that an oracle brings inside; holes on good cranks after {holed} of "
        f"{spins} spins; {drilled} plans on cranks inside, {worse} made worse, {slugs} with slugs; median {after} "
        "spins"
    )
    assert not [one for one in signed if one.true > 1.05]
    assert holed <= 0.03 * spins
    assert slugs == 0
    assert worse <= max(1, 0.05 * drilled)  # of a sample's few one may be, and one may not be signed
    assert brought >= sum(able) - max(1, 0.05 * sum(able))
    assert after <= 2
    for one in ends:
        if one.how != "signed":
            assert one.how == "dead end", one.told
            assert WAY_OUT.search(one.told), one.told
