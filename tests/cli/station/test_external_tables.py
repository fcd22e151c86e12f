"""What converting shows on the screen."""

from engine_shop import DAMPER, FLEXPLATE, Engine, member


def test_each_member_and_all_of_them_are_told_as_vectors(tmp_path):
    """By hand: 700 g·mm at 135 degrees, 80 mm ahead of the front plane of 336 mm: 867 front, 167 opposite rear."""
    engine = Engine(tmp_path, [member(DAMPER, 700, 135), FLEXPLATE])
    said = engine.run("convert", "--to", "internal")[1].splitlines()
    (row,) = [line for line in said if line.strip().startswith("damper")]
    assert row.split()[1:] == ["867", "at", "135°", "167", "at", "315°"]
    assert not any(line.strip().startswith("flexplate") for line in said)
