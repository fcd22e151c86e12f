"""Where metal may come off, and how much."""

import invented
import pytest


def test_the_safe_defaults_are_what_the_readme_calls_cautious():
    """Common practice, no source: no more than 2 g off a piston or a small end, 3 g off a big end, no pin."""
    job = invented.build(invented.document())
    assert {pad.kind: pad.most_g for pad in job.pads} == {"piston": 2, "pin": 0, "big_end": 3, "small_end": 2}
    assert {p.kind: p.at_mm for p in job.pads if p.at_mm} == pytest.approx({"big_end": -46.5, "small_end": 178.25})
    assert job.pads_assumed == ("piston", "big end", "small end")
