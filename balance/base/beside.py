"""Where the log of a job file stands."""

from __future__ import annotations

import os
from pathlib import Path


def log_path(job_path: Path) -> Path:
    """Where a job's log of readings stands: beside the file itself, so that a link to a job leads to the one log
    it has."""
    job = Path(os.path.realpath(job_path)) if job_path.is_symlink() else job_path
    return job.parent / f"{job.stem}.readings.jsonl"
