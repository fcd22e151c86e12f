"""Before anything is bought: sets of parts and cranks side by side, what they cost; a quote for the shop's work.
May import: base, engine, crank, log, job, result, running, correction, station."""
