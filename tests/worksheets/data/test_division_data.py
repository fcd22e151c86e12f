"""A station that reads divisions, as --json has it."""

from meter_shop import Meter, polar


def test_what_trials_told_is_there_and_none_of_it_before(tmp_path):
    meter = Meter(tmp_path, [[0.02, 0], [0, 0.03j]])
    meter.crank = [polar(900, 40), polar(700, 200)]
    meter.spin(*meter.shows())
    before = meter.state()["divisions"]
    assert (before["trials"], before["separation"], before["counts"], before["unbalance"]) == (
        {},
        None,
        None,
        None,
    )
    assert meter.state()["spins"][0]["planes"] == {}
    after = meter.as_told()
    assert after["counts"] == "with"
    assert round(after["trials"]["front"]["per_gmm"]["front"]["amount"], 4) == 0.02
    assert after["fourth"]["ended"] == "agrees"
    assert abs(meter.state()["spins"][0]["planes"]["front"]["unbalance_gmm"] - 900) < 20
