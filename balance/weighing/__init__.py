"""The weighing bench: what to weigh in which order, the session, and the lines of a scale.
No terminal and no port: those are in cli/weighing.
May import: base, engine, log, job, result."""
