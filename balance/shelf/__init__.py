"""Pools of loose parts matched into engines.
May import: base, engine, log, job."""
