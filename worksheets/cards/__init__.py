"""The printable cards: one template a card, each from a job's data to blocks.
May import: shown, words, data, drawn; balance."""
