"""What a job remembers: records, only ever appended; their replay; damaged lines; the log in a file; where a job
is (place).
May import: base."""
