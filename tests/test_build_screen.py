"""The builder's page in a browser, at the sizes of a phone, a tablet and a laptop, served by a floor: what a hand
can hit, what is cut, what stands there once the line is lost, and two tablets at once. Skipped where there is no
Chromium."""

from __future__ import annotations

import pytest
from build_shop import weighed
from floor_shop import served
from shop_screens import SIZES
from windows import LEAST_PX, LOST_S, at_its_line, driven, is_cut, targets, windows

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Confirmed, Cut, Proposed, Traded, Weighed
from truethrow.balance.matching.proposing import propose
from truethrow.cli.floor.bench import Who
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words import floor_words

pytestmark = pytest.mark.xdist_group("floor under load")
OWNER = Who("this-computer", "AB", "owner", "AB")
ONE_AIM = '\n[match]\naims = ["bobweight"]\nmove = ["piston", "pin", "rod"]\n'
MOVES = {"piston": {1: 3, 3: 1}}


@pytest.fixture(scope="module")
def browser():
    with driven() as found:
        yield found


@pytest.fixture
def job(tmp_path):
    return weighed(tmp_path)


@pytest.fixture
def floor(job):
    with served(job, owner=OWNER) as client:
        yield client


@pytest.fixture
def opened(browser, floor):
    with windows(browser) as open_:
        yield at_its_line(open_, f"{floor.origin}/build/launch")


def cuts(job):
    return [one for one in ReadingLog(log_path(job)).records if isinstance(one, Cut)]


def tick(page, number=0):
    page.locator('[data-do="tick"]').nth(number).click()
    page.click('[data-answer="yes"]')


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_every_target_is_15_mm_and_nothing_is_cut(opened, size):
    page = opened(size)
    tick(page)
    page.wait_for_selector(".cut.is-done")
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    assert is_cut(page) == []
    page.locator('[data-do="tick"]').first.click()
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    assert is_cut(page) == []


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_match_is_seen_whole_and_nothing_of_it_is_cut(job, opened, size):
    propose(job, own_readings(job), MOVES, "bobweight spread 1.2 g (proved best)", "AB")
    page = opened(size)
    assert page.get_attribute("main", "data-stage") == "accept"
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    assert is_cut(page) == []
    assert page.locator(".moves .way").first.inner_text().split() == ["1", "3"]


def test_the_grams_can_be_read_at_arms_length_and_the_drawing_is_there(opened):
    page = opened()
    high = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.take-off b')).fontSize)")
    assert high >= 40
    page.wait_for_function("[...document.querySelectorAll('.drawing')].every(one => one.naturalWidth > 0)")
    assert page.locator(".drawing").count() == page.locator(".part-to-cut").count() > 3


def test_of_two_tablets_that_tick_one_cut_the_second_is_refused_by_name(job, opened):
    first, second = opened(), opened()
    for page in (first, second):  # both have asked before either has said yes
        page.locator('[data-do="tick"]').first.click()
    first.click('[data-answer="yes"]')
    second.click('[data-answer="yes"]')
    second.wait_for_selector('#said[data-ok="no"]')
    assert "recorded already by AB" in second.inner_text("#said")
    for page in (first, second):
        page.wait_for_selector(".cut.is-done")
        assert page.locator(".cut.is-done").count() == 1
    assert len(cuts(job)) == 1


def test_a_no_records_nothing(job, opened):
    page = opened()
    page.locator('[data-do="tick"]').first.click()
    page.click('[data-answer="no"]')
    page.wait_for_timeout(300)
    assert page.locator("#question").is_hidden()
    assert cuts(job) == []


def test_a_screen_that_lost_its_line_says_so_within_two_seconds_and_blanks_what_would_be_ground(floor, opened):
    """By the page's own clock, so that a machine that is busy does not count."""
    page = opened()
    page.locator('[data-do="tick"]').first.click()  # a question that is open is not answered by what was there
    page.clock.install()
    page.context.set_offline(True)
    page.evaluate("window.stop()")
    page.clock.run_for(int(LOST_S * 1000))
    page.wait_for_selector('[data-line="lost"]')
    assert page.locator("#lost").is_visible()
    assert floor_words.LOST_DESK in page.inner_text("#lost")
    for hidden in (".take-off", ".drawing", ".part-to-cut h3", "#do-now", "#question"):
        assert page.locator(hidden).first.is_hidden()


def test_a_page_without_its_script_shows_nothing_to_be_ground(floor, browser):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{floor.origin}/build/launch")
    assert page.locator(".take-off").first.is_hidden()
    assert floor_words.NO_SCRIPT in page.inner_text("#waits")
    context.close()


