"""A job of the book, as the commands see it: the counterpart of a job file with its log beside it."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.book import documents, jobs
from truethrow.balance.book.book_log import BookLog
from truethrow.balance.book.open import open_book
from truethrow.balance.book.opened import Book
from truethrow.balance.log.place import Outgoing


class BookedJob:
    """A job of a book. Each call looks at the book as it is then."""

    def __init__(self, opened: Book, job: str) -> None:
        self.book = opened
        self._id = job

    @property
    def id(self) -> str:
        return self._id

    def text(self) -> str:
        """The job's text with plain line ends. Raises BadInput."""
        return jobs.document(self.book, self._id).plain

    def write_text(self, text: str, expected: str, by: str = "") -> None:
        """Put another text in the place of the one expected. Raises NotSaved, with what changed, where the job
        does not say that any more."""
        jobs.rewrite(self.book, self._id, text, expected, by)

    def open_log(self, bench: str = "bench", by: str = "") -> BookLog:
        """The job's log. Raises BadInput where it cannot be read."""
        return BookLog(self.book, self._id, bench, by)

    def issuing(self, outgoing: Sequence[Outgoing], by: str = "") -> AbstractContextManager[None]:
        """Keep that documents were issued, once the body has written them. Raises NotSaved, BadInput."""
        return documents.issuing(self.book, self._id, outgoing, by)


def find(job_id: str) -> BookedJob:
    """A job of the book that the environment names, or of the user's own. Raises BadInput without one."""
    where = f"job {shown(job_id)}"
    try:
        opened = open_book(create=False)
    except BadInput as error:
        # Who meant a file has to be told that it is not there, too.
        fault = error.faults[0]
        raise BadInput([Fault(where, f"no such file, and {fault.wrong}", remedy=fault.remedy)]) from None
    if not jobs.is_there(opened, job_id):
        told = Fault(where, "no such file, and not in the book", remedy="see what is: truethrow book list")
        raise BadInput([told], str(opened.address))
    return BookedJob(opened, job_id)
