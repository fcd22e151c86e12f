"""One engine matched: which part goes into which cylinder."""
