"""What canceling says: what goes, and what counts again."""

import kept

from truethrow.balance.job.history import PastRecord
from truethrow.balance.job.undoing import Back, Undo
from truethrow.balance.log.records import Cut, Damaged
from truethrow.worksheets.words import undo_words


def past(record):
    return PastRecord(record, "")


def test_a_step_is_told_by_what_it_is_and_who_recorded_it():
    head = {"at": "2026-11-28T09:12:00.000Z", "by": "AB", "bench": "b"}
    cuts = [past(Cut(n, "piston", 1.0, **head)) for n in (1, 2)]
    assert undo_words.head(cuts) == "2 cuts, recorded 2026-11-28 09:12 UTC by AB"
    assert undo_words.head([past(kept.spun("t", "1@0", "1@0", **head))]).startswith("spin, recorded")


def test_the_last_spin_again_and_none_left():
    spin = kept.spun("t", "1@0", "1@0", id="s-1", at="2026-11-28T09:12:00.000Z")
    undo = Undo((past(spin),), (), (), Back(spin=(1, spin)), 3)
    assert undo_words.back(undo, "my.toml")[0].startswith("spin 1 is the last again, recorded 2026-11-28 09:12")
    none = undo._replace(back=Back(spin=(0, None)))
    assert "truethrow spin my.toml FRONT REAR" in undo_words.back(none, "my.toml")[0]


def test_a_line_that_asks_again_names_its_command():
    undo = Undo((), (), (), Back(lines=(Damaged(14, b"x", id="damaged-1"),)), 3)
    assert undo_words.back(undo, "my.toml") == [
        "line 14 is damaged, and asks again what became of it: truethrow damaged my.toml"
    ]
