"""A card's renderings: HTML, PDF, a spreadsheet, and the folder that holds them all.
May import: shown, words, data, cards; balance."""
