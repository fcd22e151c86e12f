"""A reading is mended: gone back to and typed again, canceled, or taken anew of a part that the job file has.

By hand: who wrote 583.4 for 538.4 crosses it out and writes the right one beside it; nobody takes the mean.
Who weighs a part that is on the old sheet looks at what stood there.
"""

from __future__ import annotations

import json

import commands
import invented
import pytest
from within import log_path


@pytest.fixture
def weigh(blank):
    """truethrow weigh JOB with these lines; what it said, and the readings that count and those that do not."""
    path = blank()

    def ran(*lines):
        done = commands.run("weigh", path, stdin="".join(f"{line}\n" for line in lines))
        assert done.status == 0, done.out + done.err
        records = [json.loads(text) for text in log_path(path).read_text(encoding="utf-8").splitlines()]
        struck = {r["of"]: r["why"] for r in records if r["action"] == "strike"}
        read = [r for r in records if r["action"] == "read"]
        counting = [(r["cylinder"], r["grams"]) for r in read if r["id"] not in struck]
        return done.out, counting, [(r["grams"], struck[r["id"]]) for r in read if r["id"] in struck]

    return ran


def test_back_and_typed_again_replaces_and_the_history_keeps_both(weigh):
    said, counting, struck = weigh("583.4", "back", "538.4", "538.6")
    assert "the next reading replaces 583.4; r keeps both" in said
    assert "apart from the reading before" not in said
    assert counting == [(1, 538.4), (2, 538.6)]
    assert struck == [(583.4, "weighed over after going back")]


def test_a_repeat_that_is_asked_for_keeps_both(weigh):
    said, counting, struck = weigh("538.4", "back", "again", "538.5")
    assert "the next reading is a repeat; 538.4 stays" in said
    assert (counting, struck) == ([(1, 538.4), (1, 538.5)], [])


def test_of_two_readings_the_last_is_replaced_and_once_only(weigh):
    _, counting, struck = weigh("538.4", "again", "583.5", "back", "538.5", "538.6")
    assert counting == [(1, 538.4), (1, 538.5), (2, 538.6)]
    assert [grams for grams, _ in struck] == [583.5]


def test_back_after_go_mends_what_was_read_last_and_no_other_part(weigh):
    """Piston 2 was gone to and read 541.0 by mistake: what is typed after *back* is its reading, not piston 3's,
    whose turn comes before the next in the list."""
    said, counting, struck = weigh("538.1", "538.6", "538.4", "go 2 piston", "541.0", "back", "538.6")
    assert "the next reading replaces 541.0" in said
    assert counting == [(1, 538.1), (2, 538.6), (3, 538.4), (2, 538.6)]
    assert [grams for grams, _ in struck] == [541.0]


def test_back_twice_goes_the_way_that_was_come(weigh):
    """1, 2, 5, back to 5, back to 2; after go and nothing read, back is where the last reading was."""
    _, counting, struck = weigh("538.1", "583.6", "go 5 piston", "538.4", "back", "back", "538.6")
    assert (counting, [grams for grams, _ in struck]) == ([(1, 538.1), (5, 538.4), (2, 538.6)], [583.6])
    _, counting, struck = weigh("go 6 piston", "583.6", "go 1 piston", "back", "538.6")
    assert (counting[-1], [grams for grams, _ in struck][-1]) == ((6, 538.6), 583.6)


def test_back_to_a_part_that_is_skipped_again_keeps_its_reading(weigh):
    _, counting, struck = weigh("538.4", "back", "skip", "538.6")
    assert (counting, struck) == ([(1, 538.4), (2, 538.6)], [])


def test_a_scale_that_types_in_its_own_way_is_read(weigh):
    said, counting, _ = weigh("+  538.4 g", "ST,+00538.6 g", "S 538.5")
    assert counting == [(1, 538.4), (2, 538.6), (3, 538.5)]
    assert "538.6 g" in said


def test_a_line_with_a_prefix_of_its_own_is_read_by_the_profiles_pattern(blank, tmp_path):
    path = blank()
    (tmp_path / "wedge.toml").write_text("[bench]\npattern = 'No. {any}: {number} {unit}'\n", encoding="utf-8")
    lines = "No. 17: 538.4 g\n538.6\n"
    assert commands.run("weigh", path, stdin=lines).status == 2
    done = commands.run("weigh", path, "--bench", tmp_path / "wedge.toml", stdin=lines)
    assert "2 of 56 weighed" in done.out


@pytest.mark.parametrize("line", ["US,+00538.4 g", "  OL  g"])
def test_what_a_scale_types_that_is_no_weight_yet_is_refused(blank, line):
    done = commands.run("weigh", blank(), stdin=f"{line}\n538.6\n")
    assert done.status == 2
    assert "refused: " in done.out
    assert "nothing was taken" in done.err


def test_after_enter_the_bench_knows_what_is_weighed(tmp_path):
    """It said 0 of 32 and asked for every part anew."""
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    done = commands.run("weigh", path, stdin="")
    assert "56 of 56 weighed" in done.out
    done = commands.run("weigh", path, stdin="go 3 piston\n538.6\n")
    assert "! the job file has 538.4 g, 0.2 g apart; this reading counts from now on" in done.out
    said = commands.run("check", path).out
    assert "piston 3: the job file has 538.4 g, the bench 538.6 g, 0.2 g apart; the bench's counts" in said
    (told,) = json.loads(commands.run("check", path, "--json").out)["replaced"]
    assert (told["kind"], told["cylinder"], told["file_g"], told["bench_g"]) == ("piston", 3, 538.4, 538.6)


def test_a_reading_far_from_the_job_files_is_to_be_weighed_again(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    done = commands.run("weigh", path, stdin="go 3 piston\n539.6\n")
    assert "1.2 g apart; this reading counts from now on; weigh it again" in done.out


def test_a_reading_that_is_the_job_files_is_no_news(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    done = commands.run("weigh", path, stdin="go 3 piston\n538.4\n")
    assert "job file" not in done.out
    assert "the bench's counts" not in commands.run("check", path).out
