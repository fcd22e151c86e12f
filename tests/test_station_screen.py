"""The station's page in a browser, at the sizes of a phone, a tablet and a laptop, served by a floor: the whole
station by hand, what a hand can hit, what is cut, what stands there once the line is lost, and two tablets at
once. Skipped where there is no Chromium."""

from __future__ import annotations

import pytest
from floor_shop import served
from shop_screens import SIZES
from station_page import Screen, in_ounces, mirrored
from station_shop import added, sound_job
from windows import LEAST_PX, LOST_S, at_its_line, driven, is_cut, targets, windows

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.place import Snapshot, open_log
from truethrow.cli.floor.bench import Who
from truethrow.cli.floor.station_state import look
from truethrow.worksheets.words import station_screen_words as words

pytestmark = pytest.mark.xdist_group("floor under load")
OWNER = Who("this-computer", "AB", "owner", "AB")
FRONT, REAR = "6.1@203", "5.0@169"
WITH_MASSES = added(FRONT, 150, 30), added(REAR, 100, 120)


@pytest.fixture(scope="module")
def browser():
    with driven() as found:
        yield found


@pytest.fixture
def job(tmp_path):
    return sound_job(tmp_path)


@pytest.fixture
def floor(job):
    with served(job.parent, owner=OWNER) as client:
        yield client


@pytest.fixture
def opened(browser, floor):
    with windows(browser) as open_:
        yield at_its_line(open_, f"{floor.origin}/station/my")


def proved(job):
    """The job as it is once there are holes to drill."""
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    screen.proves(*WITH_MASSES)
    return screen


def at_stage(page, stage):
    page.wait_for_selector(f'main[data-stage="{stage}"]')


def types(page, **fields):
    for name, text in fields.items():
        page.click(f'#pad [data-field="{name}"]')
        for key in text:
            page.click(f'#pad [data-key="{key}"]')


def display(page, front, rear, unit="g"):
    figures = [figure for one in (front, rear) for figure in one.split("@")]
    types(page, **dict(zip(("front_amount", "front_angle", "rear_amount", "rear_angle"), figures, strict=True)))
    page.click(f'#pad [data-unit-of="{unit}"]')


def yes(page):
    """What was read back."""
    page.wait_for_selector("#question:not([hidden])")
    asked = page.inner_text("#asked")
    page.click('#question [data-answer="yes"]')
    page.wait_for_selector("#question", state="hidden")
    return asked


def spins(page, front, rear):
    page.click('.view:not([hidden]) [data-pad="runs"]')
    display(page, front, rear)
    page.click('#pad [data-key="read"]')
    return yes(page)


def test_known_masses_that_do_not_agree_stand_beside_a_warning_sign(job, opened):
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    page = opened()
    at_stage(page, "prove")
    page.click('.view:not([hidden]) [data-pad="masses"]')
    types(page, front_grams="150", rear_grams="100")
    page.click('#pad [data-key="read"]')
    display(page, added(FRONT, -150, 30), added(REAR, -100, 120))
    page.click('#pad [data-key="read"]')
    yes(page)
    page.wait_for_selector("#said:not([hidden])")
    assert words.MASSES_DISAGREE in page.inner_text("#said-text").lower()
    shown = [sign for sign in ("ok", "look", "no") if page.is_visible(f"#said .said-{sign}")]
    assert shown == ["look"]


