"""Pages that are no cards of a job's folder: what is ordered, chosen or quoted before there is anything to work.
Each from plain data to the blocks that cards are made of.
May import: shown, words, data, cards; balance."""
