"""The demo engine as the handbook's example."""

import handbook_shop
import pytest

from truethrow.balance import demo
from truethrow.balance.job.job import load
from truethrow.balance.result.work import work


@pytest.fixture(scope="module")
def of_demo():
    return handbook_shop.of_demo()


def test_its_figures_are_those_of_the_demo(of_demo, tmp_path):
    result = work(load(*demo.copy_into(tmp_path)))
    assert of_demo.figures["hang"] == f"{result.bobweights.hung_g:.1f} g"
    assert of_demo.figures["bobweight_1"] == f"{result.bobweights.throws[0].bobweight.value_g:.2f} g"
    for spread in result.spreads:
        assert of_demo.figures[f"spread_{spread.quantity}"].endswith(" g")
        assert of_demo.figures[f"verdict_{spread.quantity}"] == (spread.verdict or "no limit")


def test_it_has_the_drawings_of_its_story(of_demo):
    assert {name.split("/")[0] for name in of_demo.pictures} == {"weighed", "spun", "signed"}
    assert "spun/station/end-view" in of_demo.pictures


def test_nothing_of_the_folder_that_it_was_made_in_is_told(of_demo):
    said = str([*of_demo.hole.lines, *of_demo.working("bobweight 1").lines])
    assert "/tmp" not in said
    assert "the plan: truethrow holes launch.toml" in said
