"""A log of three lines, one of which is damaged."""

import invented

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.damage import unsettled
from truethrow.balance.log.place import open_log
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Traded, Weighed

READING, CUT, TRADE = 2, 3, 4  # the lines of the log, whose first one begins it


def logged(folder):
    """A job with a log of three records: a reading, a cut and a trade."""
    path = folder / "job.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    log = ReadingLog(log_path(path))
    log.append(Weighed(3, "piston", 540.2, "540.2"))
    log.append(Cut(3, "piston", 1.2, "p1"))
    log.append(Traded({"piston": {1: 2, 2: 1}}, "m1"))
    return path


def damage(path, number, *, wholly=False):
    """Flip one bit of a line, or so many that nobody can tell what it said."""
    log = log_path(path)
    lines = log.read_bytes().split(b"\n")
    line = bytearray(lines[number - 1])
    line[len(line) // 2] ^= 1
    if wholly:
        line[4:-2] = bytes(byte ^ 1 for byte in line[4:-2])
    lines[number - 1] = bytes(line)
    log.write_bytes(b"\n".join(lines))


def records(path):
    return open_log(path, damaged=True).records


def damaged(folder, number, *, wholly=False):
    """The job, and the record that stands for its damaged line."""
    path = logged(folder)
    damage(path, number, wholly=wholly)
    (line,) = unsettled(records(path))
    return path, line
