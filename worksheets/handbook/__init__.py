"""The handbook, which the program prints of itself: chapters as texts in chapters/, equations.toml and checked.csv
(what was checked against what; the tests make it), and what is made of the program as it is: messages, file
formats, the library, commands (handed in by the command line, which this floor does not know), the demo's figures
and drawings.
May import: shown, words, data, drawn, cards, pages; balance."""
