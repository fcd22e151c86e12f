"""A record that could not be read back is none."""

from __future__ import annotations

import pytest

from truethrow.balance.log.readinglog import ReadingLog


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", **more):
    return log.append("read", cylinder=cylinder, kind=kind, grams=grams, typed=str(grams), **more)


@pytest.mark.parametrize(
    ("action", "said"),
    [
        ("weigh", {}),
        ("strike", {}),
        ("zero", {"grams": float("nan")}),
        ("zero", {"id": ""}),
        ("read", {"cylinder": 1, "kind": "pin"}),
        ("read", {"cylinder": True, "kind": "pin", "grams": 1.0}),
        ("read", {"cylinder": 1, "grams": 1.0}),
        ("cut", {"cylinder": 1, "kind": "rings", "grams": 1.0}),
        ("cut", {"cylinder": 0, "kind": "piston", "grams": 1.0}),
        ("cut", {"cylinder": 1, "kind": "piston", "grams": 0.0}),
        ("seat", {"typed": "rod 1>2", "of": "x-1"}),
        ("seat", {"typed": "rod 1>2 2>1"}),
    ],
)
def test_a_record_that_replay_could_not_give_back_is_not_written(path, action, said):
    with pytest.raises(ValueError, match=r"no |needs|empty"):
        ReadingLog(path).append(action, **said)
    assert not path.exists()
