"""A crank is signed, and then spun, drilled, weighed or edited again. Whatever ended the signature, the command
that did it, the next step, the screen, the card and the report say so in one sentence: who signed when, what
came after it, what is to be done. Nobody goes on as if it were signed, and nobody wonders where the signature
went."""

import json
import re
import shlex
import shutil

import pypdfium2
import pytest
from commands import on_a_terminal
from demo_shop import SECOND, DemoShop
from station_page import Screen, of_spin
from station_shop import added

HOLE = "2 rear, 250 deg, 12 mm drill, 3 mm deep"
MASS = ("--mass", "50g", "--radius", "100mm", "--plane", "front", "--at", "90")
WHO = ("--by", "CD", "--why", "a look")


@pytest.fixture(scope="module")
def signed(tmp_path_factory):
    """Made once; each test has a copy."""
    made = DemoShop(tmp_path_factory.mktemp("signed"))
    made.signed()
    return made.file.parent


@pytest.fixture
def shop(signed, tmp_path):
    made = object.__new__(DemoShop)
    shutil.copytree(signed, tmp_path, dirs_exist_ok=True)
    made.file, made.station = tmp_path / "launch.toml", tmp_path / "station.toml"
    return made


def edit(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def cancels(shop, action):
    """With what rests on it, as each refusal tells to."""
    status, said = shop("strike", last(shop, action), *WHO)
    while status == 2:
        told = re.findall(r"truethrow strike \S+ (.*)", said)[-1]
        status, said = shop("strike", *shlex.split(told), *([] if "--by" in told else WHO))
    return said


def asked(shop):
    return json.loads(shop.at_station("stack", "--json"))["stacks"][0]["hang_g"]


def last(shop, action):
    return shop.ids(action)[-1]


# What somebody does after the signature; what is said of it.
ENDS = {
    "a spin": (
        lambda shop: shop.at_station("spin", *SECOND, "--by", "CD"),
        r"spin 3 came after it, [\d-]+ [\d:]+ UTC by CD\.",
    ),
    "a spin that is canceled": (
        lambda shop: (shop.at_station("spin", *SECOND), shop.must("strike", last(shop, "spin"), *WHO))[1],
        r"a spin that was canceled came after it, [\d-]+ [\d:]+ UTC",
    ),
    "runs with the fixture turned": (
        lambda shop: shop.at_station("spin", *SECOND, "--turned"),
        r"runs with the fixture turned came after it",
    ),
    "a hole": (
        lambda shop: shop.at_station("holes", "--did", HOLE, "--by", "CD"),
        r"a hole was recorded after it, [\d-]+ [\d:]+ UTC by CD\.",
    ),
    "a hole of before": (
        lambda shop: shop.at_station("holes", "--did", HOLE, "--before", "1", "--by", "CD"),
        r"a hole was recorded after it",
    ),
    "the signature is canceled": (
        lambda shop: shop.must("strike", last(shop, "sign"), *WHO),
        r"it was canceled, [\d-]+ [\d:]+ UTC by CD\.",
    ),
    "its spin is canceled": (
        lambda shop: cancels(shop, "spin"),
        r"(it|a spin that it rests on) was canceled, [\d-]+ [\d:]+ UTC by CD\.",
    ),
    "its known mass is canceled": (
        lambda shop: cancels(shop, "test"),
        r"(it|a test mass that it rests on) was canceled, [\d-]+ [\d:]+ UTC by CD\.",
    ),
    "a word that a reading is right is taken back": (
        lambda shop: shop.must("strike", shop.ids("confirm")[0], *WHO),
        r"what hangs rests on what looks like a slip: piston P33",
    ),
    "known masses disagree": (
        lambda shop: shop.at_station(
            *(
                "test-mass",
                "--mass",
                "50g",
                "--radius",
                "100mm",
                "--plane",
                "front",
                "--at",
                "90",
                "20@10",
                "0.3@230",
            )
        ),
        r"the last test mass does not agree with the profile",
    ),
    "the profile had been wrong": (
        lambda shop: (
            edit(shop.station, "zero = 0.0", "zero = 90.0"),
            shop.at_station("profile", "--wrong-since", "1", *WHO),
        )[1],
        r"the profile that it was signed by had been wrong",
    ),
    "the job's text is edited": (
        lambda shop: (edit(shop.file, "oil = 4.0", "oil = 5.0"), shop.must("next"))[1],
        r"the job is not as it was at the last spin",
    ),
    "a bobweight is weighed": (
        lambda shop: shop.at_station("stack", "--built", f"1={asked(shop)}"),
        r"a bobweight was weighed after spin 2",
    ),
}


SIGNED = r"AB signed it, [\d-]+ [\d:]+ UTC, record [\w-]+: that no longer holds: "


@pytest.mark.parametrize("way", ENDS)
def test_whatever_ends_a_signature_says_so_everywhere(way, shop):
    does, why = ENDS[way]
    sentence = SIGNED + ".*" + why
    said = does(shop)
    assert re.search(sentence, said), said
    assert "It has to be signed again." in said
    for command in ("next", "spins"):
        assert re.search(sentence, shop.at_station(command)), command
    assert re.search(sentence, shop.must("next")), "where nobody names the station"
    assert re.search(sentence, json.loads(shop.must("next", "--json"))["no_longer_signed"])
    assert shop.state()["signed_before"]["by"] == "AB"
    cards = shop.file.with_name("cards")
    shop.at_station("cards", "--only", "station", "--only", "report", "--into", cards)
    for card in ("station", "report"):
        [page] = cards.glob(f"*{card}*.html")
        text = " ".join(re.sub("<[^>]*>", "", page.read_text(encoding="utf-8")).split())
        assert re.search(sentence, text), card
    [report] = cards.glob("*report*.pdf")
    says_large(pypdfium2.PdfDocument(report)[0])


def says_large(page):
    """That the signature is void, no smaller than any figure of the page; and nothing of a crank in balance."""
    text = page.get_textpage()
    said = text.get_text_range()
    assert "in balance" not in said
    assert "YES" not in said

    def height(at):
        _, bottom, _, top = text.get_charbox(at)
        return top - bottom

    at, count = text.search("SIGNATURE VOID", match_case=True).get_next()
    digits = [height(n) for n in range(text.count_chars()) if text.get_text_range(n, 1).isdigit()]
    assert min(map(height, (at, at + count - 1))) >= 0.97 * max(digits), "a letter with round ends is no lower"


def test_a_signature_of_which_every_spin_is_canceled_is_void_on_page_one(shop):
    while shop.ids("spin"):
        before = len(shop.ids("spin"))
        cancels(shop, "spin")
        assert len(shop.ids("spin")) < before
    cards = shop.file.with_name("cards")
    shop.at_station("cards", "--only", "report", "--into", cards)
    [report] = cards.glob("*report*.pdf")
    says_large(pypdfium2.PdfDocument(report)[0])


def test_nothing_is_said_of_a_signature_that_counts(shop):
    for command in ("next", "spins", "holes"):
        assert "no longer holds" not in shop.at_station(command)
    shop.at_station("spin", *SECOND)
    shop.at_station("sign", "--by", "CD")
    assert "no longer holds" not in shop.at_station("spins"), "it is signed again"


SPIN = ("spin", "launch.toml", "--station", "station.toml", *SECOND)
DRILL = ("holes", "launch.toml", "--station", "station.toml", "--did", HOLE, "--by", "CD")


@pytest.mark.parametrize("words", [SPIN, DRILL], ids=["spin", "hole"])
def test_at_a_terminal_it_is_asked_before_it_is_recorded(words, shop, tmp_path):
    before = shop.records()
    for typed in ("\n", "no\n", "\x04"):
        status, said = on_a_terminal(words, tmp_path, typed=typed)
        assert status == 2
        assert "AB signed this crank" in said
        assert "it then has to be signed again" in " ".join(said.split())
        assert shop.records() == before
    status, said = on_a_terminal(words, tmp_path, typed="yes\n")
    assert status in (0, 1), said
    assert len(shop.records()) == len(before) + 1


def test_a_crank_that_is_spun_for_the_first_time_is_asked_nothing(shop, tmp_path):
    shop.at_station("spin", *SECOND)
    status, said = on_a_terminal(SPIN, tmp_path)
    assert (status in (0, 1), "Record it all the same" in said) == (True, False)


def test_a_job_is_not_closed_in_silence_once_its_signature_counts_no_more(shop, tmp_path):
    shop.at_station("spin", *SECOND)
    words = ["close", "launch.toml", "--by", "CD", "--why", "handed over"]
    status, said = on_a_terminal(words, tmp_path, typed="no\n")
    assert (status, "that no longer holds" in " ".join(said.split())) == (2, True)
    assert shop.ids("close") == []
    assert re.search(SIGNED, shop.must("close", "--by", "CD", "--why", "handed over"))
    assert len(shop.ids("close")) == 1


def test_the_page_says_it_before_the_yes_and_in_the_place_of_the_signature_afterwards(shop):
    screen = Screen(shop.file)
    assert screen.state.stage == "signed"
    asked = screen.sends("spin", **of_spin(screen.state, *SECOND))
    assert "AB signed this crank" in asked.question.ask
    assert "it then has to be signed again" in asked.question.ask
    hole = {"said": "2 rear, 250 deg crank, 12 mm drill", "deep": "3"}
    assert "AB signed this crank" in screen.sends("did", holes=[hole], before=0).question.ask
    screen.yes(asked)
    assert re.search(SIGNED + "spin 3 came after it", screen.text)
    assert "truethrow" not in screen.text
    assert "AB signed this crank" not in screen.sends("spin", **of_spin(screen.state, *SECOND)).question.ask


def test_a_mass_that_agrees_again_ends_nothing_and_the_page_says_nothing(shop):
    screen = Screen(shop.file)
    masses = {"front": {"grams": "150", "at": "30"}, "rear": {"grams": "100", "at": "120"}}
    read = of_spin(screen.state, added(SECOND[0], 150, 30), added(SECOND[1], 100, 120))
    asked = screen.sends("prove", **masses, **read, mass_unit="g", radius="100 mm")
    assert "signed this crank" not in asked.question.ask
    screen.yes(asked)
    assert screen.look().stage == "signed"
