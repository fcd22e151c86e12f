"""A Chromium that playwright drives, and windows of it for screens of the floor: what a hand can hit there, and
what is cut."""

from __future__ import annotations

import contextlib

import pytest
from browser import chromium
from shop_screens import SIZES

# 15 mm at 96 px an inch.
LEAST_PX = 56.7
# A screen that hears nothing says so within so long.
LOST_S = 2.0


@contextlib.contextmanager
def driven():
    """A Chromium. Skips the test where there is none."""
    path = chromium()
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as started:
        found = started.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield found
        found.close()


@contextlib.contextmanager
def windows(browser):
    """A way to open a page in a window of its own; no page may say anything against itself."""
    contexts, wrong = [], []

    def open_(address, size=SIZES[1], **options):
        wide, high = size
        contexts.append(browser.new_context(viewport={"width": wide, "height": high}, **options))
        page = contexts[-1].new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if "Content Security" in said.text else None)
        page.goto(address)
        return page

    yield open_
    for context in contexts:
        context.close()
    assert wrong == []


def at_its_line(opened, address):
    """The same for one page, whose line is up then."""

    def open_(*size, **options):
        page = opened(address, *size, **options)
        page.wait_for_selector('[data-line="up"]')
        return page

    return open_


def targets(page):
    """The size of each thing that can be touched now, with its name. [px]"""
    return page.evaluate(
        """() => [...document.querySelectorAll("button:not([disabled]), a, input")]
        .filter(one => one.checkVisibility() && !one.closest("[hidden]"))
        .map(one => [one.textContent || one.name, one.offsetWidth, one.offsetHeight])"""
    )


def is_cut(page):
    """What hangs out of the window sideways, or lies over its neighbor."""
    return page.evaluate(
        """() => {
        const wrong = [];
        if (document.documentElement.scrollWidth > innerWidth) wrong.push("wider than the screen");
        const said = "h1, h2, .figure, .said, .do-now, .note, .box, .taken, .part, .spread, button, li, .facts *";
        const seen = [...document.querySelectorAll(said)].filter(one =>
            one.checkVisibility({visibilityProperty: true, opacityProperty: true}) && !one.closest(".unseen"));
        const layer = one => one.closest(".sheet, .flash, nav, header") ?? document.body;
        for (const one of seen) {
            const box = one.getBoundingClientRect();
            if (box.left < -0.5 || box.right > innerWidth + 0.5) wrong.push("out: " + one.textContent);
            for (const other of seen) {
                if (one.contains(other) || other.contains(one) || layer(one) !== layer(other)) continue;
                const its = other.getBoundingClientRect();
                const wide = Math.min(box.right, its.right) - Math.max(box.left, its.left);
                const high = Math.min(box.bottom, its.bottom) - Math.max(box.top, its.top);
                if (wide > 1 && high > 1) wrong.push(one.textContent + " over " + other.textContent);
            }
        }
        return wrong;
    }"""
    )


def pale(page, least=4.5):
    """Texts that are seen and too pale on what they are on, by the browser's own styles, with their contrast: by
    WCAG 2.2 (W3C Recommendation, 5 October 2023), 4.5 for text (1.4.3)."""
    return page.evaluate(
        """least => {
        const channel = one => (one /= 255) <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4;
        const light = ([red, green, blue]) =>
            0.2126 * channel(red) + 0.7152 * channel(green) + 0.0722 * channel(blue);
        const numbers = text => text.match(/[\\d.]+/g).map(Number);
        const under = element => {
            for (let one = element; one; one = one.parentElement) {
                const color = numbers(getComputedStyle(one).backgroundColor);
                if (color.length === 3 || color[3] === 1) return color;
            }
            return [255, 255, 255];
        };
        const wrong = [], texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        let seen = 0;
        while (texts.nextNode()) {
            const one = texts.currentNode.parentElement;
            const is = { visibilityProperty: true, opacityProperty: true };
            if (!texts.currentNode.data.trim() || !one.checkVisibility(is) || one.closest(".unseen")) continue;
            seen++;
            const both = [numbers(getComputedStyle(one).color), under(one)].map(light);
            const found = (Math.max(...both) + 0.05) / (Math.min(...both) + 0.05);
            if (found < least) wrong.push([texts.currentNode.data.trim(), found]);
        }
        return seen ? wrong : ["no text was found"];
    }""",
        least,
    )


def nameless(page):
    """What can be touched and has no name for who hears the screen."""
    named = """() => [...document.querySelectorAll("button, a, input, summary, [role=alertdialog]")]
        .filter(one => one.checkVisibility() && !one.closest("[aria-hidden=true]"))
        .filter(one => !(one.textContent.trim() || one.ariaLabel || one.labels?.length
            || one.getAttribute("aria-labelledby")))
        .map(one => one.outerHTML)"""
    return page.evaluate(named)
