"""What if, as plain data: a machine that looks for the job's own figures finds none."""

import json

import invented

from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.result.work import work
from truethrow.balance.running import changes as asked
from truethrow.balance.running.what_if import what_if
from truethrow.balance.station.by_now import Reading
from truethrow.worksheets.data import what_if_data


def keys(data):
    if isinstance(data, dict):
        for key, value in data.items():
            yield key
            yield from keys(value)
    elif isinstance(data, list):
        for one in data:
            yield from keys(one)


def test_no_figure_has_the_name_of_what_is_to_be_hung_and_both_sides_are_alike():
    made = invented.build(invented.document())
    changes = asked.read(made, parts=["piston -12"])
    found = what_if(work(made), asked.changed(made, changes))
    readings = Reading(TwoPlanes(0j, 0j)), Reading(TwoPlanes(10j, 0j))
    data = what_if_data.what_if(found, changes, readings, (), is_spun=False)
    assert data["is_the_job"] is False
    assert data["changes"] == ["piston -12"]
    assert "hang_g" not in set(keys(data))
    assert data["now"].keys() == data["then"].keys()
    assert data["now"]["bobweights"]["hangs_g"] == found.now.result.bobweights.hung_g
    assert data["then"]["bobweights"]["would_hang_g"] == found.then.result.bobweights.hung_g
    assert data["then"]["crank"]["reads"]["front"]["unbalance_gmm"] == 10.0
    json.dumps(data, allow_nan=False)


def test_without_a_crank_and_without_a_speed_these_are_null():
    engine = {key: value for key, value in invented.V8.items() if key != "top_speed"}
    made = invented.build(invented.document(engine=engine))
    changes = asked.read(made, share="0.4")
    data = what_if_data.what_if(
        what_if(work(made), asked.changed(made, changes)), changes, None, (), is_spun=False
    )
    assert data["then"]["crank"] is None
    assert data["then"]["shake"] is None
