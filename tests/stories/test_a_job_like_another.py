"""A job is made like another, with new pistons: nothing that was true of the old pistons alone may go along.

What a hand would have done wrong: copy the file, and balance new pistons by the weights of the old ones."""

from demo_shop import DemoShop


def test_new_pistons_in_an_old_engine_are_weighed_before_anything_is_hung(tmp_path):
    shop = DemoShop(tmp_path)
    about = 'crank = "CX-118"\ncustomer = "harbor"\ndue = 2027-01-15\nnotes = "keep the pins"'
    text = shop.file.read_text("utf-8").replace("\n[engine]", f"\n[about]\n{about}\n\n[engine]", 1)
    shop.file.write_text(text, encoding="utf-8")
    shop.signed()
    again = tmp_path / "again.toml"
    status, said = shop.run("new", "--like", shop.file, again, "--new", "pistons")
    assert status == 0, said
    text = again.read_text("utf-8")
    assert 'crank = "CX-118"' in text and 'customer = "harbor"' in text
    assert "keep the pins" not in text and "due" not in text
    assert not again.with_name("again.readings.jsonl").exists()
    status, said = shop.run("hang", again)
    assert status == 2 and "missing: piston of cylinders 1-8" in said
    assert "already exists" in shop.run("new", "--like", shop.file, again, "--new", "pistons")[1]
    assert "what is new" in shop.run("new", "--like", shop.file, tmp_path / "x.toml")[1]
    assert "goes with --like only" in shop.run("new", "v8-90-crossplane", "--new", "pistons")[1]
    other = tmp_path / "other.toml"
    shop.run("new", "--like", shop.file, other, "--new", "all")
    assert "CX-118" not in other.read_text("utf-8")