def test_a_whole_station_is_done_by_hand_on_the_page_alone(job, opened):
    page = opened()
    at_stage(page, "bobweights")
    for throw in range(1, 5):
        one = page.locator(f'[data-throw="{throw}"]')
        asked = one.get_attribute("data-asked").split()[0]
        one.click()
        types(page, mass=asked)
        page.click('#pad [data-key="read"]')
        assert f"throw {throw} weighs {asked} g" in yes(page)
        page.wait_for_selector(f'[data-throw="{throw}"]:not(:has-text("{words.NOT_WEIGHED}"))', state="attached")
    at_stage(page, "spin")
    assert "front 6.1 g at 203° = crank 203°" in spins(page, FRONT, REAR)
    at_stage(page, "prove")
    page.click('.view:not([hidden]) [data-pad="masses"]')
    types(page, front_grams="150", rear_grams="100")
    page.click('#pad [data-key="read"]')
    display(page, *WITH_MASSES)
    page.click('#pad [data-key="read"]')
    assert "front 150 g at station 30°, crank 30°, radius 100 mm" in yes(page)
    at_stage(page, "hole")
    assert "agree" in page.inner_text("#said")
    count = len(page.query_selector_all(".plan li"))
    for number in range(1, count + 1):
        page.wait_for_selector(f'.hole[data-number="{number}"]')
        page.click('.view:not([hidden]) [data-do="hole"]')
        assert words.DONE_SO in yes(page)
    at_stage(page, "spin")
    spins(page, "0.3@20", "0.3@230")
    at_stage(page, "sign")
    page.fill("#signs input", "CD")
    page.click("#signs button")
    assert "CD signs" in yes(page)
    at_stage(page, "signed")
    log = open_log(job).records
    assert [one.action for one in log] == [*["built"] * 4, "spin", "test", *["hole"] * count, "spin", "sign"]
    assert {one.by for one in log[:-1]} == {"AB"}
    assert log[-1].by == "CD"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_every_target_is_15_mm_and_nothing_is_cut_in_any_view(job, opened, size):
    proved(job)
    page = opened(size)
    at_stage(page, "hole")
    for view in words.VIEWS:
        page.click(f'[data-open="{view}"]')
        assert is_cut(page) == [], view
        assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == [], view
    for view, pad in (("bobweights", "built"), ("spin", "runs"), ("hole", "deep")):
        page.click(f'[data-open="{view}"]')
        page.locator(f'[data-pad="{pad}"]').first.click()
        assert is_cut(page) == [], pad
        assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == [], pad
        for key in "12345.67":
            page.click(f'#pad [data-key="{key}"]')
        page.wait_for_timeout(50)
        cut = "[...document.querySelectorAll('#pad output')].some(one => one.scrollWidth > one.clientWidth + 1)"
        assert not page.evaluate(cut), pad
        page.click('#pad [data-key="close"]')


def test_the_angle_can_be_read_from_two_metres(job, opened):
    """Common practice, no source: a letter can be read from 200 times its height, so 10 mm from 2 m; a figure is
    some 0.7 of its size high, and 15 mm are 56.7 px."""
    proved(job)
    for size in SIZES:
        page = opened(size)
        for of in ("#angle", ".hole .deep"):
            high = page.evaluate(f"parseFloat(getComputedStyle(document.querySelector('{of}')).fontSize)")
            assert high * 0.7 >= 10 / 25.4 * 96 * 0.8, (size, of)


def loses_its_line(page):
    """By the page's own clock, so that a machine that is busy does not count."""
    page.clock.install()
    page.context.set_offline(True)
    page.evaluate("window.stop()")
    page.clock.run_for(int(LOST_S * 1000))
    page.wait_for_selector('[data-line="lost"]')


def seen(page):
    """What a reader sees in the middle of the page, and of the pad where it is open."""
    return page.evaluate(
        """() => [...document.querySelectorAll("main *, #pad h2, #pad output")]
        .filter(one => one.checkVisibility({visibilityProperty: true}) && !one.closest(".away"))
        .map(one => [...one.childNodes].filter(of => of.nodeType === 3).map(of => of.data).join("").trim())
        .filter(text => text)"""
    )


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_screen_that_lost_its_line_blanks_all_that_a_hand_could_act_on_and_says_so(job, opened, size):
    """In each view: the step, the plates, the masses, the angle, the depth, the drawing, the plan, signing."""
    proved(job)
    page = opened(size)
    assert "Hole 1 of" in " ".join(seen(page))
    loses_its_line(page)
    assert page.locator("#away").is_visible()
    assert is_cut(page) == []
    for view in words.VIEWS:
        page.evaluate("view => document.querySelector(`[data-open=${view}]`).click()", view)
        assert seen(page) == [], view
        assert page.locator("main svg:visible").count() == 0, view
    assert page.locator('[data-do="hole"]').first.is_disabled()


