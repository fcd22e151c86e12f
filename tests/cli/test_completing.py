"""What a shell is offered; and that nothing which cannot be read ever lands in its line."""

import books
import pytest


@pytest.fixture
def offered(run, tmp_path):
    def asked(words):
        asking = {"_TRUETHROW_COMPLETE": "complete_bash", "COMP_WORDS": words, "COMP_CWORD": str(words.count(" "))}
        told = run(**asking, TRUETHROW_BOOK=f"sqlite:///{tmp_path / 'book.db'}")
        assert (told.status, told.err) == (0, "")
        return told.out.split()

    return asked


def test_job_files_of_the_folder_and_ids_of_the_book(run, offered, launch, tmp_path):
    assert offered("truethrow hang ") == ["launch.toml", "pump.toml"]
    assert offered("truethrow hang la") == ["launch.toml"]
    (tmp_path / "kept").mkdir()
    job = books.job_file(tmp_path / "kept")
    assert run("book", "add", job, TRUETHROW_BOOK=f"sqlite:///{tmp_path / 'book.db'}").status == 0
    assert offered("truethrow hang la") == ["launch.toml", "launch-7"]
    assert offered(f"truethrow weigh {tmp_path}/kept/") == [str(job)]


def test_kinds_of_part_labels_and_cylinders(run, offered, launch):
    assert run("enter", *launch).status == 0
    assert "piston" in offered("truethrow confirm launch.toml pi")
    assert "P33" in offered("truethrow confirm launch.toml piston P3")
    assert offered("truethrow confirm launch.toml rod 8") == ["8"]
    assert offered("truethrow confirm gone.toml rod 8") == []


@pytest.mark.parametrize("damage", [b"no book at all" * 100, b"SQLite format 3\0" + b"\xff" * 5000, b""])
def test_a_damaged_book_and_a_damaged_job_put_nothing_into_the_shell(offered, tmp_path, damage):
    (tmp_path / "book.db").write_bytes(damage)
    (tmp_path / "torn.toml").write_bytes(b"[job]\nid = \n\xff")
    (tmp_path / "wrong.toml").write_bytes(b"[job]\nid = \n")
    assert offered("truethrow hang ") == ["wrong.toml"]
    assert "piston" in offered("truethrow confirm wrong.toml ")
