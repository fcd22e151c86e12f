"""What each address answers, as a browser sees it."""

from __future__ import annotations

import json
import uuid

import pytest
from commands import run
from floor_shop import blank_job, served

from truethrow.balance.base.beside import log_path
from truethrow.balance.book import jobs
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.log.records import Weighed
from truethrow.cli.floor.by_hand import to_do
from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.words import server_words as words


@pytest.fixture
def floor(tmp_path):
    blank_job(tmp_path, "job", job={"id": "job-1", "title": "<script>alert(1)</script>"})
    with served(tmp_path) as client:
        yield client


def test_the_board_has_every_job_and_follows_what_the_command_line_records(floor, tmp_path):
    status, headers, text = floor.get("/")
    assert status == 200
    assert headers["content-security-policy"] == pages.POLICY
    assert ": touch here for its bench" in text
    with floor.stream("/board/events") as heard:
        _, _, board = heard.next("board")
        assert [row["job"] for row in board["rows"]] == ["job"]
        assert run("weigh", tmp_path / "job.toml", stdin="538.4\n").status in (0, 1)
        _, _, record = heard.next("record")
        assert (record["job"], record["number"]) == ("job", 1)
        _, number, board = heard.until(lambda board: board["head"] == 1, "board")
        assert number == "1"
        assert board["rows"][0]["changed"]
        heard.next("beat")


def test_a_script_in_a_title_is_text(floor):
    _, _, text = floor.get("/")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text
    with floor.stream("/board/events") as heard:
        assert heard.next("board")[2]["rows"][0]["title"] == "<script>alert(1)</script>"


def test_another_name_of_the_server_is_not_answered(floor):
    assert floor.get("/", Host=f"evil.example:{floor.port}")[0] == 421
    assert floor.get("/", Host="127.0.0.1")[0] == 421
    assert floor.get("/", Host=f"localhost:{floor.port}")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/assets/../pages.py",
        "/assets/..%2fpages.py",
        "/assets/%2e%2e%2fstate.py",
        "/assets/board.html",
        "/assets//etc/passwd",
        "/assets/..\\pages.py",
        "/../../../../etc/passwd",
        "/etc/passwd",
    ],
)
def test_no_path_leads_out_of_the_package(floor, path):
    status, _, text = floor.get(path)
    assert status == 404
    assert "root:" not in text
    assert "import" not in text


def test_every_asset_is_sent_with_its_type(floor):
    for name, one in pages.assets().items():
        status, headers, _ = floor.get(f"/assets/{name}")
        assert (status, headers["content-type"], headers["etag"]) == (200, one.type, one.tag)
        assert int(headers["content-length"]) == len(one.raw)


def test_an_asset_is_sent_zipped_to_whoever_takes_it_and_not_again_to_whoever_has_it(floor):
    one = pages.assets()["floor.js"]
    status, headers, _ = floor.get("/assets/floor.js", **{"Accept-Encoding": "gzip, deflate"})
    assert (status, headers["content-encoding"]) == (200, "gzip")
    assert int(headers["content-length"]) == len(one.zipped) < len(one.raw)
    assert floor.get("/assets/floor.js", **{"If-None-Match": one.tag})[::2] == (304, "")
    assert floor.get("/assets/floor.js", **{"If-None-Match": '"older"'})[0] == 200


def test_all_that_is_sent_forbids_what_no_page_needs(floor):
    for path in ("/", "/assets/floor.css", "/gone"):
        headers = floor.get(path)[1]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert "unsafe" not in headers["content-security-policy"]
    assert floor.get("/")[1]["cache-control"] == "no-store"


def post(client, job="job", **fields):
    """What a screen sends that shows the bench as it is."""
    bench = client.floor.benches.get(job)
    own = {"id": str(uuid.uuid4()), "step": bench.state.step_id if bench else ""}
    status, _, text = client.post(f"/bench/{job}/do", {**own, **fields})
    return status, json.loads(text)


def test_what_one_screen_records_all_others_show(floor, tmp_path):
    assert floor.get("/bench/job")[0] == 200
    with floor.stream("/bench/job/events") as one, floor.stream("/bench/job/events") as other:
        assert one.next("state")[2]["step"] == "piston 1"
        status, done = post(floor, action="type", typed="538.4")
        assert (status, done["ok"], done["state"]["step"]) == (200, True, "piston 2")
        for heard in (one, other):  # which of the two comes first is not said
            found = {"state": ("", {"step": ""})}
            while "record" not in found or found["state"][1]["step"] != "piston 2":
                kind, number, data = heard.next("state", "record")
                found[kind] = number, data
            (number, state), (_, record) = found["state"], found["record"]
            assert (number, state["head"], state["step"]) == ("1", 1, "piston 2")
            assert record["number"] == 1
        assert run("weigh", tmp_path / "job.toml", stdin="538.6\n").status in (0, 1)
        for heard in (one, other):
            heard.until(lambda state: state["step"] == "piston 3", "state")


def test_a_screen_that_was_away_catches_up_with_nothing_lost_and_nothing_twice(floor, tmp_path):
    with floor.stream("/bench/job/events") as heard:
        heard.next("state")
        for typed in ("538.4", "538.6"):
            post(floor, action="type", typed=typed)
        seen = [heard.next("record")[2]["number"] for _ in range(2)]
    assert run("weigh", tmp_path / "job.toml", stdin="538.5\n538.7\n").status in (0, 1)
    with floor.stream("/bench/job/events", **{"Last-Event-ID": "2"}) as heard:
        seen += [heard.next("record")[2]["number"] for _ in range(2)]
        post(floor, action="type", typed="538.3")
        seen.append(heard.next("record")[2]["number"])
    assert seen == [1, 2, 3, 4, 5]


