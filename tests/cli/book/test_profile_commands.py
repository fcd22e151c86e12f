"""Profiles of stations and benches by their names, in the place of their files."""

from __future__ import annotations

import json


def test_a_station_is_called_by_its_name_wherever_its_file_was(run, launch, tmp_path):
    assert run("book", "profile", "list").startswith("No profile is kept yet")
    assert run("book", "profile", "add", "station.toml", "--name", "floor-1", "--by", "AB") == (
        "The station floor-1 is at revision 1.\n"
        "Next: name it where it is used: truethrow spin JOB --station floor-1\n"
    )
    assert "revision 1, which says the same" in run("book", "profile", "add", "station.toml", "--name", "floor-1")
    by_file = run("stack", "launch-7", "--station", "station.toml")
    assert run("stack", "launch-7", "--station", "floor-1") == by_file.replace("station.toml", "floor-1")
    said = run("spin", "launch-7", "--station", "floor-1", "6.1@203", "5.0@169", status=1)
    assert "--station floor-1" in said, "what comes next names it as it was named"
    (tmp_path / "station.toml").unlink()
    assert json.loads(run("spins", "launch-7", "--station", "floor-1", "--json", status=1))["spins"]


def test_an_edit_is_another_revision_and_the_one_before_can_be_had_again(run, launch, tmp_path):
    run("book", "profile", "add", "station.toml", "--name", "floor-1")
    before = (tmp_path / "station.toml").read_bytes()
    run("spin", "launch-7", "--station", "floor-1", "6.1@203", "5.0@169", status=1)
    (tmp_path / "station.toml").write_bytes(before.replace(b"zero = 0", b"zero = 90", 1))
    assert "revision 2." in run("book", "profile", "add", "station.toml", "--name", "floor-1", "--by", "CD")
    (row,) = json.loads(run("book", "profile", "list", "--json"))["profiles"]
    assert (row["kind"], row["name"], row["revision"], row["by"]) == ("station", "floor-1", 2, "CD")
    assert "zero" in run("spins", "launch-7", "--station", "floor-1", status=1), "the job asks what the edit was"
    run("book", "profile", "show", "floor-1", "--revision", "1", "--into", "first.toml")
    assert (tmp_path / "first.toml").read_bytes() == before
    assert "zero = 90" in run("book", "profile", "show", "floor-1")


def test_a_bench_is_called_by_its_name_too(run, launch, tmp_path):
    (tmp_path / "b2.toml").write_text('[bench]\nname = "b2"\n')
    assert run("book", "profile", "add", "b2.toml", "--name", "b2") == (
        "The bench b2 is at revision 1.\nNext: name it where it is used: truethrow weigh JOB --bench b2\n"
    )
    assert "weighed" in run("weigh", "launch-7", "--bench", "b2", piped="")
    assert "bench b3: no such file, and is not in the book" in run("weigh", "launch-7", "--bench", "b3", status=2)
    assert "name =" in run("book", "profile", "show", "b2", "--kind", "bench")


def test_what_is_no_profile_is_not_kept(run, launch, tmp_path):
    (tmp_path / "none.toml").write_text("[spin]\nunit = 3\n")
    assert "spin, unit" in run("book", "profile", "add", "none.toml", "--name", "n", status=2)
    (tmp_path / "none.toml").write_text("")
    assert "says nothing" in run("book", "profile", "add", "none.toml", "--name", "n", status=2)
    (tmp_path / "none.toml").write_text("[bench]\nbaud = 1\n")
    assert "bench, baud" in run("book", "profile", "add", "none.toml", "--name", "n", status=2)
    assert run("book", "profile", "list").startswith("No profile is kept yet")
    assert "--kind: 'x'" in run("book", "profile", "show", "n", "--kind", "x", status=2)


def test_a_name_without_a_book_is_no_file_either(run):
    told = run("stack", "launch.toml", "--station", "floor-1", status=2)
    assert "station floor-1: no such file, and there is no book yet" in told


def test_what_was_issued_is_written_again_as_it_was(run, launch, tmp_path):
    run("send", "launch-7", "--out", "sheet.csv", status=1)
    run("cards", "launch-7", "--only", "bench", "--into", "wall")
    sheet, card = (tmp_path / "sheet.csv").read_bytes(), (tmp_path / "wall" / "bench.pdf").read_bytes()
    (tmp_path / "sheet.csv").write_text("spilled coffee")
    assert "\n1 " in run("book", "show", "launch-7")
    told = run("book", "issued", "launch-7", "1", "--into", "again.csv")
    assert told.startswith("Written: again.csv: the station sheet of ")
    assert (tmp_path / "again.csv").read_bytes() == sheet
    run("book", "issued", "launch-7", "2", "--into", "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == card
    assert "already exists" in run("book", "issued", "launch-7", "2", "--into", "again.pdf", status=2)
    assert "document 3 of job launch-7: is not there" in run(
        "book", "issued", "launch-7", "3", "--into", "x", status=2
    )
