"""Figures as a person reads them, in the shop's units with the scale's digits, and drawings in text.
No sentence.
May import: balance."""
