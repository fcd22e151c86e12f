"""Parts and a crank are chosen before anything is bought, and a slip of the pen is told before it costs money."""

import choosing
import pytest
from demo_shop import DemoShop


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    return DemoShop(folder)


def test_a_typo_in_one_set_names_it_and_nothing_is_compared(shop, tmp_path):
    file = choosing.written(tmp_path, choosing.SMALL.replace("about = 402", "about = 4O2"))
    status, said = shop.run("candidates", file)
    assert status == 2  # the letter O is no TOML at all
    file = choosing.written(tmp_path, choosing.SMALL.replace("about = 402", 'about = "4O2"'))
    status, said = shop.run("candidates", file)
    assert status == 2
    assert "set B, piston, about: " in said
    assert len(said.splitlines()) == 1


def test_a_catalog_figure_is_never_taken_for_a_weighed_one(shop, tmp_path):
    status, said = shop.run(
        "candidates", choosing.written(tmp_path, choosing.SMALL.replace("{ about = 402, within = 4 }", "402"))
    )
    assert status == 2
    assert "set B, piston: 402 does not say whether it was weighed" in said


def test_a_weighed_mass_tightens_its_set_alone(shop, tmp_path):
    before = shop.run("candidates", choosing.written(tmp_path))[1]
    text = choosing.SMALL.replace("{ about = 402, within = 4 }", "{ weighed = [402.0, 402.0] }")
    text += "\n[scale]\nresolution = 0.1\nrepeatability = 0.05\n"
    after = shop.run("candidates", choosing.written(tmp_path, text))[1]

    def row(said, name):
        return next(line.split() for line in said.splitlines() if f" {name}  " in line)

    assert row(before, "A") == row(after, "A")
    assert float(row(before, "B")[-1]) == 2.3
    assert float(row(after, "B")[-1]) < 0.1
    assert "B: pin, locks" in after


def test_one_weighed_piece_with_its_scatter_doubts_the_set_and_is_told_so(shop, tmp_path):
    """Told alone it counts as if all were weighed; with its scatter the others' doubt is in every ±."""

    def said(part):
        text = choosing.SMALL.replace("{ about = 402, within = 4 }", part) + "\n[scale]\nresolution = 0.1\n"
        status, told = shop.run("candidates", choosing.written(tmp_path, text))
        assert status == 0, told
        sure = next(float(line.split()[-1]) for line in told.splitlines() if " B  " in line)
        return sure, " ".join(told.split())

    alone, with_scatter = said("{ weighed = 402.0 }"), said("{ weighed = 402.0, scatter = 1.5 }")
    assert alone[0] < 0.2
    assert with_scatter[0] > 1.5
    assert "what the others weigh is not in the ±" in alone[1]
    assert "B: of the piston one was weighed, and the others are told by it and their scatter." in with_scatter[1]


def test_equal_sets_tie(shop, tmp_path):
    text = choosing.SMALL.replace("about = 402, within = 4", "about = 400, within = 3").replace("= 390", "= 380")
    said = shop.run("candidates", choosing.written(tmp_path, text))[1]
    assert "First, and equal: A on C; B on C." in said
    assert "could come before" not in said


def test_without_a_price_list_there_is_no_price(shop, tmp_path):
    assert "price" not in shop.run("candidates", choosing.written(tmp_path))[1]
    priced = choosing.SMALL + "price = 900\n"
    assert "price" in shop.run("candidates", choosing.written(tmp_path, priced))[1]


@pytest.mark.parametrize("command", ["order", "quote", "forecast", "work", "what-if"])
def test_a_file_of_candidates_is_taken_for_a_job(shop, tmp_path, command):
    """One line that tells what it is and what to run, not all that a job has and it has not."""
    file = choosing.written(tmp_path)
    more = {"order": ("--station", shop.station), "what-if": ("--share", "0.5"), "quote": ("--prices", file)}
    status, said = shop.run(command, file, *more.get(command, ()))
    assert status == 2
    assert said.splitlines()[-1].endswith(f"a file of candidates, no job; run: truethrow candidates {file}")
    assert "is not known here" not in said


def test_a_job_is_taken_for_a_file_of_candidates(shop):
    status, said = shop.run("candidates", shop.file)
    assert (status, len(said.splitlines())) == (2, 1)
    assert "a job, no file of candidates; begin one: truethrow blank candidates choice.toml" in said
