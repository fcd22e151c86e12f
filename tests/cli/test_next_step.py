"""The command that says what to do now. The whole way is walked in stories/test_what_do_i_do_now."""

import json

import invented
from commands import in_folder


def test_it_says_the_step_and_its_status_whether_the_work_stops(tmp_path):
    (tmp_path / "my.toml").write_text(invented.text(invented.document()), encoding="utf-8")
    run = in_folder(tmp_path)
    assert run("next", "my.toml")[0] == 0
    slip = invented.document(invented.cylinders(piston={3: 532.4}))
    (tmp_path / "my.toml").write_text(invented.text(slip), encoding="utf-8")
    status, out, _ = run("next", "my.toml", "--json")
    assert status == 1 and json.loads(out)["blocked"]


def test_a_job_with_a_fault_is_bad_input(tmp_path):
    (tmp_path / "my.toml").write_text("[job]\n", encoding="utf-8")
    status, out, err = in_folder(tmp_path)("next", "my.toml")
    assert status == 2 and not out and "my.toml: " in err
