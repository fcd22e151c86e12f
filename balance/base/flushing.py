"""Having what was written reach the disk."""

from __future__ import annotations

import os
import sys

if sys.platform == "win32":
    _ALL_THE_WAY = None
else:
    import fcntl

    # On macOS fsync ends at the drive, which may keep it in a memory of its own; this goes on to the plates.
    # Source: its manual page of fsync(2).
    _ALL_THE_WAY = getattr(fcntl, "F_FULLFSYNC", None)


def to_disk(handle: int) -> None:
    """Return once all of a file is on the disk. Raises OSError."""
    if _ALL_THE_WAY is not None:
        try:
            fcntl.fcntl(handle, _ALL_THE_WAY)
        except OSError:  # a file system that has no such thing, of a server for one
            pass
        else:
            return
    os.fsync(handle)
