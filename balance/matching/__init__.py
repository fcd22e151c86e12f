"""One engine matched: which part goes into which cylinder, proved best or with how far from it; proposals, and
what accepting one does.
May import: base, log, job, result."""
