"""A quote, on the screen."""

import pytest
from invented import cylinders, document
from planned import quoted

from truethrow.balance.job.job import build
from truethrow.balance.result.work import work
from truethrow.cli.planning import quote_tables
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display


@pytest.fixture
def shown(capsys):
    def said(**changes):
        result = work(build(document(cylinders())))
        quote_tables.quote(Screen(), result, quoted(**changes), Display.of(result.job), has_tools=True)
        return capsys.readouterr().out

    return said


def test_lines_total_and_terms_are_told(shown):
    said = shown()
    assert "Quote: job launch-7" in said
    assert [line.split()[-3:] for line in said.splitlines() if line.startswith("holes drilled")] == [
        ["12", "to", "30"]
    ]
    assert "Total: $352 to 371." in said
    assert "No tax is counted." in said
    assert "! A price for work as far as it is known" in said


def test_what_is_left_out_is_told_in_the_total_and_with_what_would_count_it(shown):
    said = shown(not_counted=("slug", "hole"))
    assert "Total, without slugs and holes still to come: $352 to 371." in said
    assert "Not told, slugs and holes: the job has no [crank]" in said


def test_what_does_not_come_inside_is_told_before_any_sum(shown):
    said = " ".join(shown(stays=True).split())
    assert said.index("OUTSIDE: the shop's tools do not bring this crank inside") < said.index("holes drilled")
    assert said.count("OUTSIDE") == 1
    assert "OUTSIDE" not in shown()
