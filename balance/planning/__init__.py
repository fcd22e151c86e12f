"""Before anything is bought: sets of parts and cranks side by side, what they cost.
May import: base, engine, crank, job, result, running, correction, station."""
