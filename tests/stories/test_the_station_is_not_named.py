"""Nobody types the station's profile each time: it is set, lies beside the job or is the only one of the book. No
spin is recorded by the profile of another machine for that: what was taken is told, and where two could be meant,
nothing is."""

import json

import commands
import pytest
import station_shop
from within import demo

job = station_shop.job
SPIN = ("6.1@203", "5.0@169")


@pytest.fixture
def run(tmp_path):
    return commands.in_folder(tmp_path)


def spins(run, job, *station):
    told = run("spins", job, "--json", *station)
    return len(json.loads(told.out)["spins"]) if told.status in (0, 1) else told.err


def another(path, **changed):
    """The profile of another machine."""
    text = demo.text("station.toml").replace("radius = 100.0", f"radius = {changed.get('radius', 80)}.0")
    path.write_text(text, encoding="utf-8")
    return path


def test_the_one_beside_the_job_is_taken_and_told(run, job):
    told = run("spin", job, *SPIN)
    assert (told.status, told.err) == (1, f"Station: {job.with_name('station.toml')}, beside the job.\n")
    assert spins(run, job) == 1
    assert run("spins", job, "--json").out.startswith("{"), "machines read standard output alone"


def test_whoever_asks_what_to_do_now_gets_it_with_the_profile_in_it(run, job):
    run("spin", job, *SPIN)
    own = job.with_name("station.toml")
    told = run("next", job)
    assert told.err == f"Station: {own}, beside the job.\n"
    assert f"--station {own} --front" in told.out and "STATION" not in told.out
    another(job.with_name("big-one.toml"))
    told = run("next", job)
    assert told.err == "" and "--station" not in told.out, "in doubt the command that is pasted asks which"
    assert "test-mass" in told.out


def test_a_profile_that_is_not_filled_in_yet_hides_no_next_step(run, job):
    before = job.with_name("station.toml")
    before.unlink()
    without = run("next", job)
    run("blank", "station", before)
    assert run("next", job) == without


@pytest.mark.parametrize("command", ["hang", "check", "trim"])
@pytest.mark.parametrize("spun", [False, True])
def test_whatever_is_shown_ends_with_the_step_that_next_says(run, job, command, spun):
    if spun:
        run("spin", job, *SPIN)
    told, following = run(command, job), run("next", job)
    assert told.err == ""
    assert [line for line in told.out.splitlines() if line.startswith("Next: ")] == following.out.splitlines()


def test_the_order_to_the_cranks_maker_finds_it_too(run, job):
    told = run("order", job)
    assert told.err.startswith(f"Station: {job.with_name('station.toml')}, beside the job.\n")
    assert "Drilling these counterweights alone" in told.out


def test_two_beside_the_job_are_both_named_and_nothing_is_recorded(run, job):
    own, other = job.with_name("station.toml"), another(job.with_name("big-one.toml"))
    told = run("spin", job, *SPIN)
    assert (told.status, told.out) == (2, "")
    assert told.err == (
        "--station: which station is it? there are several beside the job; "
        f"say which: --station {other} or --station {own}\n"
    )
    assert spins(run, job, "--station", own) == 0


def test_the_settings_of_yesterday_name_another_station_than_lies_beside_the_job(run, job, tmp_path):
    """The job came with its profile, and the settings file still says the machine of yesterday."""
    (tmp_path / "elsewhere").mkdir()
    other = another(tmp_path / "elsewhere" / "big-one.toml")
    kept = tmp_path / "elsewhere" / "settings.toml"
    kept.write_text('station = "big-one.toml"\n', encoding="utf-8")
    told = run("spin", job, *SPIN, TRUETHROW_SETTINGS=str(kept))
    assert told.status == 2 and "which station is it?" in told.err
    assert f"{kept}, station says {other}" in told.err and str(job.with_name("station.toml")) in told.err
    assert spins(run, job, "--station", job.with_name("station.toml")) == 0
    named = run("spin", job, *SPIN, "--station", job.with_name("station.toml"), TRUETHROW_SETTINGS=str(kept))
    assert (named.status, named.err) == (1, ""), "an option is above all"


def test_two_shells_with_other_stations_do_not_mix_in_one_job(run, job, tmp_path):
    """What was spun at one is not read by the other: the job asks what the edit was."""
    (own := job.with_name("station.toml")).rename(one := tmp_path / "one.txt")
    two = another(tmp_path / "two.txt")
    assert not own.exists()
    told = run("spin", job, *SPIN, TRUETHROW_STATION=str(one))
    assert (told.status, told.err) == (1, f"Station: {one}, as TRUETHROW_STATION says.\n")
    told = run("spin", job, *SPIN, TRUETHROW_STATION=str(two))
    assert told.status == 2 and "radius" in told.err and f"Station: {two}" in told.err
    assert spins(run, job, "--station", one) == 1


