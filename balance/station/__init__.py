"""The balancing station: its profile, bobweight stacks, spins and test masses as records, where the loop is, the
sign-off.
May import: base, engine, log, crank, job, result, correction."""
