"""The cards on the command line: the folder, what is not made and why, faults, an old card told from a new one."""

from __future__ import annotations

import json
from pathlib import Path

import commands
import pytest

from truethrow.balance import demo
from truethrow.balance.job import undoing
from truethrow.balance.log import place
from truethrow.balance.log.records import Confirmed, Weighed

JOB = ["launch.toml", "--sheet", "launch-weigh.csv"]
STATION = ["--station", "floor/station.toml"]
FOLDER = "launch-cards"


@pytest.fixture
def run(tmp_path):
    """The profile does not lie beside the job, so that it is named or is not there."""
    job, _ = demo.copy_into(tmp_path)
    (tmp_path / "floor").mkdir()
    (tmp_path / "station.toml").rename(tmp_path / "floor" / "station.toml")
    log = place.open_log(job)
    for cylinder, kind, grams in ((5, "piston", 534.1), (6, "big_end", 457.9)):
        log.append(Confirmed(cylinder, kind, grams, why="from another box"))

    def ran(*args):
        return commands.run(*args, folder=tmp_path)

    return ran


def files_in(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def code_of(folder: Path, kind: str) -> str:
    return json.loads((folder / "figures.json").read_text())["cards"][kind]["code"]


def test_one_command_writes_the_whole_folder_and_twice_the_same(run, tmp_path):
    status, out, err = run("cards", *JOB, *STATION, "--date", "2026-11-25")
    assert (status, err) == (0, "")
    made = files_in(tmp_path / FOLDER)
    for kind in ("bench", "trim", "bobweight", "station", "report"):
        assert f"{kind} card: {FOLDER}/{kind}.pdf and .html" in out
        assert made[f"{kind}.pdf"].startswith(b"%PDF-")
        assert made[f"{kind}.html"].startswith(b"<!DOCTYPE html>")
    assert f"Written: {len(made)} files in {FOLDER}\n" in out
    assert any(name.startswith("drawings/trim-") for name in made)
    assert run("send", *JOB, "--out", "-")[1].encode() == made["station.csv"]
    assert run("cards", *JOB, *STATION, "--date", "2026-11-25")[0] == 0
    assert files_in(tmp_path / FOLDER) == made
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        [*(set(demo.NAMES) - {"station.toml"}), "floor", "launch.readings.jsonl", FOLDER]
    )


def test_the_profile_beside_the_job_is_taken_and_told_and_one_that_is_not_filled_in_stops_no_card(run, tmp_path):
    text = (tmp_path / "floor" / "station.toml").read_text(encoding="utf-8")
    (tmp_path / "station.toml").write_text(text, encoding="utf-8")
    status, out, err = run("cards", *JOB)
    assert (status, err) == (0, "Station: station.toml, beside the job.\n")
    assert "station card: " in out
    (tmp_path / "station.toml").write_text('[spin]\nunit = "stone"\n', encoding="utf-8")
    status, out, err = run("cards", *JOB)
    assert (status, "No station card: " in out) == (0, True)
    assert err.startswith("Station: station.toml, beside the job, is left out: station.toml: ")


def test_data_tells_the_cards_figures_and_what_was_written(run, tmp_path):
    status, out, _ = run("cards", *JOB, "--json", "--into", "wall", "--paper", "letter", "--only", "bobweight")
    data = json.loads(out)
    assert (status, data["folder"], data["paper"]) == (0, "wall", "letter")
    assert list(data["cards"]) == ["bobweight"]
    assert set(data["written"]) == set(files_in(tmp_path / "wall"))
    stored = json.loads((tmp_path / "wall" / "figures.json").read_text())
    assert {name: data[name] for name in stored} == stored
    hung = json.loads(run("hang", *JOB, "--json")[1])
    assert f"{hung['bobweights']['hang_g']:.1f} g" in (tmp_path / "wall" / "bobweight.html").read_text().replace(
        "\u00a0", " "
    )


