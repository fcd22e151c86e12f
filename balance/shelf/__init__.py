"""Pools of loose parts matched into engines, and those that may stand in for one part.
May import: base, engine, log, job."""