def test_a_variable_is_above_the_settings_file(run, job, tmp_path):
    job.with_name("station.toml").rename(one := tmp_path / "one.txt")
    kept = tmp_path / "settings.txt"
    kept.write_text('station = "gone.toml"\nby = "XY"\n', encoding="utf-8")
    told = run("spin", job, *SPIN, TRUETHROW_SETTINGS=str(kept), TRUETHROW_STATION=str(one), TRUETHROW_BY="AB")
    assert told.status == 1, told.err
    assert '"AB"' in run("history", job, "--json").out and "XY" not in run("history", job, "--json").out
    told = run("spin", job, *SPIN, TRUETHROW_SETTINGS=str(kept))
    assert (told.status, told.err) == (2, f"{kept}, station: {tmp_path / 'gone.toml'}: no such file\n")


def test_the_only_one_of_the_book_is_taken_and_of_two_both_are_named(run, job, tmp_path):
    own = job.with_name("station.toml")
    book = {"TRUETHROW_BOOK": f"sqlite:///{tmp_path / 'book.db'}"}
    assert run("book", "profile", "add", own, "--name", "floor-1", **book).status == 0
    other = another(tmp_path / "other.txt")
    own.unlink()
    told = run("spin", job, *SPIN, **book)
    assert (told.status, told.err) == (1, "Station: floor-1, the only station of the book.\n")
    assert run("book", "profile", "add", other, "--name", "floor-2", **book).status == 0
    told = run("spin", job, *SPIN, **book)
    assert (told.status, told.out) == (2, "")
    assert "say which: --station floor-1 or --station floor-2" in told.err


def test_where_there_is_none_it_says_how_to_begin_one(run, job):
    job.with_name("station.toml").unlink()
    told = run("spin", job, *SPIN)
    assert told.status == 2
    assert told.err == (
        "--station: missing; none is set, lies beside the job or is in the book; "
        "name one, or begin one: truethrow blank station station.toml\n"
    )


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ('by = "INITIALS"', ": by: 'INITIALS' is nobody; allowed: initials"),
        ('statoin = "a"', ": 'statoin' is not known here (did you mean station?)"),
        ("by = 3", ": by: '3'; allowed: printable text, at most 12 characters"),
        ('mass_unit = "parsec"', ": mass_unit: "),
        ('book = "postgres:secret@host"', ": book: is no address of a book"),
        ("by = ", ": not TOML: "),
    ],
)
def test_a_wrong_setting_is_one_line_with_its_file_and_key(run, job, tmp_path, text, wrong):
    kept = tmp_path / "settings.txt"
    kept.write_text(text, encoding="utf-8")
    told = run("settings", TRUETHROW_SETTINGS=str(kept))
    assert (told.status, told.out, len(told.err.splitlines())) == (2, "", 1)
    assert told.err.startswith(f"{kept}{wrong}")
    assert "secret" not in told.err
    told = run("confirm", job, "piston", "1", "--why", "weighed twice", TRUETHROW_SETTINGS=str(kept))
    assert told.status == 2 and told.err.startswith(str(kept))
    assert run("hang", job, TRUETHROW_SETTINGS=str(kept)).status in (0, 1), "who only looks needs none of it"


def test_a_jobs_own_units_stay_and_a_new_one_says_them(run, job, tmp_path):
    settings = {"TRUETHROW_MASS_UNIT": "oz", "TRUETHROW_LENGTH_UNIT": "in"}
    assert run("hang", job, **settings) == run("hang", job)
    assert 'mass_unit = "oz"\nlength_unit = "in"' in run("new", "inline-1", **settings).out
    assert 'mass_unit = "g"' in run("new", "inline-1", "--unit", "g", **settings).out
    masses = ["--piston", "520", "--pin", "120", "--rings", "25", "--small-end", "150", "--big-end", "450"]
    words = ("tally", "v8-90-crossplane", *masses, "--locks", "2", "--bearings", "40")
    told = run(*words, **settings)
    assert (told.status, told.out) == (2, ""), "a bare number means no other mass than yesterday"
    assert told.err == (
        "--unit: bare masses are grams here, and oz is set for every day; say which: --unit oz or --unit g\n"
    )
    assert run(*words, "--unit", "g", **settings) == run(*words)
    told = run("new", "inline-1", TRUETHROW_MASS_UNIT="parsec")
    assert told.status == 2 and told.err.startswith("TRUETHROW_MASS_UNIT: ")


def test_what_is_set_is_told_with_where(run, tmp_path):
    kept = tmp_path / "settings.toml"
    kept.write_text('by = "AB"\nstation = "floor-1"\n', encoding="utf-8")
    told = run("settings", "--json", TRUETHROW_SETTINGS=str(kept), TRUETHROW_BY="MK")
    found = json.loads(told.out)["settings"]
    assert found["by"] == {"value": "MK", "from": "TRUETHROW_BY"}
    assert found["station"] == {"value": "floor-1", "from": f"{kept}, station"}
    assert found["book"] is None
    assert "value" in run("settings", TRUETHROW_SETTINGS=str(kept)).out