def test_an_open_pad_blanks_what_it_was_told_when_the_line_is_lost_and_keeps_what_was_typed(job, opened):
    screen = Screen(job)
    screen.builds()
    screen.spins(FRONT, REAR)
    page = opened()
    page.click('.view:not([hidden]) [data-pad="masses"]')
    types(page, front_grams="150")
    loses_its_line(page)
    assert seen(page) == []
    page.clock.resume()
    page.context.set_offline(False)
    page.wait_for_selector('[data-line="up"]')
    assert page.inner_text('[data-field="front_grams"] output') == "150"
    assert page.inner_text('[data-field="rear_at"] output') == "120"


def test_a_hole_that_is_not_saved_is_kept_without_its_angle_and_sent_once_the_line_is_back(job, opened):
    proved(job)
    page = opened()
    page.click('.view:not([hidden]) [data-do="hole"]')
    page.wait_for_selector("#question:not([hidden])")
    page.route("**/do", lambda route: route.abort())
    page.click('[data-answer="yes"]')
    page.wait_for_selector("#unsent:not([hidden])")
    assert page.locator("#unsent-asked").is_visible()
    page.evaluate("document.body.dataset.line = 'lost'")
    assert page.locator("#unsent-asked").is_hidden()
    page.unroute("**/do")
    page.wait_for_selector(".plan .is-done")
    assert page.locator("#unsent").is_hidden()
    assert [one.action for one in open_log(job).records].count("hole") == 1


def test_a_page_without_its_script_shows_no_angle(job, floor, browser):
    proved(job)
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{floor.origin}/station/my")
    assert page.locator("#angle").is_hidden()
    context.close()


def test_of_two_tablets_that_tick_one_hole_the_second_is_refused_by_name(job, opened):
    proved(job)
    first, second = opened(), opened()
    for page in (first, second):  # both have asked before either has said yes
        page.click('.view:not([hidden]) [data-do="hole"]')
        page.wait_for_selector("#question:not([hidden])")
    first.click('[data-answer="yes"]')
    second.click('[data-answer="yes"]')
    second.wait_for_selector('#said[data-ok="no"]')
    assert "hole 1: was recorded by AB at " in second.inner_text("#said")
    for page in (first, second):
        page.wait_for_selector(".plan .is-done")
    assert [one.action for one in open_log(job).records].count("hole") == 1


def test_what_is_typed_stays_on_the_pad_while_others_record_and_is_asked_for_with_what_they_did(job, opened):
    screen = Screen(job)
    screen.builds()
    page = opened()
    page.click('.view:not([hidden]) [data-pad="runs"]')
    display(page, "6.2@203", "5.1@169")
    screen.spins(FRONT, REAR)
    at_stage(page, "prove")
    assert page.inner_text('[data-field="front_amount"] output') == "6.2"
    page.click('#pad [data-key="read"]')
    assert "Look again, since this screen was drawn: spin 6.1@203 5.0@169" in yes(page)
    page.wait_for_selector("#pad", state="hidden")
    assert [one.action for one in open_log(job).records].count("spin") == 2


def test_what_is_refused_is_told_on_the_pad_and_what_was_typed_stays(job, opened):
    Screen(job).builds()
    page = opened()
    page.click('.view:not([hidden]) [data-pad="runs"]')
    display(page, "6.1@999", "5.0@169")
    page.click('#pad [data-key="read"]')
    page.wait_for_selector("#pad-said:not([hidden])")
    assert "out of reach" in page.inner_text("#pad-said")
    assert page.inner_text('[data-field="front_angle"] output') == "999"


