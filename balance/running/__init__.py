"""The engine at a speed: what it shakes with, what its masses pull, where an uncertainty comes from, Monte Carlo.
Nothing here changes a bobweight.
May import: base, engine, crank, job, result."""
