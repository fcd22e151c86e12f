"""The shop's book lies on a server, and who serves the floor is a member of one of its roles there: whatever a
screen may ask for, the book's own roles stand behind it. A reading that the book does not take is told, kept on
the screen and recorded nowhere."""

from __future__ import annotations

import json
import uuid

import books
import pytest
from floor_shop import blank_job, served

from truethrow.balance.book import jobs, roles
from truethrow.balance.book.booked import BookedJob

# The roles are the whole server's: one process of the tests makes and gives them at a time.
pytestmark = pytest.mark.xdist_group("the server's roles")


@pytest.fixture
def book(tmp_path):
    with books.fresh("postgresql", tmp_path) as address, books.opened(address) as made:
        roles.make(made)
        jobs.add(made, jobs.from_file(blank_job(tmp_path, "job", job={"id": "launch-7"})))
        yield made


def type_a_piston(floor):
    """What the bench answers to 538.4 for the part that it asks for: the status and the data."""
    with floor.stream("/bench/launch-7/events") as heard:
        _, _, state = heard.next("state", "refused")
        asked = {"action": "type", "typed": "538.4", "saw": state.get("head", 0), "step": state.get("step_id", "")}
        status, _, text = floor.post("/bench/launch-7/do", {"id": str(uuid.uuid4()), "why": "", "of": "", **asked})
    return status, json.loads(text)


def recorded(book):
    return [type(one).__name__ for one in BookedJob(book, "launch-7").open_log().records]


@pytest.mark.parametrize("role", [roles.BENCH, roles.BUILDER])
def test_who_may_record_in_the_book_weighs_on_a_page(book, role):
    with (
        books.members(book) as member,
        served(member(role).address.url.render_as_string(hide_password=False)) as floor,
    ):
        assert "launch-7" in floor.get("/")[2]
        status, answer = type_a_piston(floor)
        assert (status, answer.get("ok")) == (200, True), answer
    assert "Weighed" in recorded(book)


def test_who_may_only_read_the_book_sees_the_board_and_records_nothing(book):
    with books.members(book) as member:
        address = member(roles.VIEWER).address.url.render_as_string(hide_password=False)
        with served(address) as floor:
            assert "launch-7" in floor.get("/")[2]
            status, answer = type_a_piston(floor)
            assert not answer.get("ok")
            assert "not permitted" in json.dumps(answer), (status, answer)
    assert recorded(book) == []


def test_a_bench_begins_no_job_on_a_page(book):
    """A job is begun by a builder."""
    text = blank_job_text(book)
    with books.members(book) as member:
        address = member(roles.BENCH).address.url.render_as_string(hide_password=False)
        with served(address) as floor:
            status, _, page = floor.send("/new", text=text)
            assert status != 303
            assert "not permitted" in page
    assert [job.id for job in books.jobs_of(book)] == ["launch-7"]


def blank_job_text(book):
    return jobs.document(book, "launch-7").text.replace("launch-7", "launch-8")
