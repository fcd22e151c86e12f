"""The library's names as the handbook prints them."""

import doctest
import re

import truethrow
from truethrow.worksheets.cards.card import Lines, Typed
from truethrow.worksheets.handbook import chapter_text, library_pages


def test_every_name_of_the_library_is_printed_with_an_example_that_runs():
    named = {name for names in library_pages.NAMES.values() for name in names}
    assert named == {*truethrow.__all__} - {"BadInput", "TruethrowError", "__version__"}
    blocks = library_pages.blocks()
    said = [one.heading.partition("(")[0] for one in blocks if isinstance(one, Lines)]
    assert said == [name for names in library_pages.NAMES.values() for name in names]
    examples = [one for one in blocks if isinstance(one, Typed)]
    assert len(examples) == len(said)
    for one in examples:
        test = doctest.DocTestParser().get_doctest(
            "\n".join(one.lines) + "\n", {name: getattr(truethrow, name) for name in named}, "page", None, 0
        )
        assert doctest.DocTestRunner(verbose=False, optionflags=doctest.ELLIPSIS).run(test).failed == 0


def test_what_is_said_by_its_name_stands_after_a_star():
    (called,) = (one.heading for one in library_pages.blocks() if getattr(one, "heading", "").startswith("curve("))
    assert called.startswith("curve(layout, reciprocating, *, stroke, rod_length,")


def test_the_ten_lines_are_ten_and_run_with_nothing_else_known(capsys):
    ten, answers, fault = re.findall(r"```python\n(.*?)```", chapter_text.text("library"), re.S)
    assert len([line for line in ten.splitlines() if line.strip()]) == 10
    known = {"__name__": "handbook"}
    exec(compile(ten, "handbook", "exec"), known)
    assert "Bobweights" in capsys.readouterr().out
    assert known["trim"](known["done"]).parts[0].cuts
    assert len(known["many"].shares) == 1001
    assert abs(known["curve"].force_n).max() > 0
    best = known["many"].shares[abs(known["many"].force_n).argmin()]
    assert 0 <= best <= 1
    exec(compile(answers, "handbook", "exec"), known)
    assert len(capsys.readouterr().out.splitlines()) == 6
    exec(compile(fault, "handbook", "exec"), {"__name__": "handbook"})
    assert "4 masses for 3 cylinders" in capsys.readouterr().out
