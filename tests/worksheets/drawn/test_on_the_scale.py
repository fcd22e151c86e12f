"""A rod on scale and support as drawn."""

import pytest
from drawings import SVG, at, centre_of, checked

from truethrow.worksheets.drawn.on_the_scale import on_the_scale


@pytest.mark.parametrize("end", ["big_end", "small_end"])
def test_the_end_that_is_weighed_is_above_the_scale_which_reads_it(end):
    root = checked(on_the_scale(end, "450.3 g"))
    parts = {one.get("data-part"): one for one in root.iter() if one.get("data-part")}
    x, width = at(parts["scale"], "x", "width")
    assert x + width / 2 == pytest.approx(centre_of(parts[end.replace("_", "-")])[0])
    assert centre_of(parts["big-end"])[1] == centre_of(parts["small-end"])[1]
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert said.count("450.3 g") == 1
    assert {"big end", "small end", "support", "level"} <= {*said}
