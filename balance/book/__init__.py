"""The job book: all jobs of a shop in one database, embedded (SQLite) or for several stations (PostgreSQL).

    schema      the tables, what keeps them append-only, the views
    migrations/ how a book comes to be, step by step (Alembic)
    address     which book: the option, the environment, or the user's own
    connection  a connection's settings, a transaction, and what went wrong in plain words
    open        a book opened: made, brought up to date, or refused
    copies      every row of a book as plain lines, and back
    opened      the open book at hand, its generation and its texts
    rows        rows with their seals
    putting     a row put in: as it is, or by the server's functions
    functions   what a server checks before it takes a row
    record_rows the records of the jobs, as rows
    book_log    the log of one job of the book
    booked      a job of the book as the commands see it
    texts       a job's document to the byte; what changed in it
    jobs        jobs in, put, told
    outside     jobs out again, and all the rest, as plain files
    state       where a job stands, and what blocks it
    states      where jobs stood when this user last looked; no part of the book
    words       by which words a job is found
    listing     all jobs with their states; found by what is asked for
    stock       loose parts: where they are, what they weigh, where they were
    stock_shelf the stock as a shelf, and a match as moves
    documents   what was issued of a job, and the document itself
    profiles    of stations and benches, with every text that they had
    pages       the pages of a damaged file, and the rows on them
    sound       rows that hold together though others are lost
    leftovers   what a killed command leaves, cleaned by the next one
    backup, check, salvage, roles   what their names say

Nothing here is imported unless a job of the book is asked for: a plain file needs no SQLAlchemy.
May import: base, log, job, result, shelf, station.
"""