def test_a_card_that_cannot_be_made_is_named_with_the_reason(run, tmp_path):
    status, out, _ = run("cards", *JOB)
    assert status == 0
    assert "No station card: " in out
    assert not (tmp_path / FOLDER / "station.pdf").exists()
    status, out, _ = run("cards", "launch.toml", "--into", "weighing")
    assert status == 0
    assert "bench card: " in out
    assert "No bobweight card: " in out
    assert "station.csv" not in files_in(tmp_path / "weighing")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--paper", "a3"], "--paper: 'a3' is not known; allowed: a4, letter\n"),
        (["--only", "wall"], "--only: 'wall' is no card; allowed: bench, trim, bobweight, station, report\n"),
        (["--date", "yesterday"], "--date: 'yesterday' is no day; allowed: such as 2026-11-25\n"),
        (["--date", "20261125"], "--date: '20261125' is no day; allowed: such as 2026-11-25\n"),
        (["--date", "2026-W48-3"], "--date: '2026-W48-3' is no day; allowed: such as 2026-11-25\n"),
        (["--date", "0001-01-01"], "--date: '0001-01-01' is no day; allowed: such as 2026-11-25\n"),
        (["--show", "stone"], "--show: 'stone' is not known; allowed: metric, inch\n"),
        (["--into", "launch.toml"], "launch.toml: --into: is no folder; allowed: a folder, or none yet\n"),
        (["--only", "station"], "launch.toml: --only: no station card: "),
        (["--into", "launch.toml/cards"], "launch.toml/cards: "),
    ],
)
def test_a_wrong_option_is_one_line_and_nothing_is_written(run, tmp_path, options, said):
    before = files_in(tmp_path)
    status, out, err = run("cards", *JOB, *options)
    assert (status, out) == (2, "")
    assert err.startswith(said)
    assert err.count("\n") == 1
    assert files_in(tmp_path) == before


def test_a_folder_with_something_else_in_it_is_refused(run, tmp_path):
    before = files_in(tmp_path)
    status, out, err = run("cards", *JOB, "--into", ".")
    assert (status, out) == (2, "")
    assert "holds what is no card of ours" in err
    assert files_in(tmp_path) == before


def test_another_jobs_cards_are_not_written_over(run, tmp_path):
    assert run("cards", *JOB, "--into", "wall", "--only", "bench")[0] == 0
    text = (tmp_path / "launch.toml").read_text()
    (tmp_path / "other.toml").write_text(text.replace("launch-7", "launch-8"))
    before = files_in(tmp_path)
    status, out, err = run("cards", "other.toml", *JOB[1:], "--into", "wall")
    assert (status, out) == (2, "")
    assert err == (
        "wall: --into: holds the cards of another job (launch-7); nothing was written; "
        "allowed: a folder of its own for launch-8\n"
    )
    assert files_in(tmp_path) == before


def test_cards_that_go_are_named(run, tmp_path):
    run("cards", *JOB, *STATION)
    assert "Removed" not in run("cards", *JOB, *STATION)[1]
    status, out, _ = run("cards", *JOB, "--only", "bench", "--only", "trim")
    assert status == 0
    assert "Removed, as not made this time: bobweight card, station card, report card.\n" in out
    assert not (tmp_path / FOLDER / "station.pdf").exists()
    run("cards", *JOB, *STATION)
    data = json.loads(run("cards", *JOB, "--only", "bench", "--json")[1])
    assert {"trim.pdf", "trim.html", "drawings/station-end-view.svg"} < set(data["gone"])


