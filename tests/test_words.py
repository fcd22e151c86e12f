"""How the tool speaks: no word that a shop would not say, in help, sentence, fault or README; and what a newcomer
looks for is in the first page of the help."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
import typer.main
from typer.testing import CliRunner

from truethrow.cli.main import BY_USER, app

ROOT = Path(__file__).parents[1]
FLOORS = ("balance", "worksheets", "cli")
HANDBOOK = [path for end in ("*.md", "*.toml") for path in (ROOT / "worksheets" / "handbook").rglob(end)]

# What was said once, and what a person at the next bench would not say: one word a thing, and no second sense. A
# bolt's seat is a seat; a reading, a file or a rule does not stand, it exists, counts or applies.
NOT_SAID = {
    r"(?<!bolt )\bseats?\b": "a part sits in a cylinder",
    r"\bsisters?\b": "the others",
    r"\b(stands?|stood)\b(?! out)": "exists, counts, applies, is",
    r"\bmay stay\b": "tolerance",
    r"\btrue less hung\b": "off by",
    r"\bgives to its throw\b": "adds to bobweight",
    r"\blargest less smallest\b": "heaviest − lightest",
    r"\bcounts? no more\b": "no longer counts",
    r"\balready there\b": "already exists",
    r"\bStrike a record out\b": "cancel",
    r"\bSay that the trim": "record the cuts you made",
    r"\bHold the station's profile against\b": "check the station's setup",
    r"\bTell an old station's sheet\b": "check whether a station sheet is still current",
    r"\bSay how sure\b": "show how sure",
    r"\bdid not answer as the holes say\b": "doesn't match the holes drilled",
    r"\bstruck out\b": "canceled",
    r"\bcomes again\b": "to enter a second reading, add the column or row again",
    r"\bmeanwhile is told\b": "you are shown what changed",
    r"\bthat none can beat\b": "shown with how far from the best it could still be",
    r"\ballowed: (run|then|.{0,40}\btruethrow\b)": "a remedy is no limit",
}
PYTHONS = r"<class|\bTEXT\b|\bINTEGER\b|\bFLOAT\b|\[default: None\]|\bNone\b|\bpathlib\b|\| str\b"


def commands(group, *names):
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield (*names, name)
            yield from commands(command, *names, name)
        else:
            yield (*names, name)


HELP = {
    " ".join(names): CliRunner().invoke(app, [*names, "--help"], terminal_width=80).stdout
    for names in [(), *commands(typer.main.get_command(app))]
}


def sentences():
    """Every text of the program that may reach a person, with where it is: not what explains the code."""
    for floor in FLOORS:
        for path in sorted((ROOT / floor).rglob("*.py")):
            if path.name == "functions.py":
                continue  # what a server runs
            tree = ast.parse(path.read_text(encoding="utf-8"))
            explains = {
                node.body[0].value
                for node in ast.walk(tree)
                if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
                if node.body and isinstance(node.body[0], ast.Expr)
            }
            for node in ast.walk(tree):
                if isinstance(node, ast.JoinedStr):
                    parts = [p.value if isinstance(p, ast.Constant) else "…" for p in node.values]
                    yield f"{path.relative_to(ROOT)}:{node.lineno}", "".join(map(str, parts))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in explains:
                    yield f"{path.relative_to(ROOT)}:{node.lineno}", node.value


def as_text(text):
    return " ".join(text.split())


@pytest.mark.parametrize(("pattern", "better"), NOT_SAID.items())
def test_no_screen_no_help_and_no_page_says_it_so(pattern, better):
    said = {
        **{f"{name} --help": as_text(text) for name, text in HELP.items()},
        "README.md": as_text((ROOT / "README.md").read_text(encoding="utf-8")),
        **{path.name: as_text(path.read_text(encoding="utf-8")) for path in HANDBOOK},
    }
    found = [
        (where, m[0])
        for where, text in [*said.items(), *sentences()]
        if " " in text.strip() and (m := re.search(pattern, text))
    ]
    assert not found, f"better: {better}"


@pytest.mark.parametrize("name", HELP)
def test_a_help_text_fits_the_screen_and_has_no_word_of_the_language_it_is_written_in(name):
    assert [line for line in HELP[name].splitlines() if len(line) > 80] == []
    assert not re.search(PYTHONS, HELP[name])
    assert not [line for line in HELP[name].splitlines() if line.startswith("  ") and line.endswith("...")]


def test_the_help_is_in_groups_by_who_uses_them():
    told = HELP[""]
    assert len(BY_USER) == 6
    assert [told.index(f"\n{heading}:") for heading in BY_USER] == sorted(told.index(f"\n{h}:") for h in BY_USER)


@pytest.mark.parametrize(
    ("asked", "command"),
    [
        ("weigh again", "weigh"),
        ("undo", "strike"),
        ("what to drill", "holes"),
        ("is this card still good", "current"),
        ("bobweight", "tally"),
        ("what now", "next"),
    ],
)
def test_the_first_page_of_the_help_answers_what_a_newcomer_asks(asked, command):
    """In the words in which it is asked: read with fresh eyes, one command's line has all of them."""
    words = [word for word in re.findall(r"\w+", asked) if word not in ("is", "this", "a", "to")]
    lines = {line.split()[0]: line.lower() for line in HELP[""].splitlines() if re.match(r"  [a-z-]+  ", line)}
    assert command in [name for name, line in lines.items() if all(word in line for word in words)]
