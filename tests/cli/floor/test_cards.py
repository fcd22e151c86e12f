"""The cards of a job from its page: the files that `cards` writes, each with what `current` says of it, and a QR
code that leads a phone to that."""

from __future__ import annotations

import io
import shutil
from urllib.parse import urlsplit

import pypdfium2
import pytest
import zxingcpp
from build_shop import weighed
from commands import run
from floor_shop import Client, served

from truethrow.balance.log.place import Snapshot
from truethrow.cli.floor import cards
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.devices import Devices
from truethrow.cli.floor.pairing import Paired
from truethrow.worksheets.words import floor_words as words
from truethrow.worksheets.words import server_words

AT = "http://10.20.30.40:8737"
OWNER = Who("this-computer", "AB", "owner", "AB")


@pytest.fixture
def job(tmp_path):
    return weighed(tmp_path / "jobs")


@pytest.fixture
def floor(job):
    with served(job, owner=OWNER) as client:
        yield client


def test_the_page_makes_the_files_that_cards_makes(floor, job, tmp_path):
    assert words.NO_CARDS in floor.get("/cards/launch")[2]
    status, headers, _ = floor.send("/cards/launch")
    assert (status, headers["location"]) == (303, "/cards/launch")
    own = job.with_name("launch-cards")
    typed = tmp_path / "typed"
    assert run("cards", job, "--station", job.with_name("station.toml"), "--into", typed).status in (0, 1)
    names = {one.relative_to(own) for one in own.rglob("*") if one.is_file()}
    assert names == {one.relative_to(typed) for one in typed.rglob("*") if one.is_file()}
    assert (own / "bench.html").read_bytes() == (typed / "bench.html").read_bytes()
    _, _, page = floor.get("/cards/launch")
    assert page.count(words.AS_PDF) == len(list(own.glob("*.pdf"))) > 2
    assert words.CURRENT in page
    assert words.NOT_CURRENT not in page


def test_a_card_opens_as_it_lies_there_and_nothing_in_it_can_run(floor, job):
    floor.send("/cards/launch")
    status, headers, text = floor.get("/cards/launch/trim.html")
    assert (status, text) == (200, job.with_name("launch-cards").joinpath("trim.html").read_text(encoding="utf-8"))
    assert headers["content-security-policy"] == cards.CARD_POLICY
    assert "script" not in cards.CARD_POLICY
    assert headers["x-content-type-options"] == "nosniff"
    status, headers, text = floor.get("/cards/launch/trim.pdf")
    assert (status, headers["content-type"], text[:5]) == (200, "application/pdf", "%PDF-")


@pytest.mark.parametrize(
    "file", ["figures.json", "..%2flaunch.toml", "trim.exe", "order.pdf", "trim", "station.csv"]
)
def test_nothing_but_a_card_is_opened(floor, file):
    floor.send("/cards/launch")
    assert floor.get(f"/cards/launch/{file}")[0] == 404


def test_a_card_that_grew_old_is_told_so(floor, job):
    floor.send("/cards/launch")
    assert run("ground", job, "--by", "AB").status in (0, 1)
    _, _, page = floor.get("/cards/launch")
    assert words.NOT_CURRENT in page
    assert "Old bobweight card" in page


def test_a_folder_with_something_else_in_it_is_refused_in_the_words_of_cards(floor, job):
    folder = job.with_name("launch-cards")
    folder.mkdir()
    (folder / "invoice.doc").write_text("mine", encoding="utf-8")
    status, _, page = floor.send("/cards/launch")
    assert status == 409
    assert "holds what is no card of ours" in page
    assert "holds what is no card of ours" in " ".join(run("cards", job).err.split())
    assert floor.get("/cards/launch/trim.pdf")[0] == 404
    shutil.rmtree(folder)
    assert floor.send("/cards/launch")[0] == 303


def test_a_job_that_is_not_there_says_so(floor):
    assert floor.get("/cards/other")[0] == 409
    assert floor.get("/cards/other/trim.pdf")[0] == 404
    assert cards.card(Snapshot(floor.floor.shop.at("launch")), "trim.pdf") is None  # none was made yet


@pytest.fixture
def gate(job, tmp_path):
    """A floor to which devices are let in; a way to let one in."""
    paired = Paired(Devices(tmp_path / "devices.json"), AT)
    with served(job, paired=paired) as client:
        client.let_in = lambda role: client.paired(paired.codes.new(role), "CD")
        yield client


def test_the_qr_code_leads_a_phone_that_was_let_in_to_what_became_of_the_card(gate, job):
    assert gate.let_in("bench").send("/cards/launch")[0] == 303
    raw = job.with_name("launch-cards").joinpath("bobweight.pdf").read_bytes()
    (found,) = zxingcpp.read_barcodes(pypdfium2.PdfDocument(io.BytesIO(raw))[0].render(scale=3).to_pil())
    assert found.text.startswith(f"{AT}/card?code=truethrow:launch-7:bobweight:")
    where = urlsplit(found.text)
    asked = f"{where.path}?{where.query}"
    phone = gate.let_in("viewer")
    assert words.CURRENT in phone.get(asked)[2]
    assert run("current", found.text, job).status == 0
    assert run("ground", job, "--by", "AB").status in (0, 1)
    status, _, page = phone.get(asked)
    assert (status, words.NOT_CURRENT in page, "Old bobweight card" in page) == (200, True, True)
    assert run("current", found.text, job).status == 1
    assert Client(gate.port).get(asked)[0] == 403


def test_a_viewer_opens_cards_and_makes_none(gate, job):
    viewer = gate.let_in("viewer")
    status, _, page = viewer.send("/cards/launch")
    assert (status, server_words.MAY_NOT_PRINT.format(role="viewer") in page) == (403, True)
    assert not job.with_name("launch-cards").exists()
    assert gate.let_in("station").send("/cards/launch")[0] == 303
    assert viewer.get("/cards/launch/bench.pdf")[0] == 200
    assert words.MAKE_AGAIN not in viewer.get("/cards/launch")[2]
    assert Client(gate.port).get("/cards/launch/bench.pdf")[0] == 403
