"""What the bench's screen shows, as text."""

from __future__ import annotations

import pytest
from fed_scale import EMPTY, ON, fed
from grinding_shop import one_piston

from truethrow.balance.log.records import Cut
from truethrow.cli.weighing import benchtext
from truethrow.worksheets.words.bench_words import REASONS


@pytest.mark.parametrize(("width", "height"), [(80, 24), (200, 50), (40, 12)])
def test_the_screen_fits_and_says_what_is_next(blank, width, height):
    loop = fed(blank(limits={"piston": 1.0}), [*EMPTY, *ON(538.4), *EMPTY, *ON(540.6), *EMPTY, "538.1 g"])
    lines = benchtext.screen(loop, benchtext.Typing("53"), width, height)
    assert len(lines) == height
    assert all(len(text) <= width for _, text in lines)
    text = "\n".join(text for _, text in lines)
    assert "Piston 3" in text
    assert "2 of 56" in text
    assert "number> 53_" in text
    if height >= 24:
        assert "spread 2.2 g, limit 1 g: outside" in text
        assert "moving" in text


def test_where_the_scale_shows_another_unit_than_the_jobs_it_is_asked_for_in_that(blank):
    loop = fed(blank(), EMPTY)
    loop.session.job = loop.session.job._replace(shown_unit="oz")
    assert any(line.startswith("number in oz> _") for line in lines_of(loop))


def lines_of(loop, width=80, height=24):
    return [text for _, text in benchtext.screen(loop, benchtext.Typing(), width, height)]


def test_what_to_put_on_stands_in_large_letters_with_its_name_below(blank):
    lines = lines_of(fed(blank(), EMPTY))
    assert lines[1:6] == [f"  {row}" for row in benchtext.big("piston 1", gap=1)]
    assert lines[6] == "Piston 1"


def test_a_mark_that_cannot_be_drawn_is_told_in_plain_letters(blank):
    loop = fed(blank(), EMPTY)
    names = loop.session.now.names
    loop.session.now.names = names._replace(labels={1: {"piston": "P/1"}})
    assert lines_of(loop)[1] == "Piston P/1 (sits in 1)"
    loop.session.now.names = names._replace(labels={1: {"piston": "P1"}})
    assert lines_of(loop)[1:7] == [
        *(f"  {row}" for row in benchtext.big("piston P1", gap=1)),
        "Piston P1 (sits in 1)",
    ]


def test_a_mark_that_is_a_number_is_never_told_as_a_cylinder(blank):
    """Piston 5 in large letters would be put on for the one marked 5, or the other way round."""
    loop = fed(blank(), EMPTY)
    names = loop.session.now.names
    loop.session.now.names = names._replace(labels={1: {"piston": "5"}})
    assert lines_of(loop)[1] == "Piston marked 5 (sits in 1)"


def test_a_flag_stands_under_the_part_that_it_is_about(blank):
    """545.0 is piston 5's; piston 6 is asked for next."""
    loads = (538.4, 538.6, 538.2, 538.5, 545.0)
    loop = fed(blank(limits={"piston": 1.0}), [line for g in loads for line in (*EMPTY, *ON(g))])
    lines = lines_of(loop)
    about = lines.index("taken: piston 5: 545.0 g")
    assert lines[about + 1].startswith("! 6.5 g above the median")
    assert not any(text.startswith("!") for text in lines[:about])
    assert "  spread 6.8 g, limit 1 g: outside" in lines


def test_what_looks_wrong_on_the_scale_stands_above_what_was_taken(blank):
    loop = fed(blank(), [line for g in (538.4, 538.6, 538.2, 18.9) for line in (*EMPTY, *ON(g))])
    lines = lines_of(loop)
    wrong = next(i for i, text in enumerate(lines) if text.startswith("! 519.5 g below"))
    assert wrong < lines.index("taken: piston 3: 538.2 g")


def test_the_target_of_a_part_that_was_cut_is_told_before_it_is_weighed(tmp_path):
    path, log = one_piston(tmp_path)
    log.append(Cut(3, "piston", 1.8, "p"))
    loop = fed(path, EMPTY)
    assert "Piston 3   the cut was to leave 539.2 g" in lines_of(loop)
    loop.accept("539.2")
    assert "was to leave" not in "".join(lines_of(loop))


def test_all_keys_are_told_on_one_screen(blank):
    text = "\n".join(t for _, t in benchtext.screen(fed(blank(), EMPTY), benchtext.Typing(helping=True), 80, 24))
    assert all(f"\n{key} " in text for key in "rbxsgq?")
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_reasons_of_a_strike_stand_below_the_question(blank):
    keys = benchtext.Typing(asking="cancel 538.4 of piston 1, why", reasons=REASONS)
    lines = [t for _, t in benchtext.screen(fed(blank(), EMPTY), keys, 80, 24)]
    assert "cancel 538.4 of piston 1, why> _" in lines
    assert all(any(f"{key} {why}" in line for line in lines) for key, why in REASONS.items())
