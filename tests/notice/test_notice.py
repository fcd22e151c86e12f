"""The changes are what they say, and the corpus tells the same of the same program."""

import ast
import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
import ask
import changes
import corpus

SOURCE = '''"""Text with 1 < 2."""
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    FOR_TYPES = 1


def most(values: list[int | None], limit: float = 2.0) -> float:
    if not values:
        raise ValueError(f"{limit + 1} g")
    heavy = max(values) - 3
    return heavy if abs(heavy) <= limit and heavy != 4 else -heavy


SEED = 20
'''


def test_each_change_is_one_slip_on_its_line():
    found = {(one.line, one.was, one.now) for one in changes.changes(SOURCE)}
    test = "abs(heavy) <= limit and heavy != 4"
    assert found == {
        (8, "2.0", "2.2"),
        (9, "not values", "True"),
        (9, "not values", "False"),
        (9, "not", " "),
        (11, "max", "min"),
        (11, "-", "+"),
        (11, "3", "4"),
        (12, test, "True"),
        (12, test, "False"),
        (12, "and", "or"),
        (12, "abs", ""),
        (12, "<=", "<"),
        (12, "<=", ">"),
        (12, "!=", "=="),
        (12, "4", "5"),
        (12, "-", " "),
    }
    assert {one.within for one in changes.changes(SOURCE)} == {8}


def test_a_changed_module_can_be_read_and_is_another():
    """A hundred, drawn from all that can be changed in the domain."""
    draw = random.Random(1)
    for path in draw.sample(sorted((ask.ROOT / "balance").rglob("*.py")), 25):
        source = path.read_text("utf-8")
        was = ast.dump(ast.parse(source))
        found = changes.changes(source)
        for one in draw.sample(found, min(4, len(found))):
            made = one.made(source)
            assert ast.dump(ast.parse(made)) != was, (path, one)
            assert made.count("\n") == source.count("\n") or one.was.count("\n")


@pytest.mark.parametrize("kind", [corpus.trims, corpus.questions_of_matching, corpus.shaking])
def test_two_runs_tell_the_same_figures(kind):
    number = corpus.JOBS.index((kind, 1))
    once = corpus.figures(number)
    assert once == corpus.figures(number)
    assert len(once) > 10


def test_the_corpus_is_of_two_hundred_jobs():
    assert len(corpus.JOBS) == len(set(corpus.JOBS)) == 200
    assert {kind.__name__ for kind, _ in corpus.JOBS} >= {"trims", "matches", "plans", "shaking", "signatures"}


def test_what_is_told_is_figures_and_verdicts_and_no_sentence():
    told = list(corpus.told("a", {"n": 1.0, "words": "too much by 1 g", "verdict": "inside", "at": 5, "z": 1j}))
    assert told == ["a.n 1", "a.verdict inside", "a.z 0+1j"]


def test_the_share_is_told_by_module():
    change = changes.changes(SOURCE)[0]
    found = [ask.Asked("a.py", change, "x, 1 → 2", "test"), ask.Asked("a.py", change, "fails: y", "")]
    lines = ask.told(found).splitlines()
    assert lines[0].split() == ["1", "of", "2", "a.py"]
    assert lines[1].endswith("all: 50.0%")
    assert lines[2].endswith("those that still give an answer: 100.0%")
