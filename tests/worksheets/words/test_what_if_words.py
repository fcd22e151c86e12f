"""What if, in sentences: what would hang is never said as something to do."""

import invented
import pytest

from truethrow.balance.result.work import work
from truethrow.balance.running import changes as asked
from truethrow.balance.running.what_if import what_if
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import what_if_words as words


def found(hang, **typed):
    made = invented.build(invented.document(bobweight={"oil": 4.0, "hang": hang}))
    return what_if(work(made), asked.changed(made, asked.read(made, **(typed or {"share": "0.4"}))))


@pytest.mark.parametrize(
    ("hang", "said"),
    [
        ("mean", "Would hang 1693.3 g on every throw (the mean), not 1866.5 g as now."),
        ("own", "Each throw would hang its own."),
        ("none", "Would hang nothing: this crank is balanced bare."),
        (1860.0, "Would hang 1860.0 g on every throw as now: the job declares it."),
        ([1860.0, 1861.0, 1860.0, 1860.0], "What the job declares would stay."),
    ],
)
def test_what_would_hang(hang, said):
    made = found(hang)
    now, then = (side.result.bobweights for side in made)
    assert words.would_hang(now, then, Display("g", "mm", 0.1)) == said


def test_the_title_names_every_change():
    made = invented.build(invented.document())
    changes = asked.read(made, share="0.4", oil="5 g", parts=["piston -12", "rod 7 = 455 + 170"])
    assert words.title(changes) == "What if: share 0.4; oil 5 g; piston -12; rod 7 = 455 + 170"


def test_why_status_1_is_nothing_where_all_would_be_inside():
    assert words.why_outside(found("mean"), None) == ""
    assert words.why_outside(found("mean", parts=["piston 3 = 590"]), None).startswith("what if: to look at again")
