"""Where the log of a job file stands."""

from __future__ import annotations

import os
from pathlib import Path

_ENDING = ".readings.jsonl"


def log_path(job_path: Path) -> Path:
    """Where a job's log of readings stands: beside the file itself, so that a link to a job leads to the one log
    it has."""
    job = Path(os.path.realpath(job_path)) if job_path.is_symlink() else job_path
    return job.parent / f"{job.stem}{_ENDING}"


def log_stem(path: Path) -> str:
    """What a log's file is called without its ending: as the job is that it lies beside."""
    return path.name.removesuffix(_ENDING)
