"""The plain forms of the floor's pages in a browser, which says by itself where a form comes from. Skipped where
there is no Chromium."""

from __future__ import annotations

import pytest
from floor_shop import blank_job, served
from floor_tablet import browser

from truethrow.balance import demo
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.devices import Devices
from truethrow.cli.floor.pairing import Paired
from truethrow.worksheets.words import floor_words as words

pytestmark = pytest.mark.xdist_group("floor under load")


def test_a_form_of_the_floors_own_is_heard(tmp_path):
    owner = Who("this-computer", "AB", "owner", "AB")
    with browser() as opened, served(tmp_path, owner=owner) as client:
        page = opened.new_page()
        page.goto(f"{client.origin}/new")
        page.fill("textarea", demo.text("launch.toml"))
        page.click('button[value="text"]')
        page.wait_for_url("**/bench/launch-7")
    assert (tmp_path / "launch-7.toml").exists()


def test_a_device_is_let_in_by_its_form(tmp_path):
    blank_job(tmp_path)
    paired = Paired(Devices(tmp_path / "devices.json"), "http://shop.local:8737")
    with browser() as opened, served(tmp_path, paired=paired) as client:
        page = opened.new_page()
        page.goto(f"{client.origin}/pair?code={paired.codes.new('builder')}")
        page.fill('input[name="initials"]', "AB")
        page.click("form button")
        page.wait_for_selector("#jobs .job")
        page.goto(f"{client.origin}/new")
        assert page.inner_text("h1") == words.NEW
    assert [one.role for one in paired.devices.all] == ["builder"]
