"""The shop's computer dies at the builder's page: while a match is looked for, before it has recorded what was
accepted or ticked, and once it has but before anybody is told.

What would have gone wrong: a search goes on that nobody sees and proposes a match behind the builder's back; a cut
is lost, and the same metal is taken twice; or it is recorded twice. Whatever is asked for is recorded once."""

from __future__ import annotations

import pytest
from build_shop import weighed
from floor_tablet import Server, free_port
from windows import at_its_line, driven, windows

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Proposed, Traded
from truethrow.balance.matching.proposing import propose

pytestmark = pytest.mark.xdist_group("floor under load")
LIMIT_MS = 90_000
ASKS = '\n[match]\naims = ["bobweight"]\nmove = ["piston", "pin", "rod"]\n'


@pytest.fixture
def job(tmp_path):
    return weighed(tmp_path)


@pytest.fixture
def server(job):
    made = Server(job, free_port(), "--by", "AB")
    yield made
    made.kill()


@pytest.fixture
def page(server):
    with driven() as browser, windows(browser) as open_:
        made = at_its_line(open_, f"{server.address}/build/launch")()
        made.set_default_timeout(LIMIT_MS)
        yield made


def of(job, kind):
    return [one for one in ReadingLog(log_path(job)).records if isinstance(one, kind)]


def dies(page, server, *, is_recorded):
    """The computer dies at the next thing that a hand does: before it is recorded, or before that is told."""

    def die(route):
        if is_recorded:
            route.fetch()
        server.kill()
        route.abort()

    page.route("**/do", die, times=1)


def comes_back(page, server):
    page.wait_for_selector('[data-line="lost"]')
    assert page.locator(".now > *").first.is_hidden()
    assert page.locator("#unsent").is_visible()
    server.start()
    page.wait_for_selector('[data-line="up"]')
    page.wait_for_selector("#unsent", state="hidden")


@pytest.mark.parametrize("is_recorded", [False, True], ids=["before it is recorded", "before it is told"])
def test_what_is_accepted_and_ticked_is_recorded_once_and_the_page_goes_on(job, server, page, is_recorded):
    propose(job, own_readings(job), {"piston": {1: 3, 3: 1}}, "", "AB")
    page.wait_for_selector('main[data-stage="accept"]')
    dies(page, server, is_recorded=is_recorded)
    page.click('[data-do="accept"]')
    page.click('[data-answer="yes"]')
    comes_back(page, server)
    page.wait_for_selector('main[data-stage="grind"]')
    assert len(of(job, Traded)) == 1

    dies(page, server, is_recorded=is_recorded)
    page.locator('[data-do="tick"]').first.click()
    page.click('[data-answer="yes"]')
    comes_back(page, server)
    page.wait_for_selector(".cut.is-done")
    (cut,) = of(job, Cut)
    assert page.locator(".cut.is-done").count() == 1
    assert cut.by == "AB"
    page.locator('[data-do="tick"]:enabled').first.click()
    page.click('[data-answer="yes"]')
    page.locator(".cut.is-done").nth(1).wait_for()
    assert len({one.id for one in of(job, Cut)}) == len(of(job, Cut)) == 2


def test_a_match_that_is_looked_for_ends_with_the_computer_and_can_be_looked_for_again(job, server, page):
    job.write_text(job.read_text(encoding="utf-8") + ASKS, encoding="utf-8")
    page.wait_for_selector('main[data-stage="match"]')
    page.click('[data-do="match"]')
    page.wait_for_selector('main[data-stage="search"]')
    server.kill()
    page.wait_for_selector('[data-line="lost"]')
    server.start()
    page.wait_for_selector('[data-line="up"]')
    page.wait_for_selector('main[data-stage="match"]')
    assert of(job, Proposed) == []
    page.click('[data-do="match"]')
    page.wait_for_selector('main[data-stage="accept"]')
    assert len(of(job, Proposed)) == 1
