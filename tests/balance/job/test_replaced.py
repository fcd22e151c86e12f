"""What is to be canceled of a part that is gone."""

import invented

from truethrow.balance.job.replaced import of_the_old_one
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Cut, Struck, Weighed


def test_all_that_counts_of_it_the_last_first(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()))
    assert of_the_old_one(path, "piston", 3) == ()
    log = open_log(path)
    first, wrong, _ = (log.append(Weighed(n, "piston", 538.0)) for n in (3, 3, 4))
    log.append(Struck(wrong.id))
    cut = log.append(Cut(3, "piston", 1.0))
    last = log.append(Weighed(3, "piston", 537.0))
    log.append(Weighed(3, "pin", 112.0))
    found = of_the_old_one(path, "piston", 3)
    assert [(one.id, one.action) for one in found] == [(last.id, "read"), (cut.id, "cut"), (first.id, "read")]


def test_a_rod_with_both_its_ends(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()))
    log = open_log(path)
    ids = [log.append(Weighed(3, kind, 300.0)).id for kind in ("big_end", "small_end", "rod_total")]
    assert [one.id for one in of_the_old_one(path, "rod", 3)] == ids[::-1]
