"""Whether a card on paper is still good, asked at a screen: the same verdict as `current` gives."""

from __future__ import annotations

import json
import shutil
from urllib.parse import quote

import pytest
from commands import run
from floor_shop import served

from truethrow.cli.floor.card_now import card_now
from truethrow.cli.floor.shop import Folder
from truethrow.worksheets.words import floor_words as words


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """The demo's pump with its cards, and the code of each."""
    folder = tmp_path_factory.mktemp("cards")
    assert run("demo", "--into", folder / "shop").status in (0, 1)
    assert run("cards", folder / "shop" / "pump.toml", "--into", folder / "cards").status == 0
    data = json.loads((folder / "cards" / "figures.json").read_text(encoding="utf-8"))
    return folder / "shop", {name: card["code"] for name, card in data["cards"].items()}


@pytest.fixture
def shop(drawn, tmp_path):
    folder, codes = drawn
    shutil.copytree(folder, tmp_path / "shop")
    return tmp_path / "shop", codes


def as_current_says(code, job):
    said = run("current", code, job)
    return said.status, said.out.strip()


def test_a_card_is_current_or_old_as_the_command_says_and_other_codes_are_none(shop):
    folder, codes = shop
    code = codes["bobweight"]
    found = card_now(Folder(folder), "\u200b".join(code))
    assert (found.is_current, found.fault) == (True, "")
    assert as_current_says(code, folder / "pump.toml") == (0, found.said)
    text = (folder / "pump.toml").read_text(encoding="utf-8")
    assert "oil = 3.0" in text
    (folder / "pump.toml").write_text(text.replace("oil = 3.0", "oil = 3.5"), encoding="utf-8")
    found = card_now(Folder(folder), code)
    assert (found.is_current, found.fault) == (False, "")
    assert "Do not work from it." in found.said
    assert as_current_says(code, folder / "pump.toml") == (1, found.said)
    for wrong, told in (
        ("613.4", "is no card's code"),
        (code.replace(":pump-2:", ":pump-3:"), "is not open here"),
    ):
        found = card_now(Folder(folder), wrong)
        assert (found.said, found.is_current) == ("", False)
        assert told in found.fault


def test_the_page_asks_for_a_code_and_shows_the_verdict(shop):
    folder, codes = shop
    with served(folder) as client:
        assert "/card" in client.get("/")[2]
        status, _, text = client.get("/card")
        assert (status, words.CURRENT in text) == (200, False)
        status, _, text = client.get(f"/card?code={quote(codes['bobweight'])}")
        assert (status, words.CURRENT in text, words.NOT_CURRENT in text) == (200, True, False)
        status, _, text = client.get("/card?code=%3Cscript%3Ealert(1)%3C/script%3E")
        assert (status, "<script>alert" in text, words.CURRENT in text) == (200, False, False)