def test_a_match_is_looked_for_accepted_and_the_cuts_are_ticked_while_others_look_on(job, opened):
    job.write_text(job.read_text(encoding="utf-8") + ONE_AIM, encoding="utf-8")
    page, phone = opened(), opened(SIZES[0])
    page.click('[data-do="match"]')
    phone.wait_for_selector('main[data-stage="accept"]', timeout=120_000)
    page.click('[data-do="accept"]')
    assert page.inner_text("#asked").endswith(words.ASK_ACCEPT.partition("{count}")[2])
    page.click('[data-answer="yes"]')
    phone.wait_for_selector('main[data-stage="grind"]', timeout=60_000)
    tick(phone)
    page.wait_for_selector(".cut.is-done")
    records = ReadingLog(log_path(job)).records
    assert [type(one) for one in records[-3:]] == [Proposed, Traded, Cut]


@pytest.fixture
def doubted(browser, tmp_path):
    """A screen of the job while two readings look like slips, and the job."""
    job = weighed(tmp_path / "doubted", looked_at=False)
    with served(job, owner=OWNER) as client, windows(browser) as open_:
        yield at_its_line(open_, f"{client.origin}/build/launch"), job


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_an_odd_reading_that_is_right_is_confirmed_by_who_looked(doubted, size):
    opened, job = doubted
    page = opened(size)
    page.locator('[data-do="confirm"]').first.click()
    page.wait_for_selector("#free:visible")
    assert "534.1" in page.inner_text("#asked")
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    assert is_cut(page) == []
    page.click("#free button")  # nobody's word
    page.wait_for_timeout(300)
    assert page.locator("#free").is_visible()
    page.fill("#free [name=who]", "QR")
    page.fill("#free [name=why]", "weighed twice")
    page.click("#free button")
    page.wait_for_selector('#said[data-ok="yes"]')
    page.wait_for_selector('.doubt:has-text("P33")', state="detached")
    (one,) = (one for one in ReadingLog(log_path(job)).records if isinstance(one, Confirmed))
    assert (one.cylinder, one.kind, one.why, one.by) == (5, "piston", "weighed twice", "QR")


def test_an_odd_reading_has_a_way_to_the_bench_at_its_part(doubted):
    opened, _ = doubted
    page = opened()
    page.click('.doubt a:has-text("piston P33")')
    page.wait_for_selector("[data-text='step']:has-text('P33')")
    assert "go=" not in page.url  # whoever loads it again is not taken back to it


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_what_a_change_would_do_can_be_read_and_no_figure_is_cut(floor, opened, size):
    page = opened(size)
    page.click('a[href$="/what-if"]')
    page.fill("[name=share]", "0.48")
    page.click("form button.main")
    page.wait_for_selector(".wide td", timeout=60_000)
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    assert is_cut(page) == []
    wide = "all => all.filter(one => one.scrollWidth > one.clientWidth + 1).length"
    assert page.locator(".wide").evaluate_all(wide) == 0


def test_one_accepts_while_another_leaves_the_match_and_the_second_is_told(job, opened):
    propose(job, own_readings(job), MOVES, "", "AB")
    first, second = opened(), opened()
    first.click('[data-do="accept"]')
    second.click('[data-do="reject"]')  # both have asked before either has said yes
    first.click('[data-answer="yes"]')
    first.wait_for_selector('main[data-stage="grind"]')
    second.click('[data-answer="yes"]')
    second.wait_for_selector('#said[data-ok="no"]')
    assert "is accepted" in second.inner_text("#said")
    assert "truethrow" not in second.inner_text("#said")
    assert [type(one) for one in ReadingLog(log_path(job)).records[-2:]] == [Proposed, Traded]


def test_an_older_match_that_a_screen_still_asks_about_is_not_accepted_once_a_newer_one_waits(job, opened):
    older = propose(job, own_readings(job), MOVES, "", "AB")
    page = opened()
    page.click('[data-do="accept"]')
    newer = propose(job, own_readings(job), {"piston": {2: 6, 6: 2}}, "", "CD")
    assert older.id != newer.id
    page.wait_for_selector('.moves:has-text("2>6")')
    page.click('[data-answer="yes"]')
    page.wait_for_selector('#said[data-ok="no"]')
    assert not any(isinstance(one, Traded) for one in ReadingLog(log_path(job)).records)


def test_a_part_that_is_weighed_again_while_its_cut_is_asked_about_is_not_ticked_by_the_old_plan(job, opened):
    page = opened()
    page.locator('[data-do="tick"]').first.click()
    ReadingLog(log_path(job)).append(Weighed(1, "piston", 536.9, "536.9"))
    page.wait_for_selector(".take-off", state="attached")
    page.click('[data-answer="yes"]')
    page.wait_for_selector('#said[data-ok="no"]')
    assert cuts(job) == []
