"""What the shop's screens show, as it is sent."""

import json

from truethrow.worksheets.pages.floor.state import Answer, BenchState, Done, Live, News, Question, Row, as_data


def test_a_bench_is_sent_as_json_with_all_that_it_holds():
    live = Live(text="613.4", unit="g", said="moving …", standing="settling")
    rows = Row("P31", ("613.2", "")), Row("P32", ("", ""), True, names=("P32", "5>2"), typed=("piston P32",))
    asked = Question("r-1", "cancel 613.4, why", (Answer("cancel", "typed wrong", "typed wrong"),), free=True)
    state = BenchState(
        "launch",
        "Launch",
        12,
        "piston-2",
        "Piston P32",
        live=live,
        rows=rows,
        question=asked,
        news=News(3, "taken", "x"),
    )
    sent = json.loads(json.dumps(as_data(Done(ok=True, said="taken", state=state))))
    assert sent["state"]["live"] == {
        "text": "613.4",
        "unit": "g",
        "said": "moving …",
        "standing": "settling",
        "stable": False,
        "to_go": False,
        "stop": False,
    }
    assert sent["state"]["rows"][1] == {
        "name": "P32",
        "readings": ["", ""],
        "is_now": True,
        "flag": "",
        "cylinder": 0,
        "names": ["P32", "5>2"],
        "typed": ["piston P32"],
        "more": [],
    }
    assert sent["state"]["question"]["answers"] == [
        {"action": "cancel", "text": "typed wrong", "why": "typed wrong", "of": ""}
    ]
    assert sent["state"]["news"]["number"] == 3
