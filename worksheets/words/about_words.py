"""What a job says of itself, in a line: whose it is, which crank, when it is due."""

from __future__ import annotations

from truethrow.balance.job.about import About

# One template a field, in the order in which they are told.
TEMPLATES = {"crank": "crank {}", "customer": "for {}", "due": "due {}", "who": "in the hands of {}"}


def line(about: About) -> str:
    """Everything but the notes; empty where nothing is known."""
    said = about._asdict()
    return ", ".join(template.format(said[name]) for name, template in TEMPLATES.items() if said[name])
