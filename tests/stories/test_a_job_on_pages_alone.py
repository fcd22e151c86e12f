"""A shop's folder with nothing in it but its station's profile, and a V8 that is done in it on pages alone: two
tablets and a phone at once, the computer killed twice, from the job's file to the signature and the printed cards.
What the hands did is written down in the command line's words as they did it; told to the command line, it records
the same, but for ids, times and seals."""

from __future__ import annotations

import cmath
import itertools
import json
import math
import re
from typing import NamedTuple

import pytest
from commands import run
from floor_tablet import KINDS, SIZE, Server, Tablet, browser, free_port, masses_g
from within import demo, log_path

from truethrow.balance.station import balancing
from truethrow.balance.station.next_steps import next_pair

LIMIT_MS = 30_000
# Of the pistons, pins and rods of three boxes, so that there is something to match.
ONE_AIM = '\n[match]\naims = ["bobweight"]\nmove = ["piston", "pin", "rod"]\n'
# The crank as it arrives, and where it is found after each round of holes beside what they should have left. All
# invented, as in the demo. [g·mm at degrees]
ARRIVED = (1180, 203), (860, 169)
MISSED = ((180, 250), (120, 80)), ((22, 95), (17, 250)), ((9, 20), (11, 200))
# At which reading, and at which cut, the computer is killed.
KILLED_AT_READING, KILLED_AT_CUT = 20, 6
# What is no part of what was done; batch: which cuts were told in one command.
OWN = {"id", "at", "bench", "batch", "n", "log", "after", "seal"}


class Shop(NamedTuple):
    """Who is at work. did: what was done, in the command line's words; at the bench what is typed there."""

    server: Server
    job: object
    bench: Tablet
    phone: object
    second: object
    did: list

    def page(self, name):
        return f"{self.server.address}/{name}/launch-7"


def records(job):
    if not log_path(job).exists():
        return []
    lines = [json.loads(line) for line in log_path(job).read_text(encoding="utf-8").splitlines()]
    return [one for one in lines if one["action"] != "begin"]


def done(job):
    """What a job's records say was done. Names that are made of ids are told by where they came first: of records,
    of what a spin was read by, of a plan of holes."""
    found = records(job)
    names = {one["id"]: f"record {number}" for number, one in enumerate(found)}

    def told(value):
        if isinstance(value, dict):
            return {name: told(own) for name, own in value.items() if name not in OWN}
        if isinstance(value, list):
            return [told(own) for own in value]
        return names.get(value, value) if isinstance(value, str) else value

    for one in found:
        of_ids = one["read_by"]["basis"] if "read_by" in one else one["plan"] if one["action"] == "hole" else ""
        if of_ids:
            names.setdefault(of_ids, f"name {len(names)}")
    return [told(one) for one in found]


@pytest.mark.xdist_group("floor under load")
def test_a_whole_job_is_done_on_pages_alone(tmp_path):
    folder, twin = tmp_path / "floor", tmp_path / "typed" / "launch-7.toml"
    for one in (folder, twin.parent):
        one.mkdir()
        (one / "station.toml").write_text(demo.text("station.toml"), encoding="utf-8")
    text, job = demo.text("launch.toml") + ONE_AIM, folder / "launch-7.toml"
    server = Server(folder, free_port(), "--by", "AB")
    try:
        with browser() as opened:
            shop = new_job(opened, server, job, text)
            weigh_all(shop)
            build(shop)
            balance(shop)
            print_cards(shop)
    finally:
        server.kill()
    assert job.read_text(encoding="utf-8") == text
    twin.write_text(text, encoding="utf-8")
    tell(twin, shop.did)
    assert done(job) == done(twin) != []


def device(opened, size=SIZE):
    """A screen of its own: what is kept in its browser is in no other."""
    context = opened.browser.new_context(viewport={"width": size[0], "height": size[1]}, has_touch=True)
    context.set_default_timeout(LIMIT_MS)
    return context.new_page()


def new_job(opened, server, job, text):
    page = device(opened)
    page.goto(f"{server.address}/new")
    page.fill("textarea", text)
    page.click('button[value="text"]')
    page.wait_for_url("**/bench/launch-7")
    bench = Tablet(page, f"{server.address}/bench/launch-7")
    phone, second = device(opened, (390, 844)), device(opened)
    for one in (phone, second):
        one.goto(f"{server.address}/build/launch-7")
        at(one, "weigh")
    return Shop(server, job, bench, phone, second, [])


