"""The shop's screens as they are sent: whole without a script, small, escaped, legible."""

from __future__ import annotations

import gzip
import html
import re
from dataclasses import replace

import pytest
from shop_screens import AT_REST, BOARD, CURRENT_CARD, DEVICES, OLD_CARD, PAIRING, STATES, rows

from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.state import CardNow
from truethrow.worksheets.words import floor_words as words

MOST_BYTES = 150_000
STYLE = pages.assets()["floor.css"].raw.decode()
SCRIPT = pages.assets()["floor.js"].raw.decode()
SLIP = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


def every_page():
    yield from (pages.bench_page(state, "me") for state in STATES.values())
    yield pages.board_page(BOARD, devices=True)
    yield pages.pair_page()
    yield pages.pair_page(PAIRING)
    yield pages.devices_page(DEVICES, roles=("bench", "viewer"))
    yield pages.card_page(CURRENT_CARD)
    yield pages.no_line_page("the book is not there", heading="This bench does not open")


def shown(page: str) -> str:
    """The text of a page, as a reader finds it."""
    page = re.sub(r"<template.*?</template>", "", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


@pytest.mark.parametrize("name", STATES)
def test_a_bench_is_whole_before_any_script_runs(name):
    state = STATES[name]
    said = shown(pages.bench_page(state, "me"))
    told = (state.step, state.live.text, state.live.said, state.hold, state.taken, state.target, state.unsaved)
    for text in (*told, *state.flags, *state.doubts, *state.messages, *(row.name for row in state.rows)):
        assert " ".join(text.split()) in said


def test_a_board_tells_of_each_job_where_it_is_what_blocks_it_who_has_it_and_when_it_is_due():
    page = pages.board_page(BOARD)
    said = shown(page)
    for row in BOARD.rows:
        for text in (row.job, row.title, row.engine, row.step, row.blocked, row.due, row.who, row.bench):
            assert text in said
    hidden = '<b class="late" hidden>'
    assert (page.count('<b class="late">'), page.count(hidden)) == (1, len(BOARD.rows))
    assert BOARD.faults[0] in said


def test_a_card_is_told_by_a_word_a_sign_and_its_verdict():
    for card, word, sign in ((CURRENT_CARD, words.CURRENT, "ok"), (OLD_CARD, words.NOT_CURRENT, "no")):
        page = pages.card_page(card)
        assert f'<use href="#sign-{sign}"/>' in page.partition('class="verdict')[2].partition("</section>")[0]
        assert {word, card.said} <= {html.unescape(one) for one in re.findall(r">([^<>]+)<", page)}
    assert words.CURRENT not in shown(pages.card_page(CardNow(fault="CODE: 'x' is none")))


def test_no_script_and_no_style_stands_in_a_page_and_nothing_is_fetched_from_elsewhere():
    """So that the policy can forbid both. The script makes no markup of a text."""
    for page in every_page():
        scripts = re.findall(r"<script[^>]*>[^<]*", page)
        assert scripts == ['<script src="/assets/floor.js" defer>']
        assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", page)
        outside = re.findall(r'(?<=\s)(?:src|href|action)="(?!/|#|data:image/svg\+xml;base64,)[^"]*"', page)
        assert outside == []
    assert not re.search(
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(|Function\(|\.style\b", SCRIPT
    )
    assert not re.search(r"https?:|//cdn|@import", STYLE)
    assert "unsafe" not in pages.POLICY


def test_a_script_in_any_text_is_text():
    row = replace(rows()[2], name=SLIP, flag=SLIP)
    state = replace(
        AT_REST,
        job=SLIP,
        title=SLIP,
        step=SLIP,
        step_note=SLIP,
        taken=SLIP,
        flags=(SLIP,),
        messages=(SLIP,),
        rows=(row,),
    )
    board = replace(BOARD, rows=(replace(BOARD.rows[0], job=SLIP, title=SLIP, who=SLIP),), faults=(SLIP,))
    device = replace(DEVICES[1], name=SLIP, id=SLIP)
    for page in (
        pages.bench_page(state, SLIP),
        pages.board_page(board),
        pages.devices_page((device,)),
        pages.pair_page(code=SLIP, fault=SLIP),
        pages.no_line_page(SLIP, heading=SLIP),
        pages.card_page(CardNow(SLIP, SLIP)),
        pages.card_page(CardNow(SLIP, fault=SLIP)),
    ):
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "&lt;script&gt;alert(1)" in page


@pytest.mark.parametrize(
    "page", [pages.board_page(BOARD), pages.bench_page(AT_REST, "me")], ids=["board", "bench"]
)
def test_the_first_page_is_below_150_kb_with_all_that_it_fetches(page):
    fetched = set(re.findall(r"/assets/([\w.-]+)", page)) | set(re.findall(r"url\(([\w.-]+)\)", STYLE))
    assert fetched == pages.assets().keys() - {"desk.css", "desk.js", "station.css", "station.js"}
    assert len(page.encode()) + sum(len(pages.assets()[name].zipped) for name in fetched) < MOST_BYTES


def test_what_is_sent_zipped_is_the_same():
    for name, asset in pages.assets().items():
        assert gzip.decompress(asset.zipped) == asset.raw, name
    assert len({asset.tag for asset in pages.assets().values()}) == len(pages.assets())


def test_a_name_is_not_told_twice():
    assert [pages.note(replace(AT_REST, step="piston 2", step_note=one)) for one in ("Piston 2", "Piston P2")] == [
        "",
        "Piston P2",
    ]


def test_the_same_widths_are_told_by_the_page_as_sizes():
    texts = ("Pin P33", "Piston P33", "Small end P33", "ピストン三番の印", "x" * 45)
    assert [pages.wide(text) for text in texts] == ["s", "m", "m", "l", "xxl"]
    assert [pages.figure_wide(text) for text in ("", "613.4", "1846.25", "x" * 20)] == ["5", "5", "7", "10"]


# ---- Contrast, by WCAG 2.2 (W3C Recommendation, 5 October 2023), relative luminance and contrast ratio


def colors(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-fA-F]{6})", block))


LIGHT = colors(STYLE.partition(":root {")[2].partition("}")[0])
DARK = LIGHT | colors(STYLE.partition("(prefers-color-scheme: dark)")[2].partition("}\n}")[0])


def luminance(color: str) -> float:
    channels = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_worked_out_as_the_recommendation_does():
    """Black on white is 21:1, the largest there is; #767676 on white 4.54:1 (the lightest gray that is enough, a
    figure that is widely quoted: from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_pair_of_the_style_sheet_has_the_contrast_that_aa_asks_for(scheme):
    """4.5:1 for text (1.4.3), 3:1 for what tells a button from its ground (1.4.11)."""
    pairs = [(name, name.partition("on-")[2]) for name in scheme if "on-" in name]
    assert len(pairs) >= 7
    for ink, ground in pairs:
        least = 3.0 if ink.startswith("line") else 4.5
        assert contrast(scheme[ink], scheme[ground]) >= least, (ink, ground)
    assert DARK != LIGHT


def test_whatever_sets_a_ground_sets_the_ink_of_its_pair():
    """So that no other pair than those above comes about. A QR code stands on white."""
    for rule in re.findall(r"\{([^{}]*)\}", STYLE):
        for ground in re.findall(r"background:\s*([^;]+);", rule):
            if ground == "#fff":
                continue
            name = re.fullmatch(r"var\(--(\w+)\)", ground.strip())
            assert name, ground
            ink = re.search(r"(?<!-)color:\s*var\(--([\w-]+)\)", rule)
            assert ink, rule
            assert ink[1].endswith(f"on-{name[1]}"), rule
    used = set(re.findall(r"(?<!-)color:\s*var\(--([\w-]+)\)", STYLE))
    assert used <= {name for name in LIGHT if "on-" in name}


def test_nothing_waits_for_a_hover_and_motion_can_be_turned_off():
    assert ":hover" not in STYLE
    assert "prefers-reduced-motion: reduce" in STYLE
    assert not re.search(r"mouseover|mouseenter|touchmove|swipe", SCRIPT)
