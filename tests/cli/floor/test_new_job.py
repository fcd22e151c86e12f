"""A new job from a page: what `new` writes, or a file that is pasted; refused as the command line refuses it."""

from __future__ import annotations

import pytest
from build_shop import BUILDER
from commands import run
from floor_shop import served

from truethrow.balance import demo
from truethrow.balance.book import jobs
from truethrow.cli.floor.bench import Who
from truethrow.worksheets.words import floor_words as words
from truethrow.worksheets.words import server_words

OWNER = Who("this-computer", "AB", "owner", "AB")
FORM = {"layout": "v8-90-crossplane", "id": "2217", "title": "x <b>", "step": "0.5 g", "stroke": "3 3/4 in"}


@pytest.fixture
def floor(tmp_path):
    with served(tmp_path, owner=OWNER) as client:
        yield client


def flat(text):
    return " ".join(text.split())


def test_an_empty_folder_has_a_board_that_leads_to_a_new_job(floor):
    _, _, page = floor.get("/")
    assert words.NO_JOBS in page
    assert 'href="/new"' in page
    assert "v8-90-crossplane" in floor.get("/new")[2]


def test_the_form_writes_the_file_that_new_writes(floor, tmp_path):
    status, headers, _ = floor.send("/new", **FORM)
    assert (status, headers["location"]) == (303, "/bench/2217")
    typed = tmp_path / "typed" / "job.toml"
    typed.parent.mkdir()
    words_ = ["--id", "2217", "--title", "x <b>", "--step", "0.5 g", "--stroke", "3 3/4 in"]
    assert run("new", "v8-90-crossplane", typed, *words_).status == 0
    assert (tmp_path / "2217.toml").read_bytes() == typed.read_bytes()
    assert floor.get("/bench/2217")[0] == 200


def test_a_file_that_is_pasted_is_the_job_as_it_stands(floor, tmp_path):
    text = demo.text("launch.toml")
    status, headers, _ = floor.send("/new", text=text.replace("\n", "\r\n"))
    assert (status, headers["location"]) == (303, "/bench/launch-7")
    assert (tmp_path / "launch-7.toml").read_text(encoding="utf-8") == text
    assert floor.get("/bench/launch-7")[0] == 200


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"layout": ""}, "Layout of the crank: missing"),
        ({"layout": "v8-90-crosplane"}, "v8-90-crossplane"),
        ({"stroke": "long"}, "Stroke: &#39;long&#39;"),
        ({"cylinder_spacing": "long"}, "Cylinder spacing, throw to throw: &#39;long&#39;"),
        ({"rod_length": "-3"}, "Rod length, center to center: "),
        ({"step": "3 in"}, "The scale&#39;s step: &#39;in&#39; is no unit of mass"),
        ({"id": "a/b"}, "Number or name of the job: "),
        ({"id": "a/b"}, "has a / in it"),
    ],
)
def test_what_a_job_cannot_say_is_refused_and_stays_in_the_form(floor, tmp_path, change, said):
    status, _, page = floor.send("/new", **{**FORM, **change})
    assert status == 409
    assert said in flat(page)
    assert "--" not in page
    assert 'value="x &lt;b&gt;"' in page
    assert list(tmp_path.iterdir()) == []


def test_a_pasted_file_has_the_faults_that_check_tells(floor, tmp_path):
    text = demo.text("launch.toml").replace('layout = "', 'layout = "x')
    status, _, page = floor.send("/new", text=text)
    assert status == 409
    path = tmp_path / "other" / "job.toml"
    path.parent.mkdir()
    path.write_text(text, encoding="utf-8")
    (line,) = run("check", path).err.splitlines()
    assert flat(line).partition("job.toml: ")[2].partition(";")[0][:40] in flat(page).replace("&#39;", "'")
    for nonsense in ("hello", "[job]\nid = 3\n"):
        assert floor.send("/new", text=nonsense)[0] == 409
    assert [one.name for one in tmp_path.iterdir()] == ["other"]


def test_no_job_and_no_log_is_written_over(floor, tmp_path):
    assert floor.send("/new", **FORM)[0] == 303
    before = (tmp_path / "2217.toml").read_bytes()
    assert floor.send("/new", **{**FORM, "title": "another"})[0] == 409
    assert (tmp_path / "2217.toml").read_bytes() == before
    (tmp_path / "left.readings.jsonl").write_text("", encoding="utf-8")
    status, _, page = floor.send("/new", **{**FORM, "id": "left"})
    assert (status, "left.readings.jsonl" in page) == (409, True)


def test_a_book_takes_a_new_job_once(book, tmp_path):
    url = book.address.url.render_as_string(hide_password=False)
    with served(url, owner=OWNER) as client:
        assert client.send("/new", text=demo.text("launch.toml"))[1]["location"] == "/bench/launch-7"
        assert client.get("/bench/launch-7")[0] == 200
        assert jobs.is_there(book, "launch-7")
        status, _, page = client.send("/new", text=demo.text("launch.toml"))
        assert (status, "is in the book already" in page) == (409, True)


@pytest.mark.parametrize("role", ["bench", "station", "viewer"])
def test_who_is_no_builder_begins_none(tmp_path, role):
    with served(tmp_path, owner=Who("tablet", "CD", role, "CD")) as client:
        status, _, page = client.send("/new", **FORM)
        assert (status, server_words.MAY_NOT_BEGIN.format(role=role) in page) == (403, True)
    with served(tmp_path, owner=BUILDER) as client:
        assert client.send("/new", **FORM)[0] == 303


def test_a_floor_of_one_job_begins_no_other(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(demo.text("launch.toml"), encoding="utf-8")
    with served(path, owner=OWNER) as client:
        assert client.send("/new", **FORM)[0] == 409
