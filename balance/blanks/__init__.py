"""Blanks to fill in, as TOML, with every key and what it means: a station's profile, a bench's, the tables of a
crank, candidates, a price list, and what a job may say besides.
May import: nothing."""
