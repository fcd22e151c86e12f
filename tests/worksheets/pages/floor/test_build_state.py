"""What the builder's page shows, counted."""

from truethrow.worksheets.pages.floor.build_state import Cut, Part, Trim


def test_a_part_is_done_when_each_of_its_cuts_is():
    done = Cut("p-1-big_end", "rod 1, big-end pad", "big-end pad", "1.0 g", "recorded")
    open_ = Cut("p-1-small_end", "rod 1, small-end pad", "small-end pad", "1.0 g")
    assert Part("rod-1", "rod 1", "", (done,), ()).is_done
    half = Part("rod-2", "rod 2", "", (done, open_), ())
    assert not half.is_done
    trim = Trim("p", "", (half, half))
    assert (trim.done, len(trim.cuts)) == (2, 4)