def test_a_code_tells_the_current_card_from_every_old_one(run, tmp_path):
    run("cards", *JOB, *STATION)
    folder = tmp_path / FOLDER
    for kind in ("bench", "trim", "bobweight", "station", "report"):
        code = code_of(folder, kind)
        status, out, err = run("current", code, *JOB, *STATION)
        assert (status, err) == (0, "")
        assert out.startswith(f"Current: {kind} card of launch-7")
    code = code_of(folder, "bobweight")
    assert run("current", "\u200b".join(code), *JOB, *STATION)[0] == 0
    beside = tmp_path / "station.toml"
    beside.write_bytes((tmp_path / "floor" / "station.toml").read_bytes())
    status, out, err = run("current", code, *JOB)
    assert (status, err) == (0, "Station: station.toml, beside the job.\n")
    other = beside.rename(tmp_path / "station.txt")
    beside.write_text(other.read_text("utf-8").replace("clamp_half = 352.4", "clamp_half = 350.1"), "utf-8")
    status, out, err = run("current", code, *JOB)
    assert (status, "Do not work from it." in out) == (1, True), "a card by another profile is no current one"
    beside.unlink()
    status, out, err = run("current", code, *JOB)
    assert (status, out) == (2, "")
    assert err.startswith("--station: missing")
    other.rename(beside)
    status, out, err = run("current", code, JOB[0], *STATION)
    assert (status, out) == (2, "")
    assert err == "--sheet: missing; allowed: the weigh sheet; still to be weighed without one: 32\n"
    status, out, _ = run("current", code.replace("launch-7", "launch-8"), *JOB, *STATION)
    assert status == 1
    assert out.startswith("Another job's card: launch-8, not launch-7.")
    # Other paper and other units are no other card.
    run("cards", *JOB, *STATION, "--paper", "letter", "--show", "inch", "--date", "2020-01-01", "--into", "other")
    assert code_of(tmp_path / "other", "bobweight") == code


def test_a_code_asks_for_a_profile_where_the_card_is_another_without_one(run, tmp_path):
    run("cards", *JOB, *STATION)
    run("cards", *JOB, "--into", "bare")
    asked = set()
    for kind in ("bench", "trim", "bobweight", "report"):
        code, bare = code_of(tmp_path / FOLDER, kind), code_of(tmp_path / "bare", kind)
        assert code in (bare, f"{code.removesuffix(':station')}:station")
        assert (code == bare) == (not code.endswith(":station"))
        asked |= {kind} if code.endswith(":station") else set()
        status, _, err = run("current", code, *JOB)
        assert (status, "--station: missing" in err) == ((2, True) if kind in asked else (0, False))
    assert asked == {"bobweight", "report"}
    assert code_of(tmp_path / FOLDER, "station").endswith(":station")


def test_an_old_card_is_old_without_a_sheet_where_the_log_says_why(run, tmp_path):
    assert run("enter", "launch.toml", "launch-weigh.csv")[0] == 0
    run("cards", "launch.toml")
    codes = {kind: code_of(tmp_path / FOLDER, kind) for kind in ("bench", "bobweight", "trim")}
    # Not a reading more, not a reading less: another title is another job file.
    text = (tmp_path / "launch.toml").read_text()
    (tmp_path / "launch.toml").write_text(text.replace('title = "', 'title = "The '))
    status, out, _ = run("current", codes["bobweight"], "launch.toml")
    assert status == 1
    assert "made from other readings, or another job file (" in out
    (tmp_path / "launch.toml").write_text(text)
    # What was cut has to be weighed again, whatever a sheet says.
    assert run("ground", "launch.toml", "piston", "1")[0] == 0
    for kind in ("bench", "bobweight"):
        status, out, err = run("current", codes[kind], "launch.toml")
        assert (status, err) == (1, "")
        assert out.startswith(f"Old {kind} card: ")
    # What is begun is worked on to its end.
    status, out, err = run("current", codes["trim"], "launch.toml")
    assert (status, err) == (0, "")
    assert out.endswith("; cuts recorded so far: 1.\n")
    assert run("ground", "launch.toml")[0] == 0
    status, out, err = run("current", codes["trim"], "launch.toml")
    assert (status, err) == (1, "")
    assert out.startswith("Done: every cut of this trim card is recorded; ")