def test_the_unit_is_what_the_hand_sees_on_the_display_and_never_taken_from_the_profile(job, opened):
    """A display that was switched to ounces shows figures that look right, after the proof, too: nothing that is
    read tells it, so whoever types looks at the display and says its unit, at each spin anew."""
    proved(job)
    page = opened(SIZES[0])
    for unit in ("", "oz"):
        page.click('[data-open="spin"]')
        page.click('.view:not([hidden]) [data-pad="runs"]')
        assert page.locator('#pad [aria-pressed="true"]').count() == 0, "as nobody said it yet"
        assert page.inner_text('[data-field="front_amount"] .unit') == "?"
        for name, text in zip(("front_amount", "front_angle", "rear_amount", "rear_angle"), "6259", strict=True):
            types(page, **{name: text})
        if unit:
            page.click(f'#pad [data-unit-of="{unit}"]')
            assert page.inner_text('[data-field="front_amount"] .unit') == unit
        page.click('#pad [data-key="read"]')
        page.wait_for_selector("#pad-said:not([hidden])")
        told = page.inner_text("#pad-said")
        assert ("typed in oz, and the profile reads g" in told) if unit else (words.UNIT_FIRST in told)
        page.click('#pad [data-key="close"]')
    assert [one.action for one in open_log(job).records].count("spin") == 1


FIRST = {
    "wrong unit": (in_ounces, (0, 1)),
    "swapped cables": (str, (1, 0)),
    "mirrored sense": (mirrored, (0, 1)),
}


@pytest.mark.parametrize("slip", FIRST)
def test_a_slip_at_the_first_spin_shows_no_hole_before_known_masses_told_it(slip, job, opened):
    """Nothing was read before that the first spin could be held against: the known masses tell, before a yes, and
    no hole is shown and nothing can be signed."""
    shows, order = FIRST[slip]
    Screen(job).builds()
    page = opened(SIZES[0])
    at_stage(page, "spin")
    read = [shows(one) for one in (FRONT, REAR)]
    spins(page, *(read[at] for at in order))
    at_stage(page, "prove")
    assert page.locator("#angle").count() == 0
    assert "No test mass has agreed" in page.inner_text(".stops")
    page.click('.view:not([hidden]) [data-pad="masses"]')
    types(page, front_grams="150", rear_grams="100")
    page.click('#pad [data-key="read"]')
    with_them = [shows(one) for one in WITH_MASSES]
    display(page, *(with_them[at] for at in order))
    page.click('#pad [data-key="read"]')
    assert "Look before you say yes." in yes(page)
    page.wait_for_selector("#said:not([hidden])")
    assert words.MASSES_DISAGREE in page.inner_text("#said-text").lower()
    assert page.locator("#angle").count() == 0
    page.click("#said")
    page.click('[data-open="sign"]')
    assert page.locator("#signs button").is_disabled()


