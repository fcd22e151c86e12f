"""At the builder's bench: work, hang, check, trim, ground, match, accept, replace, shelf, and their tables.
May import: common, completing, model_file, show, progress, trading, station (for the station's sheet); worksheets,
balance."""
