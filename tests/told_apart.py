"""A job whose parts can be told apart, and moves of them."""

from __future__ import annotations

import invented
from hypothesis import strategies as st

from truethrow.balance.base import parts
from truethrow.balance.job.job import load
from truethrow.balance.matching import proposing


def told_apart(folder):
    """A V8 whose every reading tells its kind and its cylinder, with a label on each rod."""
    parts = [
        {"number": n, **{kind: round(grams + n / 10, 1) for kind, grams in invented.PARTS.items()}}
        | {"labels": {"rod": f"R{n}"}}
        for n in range(1, 9)
    ]
    made = folder / "job.toml"
    made.write_text(invented.text(invented.document(parts)), encoding="utf-8")
    return made


ROD_2_TO_1 = {"rod": {1: 2, 2: 1}}


def accepted(path, moves):
    proposing.propose(path, load(path), moves, "less unbalance")
    return proposing.accept(path)


def values(job, kind):
    return [job.parts[n][kind].mean_g for n in range(1, 9)]


@st.composite
def moves(draw, most=8):
    """Moves of one to three units."""
    made = {}
    for unit in draw(st.sets(st.sampled_from(list(parts.UNITS)), min_size=1, max_size=3)):
        places = draw(st.lists(st.integers(1, most), min_size=2, max_size=most, unique=True))
        turned = draw(st.integers(1, len(places) - 1))
        made[unit] = dict(zip(places, places[turned:] + places[:turned], strict=True))
    return made
