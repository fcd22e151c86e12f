"""Where metal may come off, and how much."""

import invented
import pytest

from truethrow.balance.base import fields
from truethrow.balance.base.fields import Units
from truethrow.balance.job.document import TrimTable
from truethrow.balance.job.pads import DEFAULT_PAD_G, Pad, pads_of


def test_the_safe_defaults_are_what_the_readme_calls_cautious():
    """Common practice, no source: no more than 2 g off a piston or a small end, 3 g off a big end, no pin."""
    job = invented.build(invented.document())
    assert {pad.kind: pad.most_g for pad in job.pads} == {"piston": 2, "pin": 0, "big_end": 3, "small_end": 2}
    assert {p.kind: p.at_mm for p in job.pads if p.at_mm} == pytest.approx({"big_end": -46.5, "small_end": 178.25})
    assert job.pads_assumed == ("piston", "big end", "small end")


def test_a_pad_that_the_job_names_is_as_it_says_and_the_others_are_assumed():
    faults = []
    raw = {"piston": 0.0, "big_end_pad": {"at": -48.0, "most": 9.0}}
    pads = pads_of(fields.validate(TrimTable, raw, "trim", Units(), faults), 200.0)
    assert faults == []
    assert pads == (
        Pad("piston", 0.0),
        Pad("pin", DEFAULT_PAD_G["pin"]),
        Pad("big_end", 9.0, -48.0),
        Pad("small_end", DEFAULT_PAD_G["small_end"], pytest.approx(230.0)),
    )