def at(page, *stages):
    """Which of these stages a page has come to."""
    page.wait_for_selector(", ".join(f'[data-line="up"] main[data-stage="{stage}"]' for stage in stages))
    return page.get_attribute("main", "data-stage")


def yes(page):
    page.wait_for_selector("#question:not([hidden])")
    page.click('#question [data-answer="yes"]')
    page.wait_for_selector("#question", state="hidden")


# The bench


def reads(shop, grams, is_down=False):
    """Type what the part weighs that is asked for."""
    step, before = shop.bench.text("step"), len(records(shop.job))
    if is_down:
        shop.server.kill()
        shop.bench.until(lambda: shop.bench.says("line") == "lost")
    shop.bench.types(grams)
    if is_down:
        shop.bench.until(lambda: shop.bench.page.is_visible("#unsent"))
        shop.server.start()
    shop.bench.until(lambda: len(records(shop.job)) == before + 1 and shop.bench.text("taken").endswith(grams))
    part = re.sub(r"(\d)>\d", r"weighed in \1", step)  # as the mark on it says
    shop.did.append(("weigh", f"go {part}\n{grams}\n"))


def weigh_all(shop):
    masses = masses_g()
    for number in itertools.count(1):
        step = shop.bench.asks()
        if step == "done":
            break
        *words, cylinder = step.split()
        grams = f"{masses[KINDS[words[0]], int(cylinder)]:.1f}"
        reads(shop, grams, is_down=number == KILLED_AT_READING)
        shop.bench.until(lambda step=step: shop.bench.text("step") != step)
    assert number == len(masses) + 1


def weigh_again(shop, kind, mark, grams):
    page = shop.bench.page
    page.click('[data-action="go"]')
    for said in (kind, mark):
        page.locator("#choices button", has_text=re.compile(f"^{said}$", re.IGNORECASE)).click()
    shop.bench.until(lambda: shop.bench.text("step") == f"{kind} {mark}")
    reads(shop, grams)


# The builder's page


def build(shop):
    """Weigh once more what the page asks for, match, grind."""
    at(shop.phone, "look")
    for kind, mark, grams in (
        ("piston", "5", "534.1"),
        ("big end", "6", "457.9"),
        ("piston", "3", "538.9"),
        ("big end", "1", "450.3"),
    ):
        shop.phone.wait_for_selector(f'.now:has-text("{kind}")')
        weigh_again(shop, kind, mark, grams)
    at(shop.phone, "match")
    shop.phone.click('[data-do="match"]')
    at(shop.second, "accept")
    shop.did.append(("match",))
    shop.second.click('[data-do="accept"]')
    yes(shop.second)
    shop.did.append(("accept",))
    at(shop.phone, "grind")
    grind(shop, KILLED_AT_CUT)


def grind(shop, killed_at=-1):
    """Grind all of the trim, the one cut at the phone, the next at the tablet; and weigh what was ground."""
    at(shop.phone, "grind")
    cuts = shop.phone.locator(".cut").count()
    for number, page in zip(range(cuts), itertools.cycle((shop.phone, shop.second))):
        page.wait_for_function("n => document.querySelectorAll('.cut.is-done').length === n", arg=number)
        if number == killed_at:
            shop.server.kill()
            page.wait_for_selector('[data-line="lost"]')
            assert page.locator(".take-off").first.is_hidden()
            shop.server.start()
        page.wait_for_selector('[data-line="up"]')
        own = page.locator('.part-to-cut:has([data-do="tick"])').first
        name = own.locator("h3").inner_text().partition(" (")[0]
        own.locator('[data-do="tick"]').first.click()
        yes(page)
        if shop.did[-1] != ("ground", name):  # the command line records all cuts of a part
            shop.did.append(("ground", name))
    at(shop.phone, "again")
    shop.bench.page.goto(shop.page("bench"))
    shop.bench.until(lambda: shop.bench.asks() != "done")
    while (step := shop.bench.asks()) != "done":
        reads(shop, re.search(r"([0-9.]+) g", shop.bench.text("target"))[1])
        shop.bench.until(lambda step=step: shop.bench.text("step") != step)
    at(shop.phone, "grind", "done", "look")


# The station's page


def types(page, **fields):
    for name, text in fields.items():
        page.click(f'#pad [data-field="{name}"]')
        for key in text:
            page.click(f'#pad [data-key="{key}"]')


def reads_it_back(page, **fields):
    types(page, **fields)
    if page.is_visible("#units"):
        page.click('#pad [data-unit-of="g"]')
    page.click('#pad [data-key="read"]')
    yes(page)
    page.wait_for_selector("#pad", state="hidden")