def test_the_same_post_twice_is_one_record_and_one_answer(floor, tmp_path):
    floor.get("/bench/job")
    own = {"id": str(uuid.uuid4()), "action": "type", "typed": "538.4"}
    step = floor.floor.benches["job"].state.step_id
    answers = [post(floor, **own, step=step) for _ in range(3)]
    assert [(status, done["ok"], done["said"]) for status, done in answers] == [
        (200, True, "taken: piston 1: 538.4")
    ] * 3
    assert (
        log_path(tmp_path / "job.toml").read_text(encoding="utf-8").count("538.4") == 2
    )  # its grams, and as typed


@pytest.mark.parametrize(
    "body", [b"", b"{", b"[" * 10_000, b"null", b'{"id": 1}', b"\xff", b'{"typed": "' + b"5" * 30_000 + b'"}']
)
def test_what_none_of_our_pages_sends_is_refused(floor, tmp_path, body):
    status, _, text = floor.ask("POST", "/bench/job/do", body, Origin=f"http://{floor.host}")
    assert (status, json.loads(text)["said"]) == (400, words.NO_REQUEST)
    assert not log_path(tmp_path / "job.toml").exists()


def test_a_sign_of_life_is_heard_records_nothing_and_opens_no_bench(floor, tmp_path):
    assert floor.post("/bench/job/alive", {"step": ""})[0] == 204
    assert not floor.floor.benches
    floor.get("/bench/job")
    bench = floor.floor.benches["job"]
    assert floor.post("/bench/job/alive", {"step": bench.state.step_id})[::2] == (204, "")
    assert bench._alive_s
    assert not log_path(tmp_path / "job.toml").exists()
    for wrong in ([], {}, "step", None):
        assert floor.post("/bench/job/alive", wrong)[0] == 400
    assert floor.post("/bench/job/alive", {"step": "x" * 30_000})[0] == 400
    assert floor.post("/bench/job/alive", {"step": 1})[0] == 400
    assert floor.post("/bench/job/alive", {"step": ""}, Origin="http://evil.example")[0] == 403


def test_a_job_that_is_not_there_or_cannot_be_weighed_says_why(floor, tmp_path):
    assert floor.get("/bench/gone")[0] == 409
    with floor.stream("/bench/gone/events") as heard:  # a screen that is there already
        assert "not open here" in heard.next("refused")[2]["said"]
        heard.next("refused")
    assert post(floor, job="gone", action="type", typed="5")[0] == 409
    path = tmp_path / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("bore", "brew"), encoding="utf-8")
    status, _, text = floor.get("/bench/job")
    assert status == 409
    assert "brew" in text


def test_a_screen_at_a_bench_that_does_not_open_is_told_why_until_it_does(floor, tmp_path):
    """Its computer was started again, and its job was closed meanwhile."""
    path = tmp_path / "job.toml"
    assert run("weigh", path, stdin="538.4\n").status in (0, 1)
    assert run("close", path, "--given-up", "--by", "AB", "--why", "cracked").status in (0, 1)
    with floor.stream("/bench/job/events") as heard:
        said = heard.next("refused")[2]["said"]
        assert to_do(run("weigh", path, stdin="1\n").err.partition(": ")[2].strip()) in said
        assert run("reopen", path, "--by", "AB", "--why", "it was not").status in (0, 1)
        with pytest.raises(EOFError):  # the browser comes again at once
            heard.next("state")
    with floor.stream("/bench/job/events") as heard:
        assert heard.next("state")[2]["ended"] == ""


def test_a_script_in_a_label_is_text(tmp_path):
    job = blank_job(tmp_path)
    text = job.read_text(encoding="utf-8")
    job.write_text(
        text + '\n[[cylinder]]\nnumber = 1\nlabels.piston = "<img src=x onerror=alert(1)>"\n', encoding="utf-8"
    )
    with served(tmp_path) as client:
        status, _, page = client.get("/bench/job")
        assert status == 200, page
        assert "<img src=x" not in page
        assert "&lt;img src=x" in page


def test_a_bench_that_nobody_watches_is_closed_and_opened_anew(floor, monkeypatch):
    from truethrow.cli.floor import bench, routes

    monkeypatch.setattr(routes, "IDLE_S", 0.0)
    monkeypatch.setattr(bench, "AWAY_S", 0.0)
    floor.get("/bench/job")
    first = floor.floor.benches.get("job")
    from floor_bench import until

    until(lambda: "job" not in floor.floor.benches)
    until(lambda: first is None or not first.is_alive)
    assert floor.get("/bench/job")[0] == 200


def test_the_board_says_who_weighs(floor):
    with floor.stream("/board/events") as board, floor.stream("/bench/job/events") as bench:
        bench.next("state")
        board.until(lambda data: data["rows"][0]["bench"] == "this computer", "board")


def test_a_book_is_a_shop_like_a_folder(book, tmp_path):
    path = blank_job(tmp_path, "file", job={"id": "ä 1", "title": "t"})
    jobs.add(book, jobs.from_file(path))
    url = book.address.url.render_as_string(hide_password=False)
    with served(url) as client:
        (row,) = client.floor.watch.board.rows
        assert row.name == "ä 1"
        with client.stream(f"/bench/{row.job}/events") as heard:
            heard.next("state")
            assert post(client, job=row.job, action="type", typed="538.4")[1]["ok"]
            assert heard.next("record")[2]["said"]
            BookedJob(book, "ä 1").open_log("other").append(Weighed(2, "piston", 538.6, "538.6"))
            _, _, state = heard.until(lambda state: state["head"] == 2, "state")
            assert state["step"] == "piston 3"
