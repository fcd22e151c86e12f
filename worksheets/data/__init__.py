"""Everything that a machine reads: --json, the station's CSV, the shelf's CSV. Always g, mm, degrees.
No sentence is made here.
May import: shown, words; balance."""
