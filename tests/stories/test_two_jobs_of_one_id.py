"""A second engine gets the first one's id, by a slip: its text never gets over the other customer's records."""

import tomllib

import commands
import pytest

ONE = ("v8-90-crossplane", "--id", "2217", "--title")


@pytest.fixture
def run(tmp_path):
    def ran(*words):
        return commands.in_folder(tmp_path)(*words, TRUETHROW_BOOK=f"sqlite:///{tmp_path / 'book.db'}")

    return ran


def test_the_second_is_refused_and_told_first_that_another_engine_needs_its_own(run, tmp_path):
    assert run("new", ONE[0], "one.toml", *ONE[1:], "harbor").status == 0
    assert run("new", ONE[0], "two.toml", *ONE[1:], "pump house").status == 0
    assert run("book", "add", "one.toml").status == 0
    told = run("book", "add", "two.toml")
    assert (told.status, told.out) == (2, "")
    refusal = told.err
    assert "nothing was written" in refusal and "pump house" in refusal, "what differs is shown"
    assert refusal.index("another engine needs an id of its own") < refusal.index("--revision 1")
    assert '"harbor"' in run("book", "show", "2217", "--text").out or "harbor" in run("book", "show", "2217").out
    assert "pump house" not in run("book", "show", "2217").out


def test_who_follows_the_first_way_out_has_two_jobs(run, tmp_path):
    test_the_second_is_refused_and_told_first_that_another_engine_needs_its_own(run, tmp_path)
    text = (tmp_path / "two.toml").read_text(encoding="utf-8").replace('id = "2217"', 'id = "2218"')
    (tmp_path / "two.toml").write_text(text, encoding="utf-8")
    assert run("book", "add", "two.toml").status == 0
    assert {"2217", "2218"} <= {line.split("  ")[0] for line in run("book", "list").out.splitlines()}


def test_no_two_new_jobs_have_one_id_or_the_layouts_name(run, tmp_path):
    for name in ("one.toml", "two.toml", "v8-90-crossplane.toml"):
        assert run("new", ONE[0], name).status == 0
    ids = [tomllib.loads(path.read_text(encoding="utf-8"))["job"]["id"] for path in tmp_path.glob("*.toml")]
    assert len(set(ids)) == 3 and ONE[0] not in ids
