"""What a job's readings say: bobweights, spreads, slips and doubts, what hanging leaves in the planes, the trim
and its plans as records, and what a replacement for a part may weigh.
May import: base, engine, log, job."""