SHIFTS = """() => { window.moved = []; new PerformanceObserver(list => {
    for (const one of list.getEntries()) window.moved.push(...one.sources.map(of => of.node?.nodeName));
}).observe({type: "layout-shift", buffered: false}); }"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_what_is_said_moves_nothing_and_a_touch_puts_it_away(job, opened, size):
    proved(job)
    page = opened(size)
    at_stage(page, "hole")
    tops = "[...document.querySelectorAll('main :not(svg *)')].map(one => one.getBoundingClientRect().top)"
    before = page.evaluate(tops)
    page.evaluate(SHIFTS)
    page.evaluate("import('/assets/desk.js').then(desk => desk.say('recorded: hole 1\\nand more of it'))")
    page.wait_for_selector("#said:not([hidden])")
    assert page.evaluate(tops) == before
    page.click("#said")
    page.wait_for_selector("#said", state="hidden")
    page.wait_for_timeout(100)
    assert page.evaluate("window.moved") == []
    page.click('[data-open="spin"]')
    page.click('.view:not([hidden]) [data-pad="runs"]')
    keys = "[...document.querySelectorAll('#pad button')].map(one => one.getBoundingClientRect().top)"
    before = page.evaluate(keys)
    page.click('#pad [data-key="read"]')
    page.wait_for_selector("#pad-said:not([hidden])")
    assert page.evaluate(keys) == before


def test_the_answer_that_is_the_largest_is_yes_to_what_is_right_and_no_to_what_looks_wrong(job, opened):
    proved(job)
    page = opened()
    for front, rear, largest in ((FRONT, REAR, "yes"), (REAR, FRONT, "no")):
        page.click('[data-open="spin"]')
        page.click('.view:not([hidden]) [data-pad="runs"]')
        display(page, front, rear)
        page.click('#pad [data-key="read"]')
        page.wait_for_selector("#question:not([hidden])")
        high = {one: page.locator(f'[data-answer="{one}"]').bounding_box()["height"] for one in ("yes", "no")}
        assert max(high, key=high.get) == largest
        page.click('[data-answer="no"]')
        page.click('#pad [data-key="close"]')


def test_nothing_is_typed_before_all_is_looked_over(job, opened):
    profile = job.with_name("station.toml")
    profile.write_text(
        profile.read_text() + '\n[before_spin]\nasked = "once a day"\nlook_at = ["plugs", "guard"]\n'
    )
    Screen(job).builds()
    page = opened()
    at_stage(page, "spin")
    types_it = page.locator('[data-act="spin"]')
    assert types_it.is_disabled()
    page.click('[data-tick="over"]:has-text("plugs")')
    assert types_it.is_disabled()
    page.click('[data-tick="over"]:has-text("guard")')
    spins(page, FRONT, REAR)
    at_stage(page, "prove")
    assert open_log(job).records[-1].looked_over


def test_what_was_looked_over_here_does_not_count_for_the_spin_after_the_one_that_another_recorded(job, opened):
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text() + '\n[before_spin]\nasked = "every time"\nlook_at = ["plugs"]\n')
    screen = Screen(job)
    screen.builds()
    page = opened()
    at_stage(page, "spin")
    page.click('[data-tick="over"]')
    types_it = page.locator('[data-act="spin"]')
    assert types_it.is_enabled()
    screen.spins(FRONT, REAR, looked_over=True)
    at_stage(page, "prove")
    page.click('[data-open="spin"]')
    assert page.get_attribute('[data-tick="over"]', "aria-pressed") == "false"
    assert types_it.is_disabled()


def test_what_was_looked_over_does_not_count_past_midnight(job, opened):
    """Ticked in the evening and spun in the morning: the ticks have fallen, and so they have where the pad stayed
    open over night."""
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text() + '\n[before_spin]\nasked = "every time"\nlook_at = ["plugs"]\n')
    Screen(job).builds()
    page = opened()
    at_stage(page, "spin")
    page.clock.set_fixed_time("2031-03-04T23:58:00")
    page.click('[data-tick="over"]')
    types_it = page.locator('[data-act="spin"]')
    if types_it.is_disabled():  # the first click at another day than the page was made on
        page.click('[data-tick="over"]')
    assert types_it.is_enabled()
    page.clock.set_fixed_time("2031-03-05T00:01:00")
    types_it.click()
    assert page.is_hidden("#pad")
    assert page.get_attribute('[data-tick="over"]', "aria-pressed") == "false"
    assert types_it.is_disabled()
    page.click('[data-tick="over"]')
    types_it.click()
    display(page, FRONT, REAR)
    page.clock.set_fixed_time("2031-03-06T06:30:00")
    page.click('#pad [data-key="read"]')
    page.wait_for_selector("#pad-said:not([hidden])")
    assert "not looked over yet" in page.inner_text("#pad-said")
    assert not [one for one in open_log(job).records if one.action == "spin"]


def reads(job):
    """What the display shows once the plan is done."""
    state = look(Snapshot(job)).state
    return ["{:.2f}@{:.1f}".format(*state.instrument.shows(one)) for one in state.expected]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_holes_that_were_drilled_and_not_recorded_are_recorded_by_hand_with_their_real_depths(job, opened, size):
    screen = proved(job)
    screen.spins(*reads(job))
    page = opened(size)
    page.click('.ways [data-form="offered-0"]')
    page.wait_for_selector("#form:not([hidden])")
    assert is_cut(page) == []
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    page.locator("#form input").first.fill("7.5")
    page.click("#form .main")
    assert "7.5 mm deep" in yes(page)
    page.wait_for_selector("#form", state="hidden")
    kept = [one for one in open_log(job).records if one.action == "hole"]
    assert kept[0].depth_mm == 7.5
    assert len(kept) == len(screen.state.in_crank[0])


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_another_hole_is_said_looked_at_and_canceled_by_hand(job, opened, size):
    proved(job)
    page = opened(size)
    at_stage(page, "hole")
    page.click('[data-form="did"]')
    page.wait_for_selector("#form:not([hidden])")
    assert is_cut(page) == []
    assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == []
    page.select_option("#form [name=member]", "1a")
    page.select_option("#form [name=tool]", index=1)
    page.fill("#form [name=angle]", "5,5")
    page.click("#form .main")
    page.wait_for_selector("#form-said:not([hidden])")
    assert "missing" in page.inner_text("#form-said")
    page.fill("#form [name=deep]", "60")
    page.click("#form .main")
    asked = yes(page)
    assert "Look before you say yes." in asked
    assert "1a, at station 5.5°" in asked
    at_stage(page, "look")
    assert page.locator(".hole").count() == 0
    page.click('.ways [data-form="looked"]')
    page.fill("#form [name=by]", "QQ")
    page.fill("#form [name=why]", "thick enough there")
    page.click("#form .main")
    assert "QQ looked at it" in yes(page)
    at_stage(page, "spin")
    page.click('[data-open="spins"]')
    page.locator('.cancelings li:has-text("radial, 1a") [data-form="cancel"]').click()
    page.fill("#form [name=why]", "never drilled")
    page.click("#form .main")
    assert "Cancel: hole" in yes(page)
    at_stage(page, "hole")
    log = open_log(job).records
    assert [one.action for one in log][-4:] == ["hole", "looked", "strike", "strike"]
    assert log[-1].why == "never drilled"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_slug_and_an_arc_are_said_in_the_form_which_asks_for_what_they_are_told_by(job, opened, size):
    proved(job)
    page = opened(size)
    page.click('[data-form="did"]')
    for kind in words.KINDS:
        page.select_option("#form [name=kind]", kind)
        assert is_cut(page) == [], kind
        assert [one for one in targets(page) if min(one[1:]) < LEAST_PX] == [], kind
    page.select_option("#form [name=kind]", "arc")
    assert page.locator("#form [name=tool]").is_hidden()
    page.select_option("#form [name=kind]", "slug")
    page.select_option("#form [name=member]", "1a")
    for name, text in {"angle": "180", "wide": "16", "long": "16", "own_radius": "70", "took": "55.2"}.items():
        page.fill(f"#form [name={name}]", text)
    page.click("#form .main")
    assert "1a, at station 180.0°" in yes(page)
    page.wait_for_selector("#form", state="hidden")
    assert [(one.kind, one.diameter_mm) for one in open_log(job).records if one.action == "hole"] == [
        ("slug", 16.0)
    ]


def test_a_form_is_blank_while_the_line_is_lost(job, opened):
    proved(job)
    page = opened()
    page.click('[data-form="did"]')
    page.fill("#form [name=angle]", "217")
    loses_its_line(page)
    assert not page.locator("#form input").first.is_visible()
    assert not page.locator("#form h2").is_visible()


def ready_to_sign(job):
    screen = proved(job)
    while screen.state.stage == "hole":
        screen.drills()
    screen.spins("0.3@20", "0.3@230")
    return screen


def signs(page, by):
    page.fill("#signs input", by)
    page.click("#signs button")
    page.wait_for_selector("#question:not([hidden])")


def test_of_two_tablets_that_sign_at_once_one_signs_and_the_other_is_told_by_whom(job, opened):
    ready_to_sign(job)
    first, second = opened(), opened()
    for page, by in ((first, "CD"), (second, "EF")):
        at_stage(page, "sign")
        signs(page, by)
    first.click('[data-answer="yes"]')
    second.click('[data-answer="yes"]')
    second.wait_for_selector('#said[data-ok="no"]')
    assert "signed already by CD" in second.inner_text("#said")
    for page in (first, second):
        at_stage(page, "signed")
        assert page.inner_text("#step") == "CD"
    assert [one.by for one in open_log(job).records if one.action == "sign"] == ["CD"]


def test_who_signs_while_another_records_a_spin_is_asked_again_and_what_is_not_inside_is_not_signed(job, opened):
    screen = ready_to_sign(job)
    page = opened()
    at_stage(page, "sign")
    signs(page, "CD")
    screen.spins(FRONT, REAR)
    page.click('[data-answer="yes"]')
    page.wait_for_selector('#said[data-ok="no"]')
    assert "not signed: " in page.inner_text("#said")
    assert "sign" not in [one.action for one in open_log(job).records]
    assert page.locator("main").get_attribute("data-stage") != "sign"


def test_who_signs_while_another_records_a_spin_that_agrees_is_asked_with_the_new_figures(job, opened):
    screen = ready_to_sign(job)
    page = opened()
    at_stage(page, "sign")
    signs(page, "CD")
    screen.spins("0.4@20", "0.3@230")
    page.click('[data-answer="yes"]')
    page.wait_for_selector('#asked:has-text("Look again")')
    assert "spin 0.4@20" in yes(page)
    at_stage(page, "signed")


def test_a_signed_crank_that_is_touched_again_is_no_longer_signed_on_any_screen(job, opened):
    screen = ready_to_sign(job)
    screen.does("sign", by="CD")
    page = opened()
    at_stage(page, "signed")
    page.click('[data-open="spin"]')
    spins(page, "2.4@20", "0.3@230")
    page.wait_for_selector('main:not([data-stage="signed"])')
    assert page.locator(".signed").count() == 0
    assert page.inner_text(".was-signed").startswith("CD signed it, ")


def test_a_hole_said_after_the_signature_ends_it_too(job, opened):
    screen = ready_to_sign(job)
    screen.does("sign", by="CD")
    page = opened()
    at_stage(page, "signed")
    page.click('[data-open="hole"]')
    page.click('[data-form="did"]')
    page.select_option("#form [name=member]", "2a")
    page.select_option("#form [name=tool]", index=1)
    page.fill("#form [name=angle]", "240")
    page.fill("#form [name=deep]", "6")
    page.click("#form .main")
    yes(page)
    at_stage(page, "spin")
    page.click('[data-open="sign"]')
    assert page.locator("#signs button").is_disabled()


SLIPS = {
    "wrong unit": ((in_ounces(FRONT), in_ounces(REAR)), "ounces and grams are mixed up"),
    "swapped cables": ((REAR, FRONT), "the cables of the two planes are exchanged"),
    "mirrored sense": ((mirrored(FRONT), mirrored(REAR)), "the angle counts the other way"),
    "noise": (("3.1@250", "7.9@90"), "reads otherwise than spin 1"),
    "masses on": (WITH_MASSES, "both known masses are still on"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_told_before_it_is_recorded_and_then_no_hole_is_shown(slip, job, opened):
    shown, looks = SLIPS[slip]
    proved(job)
    page = opened(SIZES[0])
    page.click('[data-open="spin"]')
    asked = spins(page, *shown)
    assert asked.startswith("Look before you say yes. Spin 2 reads otherwise than spin 1")
    assert looks in asked
    page.wait_for_selector('main:not([data-stage="hole"])')
    assert page.locator("#angle").count() == 0
    assert looks in page.inner_text(".stops")
    page.click('[data-open="sign"]')
    assert page.locator("#signs button").is_disabled()


def test_a_record_that_is_damaged_on_the_disk_stops_the_screen_and_it_comes_back(job, opened):
    proved(job)
    page = opened()
    at_stage(page, "hole")
    path = log_path(job)
    sound = path.read_bytes()
    lines = sound.splitlines(keepends=True)
    lines[2] = lines[2][:30] + bytes([lines[2][30] ^ 1]) + lines[2][31:]
    path.write_bytes(b"".join(lines))
    at_stage(page, "stop")
    assert page.locator("#angle").count() == 0
    said = page.inner_text("main")
    assert "line 3" in said
    assert "truethrow " not in said
    assert page.locator("main button:enabled:visible:not([data-open])").count() == 0
    path.write_bytes(sound)
    at_stage(page, "hole")


def test_the_board_leads_to_the_station_before_and_after_an_event(job, floor, opened):
    page = opened()
    page.click(".home")
    page.wait_for_selector('body[data-page="board"][data-line="up"]')
    Screen(job).builds()  # the row is made anew by the script
    page.wait_for_timeout(300)
    page.click('[data-place="station"]')
    at_stage(page, "spin")
    assert page.url == f"{floor.origin}/station/my"
