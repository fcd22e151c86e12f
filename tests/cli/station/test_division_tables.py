"""What trial masses told, on the screen."""

from meter_shop import Meter, polar


def test_each_trial_the_fourth_run_and_what_comes_next(tmp_path):
    meter = Meter(tmp_path, [[0.02, 0], [0, 0.03j]], mirrored=True)
    meter.crank = [polar(900, 40), polar(700, 200)]
    meter.spin(*meter.shows())
    on = ("--front", "60g@30", "--radius", "100mm")
    said = meter.run("spin", *on, *meter.shows(polar(6000, 30)))[1]
    assert "Next: truethrow spin" in said
    assert "--rear" in said
    assert "Take the masses off" in said
    assert "bolt it through a tapped hole" in said
    meter.trial(rear="60g@30")
    on = ("--front", "60g@120", "--rear", "60g@120", "--radius", "100mm")
    said = meter.run("spin", *on, *meter.shows(polar(6000, 120), polar(6000, 120)))[1]
    assert "if it counts the other way" in said
    assert "AGAINST the rotation" in said
    assert "The coefficients hold for later spins of this job at 500 r/min" in said
