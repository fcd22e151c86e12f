"""The folder of all files of a job: whole, its own, and nobody else's."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
import sample_card

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.worksheets.cards.card import Lines
from truethrow.worksheets.prints import folder as prints
from truethrow.worksheets.prints import layout

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


def made_of(*cards):
    return prints.contents(cards, {"station": "no profile"}, A4, None)


def names_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_folder_holds_every_rendering_and_what_went_is_gone(tmp_path, plain_card):
    folder = tmp_path / "new" / "cards"
    prints.write(folder, made_of(plain_card, replace(plain_card, kind="trim")))
    assert {"bobweight.html", "trim.pdf", "figures.xlsx", "figures.json"} < names_in(folder)
    assert "drawings/bobweight-throw-1.svg" in names_in(folder)
    data = json.loads((folder / "figures.json").read_text())
    assert data["cards"]["trim"]["data"] == plain_card.data
    assert data["cards"]["bobweight"]["code"] == plain_card.code
    only = made_of(replace(plain_card, blocks=(Lines(("no drawing",)),)))
    prints.write(folder, only)
    assert names_in(folder) == set(only)
    assert not (folder / "drawings").exists()
    assert [path.name for path in folder.parent.iterdir()] == ["cards"]


@pytest.mark.parametrize("name", ["notes.txt", "drawings/sketch.svg", "drawings/trim-x.png", ".hidden"])
def test_a_folder_with_anything_else_in_it_is_refused_and_left(tmp_path, plain_card, name):
    made = made_of(plain_card)
    prints.write(tmp_path / "cards", made)
    (tmp_path / "cards" / name).write_text("mine")
    before = {n: (tmp_path / "cards" / n).read_bytes() for n in names_in(tmp_path / "cards")}
    with pytest.raises(BadInput, match="no card of ours"):
        prints.write(tmp_path / "cards", dict.fromkeys(made, b"new"))
    assert {n: (tmp_path / "cards" / n).read_bytes() for n in names_in(tmp_path / "cards")} == before


def test_files_of_our_names_without_our_mark_are_not_ours(tmp_path):
    (tmp_path / "station.csv").write_text("mine")
    with pytest.raises(BadInput, match="no card of ours"):
        prints.must_be_ours(tmp_path, "launch-7")
    ours = '{"truethrow": {"format": 2}, "made": "cards"'
    for start in ('{"mine": 1}', ours + "}", ours + ', "job": {"id": ' + "[" * 3000):
        (tmp_path / "figures.json").write_text(start)
        with pytest.raises(BadInput, match="no card of ours"):
            prints.must_be_ours(tmp_path, "launch-7")
    with pytest.raises(BadInput, match="is no folder"):
        prints.must_be_ours(tmp_path / "station.csv", "launch-7")


@pytest.mark.parametrize("job_id", ["launch-7", 'a "quoted" \\ id', "\N{WRENCH}" * 64])
def test_another_jobs_folder_is_refused(tmp_path, plain_card, job_id):
    prints.must_be_ours(tmp_path, "any")
    prints.write(tmp_path, made_of(replace(plain_card, job_id=job_id)))
    prints.must_be_ours(tmp_path, job_id)
    with pytest.raises(BadInput, match="--into: holds the cards of another job"):
        prints.must_be_ours(tmp_path, "launch-8")


@pytest.mark.parametrize(
    "name",
    [".DS_Store", "drawings/.DS_Store", "Thumbs.db", "desktop.ini", ".~lock.figures.xlsx#", "~$figures.xlsx"],
)
def test_what_a_system_leaves_in_a_folder_is_not_in_the_way_and_stays(tmp_path, plain_card, name):
    made = made_of(plain_card)
    prints.write(tmp_path, made)
    (tmp_path / name).write_text("left")
    prints.must_be_ours(tmp_path, plain_card.job_id)
    assert prints.write(tmp_path, made_of(replace(plain_card, blocks=(Lines(("no drawing",)),)))) == sorted(
        each for each in made if each.startswith("drawings/")
    )
    assert (tmp_path / name).read_text() == "left"


def test_a_full_disk_leaves_the_folder_as_it_was(tmp_path, plain_card, monkeypatch):
    folder = tmp_path / "cards"
    prints.write(folder, made_of(plain_card))
    before = {name: (folder / name).read_bytes() for name in names_in(folder)}
    later = made_of(replace(plain_card, date="2026-12-01"))
    real, left = files.os.fsync, iter(range(9))

    def fsync(handle):
        if next(left, None) is None:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(files.os, "fsync", fsync)
    with pytest.raises(NotSaved, match="no space left on device; nothing was written") as caught:
        prints.write(folder, later)
    monkeypatch.undo()
    assert str(folder) in str(caught.value)
    assert {name: (folder / name).read_bytes() for name in names_in(folder)} == before
    assert [path.name for path in tmp_path.iterdir()] == ["cards"]
    prints.write(folder, later)
    assert json.loads((folder / "figures.json").read_text())["date"] == "2026-12-01"