def display(front, rear):
    """The fields of what the station shows."""
    return dict(zip(("front_amount", "front_angle", "rear_amount", "rear_angle"), [*front, *rear], strict=True))


def vector(polar):
    return cmath.rect(polar[0], math.radians(polar[1]))


def stands(shop):
    return balancing.load(shop.job, shop.job.with_name("station.toml"))


def shown(shop, *vectors_gmm):
    """What the station shows of unbalances: amount and angle, a plane each."""
    read = (stands(shop).instrument.shows(vector_gmm) for vector_gmm in vectors_gmm)
    return [(f"{amount:.1f}", f"{angle:.0f}") for amount, angle in read]


def spin(shop, page, *vectors_gmm):
    at(page, "spin")
    front, rear = shown(shop, *vectors_gmm)
    page.click('.view:not([hidden]) [data-pad="runs"]')
    reads_it_back(page, **display(front, rear))
    shop.did.append(("spin", *map("g@".join, (front, rear))))


def balance(shop):
    page = shop.bench.page
    page.goto(shop.page("station"))
    at(page, "look")
    told = re.search(r"rod weighed in (\d) \(goes in (\d)\), small end", page.inner_text(".first"))
    page.goto(shop.page("bench"))
    weigh_again(shop, "small end", ">".join(told.groups()), f"{masses_g()['small_end', int(told[1])]:.1f}")
    grind(shop)  # by what is surer now, there is more to take off
    page.goto(shop.page("station"))
    at(page, "bobweights")
    for throw in range(1, 5):
        one = page.locator(f'[data-throw="{throw}"]')
        asked = one.get_attribute("data-asked").split()[0]
        one.click()
        reads_it_back(page, mass=asked)
        page.wait_for_selector(f'[data-throw="{throw}"] .sign', state="attached")
        shop.did.append(("stack", "--built", f"{throw}={asked}"))
    left = [vector(one) for one in ARRIVED]
    spin(shop, page, *left)
    prove(shop, page, left)
    for missed in MISSED:
        at(page, "hole")
        left = [after + vector(one) for after, one in zip(stands(shop).expected, missed, strict=True)]
        drill(shop, page)
        spin(shop, page, *left)
        if at(page, "hole", "sign") == "sign":
            break
    at(page, "sign")
    page.fill("#signs input", "CD")
    page.click("#signs button")
    yes(page)
    at(page, "signed")
    shop.did.append(("sign",))


def prove(shop, page, left):
    at(page, "prove")
    masses = next_pair(stands(shop))
    loads = [f"{one.mass_g:g}" for one in masses]
    front, rear = shown(shop, *(own + one.vector_gmm for own, one in zip(left, masses, strict=True)))
    page.click('.view:not([hidden]) [data-pad="masses"]')
    types(page, front_grams=loads[0], rear_grams=loads[1])
    page.click('#pad [data-key="read"]')
    reads_it_back(page, **display(front, rear))
    hung = [f"{grams}g@{one.angle_deg:g}" for grams, one in zip(loads, masses, strict=True)]
    at_radius = f"{masses[0].radius_mm:g} mm"
    read = map("g@".join, (front, rear))
    shop.did.append(("test-mass", "--front", hung[0], "--rear", hung[1], "--radius", at_radius, *read))


def drill(shop, page):
    count = page.locator(".plan li").count()
    for number in range(1, count + 1):
        page.wait_for_selector(f'.hole[data-number="{number}"]')
        page.click('.view:not([hidden]) [data-do="hole"]')
        yes(page)
        shop.did.append(("holes", "--done", str(number)))
        if number < count:
            page.wait_for_selector(f'.hole[data-number="{number + 1}"]')


# The cards, and the same at the command line


def print_cards(shop):
    shop.phone.goto(shop.page("cards"))
    shop.phone.click("form button.main")
    shop.phone.wait_for_selector('a[href$="report.pdf"]')
    assert shop.phone.locator(".box.bad").count() == 0
    assert shop.phone.request.get(f"{shop.page('cards')}/report.pdf").body().startswith(b"%PDF-")


def tell(job, did):
    """Type all of it at the command line: what the bench was told one after another in one go."""
    for is_bench, group in itertools.groupby(did, lambda one: one[0] == "weigh"):
        if is_bench:
            said = [run("weigh", job, "--by", "AB", stdin="".join(typed for _, typed in group))]
        else:
            said = [run(verb, job, *words, "--by", "CD" if verb == "sign" else "AB") for verb, *words in group]
        for one in said:
            assert one.status in (0, 1), one
