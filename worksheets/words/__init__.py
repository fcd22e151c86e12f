"""Every sentence that a person reads: cautions, cards, bench, result, replace, station, matching, shelf, physics,
history, book.
Sentences are made here and nowhere else; nothing is decided by reading one.
May import: shown; balance."""
