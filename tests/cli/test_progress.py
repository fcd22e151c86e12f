"""A bar on a terminal once a second is over, and nothing anywhere else."""

import pytest

from truethrow.cli import progress
from truethrow.cli.progress import QUIET_S, Bar


@pytest.fixture
def clock(monkeypatch):
    """A clock that a test puts forward; the bar is not drawn but counted."""
    at, begun = [100.0], []
    monkeypatch.setattr(progress.time, "monotonic", lambda: at[0])

    class Drawn:
        task_ids = (0,)

        def __init__(self):
            self.said, self.is_over = [], False
            begun.append(self)

        def update(self, task, description, completed, total):
            self.said.append((task, description, completed, total))

        def stop(self):
            self.is_over = True

    monkeypatch.setattr(Bar, "_begun", lambda self: Drawn())
    return at, begun


def on_a_terminal(monkeypatch, is_one):
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: is_one, raising=False)


def test_a_short_wait_has_no_bar_and_a_longer_one_has_one_until_its_end(clock, monkeypatch):
    at, begun = clock
    on_a_terminal(monkeypatch, True)
    with Bar() as bar:
        bar.show("bobweight 2.0 g", 0.1)
        assert begun == []
        at[0] += QUIET_S
        bar.show("bobweight 1.0 g", 0.5)
        bar.show("bobweight 0.8 g", 0.7)
    (drawn,) = begun
    assert drawn.said == [(0, "bobweight 1.0 g", 0.5, 1.0), (0, "bobweight 0.8 g", 0.7, 1.0)]
    assert drawn.is_over


def test_where_nobody_knows_how_long_it_takes_the_bar_runs_to_and_fro(clock, monkeypatch):
    at, begun = clock
    on_a_terminal(monkeypatch, True)
    with Bar(in_time=False) as bar:
        at[0] += QUIET_S
        bar.show("fewest plates and shims")
    assert begun[0].said == [(0, "fewest plates and shims", 0.0, None)]


def test_what_is_no_terminal_gets_nothing_however_long_it_takes(clock, monkeypatch):
    at, begun = clock
    on_a_terminal(monkeypatch, False)
    with Bar() as bar:
        at[0] += 100 * QUIET_S
        bar.show("bobweight 1.0 g", 0.5)
    assert begun == []


@pytest.mark.parametrize(("in_time", "columns"), [(True, 4), (False, 3)])
def test_percent_and_what_is_left_stand_only_where_the_part_is_one_of_the_time(in_time, columns):
    bar = Bar(in_time=in_time)
    drawn = bar._begun()
    drawn.stop()
    assert len(drawn.columns) == columns
