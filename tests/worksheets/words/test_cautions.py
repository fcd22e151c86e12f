"""Every caution stands in one place, once, and is shown."""

from __future__ import annotations

import ast
from pathlib import Path

from truethrow.worksheets.words import cautions

ROOT = Path(__file__).parents[3]
PLACE = ROOT / "worksheets" / "words" / "cautions.py"
NAMED = {name: said for name, said in vars(cautions).items() if name.isupper() and not name.startswith("_")}


def sources():
    for floor in ("balance", "worksheets", "cli"):
        for path in (ROOT / floor).rglob("*.py"):
            if path != PLACE:
                yield path, ast.parse(path.read_text(encoding="utf-8"))


def test_no_caution_is_written_anywhere_else():
    """The words with which each begins are in no other text of the program."""
    said = {text for one in NAMED.values() for text in ((one,) if isinstance(one, str) else one)}
    starts = {text[:30] for text in said}
    # Hung or bare, a spinning crank throws what is loose on it; inertia only, with the makers' limits or without;
    # who grinds is guarded, whether he records it by a command or on a page.
    assert len(starts) == len(said) - 3
    for path, tree in sources():
        texts = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
        twice = [text for text in texts if isinstance(text, str) and any(start in text for start in starts)]
        assert not twice, path


def test_every_caution_is_shown_somewhere():
    used = {node.id for _, tree in sources() for node in ast.walk(tree) if isinstance(node, ast.Name)}
    assert set(NAMED) <= used


def test_whoever_drills_grinds_or_signs_is_told_whose_limits_come_first():
    for said in (
        cautions.DRILL_CAUTION,
        cautions.SIGN_CAUTION,
        *cautions.TRIM_CAUTIONS[:1],
        cautions.MAKERS_FIRST,
    ):
        assert "maker" in said
