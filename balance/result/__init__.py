"""What a job's readings say: bobweights, spreads, slips and doubts, what hanging leaves in the planes, the trim
and its plans as records.
May import: base, engine, log, job."""
