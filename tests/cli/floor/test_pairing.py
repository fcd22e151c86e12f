"""Letting devices in, as browsers see it: nobody else is answered, and each may what its role may."""

from __future__ import annotations

import html
import json
import re
import uuid

import pytest
import zxingcpp
from floor_shop import Client, blank_job, served
from PIL import Image

from truethrow.balance.base import files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import NotSaved
from truethrow.cli.floor import pairing, routes
from truethrow.cli.floor.devices import Devices
from truethrow.cli.floor.pairing import Paired
from truethrow.worksheets.words import build_words
from truethrow.worksheets.words import server_words as words


@pytest.fixture
def floor(tmp_path):
    """A floor to which devices have to be let in; its owner's browser, and where what it shows is."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    blank_job(folder)
    paired, shown = Paired(Devices(tmp_path / "devices.json"), "http://shop.local:8737"), []
    with served(folder, paired=paired, show_code=shown.append) as client:
        client.gate, client.shown, client.job = paired, shown, folder / "job.toml"
        yield client


@pytest.fixture
def owner(floor):
    return floor.paired(floor.gate.codes.new("owner"), "AB")


def code_for(owner, role):
    status, _, text = owner.send("/devices/code", role=role)
    assert status == 200
    return re.search(r"[2-9A-Z]{4}-[2-9A-Z]{4}", text)[0]


def reading(client, typed="538.4", job="job"):
    _, _, page = client.get(f"/bench/{job}")
    step = re.search(r'"step_id": ?"([^"]+)"', html.unescape(page))[1]
    return client.post(
        f"/bench/{job}/do", {"id": str(uuid.uuid4()), "action": "type", "typed": typed, "step": step}
    )


@pytest.mark.parametrize("path", ["/", "/board/events", "/bench/job", "/bench/job/events", "/devices"])
def test_a_browser_that_was_never_paired_sees_nothing(floor, path):
    for client in (Client(floor.port), Client(floor.port, Cookie="truethrow-floor=guessed")):
        status, _, text = client.get(path)
        assert status == 403
        assert "Piston" not in text
        assert words.NOT_PAIRED in html.unescape(text)


def test_a_browser_that_was_never_paired_does_nothing(floor):
    for path in ("/bench/job/do", "/devices/code", "/devices/x/out"):
        assert Client(floor.port).post(path, {"id": str(uuid.uuid4()), "action": "type", "typed": "5"})[0] == 403
    assert not log_path(floor.job).exists()


def test_a_device_is_let_in_by_its_code_and_weighs_under_its_initials(floor, owner):
    bench = floor.paired(code_for(owner, "bench"), "CD")
    assert bench.get("/")[0] == 200
    status, _, text = reading(bench)
    assert (status, json.loads(text)["ok"]) == (200, True)
    assert '"by":"CD"' in log_path(floor.job).read_text(encoding="utf-8")


def test_a_code_that_was_used_is_refused(floor, owner):
    code = code_for(owner, "bench")
    floor.paired(code, "CD")
    status, headers, text = Client(floor.port).send("/pair", code=code, initials="EF")
    assert status == 403
    assert "set-cookie" not in headers
    assert words.WRONG_CODE in html.unescape(text)


def test_initials_that_are_none_do_not_cost_the_code(floor, owner):
    code = code_for(owner, "bench")
    for slip in (" ", "A" * 13, "?"):
        status, _, page = Client(floor.port).send("/pair", code=code, initials=slip)
        assert status == 403
        assert f'name="code" value="{code}"' in page  # not to be typed again
    floor.paired(code, "CD")


def test_a_thousand_guesses_open_nothing(floor, owner):
    code = code_for(owner, "bench")
    for number in range(1000):
        status, headers, _ = Client(floor.port).send("/pair", code=f"{number:08d}", initials="EF")
        assert status == 403
        assert "set-cookie" not in headers
    status, _, text = Client(floor.port).send("/pair", code=code, initials="EF")
    assert (status, words.TOO_MANY_GUESSES in html.unescape(text)) == (403, True)
    floor.paired(code_for(owner, "bench"), "CD")


def test_guesses_are_counted_by_the_address_of_the_connection(floor, owner):
    """Not by what a header says, which anybody writes."""
    code = code_for(owner, "bench")
    for number in range(20):
        own = {"Origin": f"http://{floor.host}", "X-Forwarded-For": f"192.0.2.{number}"}
        _, _, text = Client(floor.port).ask("POST", "/pair", f"code={number:08d}&initials=EF", **own)
    assert words.TOO_MANY_GUESSES in html.unescape(text)
    floor.gate.let_in(code, "EF", "192.0.2.10")


@pytest.mark.parametrize("role", ["viewer", "station"])
def test_another_role_looks_and_does_not_weigh(floor, owner, role):
    eyes = floor.paired(code_for(owner, role), "EF")
    assert eyes.get("/bench/job")[0] == 200
    status, _, text = reading(eyes)
    assert (status, json.loads(text)["said"]) == (403, words.MAY_ONLY_LOOK.format(role=role))
    assert eyes.post("/bench/job/alive", {"step": ""})[0] == 403
    assert Client(floor.port).post("/bench/job/alive", {"step": ""})[0] == 403  # never paired
    with eyes.stream("/bench/job/events") as heard:
        assert heard.next("state")[2]["may"] == []
    assert not log_path(floor.job).exists()


def test_only_the_owner_lets_in_and_turns_out(floor, owner):
    bench = floor.paired(code_for(owner, "bench"), "CD")
    assert bench.get("/devices")[0] == 403
    assert bench.send("/devices/code", role="bench")[0] == 403
    device = next(one.id for one in floor.gate.devices.all if one.initials == "AB")
    assert bench.send(f"/devices/{device}/out")[0] == 403
    assert owner.get("/devices")[0] == 200
    assert owner.send("/devices/code", role="owner")[0] == 400
    assert owner.send("/devices/code", role="king")[0] == 400


def test_the_owner_is_one_at_the_shops_computer_alone(floor, owner, monkeypatch):
    monkeypatch.setattr(routes, "is_at_the_computer", lambda scope: False)
    assert owner.get("/devices")[0] == 403
    assert owner.send("/devices/code", role="bench")[0] == 403


@pytest.mark.parametrize(
    ("client", "server", "is_here"),
    [
        ("127.0.0.1", "127.0.0.1", True),
        ("::1", "::1", True),
        ("192.0.2.7", "192.0.2.7", True),  # by the computer's own number
        ("192.0.2.8", "192.0.2.7", False),
        ("192.0.2.70", "192.0.2.7", False),
        ("", "", False),
    ],
)
def test_who_is_at_the_shops_computer(client, server, is_here):
    assert pairing.is_at_the_computer({"client": (client, 5), "server": (server, 8737)}) is is_here
    assert not pairing.is_at_the_computer({"client": None, "server": None})


def test_the_owners_code_works_on_the_shops_computer_alone_and_elsewhere_is_not_used_up(floor, monkeypatch):
    code = floor.gate.codes.new("owner")
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr(routes, "is_at_the_computer", lambda scope: False)
        status, headers, text = Client(floor.port).send("/pair", code=code, initials="EF")
        assert (status, "set-cookie" in headers) == (403, False)
        assert words.OWNERS_CODE in html.unescape(text)
    assert floor.gate.devices.all == ()
    assert floor.paired(code, "AB").get("/devices")[0] == 200


def test_a_full_disk_does_not_cost_the_code(floor, owner, monkeypatch):
    code = code_for(owner, "bench")

    def full(*_):
        raise NotSaved("no space left on the device; nothing was written", "devices.json")

    with monkeypatch.context() as disk:
        disk.setattr(files, "write_text", full)
        status, headers, text = Client(floor.port).send("/pair", code=code, initials="CD")
    assert (status, "set-cookie" in headers) == (500, False)
    assert "no space left" in text
    assert f'value="{code}"' in text
    floor.paired(code, "CD")
    assert Client(floor.port).send("/pair", code=code, initials="EF")[0] == 403


def test_turning_out_asks_once_more_before_it_does(floor, owner):
    """Without any script: the button that does it is folded away under the one that asks."""
    floor.paired(code_for(owner, "bench"), "CD")
    page = owner.get("/devices")[2]
    asks = re.search(r"<details[^>]*>\s*<summary.*?Turn out</summary>(.*?)</details>", page, re.DOTALL)
    assert re.search(
        r'<form method="post" action="/devices/\w+/out">.*Yes, turn it out</button>', asks[1], re.DOTALL
    )
    assert page.count("/out") == 1
    assert not re.search(r"<details[^>]* open", page)


def test_a_device_that_is_turned_out_loses_its_line(floor, owner):
    bench = floor.paired(code_for(owner, "bench"), "CD")
    device = next(one.id for one in floor.gate.devices.all if one.initials == "CD")
    with bench.stream("/board/events") as heard:
        heard.next("beat")
        assert owner.send(f"/devices/{device}/out")[0] == 303
        with pytest.raises(EOFError):
            while True:
                heard.next()
    assert bench.get("/")[0] == 403
    assert "CD" not in owner.get("/devices")[2]


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_a_post_from_another_sites_page_does_nothing(floor, owner, headers):
    body = {"id": str(uuid.uuid4()), "action": "type", "typed": "538.4", "step": "piston:1::1:0:x"}
    assert owner.post("/bench/job/do", body, **headers)[0] == 403
    assert owner.post("/devices/code", {"role": "bench"}, **headers)[0] == 403
    assert not log_path(floor.job).exists()


def test_a_cookie_is_for_this_site_alone_and_no_script_reads_it(floor):
    for address, ends, name in (
        ("http://shop.local:1", "", "truethrow-floor"),
        ("https://shop.local:1", "; Secure", "__Host-truethrow-floor"),
    ):
        gate = Paired(floor.gate.devices, address)
        cookie = gate.let_in(gate.codes.new("bench"), "GH")
        assert re.fullmatch(rf"{name}=[\w-]{{43}}; Path=/; Max-Age=\d+; HttpOnly; SameSite=Strict{ends}", cookie)


def test_the_qr_code_on_the_page_and_in_the_terminal_is_the_devices_address(floor, owner):
    code = code_for(owner, "bench").replace("-", "")
    address = f"http://shop.local:8737/pair?code={code}"
    assert floor.shown == [address]
    drawn = pairing.qr_in_text(address)
    assert zxingcpp.read_barcode(_as_picture(drawn)).text == address
    status, _, page = Client(floor.port).get(f"/pair?code={code}")
    assert status == 200
    assert f'value="{code}"' in page


def _as_picture(drawn):
    """What a terminal shows of half blocks, light on dark as they come: two rows of a code in each line."""
    lines = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in drawn.splitlines()]
    wide = max(map(len, lines))
    made = Image.new("L", (wide, 2 * len(lines)), 0)
    for row, line in enumerate(lines):
        for column, sign in enumerate(line.ljust(wide)):
            upper, lower = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255)}.get(sign, (0, 0))
            made.putpixel((column, 2 * row), upper)
            made.putpixel((column, 2 * row + 1), lower)
    return made.resize((8 * wide, 16 * len(lines)), Image.Resampling.NEAREST)


def test_a_script_in_a_code_or_in_initials_is_text(floor):
    status, _, page = Client(floor.port).get("/pair?code=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
    assert status == 200
    assert "<script>alert" not in page
    _, _, page = Client(floor.port).send("/pair", code="x", initials="<script>alert(1)</script>")
    assert "<script>alert" not in page


def test_what_is_no_form_is_refused(floor):
    own = {"Origin": f"http://{floor.host}"}
    for body in (b"", b"\xff\xfe", b"code=" + b"A" * 50_000, b"&".join(b"a%d=1" % n for n in range(50))):
        assert Client(floor.port).ask("POST", "/pair", body, **own)[0] == 403


def test_without_lan_there_is_nobody_to_let_in(tmp_path):
    blank_job(tmp_path)
    with served(tmp_path) as client:
        assert client.get("/devices")[0] == 403
        assert client.send("/pair", code="x", initials="AB")[0] == 404


def test_a_page_that_cannot_be_shown_has_a_heading_that_is_true(floor, owner):
    """The line is up: that there is none would send somebody to look at the network."""
    bench = floor.paired(code_for(owner, "bench"), "CD")
    strange = Client(floor.port)
    strange.headers["Host"] = "evil.example"
    for client, path, status, heading in (
        (owner, "/nothing", 404, "No such page"),
        (owner, "/bench/gone", 409, "This bench does not open"),
        (bench, "/devices", 403, "For the owner alone"),
        (strange, "/", 421, "Refused"),
    ):
        answer, _, page = client.get(path)
        assert answer == status
        assert re.search(r"<h1>(.*?)</h1>", page)[1] == heading
        assert re.search(r"<title>(.*?)</title>", page)[1] == heading
        assert "no line" not in re.sub(r"<[^>]*>", "", page).lower()
    assert 'class="button main" href="/bench/gone"' in owner.get("/bench/gone")[2]
    assert "<h1>Not done</h1>" in owner.send("/devices/code", role="king")[2]


def test_names_of_this_computer_are_plain(monkeypatch):
    monkeypatch.setattr(pairing.socket, "gethostname", lambda: "Shop-PC.example.org")
    assert pairing.own_names() == ("shop-pc.example.org", "shop-pc", "shop-pc.local")


def test_the_number_of_this_computer_is_told_where_it_has_a_network(monkeypatch):
    monkeypatch.setattr(pairing, "_ANYWHERE", ("127.0.0.1", 9))
    assert pairing.own_address() == "127.0.0.1"
    monkeypatch.setattr(pairing.socket, "socket", lambda *_: (_ for _ in ()).throw(OSError))
    assert pairing.own_address() == pairing.own_names()[-1]


def at_the_builders_desk(client, action, step="x"):
    return client.post("/build/job/do", {"id": str(uuid.uuid4()), "action": action, "step": step})


@pytest.mark.parametrize("path", ["/build/job", "/build/job/events", "/build/job/drawing/p0/piston-1"])
def test_the_builders_page_is_for_those_who_were_let_in(floor, path):
    assert Client(floor.port).get(path)[0] == 403
    assert at_the_builders_desk(Client(floor.port), "tick")[0] == 403


@pytest.mark.parametrize("role", ["bench", "builder", "station", "viewer"])
def test_each_role_does_at_the_builders_desk_what_it_may(floor, owner, role):
    client = floor.paired(code_for(owner, role), "CD")
    status, _, page = client.get("/build/job")
    assert (status, f'data-role="{role}"' in page) == (200, True)
    status, _, text = at_the_builders_desk(client, "tick")
    if role in ("bench", "builder"):
        assert status == 200
        assert "is no cut of a plan" in json.loads(text)["said"]
    else:
        assert (status, json.loads(text)["said"]) == (403, build_words.MAY_NOT_TICK.format(role=role))
    for action in ("match", "stop", "accept", "reject"):
        status, _, text = at_the_builders_desk(client, action)
        if role == "builder":
            assert "it may look" not in text
        else:
            assert "it may look" in json.loads(text)["said"]
    assert not log_path(floor.job).exists()
    for desk in floor.floor.desks.values():
        desk.work.close()
