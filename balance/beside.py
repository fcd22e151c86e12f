"""The names of the files that stand beside a job file."""

from __future__ import annotations

import os
from pathlib import Path

from truethrow.balance.errors import BadInput, Fault


def log_path(job_path: Path) -> Path:
    """Where a job's log of readings stands: beside the file itself, so that a link to a job leads to the one log
    it has."""
    job = Path(os.path.realpath(job_path)) if job_path.is_symlink() else job_path
    return job.parent / f"{job.stem}.readings.jsonl"


def must_have_a_log(job_path: Path) -> None:
    """Raise BadInput for a job that has no place for a log: standard input, or a file that is not there."""
    if str(job_path) == "-":
        raise BadInput([Fault("JOB", "standard input has no log beside it", "a file")])
    if not job_path.exists():
        raise BadInput([Fault("", "no such file")], str(job_path))


def station_path(job_path: Path) -> Path:
    """Where the station's sheet goes unless it is told otherwise."""
    return Path("station.csv") if str(job_path) == "-" else job_path.with_name(f"{job_path.stem}-station.csv")