def test_a_reading_that_was_struck_out_is_looked_for_in_no_sheet(run, tmp_path):
    text = (tmp_path / "launch-weigh.csv").read_text()
    (tmp_path / "launch-weigh.csv").write_text(text.replace("2;538,8;", "2;;", 1))
    run("enter", "launch.toml", "launch-weigh.csv")
    job = tmp_path / "launch.toml"
    taken = place.open_log(job).append(Weighed(2, "piston", 538.8, "538.8"))
    assert run("cards", "launch.toml")[0] == 0
    code = code_of(tmp_path / FOLDER, "bobweight")
    assert run("current", code, "launch.toml")[0] == 0
    undoing.cancel(job, undoing.of_record(job, taken.id))
    status, out, err = run("current", code, "launch.toml")
    assert (status, err) == (1, "")
    assert (
        out
        == "Old bobweight card: it cannot be made by now: 1 part is still to be weighed. Do not work from it.\n"
    )


def test_an_open_bench_card_says_that_a_sheet_may_be_missing(run, tmp_path):
    sheet = (tmp_path / "launch-weigh.csv").read_text().splitlines(keepends=True)
    (tmp_path / "half.csv").write_text("".join(sheet[: len(sheet) // 2]))
    assert run("cards", "launch.toml", "--sheet", "half.csv")[0] == 0
    code = code_of(tmp_path / FOLDER, "bench")
    assert run("current", code, "launch.toml", "--sheet", "half.csv")[0] == 0
    status, out, _ = run("current", code, "launch.toml")
    assert status == 1
    assert "its figures have changed since" in out
    assert "if it was made with a weigh sheet, give --sheet" in out


def test_a_card_is_old_once_readings_or_figures_change(run, tmp_path):
    assert run("enter", "launch.toml", "launch-weigh.csv")[0] == 0
    run("cards", "launch.toml", *STATION)
    bobweight, station = (code_of(tmp_path / FOLDER, kind) for kind in ("bobweight", "station"))
    assert run("spin", "launch.toml", "12.4@37", "8.1@210", *STATION)[0] == 1
    status, out, _ = run("current", station, "launch.toml", *STATION)
    assert status == 1
    assert out.startswith("Old station card: its figures have changed since")
    assert run("current", bobweight, "launch.toml", *STATION)[0] == 0
    text = (tmp_path / "launch.toml").read_text()
    (tmp_path / "launch.toml").write_text(text.replace("538.1", "538.2", 1))
    status, out, _ = run("current", bobweight, "launch.toml", *STATION)
    assert status == 1
    assert out.startswith("Old bobweight card: made from other readings")


@pytest.mark.parametrize("code", ["", "truethrow", "truethrow:a:wall:1:2", "<script>alert(1)</script>", "=cmd"])
def test_a_text_that_is_no_code_is_refused_in_one_line(run, code):
    status, out, err = run("current", code, *JOB)
    assert (status, out) == (2, "")
    assert err.startswith("CODE: ")
    assert err.count("\n") == 1


def test_letters_that_no_font_has_are_told_with_the_way_out(run, tmp_path):
    job = tmp_path / "launch.toml"
    job.write_text(job.read_text().replace('title = "', 'title = "\U000130f8 ', 1), encoding="utf-8")
    status, out, _ = run("cards", *JOB, "--only", "bench")
    assert status == 0
    if "empty boxes" in out:  # an Egyptian hieroglyph, of which some system may have a font
        assert "No font here has \U000130f8: " in out
        assert "truethrow cards launch.toml --fonts FOLDER" in out
    data = json.loads(run("cards", *JOB, "--only", "bench", "--json")[1])
    assert data["not_shown"] == ("\U000130f8" if "empty boxes" in out else "")
    status, _, err = run("cards", *JOB, "--fonts", "none")
    assert (status, err) == (2, "--fonts: none is no folder; allowed: a folder with font files\n")
