"""The way from the first spin to the last, on the report."""

import pytest
from card_texts import flat, shown

from truethrow.balance.base.amounts import METRIC
from truethrow.worksheets.cards import way
from truethrow.worksheets.cards.card import CardTable, Picture
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data import station_data
from truethrow.worksheets.shown.display import Display


@pytest.fixture
def blocks(told):
    def tell(story):
        state = told(story).state()
        count = sum(len(spin.drilled) for spin in state.spins) + len(state.since)
        data = {"balancing": station_data.as_data(state), "holes": [{"number": n + 1} for n in range(count)]}
        figures = Figures(data, Display("g", "mm", 0.1))
        return state, list(flat(way.told(state, figures)))

    return tell


def table(blocks, name):
    return next((block for block in blocks if isinstance(block, CardTable) and block.name == name), None)


def test_every_spin_stands_with_both_planes_as_typed(blocks):
    state, found = blocks("signed")
    rows = table(found, "spins").rows
    assert len(rows) == 2 * len(state.spins) >= 4
    for spin, front, rear in zip(state.spins, rows[::2], rows[1::2], strict=True):
        assert shown(front[0]) == str(spin.number)
        assert front[1].endswith(" AB")
        assert spin.typed.told(METRIC) == f"{rear[1]} in g at 100 mm"
    assert table(found, "spins").caption == "All spins, as typed in g at 100 mm"
    chart = table(found, "spins").chart
    assert [figure.value for figure in chart.along.figures] == [spin.number for spin in state.spins]
    front, limit, rear, _ = chart.lines
    assert [one.value for one in front.figures] == [round(spin.front.amount_gmm, 3) for spin in state.spins]
    assert [one.value for one in rear.figures] == [round(spin.rear.amount_gmm, 3) for spin in state.spins]
    assert limit.is_limit and {one.value for one in limit.figures} == {round(state.limits_gmm[0], 3)}
    pictures = [block.name for block in found if isinstance(block, Picture)]
    assert pictures == ["spins-front", "spins-rear", "spin-by-spin"]


def test_every_hole_stands_before_the_spin_that_saw_it(blocks):
    state, found = blocks("signed")
    before = [str(spin.number) for spin in state.spins for _ in spin.drilled]
    assert before
    rows = table(found, "holes").rows
    assert [shown(row[1]) for row in rows] == before
    assert [row[0].value for row in rows] == [*range(1, len(before) + 1)]


def test_holes_that_no_spin_saw_yet_say_so(blocks):
    state, found = blocks("half_drilled")
    assert [shown(row[1]) for row in table(found, "holes").rows] == ["next"] * len(state.since)


def test_one_spin_alone_is_no_chart(blocks):
    assert table(blocks("spun")[1], "spins").chart is None


def test_where_nothing_was_drilled_there_is_no_table_of_holes(blocks):
    assert table(blocks("spun")[1], "holes") is None
